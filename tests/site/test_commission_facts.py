"""The commissions page says how long it takes, what is left, and how a price would be paid."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest

from tests import makers
from tests.site.studio import DUBLIN, THEMES, make_site, pages

PRIVATE = "\n  tier: Small figure\n  hours: {{sculpting: {}}}"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A studio with six pieces on record and one place of its round taken."""
    pieces = {
        f"piece-{n}": makers.piece_yaml(f"Piece {n}", "sold", number="", private=PRIVATE.format(17 + 2 * n))
        for n in range(6)
    }
    folder = makers.studio(tmp_path / "studio", pieces)
    text = (folder / "commissions.yaml").read_text("utf-8")
    makers.write(
        folder / "commissions.yaml",
        text.replace("    way: draw\n", "    way: first come\n").replace(
            "queue:\n",
            "queue:\n  - {code: W27-1, tier: Small figure, step: accepted, since: 2027-01-17, "
            "round: Winter 2027}\n",
        ),
    )
    return folder


def words(folder: Path, name: str, page: str) -> str:
    make_site(folder, name, datetime(2027, 1, 18, 12, tzinfo=DUBLIN))
    (main,) = pages(folder / "out" / "site")[page].xpath("//main")
    return " ".join(main.text_content().split())


@pytest.mark.parametrize("name", THEMES)
def test_an_open_round_says_what_is_left_and_how_long_it_takes(folder: Path, name: str) -> None:
    """Four of five places; months, never hours."""
    page = words(folder, name, "commissions/index.html")
    home = words(folder, name, "index.html")

    assert "4 of 5 places left" in page
    assert "Lead time: about 1 to 2 months after the round has closed." in page
    assert "What is accepted in this round should be finished between February 2027 and March 2027." in page
    assert "In parts: €126 at once, then 2 monthly instalments of €147." in page
    assert "Lead time: about" in home


@pytest.mark.parametrize("name", THEMES)
def test_without_hours_on_record_nothing_is_promised(tmp_path: Path, name: str) -> None:
    """Silence instead of a guess."""
    folder = makers.studio(tmp_path / "studio", {"ghost": makers.piece_yaml(private="")})

    assert "Lead time" not in words(folder, name, "commissions/index.html")


@pytest.mark.parametrize("name", THEMES)
def test_german_says_it_too(folder: Path, name: str) -> None:
    """Every sentence is in both catalogues."""
    text = (folder / "studio.yaml").read_text("utf-8")
    makers.write(folder / "studio.yaml", text.replace("language: en", "language: de"))
    page = words(folder, name, "commissions/index.html")

    assert "noch 4 von 5 Plätzen frei" in page
    assert "Lieferzeit: etwa 1 bis 2 Monate nach dem Ende der Runde." in page
    assert "In Raten: 126 € sofort, dann 2 Monatsraten zu 147 €." in page.replace("\N{NO-BREAK SPACE}", " ")
