"""Look at the prices over time, and raise them in steps: nothing is written before the artist says so."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path

from sitegen.desk import prices as beside
from sitegen.desk.prices import Prices, Reprice, Rise, rise
from sitegen.jobs.pen import writes
from sitegen.jobs.pieces import shown_file
from sitegen.jobs.reading import BOOKS, once, sit
from sitegen.sources import forms
from sitegen.sources.text import rewrite
from sitegen.studio import money


def prices(folder: Path, today: str | None) -> Prices:
    """Put every price paid, agreed on or asked for beside the others."""
    sitting = sit(folder, today, BOOKS)
    studio, day = sitting.studio, sitting.today
    return once(studio, "prices", day, lambda: beside.prices(studio, day))


@writes
def reprice(folder: Path, wish: Reprice, today: str | None, agree: Callable[[Rise], bool]) -> Rise | None:
    """Change asking prices in dated steps; of them only today's is written, once the artist has seen it.

    A price is written with its day, so that a second time on one day changes nothing. None if she says no.
    """
    sitting = sit(folder, today, BOOKS)
    found = rise(sitting, wish)
    if not found.is_due:
        return found
    if not agree(found):
        return None
    tiers = [tier.name for tier in sitting.studio.commissions.tiers]
    for one in found.prices:
        price = money.plain(one.steps[0], found.digits if one.steps[0] % 1 else 0)
        if one.is_tier:
            file, place, name = "commissions.yaml", f"tiers.{tiers.index(one.name)}.", "from_price"
        else:
            file, place, name = shown_file(folder, one.name), "", "price"
        values = {f"{place}{name}": price, f"{place}private.priced": found.day.isoformat()}
        made = partial(forms.all_changed, shown=file, values=values)
        rewrite(folder / file, made, private=one.is_tier)
    return found
