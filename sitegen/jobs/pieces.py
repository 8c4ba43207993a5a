"""Put a piece in, or change what may be said of it: its standing, its sale, that it came back."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from functools import partial
from pathlib import Path

from sitegen.desk import find
from sitegen.desk.find import Sitting, one_line, read_day, share_in
from sitegen.desk.prices import Reprice, Rise, rise
from sitegen.jobs.publish import Ask, PublishWish, from_environment, publish
from sitegen.jobs.reading import BOOKS, PIECES, sit
from sitegen.jobs.where import writes
from sitegen.sources import forms
from sitegen.sources.changes import NewPiece, add_piece, next_number, write_return, write_sale
from sitegen.sources.edit import put as put_value
from sitegen.sources.kept import add_to_register, read_register
from sitegen.sources.text import rewrite
from sitegen.studio import money
from sitegen.studio.asked import Answer, Doubt, Fault, Said, ask, told, wish
from sitegen.studio.fields import did_you_mean, no_such, one_of
from sitegen.studio.piece import Piece, Status, Stay, Stream
from sitegen.studio.register import Given, unnoted
from sitegen.studio.text import slug as slug_of

_ENDS = {Status.SOLD, Status.COMMISSIONED}
FOLLOW = "To have it on the site, in letters and on cards: `sitegen build`."


@wish
class AddPiece:
    photos: tuple[Path, ...] = ask(word=True, like="PHOTO…")
    title: str | None = ask("The piece's name.", default=None)
    price: str | None = ask("Asking price, like 480 or 480,50; no sign of currency.", default=None)
    status: str | None = ask(
        "available (the usual), in progress, on hold, sold, commissioned, not for sale.", default=None
    )
    series: str | None = ask("A series named in studio.yaml.", default=None)
    finished: str | None = ask(
        "Day it was finished, like 2026-05-14 (today unless in progress).", default=None
    )
    height_mm: int | None = ask("Height in millimetres.", default=None, least=1, most=100_000)
    base: str | None = ask("What it stands on.", default=None)
    materials: str | None = ask("What it is made of.", default=None)
    alts: tuple[str, ...] = ask("What a photo shows; once a photo, in their order.", default=(), name="alt")
    slug: str | None = ask("Folder name, if not made from the title.", default=None)


@writes
def add(folder: Path, wish: AddPiece, today: str | None) -> Said:
    """Put a new piece into the inventory; its studio number counts on in the year it was finished.

    Raises Fault if the title is missing, a photo can't be read, the price is no amount, the series is
    unknown, the folder exists, or the studio's files hold errors already.
    """
    desk = sit(folder, today)
    piece = _checked(wish, desk)
    year = (piece.finished or desk.today).year
    given = read_register(folder)
    unknown = unnoted(desk.studio, given)
    if given and unknown:  # a command was stopped before it noted what it gave
        add_to_register(folder, unknown)
        given, unknown = (*given, *unknown), ()
    number = next_number([given.number for given in (*given, *unknown)], year)
    if wish.slug is not None and slug_of(wish.slug) != wish.slug:
        raise Fault(f"--slug '{wish.slug}' may hold a-z, 0-9 and single hyphens only")
    made = add_piece(folder, piece, number, wish.slug).relative_to(folder).as_posix()
    add_to_register(folder, [*unknown, Given(number, made.removeprefix("pieces/"), piece.title)])
    said = (
        f"Added {made}/piece.yaml",
        "Next: tell its story there, say what each photo shows, then `sitegen build`.",
    )
    return Said(said, {"piece": made})


def _checked(wish: AddPiece, desk: Sitting) -> NewPiece:
    if not wish.title or not wish.title.strip():
        raise Fault("the piece needs a title; give one with --title 'The Moth Clerk'")
    check_photos(wish.photos)
    status = _status(wish.status or str(Status.AVAILABLE))
    known = [series.name for series in desk.studio.settings.series]
    if wish.series and wish.series not in known:
        raise Fault(f"series '{wish.series}' isn't in studio.yaml{did_you_mean(wish.series, known)}")
    if wish.price:
        with told("price"):
            money.read_amount(wish.price, desk.studio.settings.digits)
    finished = None if status is Status.IN_PROGRESS else desk.today
    finished = read_day(wish.finished, "finished") if wish.finished else finished
    return NewPiece(
        one_line(wish.title), status, wish.photos,
        money.pointed(wish.price.strip()) if wish.price else None, finished,
        wish.series, wish.height_mm, wish.base or "", wish.materials or "", wish.alts,
    )  # fmt: skip


def check_photos(photos: tuple[Path, ...]) -> None:
    """Look at each photo's header. Raises Fault, with a line for each that can't be used."""
    from sitegen import pictures

    faults = [f"{photo}: {fault.message}" for photo in photos if (fault := pictures.look(photo))]
    if faults:
        raise Fault("\n".join(faults))


def _status(word: str) -> Status:
    """Return the status a person typed; `on-hold` and `On hold` count."""
    with told("status"):
        return Status(one_of(Status)(re.sub(r"[-_]+", " ", word)))


def shown_file(folder: Path, slug: str) -> str:
    """Return a piece's file as messages name it, below the studio. Raises Fault."""
    files = {slug_of(file.parent.name): file for file in sorted((folder / "pieces").glob("*/piece.yaml"))}
    if slug not in files:
        raise Fault(no_such("piece", slug, files))
    return files[slug].relative_to(folder).as_posix()


