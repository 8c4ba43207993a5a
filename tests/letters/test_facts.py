"""What a letter promises, to the letter: posting compares these with the studio as it is then."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from sitegen.letters.cautions import fact
from tests.letters.studio import front

DUBLIN = ZoneInfo("Europe/Dublin")


def test_everything_that_a_reader_may_rely_on_is_in_the_facts(tmp_path: Path) -> None:
    """Times with their distance from UTC (RFC 3339), slots, way, prices; days, hours, place and table."""
    house = front(tmp_path / "s")

    assert fact(house, "piece ferry-ghost") == "available, 480.00"
    assert fact(house, "piece gone") == "no longer there"
    assert fact(house, "round winter-2027") == (
        "opens 2027-01-16T12:00:00+00:00, closes 2027-01-23T20:00:00+00:00, 5 slots, draw, "
        "Small figure from 420.00"
    )
    assert (
        fact(house, "show quayside-2027")
        == "2027-02-27 to 2027-02-28, 10:00-17:00, The Old Ropewalk, table B12"
    )
    assert fact(house, "early winter-2027") == "not yet open to all"


def test_a_round_may_stay_open(tmp_path: Path) -> None:
    house = front(tmp_path / "s")
    open_end = replace(house, rounds=tuple(replace(held, closes=None) for held in house.rounds))
    stays = fact(open_end, "round winter-2027")

    assert stays == "opens 2027-01-16T12:00:00+00:00, 5 slots, draw, Small figure from 420.00"


def test_what_is_over_or_gone_is_no_fact_any_more(tmp_path: Path) -> None:
    """A round taken out of the file, one that is open or closed, a show that was."""
    bare = replace(front(tmp_path / "s"), rounds=(), shows=(), pieces=())
    opened = front(tmp_path / "o", datetime(2027, 1, 16, 12, tzinfo=DUBLIN))
    later = front(tmp_path / "l", datetime(2027, 3, 1, tzinfo=DUBLIN))

    assert fact(bare, "round x") == "no longer there"
    assert fact(bare, "show x") == "no longer there"
    assert fact(bare, "early x") == "open to all, or over"
    assert fact(opened, "early winter-2027") == "open to all, or over"
    assert fact(later, "round winter-2027") == "closed"
    assert fact(later, "show quayside-2027") == "over"
