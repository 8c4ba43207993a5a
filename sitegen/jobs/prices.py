"""Look at the prices over time, and raise them in steps: nothing is written before the artist says so."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

from sitegen.desk import prices as beside
from sitegen.desk.prices import Prices
from sitegen.desk.rise import Reprice, Rise, rise
from sitegen.jobs.pen import writes
from sitegen.jobs.pieces import file_of
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
            place = f"tiers.{tiers.index(one.name)}."
            _write(
                folder, "commissions.yaml", {f"{place}from_price": price, f"{place}private.priced": found.day}
            )
        else:
            file = file_of(folder, one.name).relative_to(folder).as_posix()
            _write(folder, file, {"price": price, "private.priced": found.day})
    return found


def _write(folder: Path, file: str, fields: Mapping[str, object]) -> None:
    """Write fields of one file, all or none."""

    def made(text: str) -> str:
        for path, value in fields.items():
            text = forms.changed(text, file, path, str(value))
        return text

    rewrite(folder / file, made, private=file == "commissions.yaml")
