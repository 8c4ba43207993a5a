"""What hangs on the public view: walked to its last leaf, against a list of what may be there."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping
from datetime import datetime
from decimal import Decimal
from enum import Enum
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from pydantic import BaseModel

from sitegen.sources import read
from sitegen.studio import public
from sitegen.studio.front import front_of_house
from sitegen.studio.plan import Band, CallingOff, PaymentPlan
from sitegen.studio.settings import SalesTax
from sitegen.studio.whole import Page
from tests import makers

# The payment plan's settings are public: collectors are told of them. Everything else is made for the view.
MAY_BE_THERE = {
    *(var for var in vars(public).values() if isinstance(var, type) and var.__module__ == public.__name__),
    PaymentPlan,
    Band,
    CallingOff,
    SalesTax,
    Page,
}
# Numbers and names of the makers' studio that only the artist may know, each found nowhere else in it.
PRIVATE = [
    "28",
    "310",
    "24",
    "21.5",
    "12.5",
    "9",
    "23.57",
    "431",
    "137",
    "Secret Client",
    "Waiting Client",
    "37",
    "443",
    "41",
    "537.19",
]
PRIVATE += ["22.75", "84.19", "1052.21"]


def reachable(one: Any) -> Iterator[Any]:
    """Yield a value and everything that can be got at from it."""
    yield one
    inner: list[Any] = []
    if dataclasses.is_dataclass(one):
        inner = [getattr(one, field.name) for field in dataclasses.fields(one)]
    elif isinstance(one, BaseModel):
        inner = [getattr(one, name) for name in type(one).model_fields]
    elif isinstance(one, Mapping):
        inner = [*one.keys(), *one.values()]
    elif isinstance(one, tuple | list | set | frozenset):
        inner = list(one)
    for value in inner:
        yield from reachable(value)


def test_only_what_was_made_for_the_public_hangs_on_its_view(tmp_path: Path) -> None:
    """No settings of the desk, no client, no hours, no total: neither their types nor their values."""
    private = (
        "\n  tier: Small figure\n  hours: {sculpting: 12.5, painting: 9}\n  next_prices: 2027-08-01 537.19"
    )
    there = makers.AWAY.replace(
        "2024-03-01, until: 2024-04-28, back: 2024-04-30", "2027-01-02, until: 2027-04-28"
    )
    pieces = {
        f"piece-{n}": makers.piece_yaml(f"Piece {'abcdef'[n]}", number="", private=private, away=there)
        for n in range(6)
    }
    makers.write(tmp_path / "s" / "shows" / "heads-2027.yaml", makers.CLASS)
    studio = read(makers.studio(tmp_path / "s", pieces)).sound()
    view = front_of_house(studio, datetime(2027, 1, 18, 12, tzinfo=ZoneInfo("Europe/Dublin")))
    found = list(reachable(view))
    ours = {type(one) for one in found if type(one).__module__.startswith("sitegen.")}
    plain = {str(one) for one in found if isinstance(one, str | Decimal | int) and not isinstance(one, Enum)}

    assert view.lead_time is not None
    assert {piece.away and piece.away.place for piece in view.pieces} == {"The Long Room"}
    assert {type_type for type_type in ours if not issubclass(type_type, Enum)} <= MAY_BE_THERE
    assert not plain & set(PRIVATE)
