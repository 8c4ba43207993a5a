"""What may be said of a piece, in the trade's words, and what that means to a machine."""

from __future__ import annotations

from enum import StrEnum


class Status(StrEnum):
    """A piece's standing. The value is the word the artist writes and the collector reads."""

    IN_PROGRESS = "in progress"
    AVAILABLE = "available"
    ON_HOLD = "on hold"
    SOLD = "sold"
    COMMISSIONED = "commissioned"
    NOT_FOR_SALE = "not for sale"

    @property
    def offered(self) -> bool:
        """True for the one status under which a price or a way to buy may be shown."""
        return self is Status.AVAILABLE

    @property
    def availability(self) -> str:
        """Name the member of schema.org's ItemAvailability (release 30.0) that says the same."""
        return AVAILABILITY[self]


# schema.org has no word for "not offered (yet, or ever)"; OutOfStock promises nothing to a buyer.
# A commissioned piece belongs to its client, so it is SoldOut rather than MadeToOrder, which would
# offer to make the same thing again.
AVAILABILITY: dict[Status, str] = {
    Status.IN_PROGRESS: "OutOfStock",
    Status.AVAILABLE: "InStock",
    Status.ON_HOLD: "Reserved",
    Status.SOLD: "SoldOut",
    Status.COMMISSIONED: "SoldOut",
    Status.NOT_FOR_SALE: "OutOfStock",
}
