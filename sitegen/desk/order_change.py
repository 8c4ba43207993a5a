"""The answer of whoever moves an order: the order and the order book as they're to be written."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from sitegen.studio.commission import Commissions, Order
from sitegen.studio.order_lines import write_moves


@dataclass(frozen=True)
class Changed:
    """One order, changed. Nothing is written yet: whoever asked hands the difference to the files."""

    order: Order
    book: Commissions
    """The whole order book as it's to be."""
    said: tuple[str, ...] = ()
    """What the artist should know, a sentence a line."""
    more: dict[str, Any] = field(default_factory=dict)
    """Further parts of the answer for machines."""

    def as_answer(self) -> dict[str, Any]:
        """Return the answer for machines."""
        since = self.order.since
        return {
            "code": self.order.code,
            "step": str(self.order.step),
            "since": since.isoformat() if since else None,
            "moves": write_moves(self.order.moves),
            **self.more,
            "notes": list(self.said),
        }

    def lines(self) -> list[str]:
        """Write the answer for a person."""
        return list(self.said)


def privately(order: Order, **update: Any) -> Order:
    """Change what only the artist may know of an order."""
    return order.model_copy(update={"private": order.private.model_copy(update=update)})
