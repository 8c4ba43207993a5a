"""Move orders: a request comes in, takes a step, gets hours. Each answer is the order as it's to be written.

Nothing is written here; whoever calls hands the difference to the files.
"""

from datetime import date
from decimal import Decimal

from sitegen.desk import find, words
from sitegen.desk.order_money import Changed, changed, over_lines, privately, refuse_unpaid, stepped, unsold
from sitegen.desk.plan import plan_of, standing_of
from sitegen.studio import order_steps as steps
from sitegen.studio import terms
from sitegen.studio.asked import Fault, told
from sitegen.studio.commission import Client, Commissions, Order
from sitegen.studio.delivery import CAUTION, ShipTime, ship_time
from sitegen.studio.offers import free_slots, last_day, next_code
from sitegen.studio.order_lines import AcceptedTerms, Move, Step, in_a_line, more_worked
from sitegen.studio.terms import differs
from sitegen.studio.text import bare
from sitegen.studio.whole import Studio
from sitegen.studio.workload import hours_of

# What ends an order has a command of its own, since it needs a reason or settles money.
_ENDS = {
    Step.DECLINED: "sitegen order decline {} --why '…'",
    Step.WITHDRAWN: "sitegen order cancel {} --by client",
    Step.CALLED_OFF: "sitegen order cancel {} --by client",
    Step.LAPSED: "sitegen order lapsed",
}


def add(
    studio: Studio, client: Client, asked: str, round_name: str | None, code: str | None, when: steps.When
) -> Changed:
    """Put a client's request for a tier at the end of the queue. Raises Fault for an unknown one."""
    book = studio.commissions
    tier = find.tier(studio, asked)
    round_ = find.round_named(studio, round_name) if round_name else None
    if round_ is not None and not round_.takes(tier.name):
        raise Fault(
            f"the round {round_.name} is for {words.listed(round_.tiers, 'or')}; {tier.name} isn't in it"
        )
    draft = Order(
        code="", tier=tier.name, step=Step.REQUEST, since=when.day, private=client,
        moves=(Move(on=when.day, step=Step.REQUEST, at=when.at),), round=round_.name if round_ else "",
    )  # fmt: skip
    if round_ is not None and (why := steps.missed(book, round_, draft)):
        raise Fault(
            f"it {why}, so it isn't in that round and nothing is written. If it's still open, they may ask "
            "again; without --round it's noted outside any round"
        )
    round_ = round_ or steps.round_of(book, draft)
    code = code or next_code(book, round_, when.day.year)
    if any(order.code.casefold() == code.casefold() for order in book.queue):
        raise Fault(f"commissions.yaml: {code} is in the queue already; each order has its own code")
    order = draft.model_copy(update={"code": code, "round": round_.name if round_ else ""})
    where = f" in the round {round_.name}" if round_ else ", outside any round"
    said = [f"{code} is in the queue: {tier.name}, request{where}.", *_in_time(book, order)]
    if (held := steps.slot_held(book, client, round_, order)) is not None:
        said.append(f"They hold {held.code} ({held.step}); nobody gets a second slot before it's shipped.")
    return Changed(order, book.model_copy(update={"queue": (*book.queue, order)}), tuple(said))


def _in_time(book: Commissions, order: Order) -> list[str]:
    """Say what the time of a request makes of it, where that isn't plain."""
    round_ = steps.round_of(book, order)
    if round_ is not None:
        why, first = steps.unsure(book, round_, order), order.first
        early = first is not None and first.span(round_.zone)[0] < round_.taken_from() and not why
        kept = "They have the head start; leave their entry under `waiting:` until the slots are given."
        return [f"Careful: {why}."] * bool(why) + [kept] * early
    if (near := steps.nearly(book, order)) is None:
        return []
    return [
        f"Careful: it {near[1]}, so it isn't in that round. If it's still open, they may ask again; "
        f"else they can wait for another one: `sitegen order move {order.code} waiting`."
    ]


def move(studio: Studio, code: str, step: Step, when: steps.When, price: Decimal | None = None) -> Changed:
    """Take one step forward. Raises Fault with the steps that are possible."""
    order = find.order(studio, code)
    was = order.private.price
    if price is not None:
        order = privately(order, price=price)
        if was not in {None, price}:  # another price falls into its own band of instalments again
            order = privately(order, instalments=None)
    after = stepped(order, step, when)
    if step in _ENDS:
        raise Fault(f"{order.code} is ended with `{_ENDS[step].format(order.code)}`")
    after, said = _checked(studio, order, after, when.day)
    first = f"{after.code} is now {after.step.said} (was {order.step})."
    return changed(studio, after, (first, *said))


