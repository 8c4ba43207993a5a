"""announce commissions, from the outside: files in, folder out."""

from __future__ import annotations

import csv
import re
import shutil
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from lxml import html

from sitegen.letters import announce as announce_module
from sitegen.letters.announce import Announcement, Writing
from sitegen.letters.folder import who
from sitegen.letters.kinds import announce_commissions
from sitegen.studio.asked import LetterFault
from sitegen.studio.commission import Way
from sitegen.studio.public import FrontOfHouse, LeadTime
from sitegen.voice.theme_files import ThemeFiles
from tests.letters.studio import (
    ADA,
    GONE,
    NAMELESS,
    PEOPLE,
    SECRET,
    THEME,
    ZOE,
    front,
    messages,
    room,
    studio,
    text_of,
)

DUBLIN = ZoneInfo("Europe/Dublin")


def announced(folder: Path, note: str = "The kiln is *warm* again.") -> Announcement:
    return announce_commissions(Writing(front(folder / "studio"), PEOPLE, room(folder), note))


def test_the_folder_holds_a_sample_both_lists_and_a_message_a_person(tmp_path: Path) -> None:
    """Nothing else lies in it, and nothing beside it."""
    made = announced(tmp_path)

    assert made.ident == "commissions-winter-2027"
    assert sorted(str(file.relative_to(made.folder)) for file in made.folder.rglob("*") if file.is_file()) == [
        "eml/0001.eml", "eml/0002.eml", "eml/0003.eml", "letter.html", "letter.json", "letter.txt",
        "recipients.csv", "skipped.csv", "to-me.eml", "with/commissions-winter-2027.ics",
    ]  # fmt: skip
    assert [file.name for file in made.folder.parent.iterdir()] == [made.ident]


def test_the_text_reads_whole(tmp_path: Path) -> None:
    """What opens when, how many places, what it costs, how to ask, the terms, why, how to leave, from where."""
    made = announced(tmp_path)

    text = (
        (made.folder / "letter.txt").read_text(encoding="utf-8").replace("\u00a0", " ").replace("\u00a0", " ")
    )
    assert (
        text
        == """\
Hello,

The kiln is warm again.

Commissions open on Saturday 16 January 2027: Winter 2027.

Opens     Saturday 16 January 2027, 12:00 Dublin time (12:00 UTC)
Closes    Saturday 23 January 2027, 20:00 Dublin time (20:00 UTC)
Places    5, drawn by lot if more people ask

It makes no difference when you write, as long as the round is open.

What you can ask for:

- Small figure, from €420, about 25 cm (9¾ in) tall. Figure and base.

How to ask:

Write which tier you have in mind.

Write to hello@lantern.example, or simply reply to this letter, once the
round is open.

All about commissions:
https://lantern.example/commissions/
Commission terms:
https://lantern.example/commission-terms/
Payment terms:
https://lantern.example/payment-terms/

Ottoline Example
Lantern & Loam
https://lantern.example/


* * *

You get this letter because you asked for it; each person’s copy says
how and when.

To get no more letters, reply with the one word “leave”, or write to
hello@lantern.example with the subject “leave”. That is all it takes.

Lantern & Loam
1 Example Lane
Sampletown
"""
    )


def test_both_lists_say_why(tmp_path: Path) -> None:
    """The artist can check each decision."""
    made = announced(tmp_path)

    with (made.folder / "recipients.csv").open(encoding="utf-8", newline="") as file:
        recipients = list(csv.reader(file, strict=True))
    with (made.folder / "skipped.csv").open(encoding="utf-8", newline="") as file:
        skipped = list(csv.reader(file, strict=True))
    about = "about classes, commissions, new pieces, shows"
    assert recipients == [
        ["email", "name", "why"],
        [ADA.email, ADA.name, f"web; form on the site, 2026-03-02; joined 2026-03-02; {about}"],
        [ZOE.email, ZOE.name, f"show sheet; sheet LL26-1 row 4; joined 2026-09-14; {about}"],
        [NAMELESS.email, "", f"in person; joined 2026-05-01; {about}"],
    ]
    assert skipped == [["email", "name", "why"], [GONE.email, "Gone", "asked to leave on 2026-09-14"]]


