"""Invented studios for the desk's tests, built by hand without any file."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import PurePath
from typing import Any

from sitegen.studio.commission import Commissions
from sitegen.studio.piece import Piece
from sitegen.studio.settings import Settings
from sitegen.studio.show import Show
from sitegen.studio.whole import Studio

TODAY = date(2026, 11, 25)
DIGITS = {"digits": 2}


def settings(**private: Any) -> Settings:
    """Make an invented studio's settings."""
    desk = {"rate": "28", "overhead": "310", "fees": "3%", "weekly_hours": "20", **private}
    return Settings.model_validate(
        {
            "studio": "Lantern & Loam",
            "maker": "Ottoline Example",
            "site": "https://lantern.example/",
            "contact": "hello@lantern.example",
            "currency": "EUR",
            "time_zone": "Europe/Dublin",
            "private": {key: value for key, value in desk.items() if value is not None},
        },
        context=DIGITS,
    )


def piece(slug: str, **changes: Any) -> Piece:
    """Make a piece."""
    return Piece.model_validate(
        {"slug": slug, "title": slug.replace("-", " ").title(), "status": "sold", **changes}, context=DIGITS
    )


def queued(code: str, step: str = "accepted", **changes: Any) -> dict[str, Any]:
    """Make one place of the queue as it stands in the file."""
    return {"code": code, "tier": "Small", "step": step, "since": "2026-11-01", **changes}


def studio(
    pieces: list[Piece] | None = None,
    queue: list[dict[str, Any]] | None = None,
    shows: list[dict[str, Any]] | None = None,
    own: Settings | None = None,
    **commissions: Any,
) -> Studio:
    """Make a studio."""
    written = {
        "tiers": [{"name": "Small", "from_price": "420"}, {"name": "Large", "from_price": "900"}],
        "queue": queue or [],
        **commissions,
    }
    return Studio(
        folder=PurePath("studio"),
        settings=own or settings(),
        pieces=tuple(pieces or []),
        commissions=Commissions.model_validate(written, context=DIGITS),
        shows=tuple(Show.model_validate(show, context=DIGITS) for show in shows or []),
        pages=(),
        people=(),
    )


def past_pieces(count: int, tier: str = "Small", hours: float = 20.0) -> list[Piece]:
    """Make finished pieces whose hours go up and down around a number."""
    day = date(2025, 1, 1)
    return [
        piece(
            f"past-{tier.lower()}-{number}",
            finished=str(day + timedelta(days=number)),
            private={"tier": tier, "hours": {"all": f"{hours + (number * 7 % 11) - 5:g}"}},
        )
        for number in range(count)
    ]


def fixed(count: int = 6, hours: str = "8", tier: str = "Small") -> list[Piece]:
    """Make pieces that all took the same hours; 8 are two days at 20 h a week."""
    return [piece(f"past-{n}", private={"tier": tier, "hours": {"all": hours}}) for n in range(count)]