Checked = tuple[Order, list[str]]


def _checked(studio: Studio, before: Order, after: Order, day: date) -> Checked:
    """See that a step may be taken, and say what the artist should know of it. Raises Fault."""
    match after.step:
        case Step.OFFERED:
            return after, _offered(studio, before, after)
        case Step.ACCEPTED:
            return _accepted(studio, before, after, day)
        case Step.ON_THE_BENCH if after.private.price is not None:
            first = standing_of(studio, after, day).parts[0]
            missing = f"Careful: of the {first.part.kind}, {studio.settings.said(first.open)} isn't in yet."
            return after, [missing] * (first.open > 0)
        case Step.PAID:
            refuse_unpaid(studio, before, day)
            return after, over_lines(studio, after, day)
        case Step.SHIPPED:
            refuse_unpaid(studio, before, day)
            made = studio.made_for(after.code)
            return after, [] if any(piece.private.sold for piece in made) else [unsold(after, made)]
    return after, []


def take_back(studio: Studio, code: str) -> Changed:
    """Take the latest step back. Raises Fault if there's none to go back to."""
    order = find.order(studio, code)
    with told("commissions.yaml"):
        after = steps.taken_back(order)
    said = [f"{after.code} is {after.step.said} again (was {order.step})."]
    if order.step is Step.ACCEPTED and (order.terms or order.private.instalments):
        said.append(
            "Careful: the terms and the plan that were noted with the yes stay in the file; take out what "
            "isn't to hold."
        )
    return changed(studio, after, tuple(said))


def _offered(studio: Studio, before: Order, after: Order) -> list[str]:
    book = studio.commissions
    round_, said = steps.round_of(book, before), list[str]()
    if (held := steps.slot_held(book, before.private, round_, before)) is not None:
        raise Fault(
            f"commissions.yaml: whoever asks in {before.code} holds {held.code} ({held.step}) already; "
            "nobody gets a second slot"
        )
    if round_ is not None and (why := steps.missed(book, round_, before)):
        said.append(f"Careful: it {why}. `sitegen order undo {before.code}` takes the offer back.")
    if round_ is not None and not free_slots(book, round_):
        raise Fault(
            f"commissions.yaml: all slots of {round_.name} are taken; raise `slots:` there if you "
            "can take one more (`sitegen slots` tells)"
        )
    _refuse_unpriced(after)
    stands = f"The offer stands until {last_day(book, after)}."
    return [*said, f"{stands} The letter for it: `sitegen order letter {after.code}`."]


def _refuse_unpriced(order: Order) -> None:
    """Raise Fault for an order without a price: an offer names it, and a plan is made of it."""
    if order.private.price is None:
        raise Fault(f"commissions.yaml: {order.code} has no price yet; add `--price 440`")


def _accepted(studio: Studio, before: Order, after: Order, day: date) -> Checked:
    """Fix the plan as it is today, so that later changes of the studio's terms don't move it."""
    _refuse_unpriced(after)
    plan = plan_of(studio, after)
    deposit, first = after.private.deposit or studio.settings.paying.deposit, plan.parts[0]
    after = privately(after, deposit=deposit, instalments=plan.instalments)
    after, about_terms = _with_terms(studio, after, day)
    said = [
        f"{str(first.kind).capitalize()} of {studio.settings.said(first.amount)} is due on "
        f"{first.due}; the whole plan: `sitegen plan {after.code}`.",
        *(f"Caution: {warning}" for warning in plan.warnings),
        *about_terms,
    ]
    if after.terms is not None and differs(
        studio, plan, terms.of_version(studio, after.terms.version), terms.current(studio)
    ):
        said.append(
            f"Careful: deposit or instalments of {after.code} aren't those of the terms; the agreement says "
            "that this plan holds. See whether that's meant."
        )
    last = last_day(studio.commissions, before)
    if last is not None and day > last:
        said.append(f"The offer stood until {last}; you took the answer all the same.")
    ship = ship_time_of(after)
    no_day = (
        f"No day is promised; the late-delivery rule then counts to {ship.ship_by}. `sitegen slots` says "
        f"which day holds, `sitegen order promise {after.code} DATE` notes it. {CAUTION}"
    )
    promised = (
        f"Promised for {ship.ship_by}: send it by then, or offer the choice to wait or cancel. {CAUTION}"
    )
    return after, [*said, no_day if after.private.promised_now is None else promised]