def test_each_message_is_to_one_person_with_their_own_words(tmp_path: Path) -> None:
    """Address, greeting, reason and way out are each reader's own."""
    made = announced(tmp_path)

    mails = [message for _, message in messages(made.folder)]
    assert [(m["To"].addresses[0].display_name, m["To"].addresses[0].addr_spec) for m in mails] == [
        ("Ada Lovelock", "Ada@example.com"),
        ("Zoë Łabędź", "zoe@xn--bcher-kva.example"),
        ("", "post@example.org"),
    ]
    assert [text_of(m).splitlines()[0] for m in mails] == ["Dear Ada Lovelock,", "Dear Zoë Łabędź,", "Hello,"]
    assert (
        "because you signed the studio’s sheet at a show (sheet LL26-1, no. 4; Monday 14 September 2026)."
    ) in " ".join(text_of(mails[1]).split())
    assert "because you asked for it in person (Friday 1 May 2026)." in " ".join(text_of(mails[2]).split())


def test_the_headers_are_the_lists(tmp_path: Path) -> None:
    """One subject, one sender, plain before rich, and every message with a name of its own."""
    made = announced(tmp_path)

    mails = [message for _, message in messages(made.folder)]
    for mail in mails:
        assert str(mail["Subject"]) == "Commissions open on Saturday 16 January 2027" == made.subject
        assert mail["From"].addresses[0].display_name == "Ottoline Example, Lantern & Loam"
        assert mail["From"].addresses[0].addr_spec == mail["Reply-To"].addresses[0].addr_spec
        assert mail["Date"].datetime == datetime(2027, 1, 9, 9, 30, tzinfo=DUBLIN)
        assert str(mail["List-Id"]).endswith("<letters.lantern.example>")
        assert mail["MIME-Version"] == "1.0"
        assert "Precedence" not in mail
        assert [part.get_content_type() for part in mail.walk()] == [
            "multipart/mixed", "multipart/alternative", "text/plain", "text/html", "text/calendar",
        ]  # fmt: skip
    assert len({mail["Message-ID"] for mail in mails}) == 3
    # A report that comes back is known by it: which letter, then who, before the studio's own domain.
    assert all(
        re.fullmatch(r"<commissions-winter-2027\.[0-9a-f]{24}@lantern\.example>", mail["Message-ID"])
        for mail in mails
    )


def test_the_way_out_names_its_reader_and_nobody_else(tmp_path: Path) -> None:
    """The token in header, text and HTML leads back to the one who got the message."""
    made = announced(tmp_path)

    for (_, mail), person in zip(messages(made.folder), PEOPLE, strict=False):
        header = re.search(
            r"<mailto:hello@lantern\.example\?subject=leave%20([a-z2-7]{16})>", mail["List-Unsubscribe"]
        )
        assert header is not None
        token = header[1]
        assert f"?subject=leave%20{token}" in text_of(mail, "html")
        assert re.search(rf"“leave\s{token}”", text_of(mail))
        assert who(token, SECRET, PEOPLE) == person.email.lower().replace("bücher", "xn--bcher-kva")


def test_nobody_reads_of_anybody_else(tmp_path: Path) -> None:
    """No message holds another reader, a client, or a private figure."""
    made = announced(tmp_path)

    secrets = ["Secret Client", "secret.client", "Waiting Client", "waiting.client", "431", "23.57", "137"]
    for raw, mail in messages(made.folder):
        whole = raw.decode("ascii") + text_of(mail) + text_of(mail, "html")
        others = [p for p in PEOPLE if p.email.split("@")[0] != mail["To"].addresses[0].username]
        names = [p.name for p in others if p.name] + [p.email.split("@")[0] + "@" for p in others]
        assert [word for word in secrets + names if word in whole] == []


def test_lines_keep_to_the_limits(tmp_path: Path) -> None:
    """RFC 5322 section 2.1.1: CRLF ends, 78 characters; RFC 2045 section 6.7: 76 in quoted-printable."""
    made = announced(tmp_path, "A word: " + "abcdefghij" * 60 + "\n\n" + "ž" * 300)

    for raw, mail in messages(made.folder):
        assert b"\n" not in raw.replace(b"\r\n", b"")
        assert b"\r" not in raw.replace(b"\r\n", b"")
        assert max(map(len, raw.split(b"\r\n"))) <= 78
        assert "abcdefghij" * 60 in text_of(mail)
        assert "ž" * 300 in text_of(mail, "html")


