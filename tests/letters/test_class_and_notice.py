"""Letters on a class, and in the artist's own words: what they say, and who is told."""

from __future__ import annotations

import tempfile
from dataclasses import replace
from datetime import datetime
from email import message_from_bytes, policy
from functools import cache
from pathlib import Path
from zoneinfo import ZoneInfo

import icalendar
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sitegen.letters.announce import Announcement, LetterPlan, Writing, compose
from sitegen.letters.folder import Room, open_letter
from sitegen.letters.kinds import announce_notice, announce_show
from sitegen.letters.note import Note
from sitegen.letters.posting import Manner, send, still_allowed
from sitegen.studio.asked import LetterFault
from sitegen.studio.mailing import Reason
from sitegen.studio.person import Consent, Interest, Left, Person, Why
from sitegen.studio.public import FrontOfHouse
from tests import makers
from tests.letters.office import FakeClock, ScriptedOffice
from tests.letters.studio import ADA, MOMENT, PEOPLE, front, messages, room

TODAY = MOMENT.date()
SALE, WORDS = ("Studio sale", Interest.NEW_PIECES), "Three shelves, *one* weekend."


def with_class(folder: Path, moment: datetime = MOMENT, *changes: tuple[str, str]) -> FrontOfHouse:
    """Return the public view of the makers' studio with its class."""
    text = makers.CLASS
    for old, new in changes:
        text = text.replace(old, new)
    makers.write(folder / "shows" / "heads-2027.yaml", text)
    return front(folder, moment)


def on_class(folder: Path, view: FrontOfHouse, people: tuple[Person, ...] = PEOPLE) -> Announcement:
    return announce_show(Writing(view, people, room(folder), "There is a stove."), "heads-2027")


def test_the_letter_on_a_class_reads_whole(tmp_path: Path) -> None:
    """Days, place, what it costs and includes, how many, and how to have a place; nothing of a table."""
    made = on_class(tmp_path, with_class(tmp_path / "s"))

    text = (made.folder / "letter.txt").read_text(encoding="utf-8")
    assert made.ident == "class-heads-2027"
    assert made.subject == "Heads in Two Days, Saturday 6 March 2027"
    assert text.startswith("""\
Hello,

There is a stove.

Come and learn at the bench: Heads in Two Days.

When      Saturday 6 to Sunday 7 March 2027
Open      10:00-17:00
Where     The studio, 1 Example Lane, Sampletown
Fee       €263 · clay, eyes and soup
Places    6

Six people, six heads.

To sign up, reply to this letter or write to hello@lantern.example. You
have a place once I have answered.

On the site:
https://lantern.example/shows/#heads-2027

The dates are attached for your calendar.

Ottoline Example
""")
    assert any("insurance" in caution for caution in made.cautions)
    marked = (made.folder / "letter.html").read_text(encoding="utf-8")
    for word in ("€263", "clay, eyes and soup", "mailto:hello@lantern.example", "shows/#heads-2027"):
        assert word in marked
    for secret in ("22.75", "84.19", "1052.21", "by the sack"):
        assert secret not in text + marked


def test_its_calendar_says_when_it_is_cancelled(tmp_path: Path) -> None:
    """RFC 5545 section 3.8.1.11; the entry keeps its name, so that it's the same one."""
    for _, mail in messages(on_class(tmp_path, with_class(tmp_path / "s")).folder):
        (part,) = [one for one in mail.walk() if one.get_content_type() == "text/calendar"]
        (event,) = icalendar.Calendar.from_ical(part.get_content()).walk("VEVENT")
        assert "STATUS" not in event
        assert event["UID"] == "show-heads-2027@lantern.example"


@pytest.mark.parametrize(
    ("change", "moment", "sentence"),
    [
        (("places: 6", "attendance: full"), MOMENT, "'Heads in Two Days' is full"),
        (("places: 6", "attendance: cancelled"), MOMENT, "'Heads in Two Days' is cancelled"),
        (("", ""), datetime(2027, 3, 8, tzinfo=ZoneInfo("Europe/Dublin")), "ended on 2027-03-07"),
    ],
)
def test_nobody_is_invited_to_what_they_cant_come_to(
    tmp_path: Path, change: tuple[str, str], moment: datetime, sentence: str
) -> None:
    view = with_class(tmp_path / "s", moment, change)

    assert view.shows[-1].fee is None
    with pytest.raises(LetterFault, match=sentence):
        on_class(tmp_path, view)