@wish
class MarkPiece:
    slug: str = ask(word=True)
    status: str = ask(word=True, joined=True)
    price: str | None = ask("What it was sold for; without it, its asking price.", default=None)
    on: str | None = ask("The day of the sale; without it, today.", default=None, like="DATE")
    stream: str | None = ask("originals, commissions or shows.", default=None)
    to: str | None = ask("Who bought it; never shown in public.", default=None)
    fee: str | None = ask(
        "What a gallery keeps of it, like 40% or 192; without it, as agreed on with the gallery.",
        default=None,
    )
    due: str | None = ask(
        "The day its money is due, where it comes later; without it, as agreed on with the gallery.",
        default=None, like="DATE",
    )  # fmt: skip
    paid: str | None = ask(
        "The day its money came; also of a sale that is noted already.", default=None, like="DATE"
    )
    usual: bool = ask(
        "Don't ask; take the asking price and today where nothing is said.", default=False, name="yes"
    )
    no_sale: bool = ask("Note its standing alone, and no sale.", default=False)
    publish: bool = ask("Build the site and bring it to the web at once.", default=False)

    @property
    def tells_of_a_sale(self) -> bool:
        sale = (self.price, self.on, self.stream, self.to, self.fee, self.due, self.paid)
        return any(said is not None for said in sale)


def _unsaid(usual: MarkPiece) -> MarkPiece:
    said = f"nothing is said of what {usual.slug} was sold for, so the books would count no sale"
    raise Doubt(said, "no_sale", "that is meant")


def mark(
    folder: Path, wish: MarkPiece, today: str | None, sale: Callable[[MarkPiece], MarkPiece] = _unsaid,
    agree: Callable[[Answer], bool] = lambda answer: False, settings: Ask = from_environment,
) -> Said:  # fmt: skip
    """Change a piece's status, as `_marked` does, and bring the site to the web if that's wished."""
    said = _marked(folder, wish, today, sale)
    if not wish.publish:
        return said
    try:
        done = publish(folder, PublishWish(sure=False), today, agree, settings)
    except (Fault, OSError) as fault:
        raise Fault(
            f"{said.said[0].partition('. ')[0]}, but the web still says what it was: {fault}"
        ) from fault
    facts = {**said.facts, "publish": done.as_answer()}
    first = said.said[0].replace(f" {FOLLOW}", "")
    return Said((first, *said.said[1:], *done.lines()), facts, done.asides, is_well=done.is_well)


