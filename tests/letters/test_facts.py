"""What a letter promises, to the letter: posting compares these with the studio as it is then."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from sitegen.letters.cautions import early_facts, piece_facts, round_facts, show_facts
from tests.letters.studio import front

DUBLIN = ZoneInfo("Europe/Dublin")


def test_everything_that_a_reader_may_rely_on_is_in_the_facts(tmp_path: Path) -> None:
    """Times with their distance from UTC (RFC 3339), slots, way, prices; days, hours, place and table."""
    house = front(tmp_path / "s")

    assert piece_facts(house, ["ferry-ghost", "gone"]) == {
        "piece ferry-ghost": "available, 480.00", "piece gone": "no longer there",
    }  # fmt: skip
    assert round_facts(house, "winter-2027") == {
        "round winter-2027": "opens 2027-01-16T12:00:00+00:00, closes 2027-01-23T20:00:00+00:00, 5 slots, draw, "
        "Small figure from 420.00"
    }
    assert show_facts(house, "quayside-2027") == {
        "show quayside-2027": "2027-02-27 to 2027-02-28, 10:00-17:00, The Old Ropewalk, table B12"
    }
    assert early_facts(house, "winter-2027") == {"early winter-2027": "not yet open to all"}


def test_a_round_may_stay_open(tmp_path: Path) -> None:
    house = front(tmp_path / "s")
    open_end = replace(house, rounds=tuple(replace(one, closes=None) for one in house.rounds))

    assert round_facts(open_end, "winter-2027") == {
        "round winter-2027": "opens 2027-01-16T12:00:00+00:00, 5 slots, draw, Small figure from 420.00"
    }


def test_what_is_over_or_gone_is_no_fact_any_more(tmp_path: Path) -> None:
    """A round taken out of the file, one that is open or closed, a show that was."""
    bare = replace(front(tmp_path / "s"), rounds=(), shows=(), pieces=())
    opened = front(tmp_path / "o", datetime(2027, 1, 16, 12, tzinfo=DUBLIN))
    later = front(tmp_path / "l", datetime(2027, 3, 1, tzinfo=DUBLIN))

    assert round_facts(bare, "x") == {"round x": "no longer there"}
    assert show_facts(bare, "x") == {"show x": "no longer there"}
    assert early_facts(bare, "x") == {"early x": "open to all, or over"}
    assert early_facts(opened, "winter-2027") == {"early winter-2027": "open to all, or over"}
    assert round_facts(later, "winter-2027") == {"round winter-2027": "closed"}
    assert show_facts(later, "quayside-2027") == {"show quayside-2027": "over"}