def test_a_class_that_filled_up_since_isnt_posted(tmp_path: Path) -> None:
    """What a letter says is looked at again before it goes out."""
    made = on_class(tmp_path, with_class(tmp_path / "s"))
    letter, there = open_letter(made.folder), room(tmp_path)
    full = with_class(tmp_path / "s", MOMENT, ("places: 6", "attendance: full"))

    with pytest.raises(LetterFault, match=r"class heads-2027 was .*fee 263\.00.* and is now 'full'"):
        send(
            letter,
            there,
            ScriptedOffice(),
            lambda: still_allowed(letter, full, PEOPLE, there),
            Manner(pace=0),
        )


def test_a_notice_is_her_own_words(tmp_path: Path) -> None:
    """Subject and words are hers, said safely; pieces stand below them, and only available ones."""
    view = front(tmp_path / "s")
    writing = Writing(view, PEOPLE, room(tmp_path), "I close <script>x</script> for *July*.")
    made = announce_notice(writing, "Sale \u202e& <b>more</b>\n", Interest.SHOWS, ("ferry-ghost",))

    text = (made.folder / "letter.txt").read_text(encoding="utf-8")
    marked = (made.folder / "letter.html").read_text(encoding="utf-8")
    assert made.subject == "Sale & <b>more</b>"
    assert made.ident == "notice-sale-b-more-b"
    assert "The Ferry Ghost\n2026" in text
    assert "<title>Sale &amp; &lt;b&gt;more&lt;/b&gt;</title>" in marked
    assert "<script>" not in marked
    assert "<em>July</em>" in marked
    assert "98/6/EC" not in text
    assert any("30 days before" in caution for caution in made.cautions)
    for file in (made.folder / "eml").iterdir():
        mail = message_from_bytes(file.read_bytes(), policy=policy.default)
        assert mail["Subject"] == "Sale & <b>more</b>"


@pytest.mark.parametrize(
    ("words", "subject", "slugs", "sentence"),
    [
        (" \n", SALE[0], (), "your own words and nothing else"),
        (WORDS, "\u200b", (), "needs a subject of your own"),
        (WORDS, "<subject of the letter>", (), "needs a subject of your own"),
        ("From <day of the sale> on.", SALE[0], (), "still has a place to fill in"),
        (WORDS, SALE[0], ("ghost",), "there is no piece 'ghost'"),
    ],
)
def test_a_notice_that_says_nothing_is_refused(
    tmp_path: Path, words: str, subject: str, slugs: tuple[str, ...], sentence: str
) -> None:
    writing = Writing(front(tmp_path / "s"), PEOPLE, room(tmp_path), words)
    with pytest.raises(LetterFault, match=sentence):
        announce_notice(writing, subject, Interest.NEW_PIECES, slugs)
    assert not list((tmp_path / "out").rglob("*.eml"))


def test_one_subject_is_one_letter_whatever_the_day(tmp_path: Path) -> None:
    """Made again the day after it went out, it is refused; a subject of another script has a name too."""
    there, office = room(tmp_path), ScriptedOffice()
    view = front(tmp_path / "s")
    writing = Writing(view, PEOPLE, there, WORDS)
    posted(announce_notice(writing, *SALE), view, PEOPLE, there, office)

    with pytest.raises(LetterFault, match="notice-studio-sale"):
        announce_notice(replace(writing, front=replace(view, moment=MOMENT.replace(day=11))), *SALE)
    names = {
        announce_notice(writing, word, Interest.NEW_PIECES).ident for word in ("アトリエ", "工房のお知らせ")
    }
    assert len(names) == 2


# Each kind of row, and whether a letter on classes, or on new pieces, may go to it: the rules at their plainest.
KINDS: dict[str, tuple[Person, bool, bool]] = {
    "classes": (replace(ADA, interests=frozenset({Interest.CLASSES})), True, False),
    "new pieces": (replace(ADA, interests=frozenset({Interest.NEW_PIECES})), False, True),
    "both": (replace(ADA, interests=frozenset({Interest.CLASSES, Interest.NEW_PIECES})), True, True),
    "shows": (replace(ADA, interests=frozenset({Interest.SHOWS})), False, False),
    "any subject": (replace(ADA, interests=frozenset(), consent=Consent.SHOW_SHEET), True, True),
    "bought, no subject": (replace(ADA, interests=frozenset(), consent=Consent.PURCHASE), False, False),
    "bought, asked for classes": (
        replace(ADA, interests=frozenset({Interest.CLASSES}), consent=Consent.PURCHASE), True, False,
    ),
    "bought long ago": (replace(ADA, consent=Consent.PURCHASE, joined=TODAY.replace(year=2024)), False, False),
    "never confirmed": (replace(ADA, consent=Consent.NOT_CONFIRMED), False, False),
    "left": (replace(ADA, left=Left(TODAY, Why.ASKED)), False, False),
    "bounced": (replace(ADA, left=Left(TODAY, Why.BOUNCED)), False, False),
}  # fmt: skip
LISTS = st.lists(st.sampled_from(sorted(KINDS)), min_size=1, max_size=7)