def test_nothing_in_the_html_asks_another_host(tmp_path: Path) -> None:
    """No picture, style sheet, font or script from elsewhere, whatever the note tries."""
    spy = "![spy](https://tracker.example/p.gif)\n\n"
    made = announced(tmp_path, spy + "<script>alert(1)</script>\n\n[click](javascript:alert(1))")
    for picture in ('<img src="https://tracker.example/q.gif">', "<PICTURE>", "![q]\n\n[q]: q.gif"):
        with pytest.raises(LetterFault, match="which no letter shows"):
            announced(tmp_path, picture)

    page = (made.folder / "letter.html").read_text(encoding="utf-8")
    tree = html.fromstring(page)
    assert {element.tag for element in tree.iter("*")} <= {
        "html", "head", "meta", "title", "style", "body", "div", "p", "a", "em", "span", "br",
        "h1", "h2", "table", "tbody", "tr", "td",
    }  # fmt: skip
    assert {name for element in tree.iter("*") for name in element.attrib} <= {
        "lang", "charset", "name", "content", "style", "class", "href", "role",
        "align", "width", "cellpadding", "cellspacing", "border",
    }  # fmt: skip
    assert {link.split(":")[0] for link in tree.xpath("//@href")} == {"https", "mailto"}
    assert "url(" not in page
    assert "@import" not in page


def test_same_input_same_bytes(tmp_path: Path) -> None:
    """Made twice, the letter is the same to the last byte."""
    first = {
        file.name: file.read_bytes() for file in announced(tmp_path).folder.rglob("*.*") if file.is_file()
    }
    second = {
        file.name: file.read_bytes() for file in announced(tmp_path).folder.rglob("*.*") if file.is_file()
    }

    assert first == second


def test_a_letter_that_fails_half_way_leaves_the_old_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whole or not at all."""
    old = (announced(tmp_path).folder / "letter.txt").read_bytes()

    def fail(*_: object) -> int:
        raise OSError("the disk is full")

    monkeypatch.setattr(announce_module, "_write_messages", fail)
    with pytest.raises(OSError, match="the disk is full"):
        announced(tmp_path, "Another note.")

    folder = tmp_path / "out" / "letters"
    assert [file.name for file in folder.iterdir()] == ["commissions-winter-2027"]
    assert (folder / "commissions-winter-2027" / "letter.txt").read_bytes() == old
    assert len(list((folder / "commissions-winter-2027" / "eml").iterdir())) == 3


def test_a_letter_that_went_out_is_not_made_again(tmp_path: Path) -> None:
    """What people hold in their hands can't be changed."""
    announced(tmp_path)
    (tmp_path / "sent").mkdir(exist_ok=True)
    (tmp_path / "sent" / "commissions-winter-2027.jsonl").write_text("{}\n")

    with pytest.raises(LetterFault, match="'commissions-winter-2027' has been posted already"):
        announced(tmp_path)


@pytest.mark.parametrize(
    ("settings", "sentence"),
    [
        ({"postal_address": ""}, "studio.yaml has no postal_address"),
        (
            {"postal_address": "<your street>\n1 Lane"},
            "'postal_address' in studio.yaml still has a place to fill in",
        ),
        ({"contact": "<you at example.com>"}, "'contact' in studio.yaml still has a place to fill in"),
        ({"contact": "nobody"}, "contact 'nobody' in studio.yaml can't take replies: the address has no @"),
        ({"contact": "a@b.example\r\nBcc: x@y.example"}, "can't take replies"),
        (
            {"how_to_ask": "Write to <my assistant>."},
            "'how_to_ask' in studio.yaml still has a place to fill in",
        ),
    ],
)
def test_what_a_letter_must_carry_stops_it(tmp_path: Path, settings: dict[str, str], sentence: str) -> None:
    """Without a postal address or a way to reply nothing is written at all."""
    house = front(tmp_path / "studio", settings=settings)

    with pytest.raises(LetterFault, match=re.escape(sentence)):
        announce_commissions(Writing(house, PEOPLE, room(tmp_path)))

    assert not (tmp_path / "out").exists()


def test_no_letter_without_anyone_to_write_to(tmp_path: Path) -> None:
    """The sentence counts the reasons."""
    with pytest.raises(
        LetterFault, match=r"^nobody in people.csv may be written to about commissions: 1 left$"
    ):
        announce_commissions(Writing(front(tmp_path / "studio"), [GONE], room(tmp_path)))


