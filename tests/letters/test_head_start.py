"""A round that the waiting list may enter earlier: two letters, each with the right times and people."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import icalendar
import pytest

from sitegen.letters.announce import Announcement, Writing
from sitegen.letters.cautions import refuse_if_untrue
from sitegen.letters.folder import open_letter
from sitegen.letters.kinds import announce_head_start
from sitegen.studio.asked import LetterFault
from sitegen.studio.commission import Way
from sitegen.studio.public import FrontOfHouse
from tests.letters.studio import ADA, GONE, NAMELESS, PEOPLE, ZOE, front, messages, room, text_of

WAITING = frozenset({"ada@example.com", "gone@example.net", "stranger@example.org"})


def first_come(folder: Path) -> FrontOfHouse:
    house = front(folder)
    return replace(house, rounds=tuple(replace(held, way=Way.FIRST_COME) for held in house.rounds))


def both_letters(folder: Path) -> tuple[Announcement, Announcement]:
    early, rest = announce_head_start(
        Writing(first_come(folder / "studio"), PEOPLE, room(folder)), 24, WAITING
    )
    assert early is not None
    assert rest is not None
    return early, rest


def test_each_letter_has_its_own_people_and_times(tmp_path: Path) -> None:
    """Who waits reads both times; the rest read only theirs; nobody gets both letters."""
    early, rest = both_letters(tmp_path)
    assert [reader.person for reader in early.choice.chosen] == [ADA]
    assert [reader.person for reader in rest.choice.chosen] == [ZOE, NAMELESS]
    first = (early.folder / "letter.txt").read_text(encoding="utf-8").replace("\u00a0", " ")
    assert "For you   Friday 15 January 2027, 12:00 Dublin time (12:00 UTC)" in first
    assert "For all   Saturday 16 January 2027, 12:00 Dublin time (12:00 UTC)" in first
    assert "24 hours" in first
    for _, mail in messages(rest.folder):
        assert "15 January" not in text_of(mail)
        assert "waiting" not in text_of(mail)


def test_nobody_gets_both_and_everyone_is_accounted_for(tmp_path: Path) -> None:
    """Each letter's two lists hold everyone; those who left get neither, though they wait."""
    early, rest = both_letters(tmp_path)
    for made in (early, rest):
        people = [one.person for one in made.choice.chosen] + [one.person for one in made.choice.skipped]
        assert sorted(people, key=lambda p: p.line) == list(PEOPLE)
    assert GONE in [skipped.person for skipped in rest.choice.skipped]
    assert "2 of those who wait get no letter" in rest.cautions[0]


def test_the_attached_dates_are_the_readers_own(tmp_path: Path) -> None:
    """The calendar file opens at the earlier time only for those who wait (read by the icalendar library)."""
    early, rest = both_letters(tmp_path)
    starts = []
    for made in (early, rest):
        file = made.folder / "with" / "commissions-winter-2027.ics"
        calendar = icalendar.Calendar.from_ical(file.read_bytes())
        starts.append(calendar.walk("VEVENT")[0].decoded("DTSTART"))
    utc = ZoneInfo("UTC")
    assert starts == [datetime(2027, 1, 15, 12, tzinfo=utc), datetime(2027, 1, 16, 12, tzinfo=utc)]


@pytest.mark.parametrize("hours", [0, 24 * 8])
def test_a_head_start_lies_between_now_and_the_opening(tmp_path: Path, hours: int) -> None:
    """No time that is past, or none at all, is offered."""
    with pytest.raises(LetterFault, match="that must lie after now and before the opening"):
        announce_head_start(Writing(first_come(tmp_path / "studio"), PEOPLE, room(tmp_path)), hours, WAITING)


def test_no_head_start_in_a_draw(tmp_path: Path) -> None:
    """Where lots are drawn, being early gives nothing."""
    with pytest.raises(
        LetterFault, match="a head start means nothing in the round 'Winter 2027', whose way is 'draw'"
    ):
        announce_head_start(Writing(front(tmp_path / "studio"), PEOPLE, room(tmp_path)), 24, WAITING)


def test_nobody_waits_whom_the_list_allows(tmp_path: Path) -> None:
    """Then there is one letter, to all; and where everybody waits, it's theirs alone."""
    early, rest = announce_head_start(
        Writing(first_come(tmp_path / "studio"), PEOPLE, room(tmp_path)), 24, frozenset({"x@example.org"})
    )

    assert early is None
    assert rest is not None
    assert len(rest.choice.chosen) == 3

    everyone = (24, frozenset(person.key for person in (ADA, ZOE, NAMELESS)))
    early, rest = announce_head_start(
        Writing(first_come(tmp_path / "studio"), PEOPLE, room(tmp_path)), *everyone
    )
    assert rest is None
    assert early is not None
    assert len(early.choice.chosen) == 3


def test_a_head_start_means_nothing_once_the_round_is_open_to_all(tmp_path: Path) -> None:
    """Posting looks again, and stops a letter that would come too late; the letter to all goes on."""
    early, rest = both_letters(tmp_path)
    opened = front(tmp_path / "later", datetime(2027, 1, 16, 12, 30, tzinfo=ZoneInfo("Europe/Dublin")))
    now = replace(opened, rounds=tuple(replace(held, way=Way.FIRST_COME) for held in opened.rounds))

    refuse_if_untrue(open_letter(rest.folder).facts, now)
    with pytest.raises(
        LetterFault, match=r"early winter-2027 was 'not yet open to all' when the letter was made"
    ):
        refuse_if_untrue(open_letter(early.folder).facts, now)


def test_a_letter_about_a_round_that_has_closed_is_not_posted(tmp_path: Path) -> None:
    """The round closes on 23 January at 20:00; a minute before it's still true, at that minute no longer."""
    _, rest = both_letters(tmp_path)
    facts = open_letter(rest.folder).facts
    for hour, minute, stands in ((19, 59, True), (20, 0, False)):
        later = front(
            tmp_path / f"{minute}", datetime(2027, 1, 23, hour, minute, tzinfo=ZoneInfo("Europe/Dublin"))
        )
        now = replace(later, rounds=tuple(replace(held, way=Way.FIRST_COME) for held in later.rounds))
        if stands:
            refuse_if_untrue(facts, now)
        else:
            with pytest.raises(LetterFault, match="and is now 'closed'"):
                refuse_if_untrue(facts, now)
