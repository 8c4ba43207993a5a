"""Invented studios for the paper room's tests."""

from __future__ import annotations

import dataclasses
import io
from datetime import UTC, date, datetime
from pathlib import PurePath
from typing import Any

from PIL import Image

from sitegen.paper.lists import price_list
from sitegen.paper.press import Printer
from sitegen.studio.asked import Fault
from sitegen.studio.commission import Commissions
from sitegen.studio.front import front_of_house
from sitegen.studio.piece import Piece
from sitegen.studio.public import FrontOfHouse
from sitegen.studio.settings import Settings
from sitegen.studio.show import Show
from sitegen.studio.whole import Page, Studio
from sitegen.voice.theme_files import ThemeFiles
from tests.themes import theme_named

CASE = theme_named("case")

# Stands in every private field; must be found in no PDF.
SENTINEL = "zq-private-zq"

CONSENT = (
    "Yes, please write to me about the things I tick. I know that I can leave at any time "
    "by answering a letter, and that my address goes nowhere else."
)


def settings(**changes: Any) -> Settings:
    """Make the settings of an invented studio."""
    return Settings.model_validate(
        {
            "studio": "Saltglass Studio",
            "maker": "Ines Corvane",
            "tagline": "One-of-a-kind figures with somewhere to be",
            "site": "https://saltglass.example/",
            "contact": "hello@saltglass.example",
            "postal_address": "Box 41\nHarbour Row\nNorthmouth",
            "currency": "EUR",
            "time_zone": "Europe/Dublin",
            "consent": CONSENT,
            "care": "Dust with a soft dry brush. Keep out of strong sun; the blush is pastel under varnish.",
            "private": {"rate": "28", "overhead": "310"},
            **changes,
        }
    )


def piece(**changes: Any) -> Piece:
    """Make an available piece with private words in every private field."""
    return Piece.model_validate(
        {
            "slug": "moth-clerk",
            "title": "The Moth Clerk",
            "number": "2026-07",
            "status": "available",
            "price": "480",
            "finished": "2026-05-14",
            "height_mm": "320",
            "base": "resin blank, jointed",
            "materials": "acrylic and pastel, mohair, hand-sewn cotton",
            "story": "Keeps the ledger of every light left on.",
            "private": {
                "hours": {SENTINEL: "31.5"},
                "supplies": [{"what": SENTINEL, "cost": "23.50"}],
                "sold": {"on": "2026-06-01", "price": "480", "to": SENTINEL},
            },
            **changes,
        }
    )


def show(**changes: Any) -> Show:
    """Make a coming show."""
    return Show.model_validate(
        {
            "slug": "harbour-doll-fair",
            "name": "Harbour Doll Fair",
            "venue": "The Old Customs Hall",
            "from": "2027-02-27",
            "to": "2027-02-28",
            "table": "14",
            "private": {"costs": [{"what": SENTINEL, "cost": "90"}]},
            **changes,
        }
    )


def front(pieces: tuple[Piece, ...] = (), **changes: Any) -> FrontOfHouse:
    """Make the public view of an invented studio with one show; `changes` go into its settings."""
    studio = Studio(
        folder=PurePath("studio"),
        settings=settings(**changes),
        pieces=pieces or (piece(),),
        commissions=Commissions(),
        shows=(show(),),
        pages=(Page("privacy", "Privacy", "Little is kept."),),
        people=(),
    )
    return front_of_house(studio, datetime(2027, 1, 10, 9, 0, tzinfo=UTC))


def front_with_show(show_changes: dict[str, Any], **changes: Any) -> FrontOfHouse:
    """Make the public view of a studio whose one show differs from the usual."""
    usual = front(**changes)
    odd = front_of_house(
        Studio(
            folder=PurePath("studio"),
            settings=settings(),
            pieces=(),
            commissions=Commissions(),
            shows=(show(**show_changes),),
            pages=(),
            people=(),
        ),
        datetime(2027, 1, 10, 9, 0, tzinfo=UTC),
    )
    return dataclasses.replace(usual, shows=odd.shows)


TODAY = date(2027, 1, 10)


def _jpeg() -> bytes:
    kept = io.BytesIO()
    Image.new("RGB", (90, 120), "#7a2233").save(kept, "JPEG")
    return kept.getvalue()


JPEG = _jpeg()


def can_show(theme: ThemeFiles, name: str) -> bool:
    """Tell whether a font of the theme or of this machine has the letters of a name."""
    named = front((piece(title=name),))
    try:
        price_list(Printer(named, theme, "a4"), named.pieces, None)
    except Fault as fault:
        return "no font on this computer has" not in str(fault)
    return True