@pytest.mark.parametrize(
    ("moment", "name", "sentence"),
    [
        (datetime(2027, 2, 1, tzinfo=DUBLIN), None, "no round is open or coming; add one"),
        (
            datetime(2027, 2, 1, tzinfo=DUBLIN),
            "Winter 2027",
            "the round 'Winter 2027' closed on 2027-01-23 20:00",
        ),
        (
            datetime(2027, 1, 1, tzinfo=DUBLIN),
            "Spring",
            "commissions.yaml has no round 'Spring'; it has Winter 2027",
        ),
    ],
)
def test_only_a_round_that_can_be_asked_for(
    tmp_path: Path, moment: datetime, name: str | None, sentence: str
) -> None:
    """Nothing is announced that is over or unknown."""
    with pytest.raises(LetterFault, match=re.escape(sentence)):
        announce_commissions(Writing(front(tmp_path / "studio", moment), PEOPLE, room(tmp_path)), name)


def test_an_open_round_is_spoken_of_as_open(tmp_path: Path) -> None:
    """While the round is open the letter says so."""
    house = front(tmp_path / "studio", datetime(2027, 1, 17, 8, 0, tzinfo=DUBLIN))

    made = announce_commissions(Writing(house, PEOPLE, room(tmp_path)))

    assert made.subject == "Commissions are open: Winter 2027"
    assert "Opened    Saturday 16 January 2027, 12:00 Dublin time" in (made.folder / "letter.txt").read_text()


def test_nothing_typed_starts_a_header_or_a_part(tmp_path: Path) -> None:
    """Line ends, quotes and encoded-words in a name stay a name."""
    names = [
        "Eve\r\nBcc: spy@example.net",
        'Bo "the Hat" \\ Lee',
        "=?utf-8?Q?Trick?=",
        "a, b <c@d.example>",
        "\u202eevil",
    ]
    people = [replace(ADA, email=f"p{n}@example.com", name=name) for n, name in enumerate(names)]

    made = announce_commissions(Writing(front(tmp_path / "studio"), people, room(tmp_path)))

    mails = [mail for _, mail in messages(made.folder)]
    assert [mail["To"].addresses[0].display_name for mail in mails] == [
        "Eve Bcc: spy@example.net", 'Bo "the Hat" \\ Lee', "=?utf-8?Q?Trick?=", "a, b <c@d.example>", "evil",
    ]  # fmt: skip
    for number, mail in enumerate(mails):
        assert [address.addr_spec for address in mail["To"].addresses] == [f"p{number}@example.com"]
        assert "Bcc" not in mail


def test_tables_hold_nothing_a_spreadsheet_would_run(tmp_path: Path) -> None:
    """A cell that starts like a formula is opened as text."""
    people = [replace(ADA, name='=HYPERLINK("https://x.example")')]

    made = announce_commissions(Writing(front(tmp_path / "studio"), people, room(tmp_path)))

    with (made.folder / "recipients.csv").open(encoding="utf-8", newline="") as file:
        assert list(csv.reader(file))[1][1] == '\'=HYPERLINK("https://x.example")'


def test_a_theme_without_the_letter_says_so(tmp_path: Path) -> None:
    """A missing template is named."""
    shutil.copytree(THEME.file("words/en.yaml").parent, tmp_path / "bare" / "words")
    bare = replace(room(tmp_path), theme=ThemeFiles((tmp_path / "bare",)))

    with pytest.raises(LetterFault, match=r"the theme bare has no letters/commissions\.txt"):
        announce_commissions(Writing(front(tmp_path / "studio"), PEOPLE, bare))


def test_the_studio_is_never_handed_to_a_template(tmp_path: Path) -> None:
    """Only the public view goes in; the view has no way to a private value."""
    whole = studio(tmp_path / "studio")

    assert "431" in str(whole.commissions.queue[0].private.price)
    assert "431" not in repr(front(tmp_path / "studio"))


@pytest.mark.parametrize(
    ("file", "cut", "sentence"),
    [
        ("letter.txt", "{{ way_out }}", r"commissions\.txt shows no way out"),
        ("letter.html", "{{ way_out }}", r"commissions\.html shows no way out"),
        ("letter.txt", "{{ because }}", r"commissions\.txt doesn't say why its reader gets it"),
        ("letter.html", "card.postal_address | lines", r"commissions\.html leaves out the postal address"),
    ],
)
def test_a_theme_that_leaves_out_what_the_law_wants_is_refused(
    tmp_path: Path, file: str, cut: str, sentence: str
) -> None:
    """15 U.S.C. 7704(a)(5)(A); Directive 2002/58/EC Art. 13(2): a theme can't talk its way round."""
    theme = tmp_path / "theme"
    (theme / "letters").mkdir(parents=True)
    text = THEME.file(f"letters/{file}").read_text(encoding="utf-8")
    (theme / "letters" / file).write_text(
        text.replace(cut, "'' | lines" if "lines" in cut else ""), encoding="utf-8"
    )

    with pytest.raises(LetterFault, match=sentence):
        announce_commissions(
            Writing(
                front(tmp_path / "s"),
                PEOPLE,
                replace(room(tmp_path), theme=ThemeFiles((theme, *THEME.folders))),
            )
        )
    assert not (tmp_path / "out" / "letters").exists()


