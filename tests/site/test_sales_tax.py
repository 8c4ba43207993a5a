"""What stands beside prices that contain a sales tax: on the site, in letters, on cards.

In the European Union a price shown to consumers is the final one with VAT and all other taxes (Directive 98/6/EC,
article 2(a), from memory); what must be said of it differs by country, so the artist's own words win.
"""

from __future__ import annotations

import re
from decimal import Decimal
from pathlib import Path

import pytest

from sitegen.sources import read
from sitegen.voice.theme_files import shared
from sitegen.voice.voice import open_voice
from tests import makers
from tests.cli.runner import contents, on

SAID = {
    "{name: VAT, rate: 23%}": "VAT included",
    "{name: VAT, rate: 23%, says: Prices hold 23 % VAT.}": "Prices hold 23 % VAT.",
    "{name: VAT, says: No VAT is charged.}": "No VAT is charged.",
    "{name: VAT}": "",
    "": "",
}


def _with(folder: Path, settings: str) -> Path:
    makers.write(makers.studio(folder) / "studio.yaml", settings)
    return folder


@pytest.mark.parametrize("tax", SAID)
def test_her_own_words_win_and_nothing_is_said_where_she_is_not_registered(tmp_path: Path, tax: str) -> None:
    text = makers.STUDIO + (f"sales_tax: {tax}\n" if tax else "")
    settings = read(_with(tmp_path / "s", text)).sound().settings
    said = open_voice(shared(), settings).tongue.priced(Decimal(480))

    assert said == f"€480, {SAID[tax]}" if SAID[tax] else said == "€480"


def _made(folder: Path, tax: str, look: str, *more: tuple[str, ...]) -> dict[str, str]:
    """Build the site and what else names a price; return what can be read of it, by its place in out/."""
    makers.studio(folder)
    text = makers.STUDIO.replace("language: en", look)
    makers.write(folder / "studio.yaml", f"{text}sales_tax: {tax}\n")
    for words in (("build",), *more):
        done = on("2027-01-16 12:30", folder, *words)
        assert done.exit_code == 0, done.output
    made = contents(folder / "out")
    return {name: body.decode() for name, body in made.items() if name.endswith((".html", ".txt"))}


def test_it_stands_beside_every_asking_price(tmp_path: Path) -> None:
    """Wherever the price of a piece or the lowest of a size is named: pages and letters."""
    letters = (("announce", "commissions"), ("announce", "pieces", "ferry-ghost"))
    made = _made(tmp_path / "s", "{name: VAT, rate: 23%}", "language: en", *letters)
    places = [name for name, said in made.items() if re.search("(€480|from €420)(?!.00)", said)]

    kinds = {name.split("/")[0] for name in places}
    assert kinds == {"site", "letters"}
    assert {"site/pieces/ferry-ghost/index.html", "site/commissions/index.html"} <= {*places}
    assert [name for name in places if "VAT included" not in made[name]] == []


def test_in_german_and_in_the_other_theme(tmp_path: Path) -> None:
    made = _made(tmp_path / "s", "{name: MwSt., rate: 19%}", "language: de\ntheme: handbill")

    for name in ("site/pieces/ferry-ghost/index.html", "site/commissions/index.html"):
        assert "inkl.\u00a0MwSt." in made[name]


def test_what_she_lives_on_and_when_she_worked_stay_private(tmp_path: Path) -> None:
    """The leak test of the room: budget, money in hand, the share put by and hours by the week are nowhere."""
    folder = makers.studio(tmp_path / "s")
    own = "  budget: 8642\n  in_hand: {on: 2026-11-25, amount: 97531}\n  set_aside: 37.75%\n"
    makers.write(folder / "studio.yaml", makers.STUDIO + own)
    hours = "\n  hours: {sculpting: 12.5}\n  worked: 2026-11-23 77.25"
    makers.add_piece(folder, "second", makers.piece_yaml("Second", number="", private=hours))
    for words in (("build",), ("week", "--calendar")):
        assert on("2026-11-25", folder, *words).exit_code == 0
    public = {name: body for name, body in contents(folder / "out").items() if name.startswith("site/")}

    assert (folder / "out" / "week.ics").exists()
    for secret in (b"8642", b"8,642", b"97531", b"97,531", b"37.75", b"77.25", b"worked:"):
        assert [
            name
            for name, body in public.items()
            if secret in body and not name.endswith((".jpg", ".webp", ".woff2"))
        ] == []
