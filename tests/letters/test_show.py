"""announce show: where, when, and dates to keep."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import icalendar
import pytest

from sitegen.letters.announce import Writing
from sitegen.letters.cautions import own_links
from sitegen.letters.kinds import announce_show
from sitegen.studio.asked import LetterFault
from sitegen.voice.calendar import Event, calendar
from tests.letters.studio import MOMENT, PEOPLE, front, messages, room


def test_the_invitation_reads_whole(tmp_path: Path) -> None:
    """Days, hours, place and table."""
    made = announce_show(
        Writing(front(tmp_path / "s"), PEOPLE, room(tmp_path), "I'll bring *two*."), "quayside-2027"
    )

    text = (made.folder / "letter.txt").read_text(encoding="utf-8")
    assert made.subject == "Quayside Doll Fair, Saturday 27 February 2027"
    assert text.startswith("""\
Hello,

I’ll bring two.

Come and see the pieces: Quayside Doll Fair.

When      Saturday 27 to Sunday 28 February 2027
Open      10:00-17:00
Where     The Old Ropewalk, Sampletown
Table     B12

On the site:
https://lantern.example/shows/

The dates are attached for your calendar.

Ottoline Example
""")


def test_the_dates_are_attached(tmp_path: Path) -> None:
    """Whole days, the end day not counted (RFC 5545 section 3.6.1), as the icalendar library reads them."""
    made = announce_show(Writing(front(tmp_path / "s"), PEOPLE, room(tmp_path)), "quayside-2027")

    for _, mail in messages(made.folder):
        (part,) = [one for one in mail.walk() if one.get_content_type() == "text/calendar"]
        assert part.get_content_disposition() == "attachment"
        assert part.get_filename() == "quayside-2027.ics"
        # RFC 6047 section 2.4: the type names the same method as the calendar inside.
        assert dict(part["Content-Type"].params) == {
            "charset": "utf-8", "method": "PUBLISH", "name": "quayside-2027.ics",
        }  # fmt: skip
        assert icalendar.Calendar.from_ical(part.get_content())["METHOD"] == "PUBLISH"
        (event,) = icalendar.Calendar.from_ical(part.get_content()).walk("VEVENT")
        assert event.decoded("DTSTART") == date(2027, 2, 27)
        assert event.decoded("DTEND") == date(2027, 3, 1)
        assert str(event["LOCATION"]) == "The Old Ropewalk, Sampletown"


def test_nothing_typed_breaks_a_calendar_line(tmp_path: Path) -> None:
    """Commas, semicolons, line ends and long words come back as typed; lines hold at most 75 octets."""
    # Painter as emoji, and a Persian word: joiners inside (Unicode 16, chapter 23.2) are no control characters.
    words = "Žofia; a, b \\ c\nBEGIN:VEVENT 👩\u200d🎨 می\u200cخواهم " + "東京" * 60
    card = front(tmp_path).card
    made = calendar([Event("x", date(2027, 1, 1), words)], card, "PUBLISH")

    (event,) = icalendar.Calendar.from_ical(made).walk("VEVENT")
    assert str(event["SUMMARY"]) == words
    assert max(map(len, made.split(b"\r\n"))) <= 75


@pytest.mark.parametrize(
    ("slug", "moment", "sentence"),
    [
        ("quayside", MOMENT, "there is no show 'quayside'; did you mean 'quayside-2027'"),
        (
            "quayside-2027",
            datetime(2027, 3, 1, tzinfo=ZoneInfo("Europe/Dublin")),
            "'Quayside Doll Fair' ended on 2027-02-28",
        ),
    ],
)
def test_only_a_coming_show_is_invited_to(tmp_path: Path, slug: str, moment: datetime, sentence: str) -> None:
    """What is over or unknown stops the letter."""
    with pytest.raises(LetterFault, match=sentence):
        announce_show(Writing(front(tmp_path / "s", moment), PEOPLE, room(tmp_path)), slug)


def test_links_are_held_against_the_built_site(tmp_path: Path) -> None:
    """An address on the artist's site for which no file was built is named."""
    made = announce_show(Writing(front(tmp_path / "s"), PEOPLE, room(tmp_path)), "quayside-2027")
    site = tmp_path / "out" / "site"
    site.mkdir(parents=True)
    (site / "index.html").write_text("home")

    letter = made.folder / "letter.html"
    links = ("https://lantern.example/shows/", "https://lantern.example/")
    assert own_links(letter, "https://lantern.example/", site) == (links, links[:1])
    (site / "shows").mkdir()
    (site / "shows" / "index.html").write_text("shows")
    assert own_links(letter, "https://lantern.example/", site) == (links, ())


def test_pictures_and_files_of_the_site_are_looked_up_too(tmp_path: Path) -> None:
    """Each address once, as its file is called on the disk (RFC 3986 section 2.1: %20 is a blank)."""
    (tmp_path / "letter.html").write_text(
        '<a href="https://lantern.example/a%20b.ics">dates</a><img src="https://lantern.example/x.jpg">'
        '<a href="https://lantern.example/x.jpg">again</a><a href="https://other.example/">theirs</a><a href>none</a>'
        '<a href="https://lantern.example/?a&amp;b">all</a>'
    )
    (tmp_path / "a b.ics").write_text("dates")

    ours, missing = own_links(tmp_path / "letter.html", "https://lantern.example/", tmp_path)

    assert [our.removeprefix("https://lantern.example/") for our in ours] == ["a%20b.ics", "x.jpg", "?a&b"]
    assert [one.removeprefix("https://lantern.example/") for one in missing] == ["x.jpg", "?a&b"]