def test_places_already_taken_are_told_and_a_full_round_isnt_announced(tmp_path: Path) -> None:
    """An open round's letter says how many are left."""
    house = front(tmp_path / "s", datetime(2027, 1, 17, 9, tzinfo=DUBLIN))
    (one,) = [held for held in house.rounds if held.name == "Winter 2027"]

    def with_left(left: int) -> FrontOfHouse:
        return replace(house, rounds=(replace(one, left=left, way=Way.FIRST_COME),))

    made = announce_commissions(Writing(with_left(1), PEOPLE, room(tmp_path)))
    text = (
        (made.folder / "letter.txt").read_text(encoding="utf-8").replace("\u00a0", " ").replace("\u00a0", " ")
    )
    assert f"Places    1 of {one.slots} left, to those who write first" in text
    assert f"Winter 2027: 1 of {one.slots} left, from €420." in (made.folder / "letter.html").read_text(
        "utf-8"
    )
    with pytest.raises(LetterFault, match="every place of the round 'Winter 2027' is taken"):
        announce_commissions(Writing(with_left(0), PEOPLE, room(tmp_path / "b")))


def test_only_the_round_to_speak_of_is_told_when_its_pieces_will_be_finished(tmp_path: Path) -> None:
    """The months are worked out for one round; a later one's letter is silent about them."""
    house = front(tmp_path / "s")
    (winter,) = house.rounds
    spring = replace(
        winter,
        name="Spring",
        slug="spring",
        opens=datetime(2027, 4, 1, 12, tzinfo=DUBLIN),
        closes=datetime(2027, 4, 8, 12, tzinfo=DUBLIN),
    )
    months = LeadTime(3, 5, date(2027, 4, 1), date(2027, 6, 1))
    both = replace(house, rounds=(winter, spring), lead_time=months)

    told = [
        (announce_commissions(Writing(both, PEOPLE, room(tmp_path)), name).folder / "letter.txt").read_text(
            "utf-8"
        )
        for name in ("Winter 2027", "Spring")
    ]

    assert "Finished  between April 2027 and June 2027" in told[0].replace("\u00a0", " ")
    assert "Finished" not in told[1]


def test_a_name_is_as_typed_in_text_and_subject_and_escaped_in_html(tmp_path: Path) -> None:
    house = front(tmp_path / "s", datetime(2027, 1, 17, 9, tzinfo=DUBLIN))
    named = replace(house, rounds=tuple(replace(held, name='Fox & "Owl" <b>') for held in house.rounds))

    made = announce_commissions(Writing(named, PEOPLE, room(tmp_path)))

    assert made.subject == 'Commissions are open: Fox & "Owl" <b>'
    assert 'Commissions are open: Fox & "Owl" <b>.' in (made.folder / "letter.txt").read_text("utf-8")
    page = (made.folder / "letter.html").read_text("utf-8")
    assert "Fox &amp; " in page
    assert "<b>" not in page


@pytest.mark.parametrize("asked", ["{{ nothing }}", "{{ round.nothing }}", "{% if nothing %}x{% endif %}"])
def test_a_theme_that_asks_for_what_isnt_there_is_told(tmp_path: Path, asked: str) -> None:
    """A hole in a letter is noticed before anybody reads it."""
    theme = tmp_path / "theme"
    (theme / "letters").mkdir(parents=True)
    text = THEME.file("letters/commissions.txt").read_text(encoding="utf-8")
    (theme / "letters" / "commissions.txt").write_text(
        text.replace("{% block body %}", "{% block body %}" + asked), encoding="utf-8"
    )

    with pytest.raises(LetterFault, match=r"the theme's letter 'commissions' can't be filled in: .*nothing"):
        announce_commissions(
            Writing(
                front(tmp_path / "s"),
                PEOPLE,
                replace(room(tmp_path), theme=ThemeFiles((theme, *THEME.folders))),
            )
        )
