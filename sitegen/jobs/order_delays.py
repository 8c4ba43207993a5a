"""Say that an order will be later: the choice to wait or to cancel, and what silence means."""

from __future__ import annotations

from datetime import date

from sitegen.desk.fault import DeskFault
from sitegen.desk.orders import ship_time_of
from sitegen.desk.typed import read_day
from sitegen.jobs.order_letter_parts import client_of
from sitegen.letters import ClientLetter, Matter
from sitegen.studio.commission import Order
from sitegen.studio.delivery import CAUTION, ShipTime, refund_by
from sitegen.studio.order_sums import paid_of

UNKNOWN = "unknown"


def delay(order: Order, written: str, today: date, note: str) -> ClientLetter:
    """Offer the choice to wait or cancel; whether silence is a yes is the late-delivery rule's business.

    A choice offered after the promised day is no consent by silence (16 CFR 435.2(b)(1), "in no event later
    than said applicable time"). Raises DeskFault for a day that isn't later, or no day without a reason.
    """
    new_day = None if written.strip().casefold() == UNKNOWN else read_day(written, "--new-day")
    ship = ship_time_of(order)
    _check(order, ship, new_day, today, note)
    overdue = today > ship.ship_by
    days = {"ship_by": ship.ship_by, "yes_by": ship.yes_by}
    if order.private.promised is not None:
        days["first_promise"] = order.private.promised
    if new_day is not None:
        days["new_day"] = new_day
    paid = paid_of(order)
    holds = {
        "typed" if _is_typed(order, ship) else "nothing_typed",
        "overdue" if overdue else "timely",
        "paid" if paid > 0 else "unpaid",
        *(["no_day"] if new_day is None else []),
    }  # fmt: skip
    return ClientLetter(
        _matter(ship, new_day, overdue=overdue), client_of(order), days, {"paid": paid},
        holds=frozenset(holds), note=note, remarks=_remarks(order, ship, new_day, today if overdue else None),
    )  # fmt: skip


def _is_typed(order: Order, ship: ShipTime) -> bool:
    """Tell whether the day that won't hold was named by the artist, not counted by the rule."""
    return order.private.promised is not None or (bool(order.private.new_days) and not ship.put_off)


def _check(order: Order, ship: ShipTime, new_day: date | None, today: date, note: str) -> None:
    if new_day is None and not note.strip():
        raise DeskFault(
            f"{order.code}: a letter that names no new day must give the reason; write it into a file "
            "and add --note words.md"
        )
    if new_day is not None and new_day <= ship.ship_by:
        raise DeskFault(f"{order.code} is to be sent by {ship.ship_by}; {new_day} isn't later than that")
    if new_day is not None and new_day < today:
        raise DeskFault(f"--new-day {new_day} has gone by; today is {today}")


def _matter(ship: ShipTime, new_day: date | None, *, overdue: bool) -> Matter:
    if ship.put_off:
        return Matter.RENEWED_DELAY
    return Matter.LONG_DELAY if overdue or ship.needs_a_yes(new_day) else Matter.DELAY


def _remarks(order: Order, ship: ShipTime, new_day: date | None, late_on: date | None) -> tuple[str, ...]:
    said = []
    if new_day is not None:
        said.append(
            f"When it is posted, note the new day: `sitegen order promise {order.code} {new_day}`; the first "
            "promise stays on record."
        )
    if late_on is not None:
        said.append(
            f"{ship.ship_by} has gone by. Without their yes the rule counts the order as cancelled, and "
            f"what was paid goes back: by {refund_by(late_on)}, if that is today."
        )
    return (*said, CAUTION)