def _with_terms(studio: Studio, order: Order, day: date) -> Checked:
    """Note which version of the written terms was accepted, if the one in force is kept."""
    if order.terms is not None or not any(page.name in terms.PAGES for page in studio.pages):
        return order, []
    version = terms.current(studio)
    if version is None:
        return order, [
            "Your terms as they are now aren't kept, so no version is noted: run `sitegen terms keep`, then "
            f"write `terms: {{version: …, on: {day}}}` under {order.code}."
        ]
    accepted = AcceptedTerms(version=version, on=day)
    return order.model_copy(update={"terms": accepted}), [f"Accepted on version {version} of your terms."]


def ship_time_of(order: Order) -> ShipTime:
    """Count the days of the late-delivery rule from the day of acceptance. Raises Fault before it."""
    if (ship := ship_by(order)) is None:
        raise Fault(f"commissions.yaml: {order.code} isn't an accepted order on its way")
    return ship


def ship_by(order: Order) -> ShipTime | None:
    """Count those days; None of what isn't an accepted order on its way. Raises Fault for days before it."""
    accepted = order.day_of(Step.ACCEPTED)
    if accepted is None or order.step not in steps.UNDER_WAY:
        return None
    with told(f"commissions.yaml, {order.code}"):
        return ship_time(accepted, order.private.promised, order.private.new_days)


def promise(studio: Studio, code: str, day: date) -> Changed:
    """Note the day a piece is promised for; what was promised to a client who said yes stays on record.

    Raises Fault outside an offer or an order under way, and for a day before its acceptance.
    """
    order = find.order(studio, code)
    if order.step not in steps.HOLDING:
        raise Fault(f"commissions.yaml: {order.code} is {order.step.said}; a day is promised with an offer")
    client, after = order.private, order
    before, first = client.promised_now, client.promised
    if before != day:
        # As agreed on, until there's a yes to a day or money has come in; then it's a new day.
        stays = client.new_days or (order.step in steps.UNDER_WAY and (first is not None or client.paid))
        update = {"new_days": (*client.new_days, day)} if stays else {"promised": day}
        after = privately(order, **update)
    was = f" (was {before})" if before else ""
    kept = f" The first promise, {first}, stays in the file." if first and after.private.new_days else ""
    said = [f"{order.code} is promised for {day}{was}.{kept}", *_later_lines(order, after)]
    return changed(studio, after, tuple(said))


def _later_lines(before: Order, after: Order) -> list[str]:
    """Say what the late-delivery rule wants of a day that was put off."""
    ship, later = ship_by(before), ship_by(after)
    if ship is None or later is None or later.ship_by <= ship.ship_by:
        return []
    needed = ship.needs_a_yes(later.ship_by)
    silence = f"needs their yes by {ship.yes_by}" if needed else "stands if they say nothing"
    return [
        f"That is later than {ship.ship_by}: they must have been offered to wait or to cancel by then, and "
        f"the new day {silence}. {CAUTION}"
    ]


def note_hours(
    studio: Studio, code: str, step: str, spent: Decimal, day: date
) -> tuple[Changed, tuple[str, Decimal, str] | None]:
    """Add bench hours to one step of the work: in the order, or, where it has one, in its piece's file.

    Then that file is named, with the step's hours there and those by the week. Raises Fault off the bench.
    """
    order = find.order(studio, code)
    if order.step not in {Step.ON_THE_BENCH, Step.FINISHED}:
        raise Fault(
            f"commissions.yaml: {order.code} is {order.step.said}; hours are noted while it is on the bench "
            f"(`sitegen order move {order.code} on the bench`)"
        )
    made = next(iter(studio.made_for(order.code)), None)
    noted = (made or order).private
    worked = more_worked(noted.worked, day, spent)
    there, in_all = noted.hours.get(step, Decimal(0)) + spent, hours_of(studio, order) + spent
    if made is None:
        after = privately(order, hours={**noted.hours, step: there}, worked=worked)
        said = f"{order.code}: {step} {bare(there)} h, {bare(in_all)} h in all."
        return changed(studio, after, (said,)), None
    file = f"pieces/{studio.photo_folders[made.slug].name}/piece.yaml"
    said = f"{file}: {step} {bare(there)} h; {order.code} has {bare(in_all)} h in all."
    return Changed(order, studio.commissions, (said,)), (file, there, in_a_line(worked))
