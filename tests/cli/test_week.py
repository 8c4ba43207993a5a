"""`week` from the outside: its answer, its calendar file, and who may see that."""

from __future__ import annotations

import json
import re
import stat
from pathlib import Path
from typing import Any

import pytest
from icalendar import Calendar

from tests import makers
from tests.cli.runner import contents, own, run


def _with_hours(folder: Path) -> Path:
    file = folder / "commissions.yaml"
    file.write_text(
        file.read_text("utf-8").replace("price: 431", "price: 431, promised: 2026-12-04"), "utf-8"
    )
    makers.add_piece(folder, "second", makers.piece_yaml(number=""))
    return folder


def test_the_weeks_are_said_and_nothing_is_written(folder: Path) -> None:
    """By hand: both pieces on record took 21.5 h; of 24 h a week 14.4 are left from Wednesday on."""
    before = contents(_with_hours(folder))
    done = run(folder, "week", "--weeks", "2")

    assert done.exit_code == 0, done.output
    assert "Wednesday 25 November to Sunday 29 November: 14.4 bench hours\n" in done.output
    assert "  A-1  Small figure  painting    1.9 h\n" in done.output
    assert "Friday 4 December: Promised: A-1, nearly certain\n" in done.output
    assert contents(folder) == before


def test_the_calendar_is_its_owners_alone_and_no_build_shows_it(folder: Path) -> None:
    before = own(_with_hours(folder))
    done = run(folder, "week", "--calendar", "--json")
    file = folder / "out" / "week.ics"

    assert done.exit_code == 0, done.output
    assert str(file) in done.stderr
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    week = json.loads(done.stdout)["weeks"][0]
    read: list[Any] = list(Calendar.from_ical(file.read_bytes()).walk("VEVENT"))
    entry = next(one for one in read if "week-" in one["UID"])
    assert str(entry["SUMMARY"]) == f"At the bench: {week['planned']} h"
    run(folder, "build")
    site = b"\n".join(body for name, body in contents(folder).items() if name.startswith("out/site/"))
    for secret in (b"At the bench", b"Promised", b"2026-12-04", b"20261204", b"week.ics"):
        assert secret not in site
    assert b"Secret" not in file.read_bytes()
    assert own(folder) == before


def test_what_cannot_be_planned_is_said_with_its_cure(folder: Path) -> None:
    file = folder / "studio.yaml"
    file.write_text(makers.STUDIO.replace("  weekly_hours: 24\n", ""), "utf-8")

    done = run(folder, "week")
    lost = run(_with_hours(folder), "week", "--lost", "tomorrow")

    assert (done.exit_code, lost.exit_code) == (1, 1)
    assert "write `weekly_hours: 20`" in done.stderr
    assert "--lost: 'tomorrow' is not a date" in lost.stderr
    assert run(folder, "week", "--csv", "--json").exit_code == 2


@pytest.mark.parametrize(
    "words",
    [
        ("week", "--lost", "9999-12-31", "--days", "3"),
        ("slots", "--from", "9999-12-01"),
        ("slots", "--from", "20270201"),
    ],
)
def test_a_day_is_one_of_our_time_written_as_in_the_files(folder: Path, words: tuple[str, ...]) -> None:
    """ISO 8601 knows more forms and Python's calendar ends in 9999; a studio has to do with neither."""
    refused = run(_with_hours(folder), *words)

    assert (refused.exit_code, refused.stdout) == (1, "")
    assert re.search(r"--(lost|from): .*(lies outside the years 1900 to 2200|is not a date)", refused.stderr)


def test_hours_noted_later_belong_to_the_week_of_their_day(folder: Path) -> None:
    """In its piece or on its order, as the day says; a day to come is refused, and nothing is written."""
    _with_hours(folder)
    file = folder / "pieces" / "ferry-ghost" / "piece.yaml"
    for words in (
        ("sewing", "2.5", "--on", "2026-11-18"),
        ("sewing", "1", "--on", "2026-11-16"),
        ("sewing", "4"),
    ):
        assert run(folder, "piece", "hours", "ferry-ghost", *words).exit_code == 0
    assert "worked: 2026-11-16 3.5; 2026-11-23 4" in file.read_text("utf-8")
    assert run(folder, "order", "hours", "A-1", "sewing", "3", "--on", "2026-11-09").exit_code == 0
    assert "worked: 2026-11-09 3" in (folder / "commissions.yaml").read_text("utf-8")

    before = own(folder)
    for what in (("piece", "hours", "ferry-ghost"), ("order", "hours", "A-1")):
        ahead = run(folder, *what, "sewing", "1", "--on", "2026-11-26")
        assert (ahead.exit_code, "lies ahead" in ahead.output) == (1, True)
    assert own(folder) == before
    noted = {one["monday"]: one["noted"] for one in json.loads(run(folder, "week", "--json").stdout)["noted"]}
    assert (noted["2026-11-09"], noted["2026-11-16"], noted["2026-11-23"]) == ("3", "3.5", "4")