@writes
def _marked(folder: Path, wish: MarkPiece, today: str | None, sale: Callable[[MarkPiece], MarkPiece]) -> Said:
    """Change a piece's status, one line of its YAML; with a sale, note that in the same edit.

    `sale` is asked about a sale of which nothing was said: it gets the usual one, and may leave it out, or
    raise Doubt.
    """
    status, usual, shown = _status(wish.status), None, shown_file(folder, wish.slug)
    if wish.tells_of_a_sale or status is Status.SOLD:
        desk = sit(folder, today, PIECES)
        piece = find.piece(desk.studio, wish.slug)
        if wish.tells_of_a_sale and status not in _ENDS:
            raise Fault(f"a sale goes with sold or commissioned, not with '{status}'")
        if wish.tells_of_a_sale and (held := piece.private.sold) is not None:
            if replace(wish, due=None, paid=None).tells_of_a_sale:
                price = desk.studio.settings.said(held.price)
                raise Fault(
                    f"{wish.slug} was sold on {held.on} for {price} already; if it came back, note that "
                    f"first: `sitegen piece return {wish.slug} --refund {held.price}`"
                )
            days = _money_days(wish, held.on, None, desk)
            write_return(folder / shown, shown, str(status), days, "")
            noted = " and ".join(f"{name} on {day}" for name, day in days.items())
            return Said((f"{wish.slug}: its money is noted as {noted}.",), {"status": str(status)})
        if not wish.tells_of_a_sale and piece.private.sold is None:
            usual = _usual(desk, piece, wish)
            wish = wish if wish.usual or wish.no_sale else sale(usual)
        if wish.tells_of_a_sale or (wish.usual and usual is not None):
            noted = _sell(folder / shown, shown, desk, piece, wish)
            return Said((f"{wish.slug} is now {status}: {noted}. {FOLLOW}",), {"status": str(status)})
    changed = rewrite(folder / shown, lambda text: put_value(text, shown, ["status"], str(status)))
    said = [f"{wish.slug} {'is now' if changed else 'already was'} {status}. {FOLLOW}"]
    if usual is not None:
        said.append(
            f"What it was sold for isn't noted, so the books don't count it; "
            f"`sitegen piece mark {wish.slug} sold --price {usual.price or 480} --on {usual.on}` adds that."
        )
    return Said(tuple(said), {"status": str(status)})


def _usual(desk: Sitting, piece: Piece, wish: MarkPiece) -> MarkPiece:
    plan, price, place = piece.private.plan, piece.held_at, piece.sold_at(desk.today)
    ordered = piece.private.order or _status(wish.status) is Status.COMMISSIONED
    stream = Stream.COMMISSIONS if ordered else Stream.ORIGINALS
    written = money.plain(price, desk.studio.settings.digits) if price is not None else None
    due = "" if wish.due is None and place is not None and place.private.pays_in is None else wish.due
    return replace(
        wish, price=written, on=desk.today.isoformat(), stream=str(stream), to=plan.to if plan else "",
        due=due,
    )  # fmt: skip


def _sell(file: Path, shown: str, desk: Sitting, piece: Piece, wish: MarkPiece) -> str:
    status, settings, slug = _status(wish.status), desk.studio.settings, wish.slug
    assumed = _usual(desk, piece, wish)
    asked = assumed.price if wish.price is None else wish.price
    if asked is None:
        raise Fault(f"{slug} has no price in its piece.yaml; say what it was sold for with --price 480")
    price, on = desk.amount(asked), desk.when(wish.on).day
    last = piece.private.sales[-1].returned if piece.private.sales else None
    if last is not None and on < last:
        raise Fault(f"{slug} came back on {last}; it can't be sold again on {on}, before that")
    with told("--stream"):
        stream = one_of(Stream)(wish.stream or assumed.stream or "")
    to = one_line((assumed.to if wish.to is None else wish.to) or "")
    at, fee = _kept(piece, wish.fee, price, on, desk)
    words = {"on": on.isoformat(), "price": money.plain(price, settings.digits), "stream": str(stream),
             "to": to, "at": at, "fee": "" if fee is None else money.plain(fee, settings.digits),
             **_money_days(wish, on, piece.sold_at(on), desk)}  # fmt: skip
    write_sale(file, shown, str(status), {name: word for name, word in words.items() if word})
    said = settings.said
    kept = f"; {at or 'the gallery'} keeps {said(fee)}, {said(price - fee)} is yours" if fee else ""
    if words.get("due"):
        kept += f", due on {words['due']}"
    return f"{said(price)} on {on}, {stream}{f', to {to}' if to else ''}{kept}"


def _money_days(wish: MarkPiece, on: date, place: Stay | None, desk: Sitting) -> dict[str, str]:
    """Return the days on which a sale's money is due and came, as far as anybody says so."""
    due, days = read_day(wish.due or None, "--due"), place.private.pays_in if place is not None else None
    if wish.due is None and days:
        due = on + timedelta(days=days)
    paid = desk.when(wish.paid, "--paid").day if wish.paid else None
    for said, day in (("--due", due), ("--paid", paid)):
        if day is not None and day < on:
            raise Fault(f"{said} {day} lies before the sale, {on}")
    return {name: day.isoformat() for name, day in (("due", due), ("paid", paid)) if day is not None}


