"""Draws made and announced in one call."""

from collections.abc import Collection, Sequence
from datetime import date

from sitegen.studio import draw
from sitegen.studio.draw import Draw, Source


def run(
    pool: Sequence[str],
    slots: int,
    sources: Sequence[Source],
    withdrawn: Collection[int] = (),
    title: str = "Winter",
) -> Draw:
    """Draw from a list."""
    return draw.run(Draw(title, tuple(pool), slots, tuple(sources)), sources, withdrawn)


def announce(title: str, pool: Sequence[str], slots: int, sources: Sequence[Source], day: date) -> Draw:
    """Announce a draw."""
    return draw.announce(Draw(title, tuple(pool), slots, tuple(sources), wait_days=7), day)
