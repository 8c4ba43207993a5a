"""Calendar files against RFC 5545 and read by icalendar, an independent reader."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from icalendar import Calendar

from tests import makers
from tests.site.studio import make_site

LONG = "Bring gloves; the Ropewalk is cold, dark \\\\ long: three hundred metres – Grüße, 人形のお祭り 人形のお祭り 人形のお祭り."


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A site with a show whose text needs escaping and folding, and a round to come."""
    studio = makers.studio(tmp_path_factory.mktemp("calendar"))
    makers.write(studio / "shows" / "quayside-2027.yaml", makers.SHOW + f'about: "{LONG}"\n')
    makers.write(studio / "shows" / "old.yaml", makers.SHOW.replace("2027-02", "2026-02"))
    make_site(studio)
    return studio / "out" / "site"


@pytest.mark.parametrize("name", ["shows/quayside-2027.ics", "commissions/winter-2027.ics"])
def test_lines_end_and_fold_as_rfc_5545_says(site: Path, name: str) -> None:
    """RFC 5545, section 3.1: CRLF, at most 75 octets, no character cut in two."""
    content = (site / name).read_bytes()

    assert content.endswith(b"\r\n")
    assert b"\n" not in content.replace(b"\r\n", b"")
    for line in content.split(b"\r\n"):
        assert len(line) <= 75
        line.decode("utf-8")


def events_of(file: Path) -> list[Any]:
    """Return a calendar file's events, as the independent reader gives them."""
    return list(Calendar.from_ical(file.read_bytes()).walk("VEVENT"))


@pytest.mark.parametrize("name", ["shows/quayside-2027.ics", "commissions/winter-2027.ics"])
def test_the_calendar_holds_what_rfc_5545_asks(site: Path, name: str) -> None:
    """RFC 5545, sections 3.6 and 3.6.1: PRODID, VERSION, UID and DTSTAMP once each, the stamp in UTC."""
    calendar = Calendar.from_ical((site / name).read_bytes())

    assert calendar["VERSION"] == "2.0"
    assert calendar["PRODID"]
    events = events_of(site / name)
    assert events
    for event in events:
        assert event["UID"].endswith("@lantern.example")
        assert event["DTSTAMP"].dt.tzinfo is not None
        assert event["DTSTAMP"].dt.utcoffset().total_seconds() == 0
        assert not ("DTEND" in event and "DURATION" in event)
        assert event.errors == []
    assert len({event["UID"] for event in events}) == len(events)


def test_a_show_of_whole_days_ends_on_the_day_after(site: Path) -> None:
    """RFC 5545, section 3.6.1: the end is exclusive."""
    event = events_of(site / "shows/quayside-2027.ics")[0]

    assert event["DTSTART"].dt == date(2027, 2, 27)
    assert event["DTEND"].dt == date(2027, 3, 1)
    assert event["SUMMARY"] == "Quayside Doll Fair"
    assert event["LOCATION"] == "The Old Ropewalk, Sampletown"
    assert event["DESCRIPTION"].endswith(LONG.replace("\\\\", "\\"))


def test_a_round_opens_and_closes_at_the_right_instant(site: Path) -> None:
    """12:00 in Dublin in January is 12:00 UTC (tz database: Europe/Dublin, GMT in winter)."""
    events = events_of(site / "commissions/winter-2027.ics")

    assert [event["DTSTART"].dt for event in events] == [
        datetime(2027, 1, 16, 12, 0, tzinfo=UTC),
        datetime(2027, 1, 23, 20, 0, tzinfo=UTC),
    ]


def test_what_is_over_has_no_calendar_file(site: Path) -> None:
    """Nobody needs last year's show in a calendar."""
    assert sorted(file.name for file in (site / "shows").iterdir()) == ["index.html", "quayside-2027.ics"]
