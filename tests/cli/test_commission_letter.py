"""The letter that a round opens says what the site says: places left, and when they would be finished."""

from __future__ import annotations

import re
from pathlib import Path

from tests import makers
from tests.cli.runner import run

TAKEN = (
    "queue:\n  - {code: W27-1, tier: Small figure, step: accepted, since: 2026-11-20, round: Winter 2027}\n"
)


def letter(folder: Path) -> str:
    assert run(folder, "announce", "commissions").exit_code == 0
    (file,) = (folder / "out" / "letters").glob("*/letter.txt")
    return file.read_text("utf-8")


def test_the_letter_says_places_left_and_months(tmp_path: Path) -> None:
    """Months only: no hours, no rate."""
    private = "\n  tier: Small figure\n  hours: {{sculpting: {}}}"
    folder = makers.studio(
        tmp_path / "s",
        {
            f"piece-{n}": makers.piece_yaml(
                f"Piece {n}", "sold", number="", private=private.format(17 + 2 * n)
            )
            for n in range(6)
        },
    )
    text = (folder / "commissions.yaml").read_text("utf-8")
    makers.write(folder / "commissions.yaml", text.replace("queue:\n", TAKEN))

    words = " ".join(letter(folder).split())
    assert "Places 4 of 5 left, drawn by lot" in words
    assert re.search(r"Finished (in|between) [A-Z][a-z]+ 2027", words)


def test_without_hours_on_record_the_letter_promises_nothing(tmp_path: Path) -> None:
    """Silence instead of a guess."""
    words = letter(makers.studio(tmp_path / "s", {"ghost": makers.piece_yaml(private="")}))

    assert "Finished" not in words