def posted(
    made: Announcement, view: FrontOfHouse, people: tuple[Person, ...], there: Room, office: ScriptedOffice,
    clock: FakeClock | None = None,
) -> None:  # fmt: skip
    letter = open_letter(made.folder)
    allowed = lambda: still_allowed(letter, view, people, there)  # noqa: E731
    send(letter, there, office, allowed, Manner(pace=60), clock or FakeClock())


@cache
def kept_view() -> FrontOfHouse:
    """Return the same view for each example; no letter of theirs shows a photo."""
    with tempfile.TemporaryDirectory() as name:
        return with_class(Path(name))


@settings(max_examples=25, deadline=None)
@given(LISTS, st.booleans(), st.integers(0, 4), st.integers(0, 6))
def test_exactly_those_who_asked_are_told_once_though_the_posting_stops(
    rows: list[str], is_class: bool, stop: int, leaves: int
) -> None:
    """Stopped anywhere, somebody leaving meanwhile: the next run brings it to the rest, and to nobody twice."""
    people = tuple(
        replace(KINDS[kind][0], email=f"p{number}@example.com", line=number + 2)
        for number, kind in enumerate(rows)
    )
    wanted = [one.email for one, kind in zip(people, rows, strict=True) if KINDS[kind][1 if is_class else 2]]
    with tempfile.TemporaryDirectory() as name:
        view, there = kept_view(), room(Path(name))

        def make() -> Announcement:
            if is_class:
                return announce_show(Writing(view, people, there), "heads-2027")
            return announce_notice(Writing(view, people, there, WORDS), *SALE)

        if not wanted:
            with pytest.raises(LetterFault, match=r"nobody in people\.csv"):
                make()
            return
        made, office = make(), ScriptedOffice()
        assert [reader.address for reader in made.choice.chosen] == wanted
        assert {skipped.reason for skipped in made.choice.skipped} <= {
            Reason.OTHER_INTERESTS, Reason.LEFT, Reason.LAPSED, Reason.NOT_CONFIRMED,
        }  # fmt: skip
        posted(made, view, people, there, office, FakeClock(stop_at=stop + 0.5))
        first = list(office.taken)
        now = tuple(
            replace(person, left=Left(TODAY, Why.ASKED)) if number == leaves else person
            for number, person in enumerate(people)
        )
        posted(made, view, now, there, office)

        gone = [f"p{leaves}@example.com"]
        assert office.taken == first + [one for one in wanted if one not in first + gone]


def test_a_letter_of_sentences_needs_no_template_of_its_own(tmp_path: Path) -> None:
    """Paragraphs and facts handed over are composed as text and as HTML, with the way out of every letter."""
    said = {"letter_subject": "A word", "letter_preheader": "A word of mine.", "opening": ["First <one>."],
            "facts_title": "The facts", "facts": [("Where", "At the net loft")], "closing": ["Last."]}  # fmt: skip
    plan = LetterPlan("word", "told", Interest.SHOWS, said, Note("Mine."))

    made = compose(Writing(front(tmp_path / "s"), PEOPLE, room(tmp_path)), plan)

    text = (made.folder / "letter.txt").read_text(encoding="utf-8")
    assert made.subject == "A word"
    assert text.startswith("""\
Hello,

Mine.

First <one>.

The facts:
Where         At the net loft

Last.

Ottoline Example
""")
    short = LetterPlan("brief", "told", Interest.SHOWS, {**said, "facts": [], "closing": []}, Note("Mine."))
    brief = compose(Writing(front(tmp_path / "s"), PEOPLE, room(tmp_path)), short)
    assert "\n\nFirst <one>.\n\n\nOttoline" not in (brief.folder / "letter.txt").read_text(encoding="utf-8")
    assert "To get no more letters, reply with the one word “leave”" in text
    assert "First &lt;one&gt;." in (made.folder / "letter.html").read_text(encoding="utf-8")
