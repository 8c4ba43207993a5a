"""Who ordered or waits: never shown in public."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from pydantic import BeforeValidator, Field

from sitegen.studio.addresses import address_key
from sitegen.studio.fields import Count, Day, Entry, Hours, Money, Name, one_of
from sitegen.studio.order_lines import Receipt, read_days, read_receipts
from sitegen.studio.payment_fields import DepositText
from sitegen.studio.payments import CalledOffBy
from sitegen.studio.postage import Postage, read_postage


class Client(Entry):
    """Who ordered or waits: never shown in public."""

    name: str = ""
    email: str = ""
    price: Money | None = None
    postage: Annotated[Postage | None, BeforeValidator(read_postage)] = None
    """To this client's address: an amount on top of the price, or `included`."""
    brief: str = ""
    """What is made, in words that the client reads in the offer: subject, materials."""
    notes: str = ""
    promised: Day | None = None
    """The day the piece was promised for when the order was agreed on."""
    new_days: Annotated[tuple[date, ...], BeforeValidator(read_days)] = ()
    """New days named since, in that order; the last one holds."""
    deposit: DepositText = ""
    """A percentage or an amount, where it isn't the studio's usual deposit."""
    instalments: Count | None = None
    """How many, where it isn't the number of the price's band."""
    plan_from: Day | None = None
    """The day the deposit is due; without it, the day the offer was accepted."""
    paid: Annotated[tuple[Receipt, ...], BeforeValidator(read_receipts)] = ()
    """What came in and went back: `2026-09-16 282; 2026-10-16 219.34; 2026-11-02 -120`."""
    hours: dict[Name, Hours] = Field(default_factory=dict)
    """Bench hours by step of the work, for as long as the piece has no folder of its own."""
    why: str = ""
    """Why it ended, in the artist's words."""
    called_off_by: Annotated[CalledOffBy | None, BeforeValidator(one_of(CalledOffBy))] = None
    """`client` or `maker`, of an order that was called off."""
    kept: Money | None = None
    """Of an order that was called off: what the studio keeps of the money paid."""
    claimed: Money | None = None
    """Of an order that was called off: what is still asked for, beyond what was paid."""

    @property
    def promised_now(self) -> date | None:
        """The day that is promised as things stand: the newest, else the first."""
        return self.new_days[-1] if self.new_days else self.promised


def same_person(one: Client, other: Client) -> bool:
    """Tell whether two entries are one person's: by mail address, or by name where one has no address."""
    if one.email.strip() and other.email.strip():
        return address_key(one.email) == address_key(other.email)
    name = _name(one)
    return bool(name) and name == _name(other)


def _name(client: Client) -> str:
    return " ".join(client.name.split()).casefold()
