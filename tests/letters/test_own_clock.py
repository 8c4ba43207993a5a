"""Openings told by the reader's own clock, where people.csv knows it."""

from __future__ import annotations

import time
from dataclasses import replace
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from sitegen.letters.announce import Writing
from sitegen.letters.kinds import announce_commissions
from sitegen.studio.person import Person
from tests.letters.studio import ADA, front, messages, room, text_of
from tests.themes import theme_named


def at(zone: str | None) -> Person:
    """Return Ada, with her clock elsewhere."""
    return replace(ADA, zone=ZoneInfo(zone) if zone else None)


# Computed by hand from the zones' offsets on 16 January 2027, when Dublin's is 0: Halifax -4, Tokyo +9,
# Chatham +13:45, Lisbon 0.
@pytest.mark.parametrize(
    ("zone", "opens", "closes"),
    [
        ("America/Halifax", "08:00 Halifax time", "16:00 Halifax time"),
        ("Asia/Tokyo", "21:00 Tokyo time", "Sunday 24 January 2027, 05:00 Tokyo time"),
        ("Asia/Kathmandu", "17:45 Kathmandu time", "Sunday 24 January 2027, 01:45 Kathmandu time"),
        (
            "Pacific/Auckland",
            "Sunday 17 January 2027, 01:00 Auckland time",
            "Sunday 24 January 2027, 09:00 Auckland time",
        ),
    ],
)
@pytest.mark.parametrize("theme", ["case", "handbill"])
def test_times_are_told_by_ones_own_clock_too(
    tmp_path: Path, theme: str, zone: str, opens: str, closes: str
) -> None:
    """Below the studio's time and UTC, with the day where it is another one."""
    where = replace(room(tmp_path), theme=theme_named(theme))
    made = announce_commissions(Writing(front(tmp_path / "s"), [at(zone)], where))

    ((_, message),) = messages(made.folder)
    text = text_of(message).replace("\r\n", "\n")
    assert f"12:00 Dublin time (12:00 UTC)\n          By your clock: {opens}\nCloses " in text
    assert f"(20:00 UTC)\n          By your clock: {closes}\nPlaces " in text
    html = text_of(message, "html")
    assert f"12:00 Dublin time (12:00 UTC)<br>By your clock: {opens}</td>" in html


@pytest.mark.parametrize("zone", [None, "Europe/Lisbon", "Europe/Dublin"])
def test_nothing_is_added_where_the_clock_shows_the_same(tmp_path: Path, zone: str | None) -> None:
    """Or where it isn't known; the letter is the same to the letter."""
    plain = announce_commissions(Writing(front(tmp_path / "s"), [at(None)], room(tmp_path / "a")))
    made = announce_commissions(Writing(front(tmp_path / "s"), [at(zone)], room(tmp_path / "b")))

    assert (made.folder / "eml" / "0001.eml").read_bytes() == (plain.folder / "eml" / "0001.eml").read_bytes()
    ((_, message),) = messages(made.folder)
    assert "By your clock" not in text_of(message) + text_of(message, "html")
    assert "(12:00 UTC)\nCloses " in text_of(message).replace("\r\n", "\n")


@pytest.mark.skipif(not hasattr(time, "tzset"), reason="has a clock of another kind")
def test_this_machines_own_clock_is_nobodys(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A letter made while travelling tells no reader the time at the artist's hotel."""
    try:
        with monkeypatch.context() as abroad:
            abroad.setenv("TZ", "Asia/Tokyo")
            time.tzset()
            made = announce_commissions(Writing(front(tmp_path / "s"), [at(None)], room(tmp_path)))
    finally:
        time.tzset()

    ((_, message),) = messages(made.folder)
    assert "By your clock" not in text_of(message) + text_of(message, "html")