def _kept(
    piece: Piece, text: str | None, price: Decimal, on: date, desk: Sitting
) -> tuple[str, Decimal | None]:
    """Return which place sold it, if one did, and what that keeps of the price, to the coin."""
    place, digits = piece.sold_at(on), desk.studio.settings.digits
    if text is None:
        return ("", None) if place is None else (place.place, place.fee(price, digits))
    share = share_in(text) if "%" in text else None
    fee = desk.amount(text) if share is None else money.share(price, share * 100, digits)
    if fee > price:
        raise Fault(f"--fee {text} is more than it was sold for ({desk.studio.settings.said(price)})")
    return place.place if place else "", fee


@wish
class ReturnPiece:
    slug: str = ask(word=True)
    refund: str = ask("What was sent back; 0 for nothing.", like="AMOUNT")
    on: str | None = ask("The day; without it, today.", default=None, like="DATE")
    status: str = ask("What it is from now on.", default="available")
    price: str | None = ask(
        "What is asked for it now; without it, its price as it was, else what it was sold for.", default=None
    )


@writes
def take_back(folder: Path, wish: ReturnPiece, today: str | None) -> Said:
    """Note that a piece came back, and what was sent back for it. Raises Fault for one that isn't sold."""
    slug, desk, status = wish.slug, sit(folder, today, PIECES), _status(wish.status)
    piece, shown = find.piece(desk.studio, slug), shown_file(folder, slug)
    held, settings = piece.private.sold, desk.studio.settings
    if held is None:
        raise Fault(
            f"{slug} has no sale noted that it could come back from; "
            f"`sitegen piece mark {slug} sold --price 480 --on 2026-05-14` notes one"
        )
    if status in _ENDS:
        raise Fault(f"a piece that came back isn't {status}; say what it is now, like available")
    amount, day = desk.amount(wish.refund), desk.when(wish.on).day
    if amount > held.price:
        much = f"{settings.said(amount)} is more than that to send back"
        raise Fault(f"{slug} was sold for {settings.said(held.price)}; {much}")
    if day < held.on:
        raise Fault(f"{slug} was sold on {held.on}; it can't have come back on {day}, before that")
    plain = money.plain(amount, settings.digits)
    price = desk.amount(wish.price) if wish.price else held.price if piece.price is None else piece.price
    asked = money.plain(price, settings.digits) if price != piece.price else ""
    back = {"returned": day.isoformat(), "refund": plain}
    write_return(folder / shown, shown, str(status), back, asked)
    back_for = f"{settings.said(amount)} sent back"
    return Said((f"{slug}: it came back on {day}, {back_for}; it is now {status}. {FOLLOW}",))


@writes
def reprice(folder: Path, wish: Reprice, today: str | None, agree: Callable[[Rise], bool]) -> Rise | None:
    """Change asking prices in dated steps, or by those kept for today, once the artist has seen it.

    Today's is written with its day, so that a second time on one day changes nothing; those of days to come
    are kept beside it. None if she says no.
    """
    from sitegen.jobs.letters_made import told_prices  # who notes a sale needn't wait for it

    sitting = sit(folder, today, BOOKS)
    found = rise(sitting, wish, told_prices(folder, sitting.studio))
    if not found.prices:
        return found
    if not agree(found):
        return None
    tiers = [tier.name for tier in sitting.studio.commissions.tiers]

    def coins(price: Decimal) -> str:
        return money.plain(price, found.digits if price % 1 else 0)

    for rising in found.prices:
        file, place, name = "commissions.yaml", "", "from_price"
        if rising.is_tier:
            place = f"tiers.{tiers.index(rising.name)}."
        else:
            file, name = shown_file(folder, rising.name), "price"
        later = (f"{step.on} {coins(step.amount)}" for step in rising.later)
        values = {f"{place}private.next_prices": "; ".join(later)}
        if found.is_due:
            now = {name: coins(rising.steps[0]), "private.priced": found.day.isoformat()}
            values |= {f"{place}{field}": value for field, value in now.items()}
        made = partial(forms.all_changed, shown=file, values=values)
        rewrite(folder / file, made, private=rising.is_tier)
    return found
