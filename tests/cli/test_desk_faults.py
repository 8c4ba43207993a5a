"""A fault stops the answers that rest on it, and no others."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests import makers
from tests.cli.runner import contents, run

ANSWERS = {
    "price": ["plan", "480"],
    "piece": ["plan", "ferry-ghost"],
    "worth": ["piece", "worth", "ferry-ghost"],
    "slots": ["slots"],
    "week": ["week"],
    "books": ["books"],
}
# What each file is broken with, and the answers that can't be given then.
FAULTS = {
    "people.csv": (b"name,email\r\n", set()),
    "pages/about.md": (b"no title\n", set()),
    "shows/quayside-2027.yaml": (b"name: [\n", {"worth", "slots", "week", "books"}),
    "commissions.yaml": (b"tiers: nothing\n", {"piece", "worth", "slots", "week", "books"}),
    "pieces/ferry-ghost/piece.yaml": (b"title: X\n", {"piece", "worth", "slots", "week", "books"}),
    "studio.yaml": (b"studio: X\n", set(ANSWERS)),
}


@pytest.mark.parametrize("file", FAULTS)
def test_a_fault_stops_what_rests_on_it(tmp_path: Path, file: str) -> None:
    """The complaint names the file; nothing is written."""
    text = makers.piece_yaml(private="\n  hours: {sculpting: 12.5}")
    folder = makers.studio(tmp_path / "s", {"ferry-ghost": text, "second": makers.piece_yaml(number="")})
    content, stopped = FAULTS[file]
    (folder / file).write_bytes(content)
    before = contents(folder)
    results = {name: run(folder, *words) for name, words in ANSWERS.items()}

    assert {name for name, result in results.items() if result.exit_code} == stopped
    assert all(file in results[name].output for name in stopped)
    assert contents(folder) == before
    assert run(folder, "check").exit_code == 1
