"""Each mail stands alone: what nobody can read is set aside, named and counted, and costs time by its size only."""

from __future__ import annotations

import sys
from collections.abc import Callable
from datetime import date
from email.message import EmailMessage
from pathlib import Path
from types import FrameType
from typing import Any

import pytest

from sitegen.jobs import posting as job
from sitegen.letters.folder import make_token
from sitegen.letters.replies import Meaning, Reader
from sitegen.sources import read
from sitegen.studio.asked import Fault
from tests import makers
from tests.letters.studio import ADA, PEOPLE, SECRET, read_all

TOKEN = make_token(SECRET, ADA.key)
LEAVE = f"From: ada@example.com\r\nSubject: leave {TOKEN}\r\n\r\n".encode()


def plain(charset: str, body: bytes = b"unsubscribe") -> bytes:
    head = f'From: ada@example.com\r\nSubject: hi\r\nContent-Type: text/plain; charset="{charset}"\r\n\r\n'
    return head.encode("latin-1") + body


@pytest.mark.parametrize(
    "charset",
    [
        "idna",
        "undefined",
        "punycode",
        "hex",
        "rot13",
        "mbcs",
        "no-such",
        "utf-8\0",
        "\0",
        "unicode_escape",
        "x" * 5000,
    ],
)
def test_a_wish_to_leave_is_heard_in_whatever_charset_it_claims(charset: str) -> None:
    """The names are Python's codecs and none; RFC 2045 section 6.1 leaves what to do with unknown ones open."""
    (reply,) = read_all([plain(charset)], PEOPLE, SECRET)

    assert (reply.meaning, reply.key) == (Meaning.LEAVE, ADA.key)


NESTED = b"".join(
    f'Content-Type: multipart/mixed; boundary="b{n}"\r\n\r\n--b{n}\r\n'.encode() for n in range(2000)
)
ODD = {
    "brackets in From": b"From: " + b"<" * 20_000 + b"\r\nSubject: unsubscribe\r\n\r\n",
    "comments in From": b"From: " + b"(" * 20_000 + b"ada@example.com\r\nSubject: unsubscribe\r\n\r\n",
    "nested parts": b"From: eve@example.com\r\nSubject: nest\r\n" + NESTED,
    "nested messages": b"Content-Type: message/rfc822\r\n\r\n" * 3000,
    "encoded words": b"Subject: " + b"=?idna?q?a?= =?undefined?b?////?= =?utf-8?x?a?=" * 40 + b"\r\n\r\n",
    "half encoded words": b"Subject: " + b"=?a?q?" * 30_000 + b"\r\n\r\n",
    "a field of semicolons": b"Content-Type: text/plain" + b";" * 200_000 + b"\r\n\r\nhello",
    "no end of brackets": b"Content-Type: text/html\r\n\r\n" + b"<" * 250_000,
    "no end of breaks": b"Content-Type: text/html\r\n\r\n" + b"<br" * 80_000,
    "an odd date": b"Date: " + b"9" * 9_000 + b"\r\nSubject: hello\r\n\r\n",
    "an empty mail": b"",
    "zeroes": b"\0" * 10_000,
    "parameters of RFC 2231": b"Content-Type: text/plain; charset*=\0''%00; charset*0*=a%\r\n\r\nhello",
    "a report of nothing": b"Content-Type: multipart/report; report-type=delivery-status\r\n\r\n",
}


@pytest.mark.parametrize("odd", ODD.values(), ids=ODD)
def test_one_odd_mail_stops_nobody_else_from_leaving(odd: bytes) -> None:
    """The wish behind it is heard, and the odd one takes nobody off."""
    before, behind = read_all([odd, LEAVE], PEOPLE, SECRET)

    assert before.meaning in {Meaning.OTHER, Meaning.LOOK, Meaning.UNREADABLE}
    assert (behind.meaning, behind.key) == (Meaning.LEAVE, ADA.key)


def test_what_is_set_aside_is_named_and_counted(tmp_path: Path) -> None:
    """So that the artist can look it up in their own mail program."""
    folder = makers.studio(tmp_path)
    odd = (
        b"From: Eve <eve@example.com>\r\nSubject: \x1b[2Jnest\r\nDate: Sat, 2 Jul 1994 00:00:00 +0000\r\n"
        + NESTED
    )

    replies, _ = job._hear(folder, lambda _day: [odd, odd], None)

    assert job.heard(replies, 0).lines()[:-1] == [
        "     2 couldn't be read and was set aside",
        *[
            "  - a mail from Eve <eve@example.com>, with the subject �[2Jnest, of Sat, 2 Jul 1994 00:00:00 +0000 (ValueError)"
        ]
        * 2,
    ]


def test_a_mailbox_that_breaks_off_loses_nothing_that_was_read(tmp_path: Path) -> None:
    """The wishes before the break are noted, and the artist is told to go on."""
    folder = makers.studio(tmp_path)
    makers.write(
        folder / "people.csv",
        "email,name,interests,joined,consent,evidence,left\nada@example.com,Ada,,2026-01-02,web,form,\n",
    )

    def mails(_day: date) -> Any:
        yield b"From: ada@example.com\r\nSubject: unsubscribe\r\n\r\n"
        raise OSError("the line broke")

    with pytest.raises(Exception, match=r"1 message was read and 1 row of"):
        job._hear(folder, mails, "2026-11-20")

    (ada,) = read(folder).sound().people
    assert ada.left is not None


def test_a_list_that_changes_while_mail_is_read_loses_nobody_and_takes_nobody_off(tmp_path: Path) -> None:
    """Who joins meanwhile is known by their wish to leave; who signs up again meanwhile stays."""
    folder = makers.studio(tmp_path)
    head = "email,name,interests,joined,consent,evidence,left\n"
    ada = "ada@example.com,Ada,,2026-01-02,web,form,2026-02-01 asked\n"
    makers.write(folder / "people.csv", head + ada)
    again = ada.replace("2026-01-02", "2026-11-19").replace("2026-02-01 asked", "")
    fetched = []

    def mails(_day: date) -> Any:
        fetched.append(1)
        yield b"From: ada@example.com\r\nDate: Mon, 2 Nov 2026 10:00:00 +0000\r\nSubject: unsubscribe\r\n\r\n"
        late = "zoe@example.org,Zoe,,2026-10-01,web,form,\n"
        makers.write(folder / "people.csv", head + ada + again + late)  # as another command does meanwhile
        yield b"From: zoe@example.org\r\nDate: Fri, 20 Nov 2026 10:00:00 +0000\r\nSubject: unsubscribe\r\n\r\n"

    replies, rows = job._hear(folder, mails, "2026-11-20")

    assert len(fetched) == 2
    assert [reply.meaning for reply in replies] == [Meaning.PAST, Meaning.LEAVE]
    assert rows == 1
    assert [person.left is None for person in read(folder).sound().people] == [False, True, False]


def test_a_list_that_never_rests_is_left_alone(tmp_path: Path) -> None:
    """A sentence, and nothing is written."""
    folder = makers.studio(tmp_path)

    def mails(_day: date) -> Any:
        with (folder / "people.csv").open("a", encoding="utf-8") as file:
            file.write("\n")
        yield b"From: ana@mail.example\r\nSubject: unsubscribe\r\n\r\n"

    with pytest.raises(Fault, match="changed each time"):
        job._hear(folder, mails, "2026-11-20")
    assert b"asked" not in (folder / "people.csv").read_bytes().split(b"ben@")[0]


def work(call: Callable[[], object]) -> int:
    """Count the lines of Python that a call runs: work, not time."""
    count = 0

    def look(frame: FrameType, event: str, argument: object) -> Any:
        nonlocal count
        count += event == "line"
        return look

    before = sys.gettrace()
    sys.settrace(look)
    try:
        call()
    finally:
        sys.settrace(before)
    return count


def parts(count: int) -> bytes:
    return b'Content-Type: multipart/mixed; boundary="b"\r\n\r\n' + b"--b\r\n\r\nx\r\n" * count


GROWING: dict[str, Callable[[int], bytes]] = {
    "parts": parts,
    "fields": lambda n: b"X: y\r\n" * n + b"\r\nhello",
    "lines": lambda n: b"Subject: x\r\n\r\n" + b"x\r\n" * n,
    "folded": lambda n: b"Subject: x\r\n" + b" y\r\n" * n + b"\r\n",
    "names of letters": lambda n: (
        b"Content-Type: multipart/report; report-type=delivery-status; boundary=b\r\n\r\n--b\r\n"
        b"Content-Type: message/delivery-status\r\n\r\nAction: failed\r\n\r\n--b\r\n"
        b"Content-Type: text/rfc822-headers\r\n\r\nMessage-ID: " + b"<a.%024d@b>" % 0 * n + b"\r\n"
    ),
}  # fmt: skip


@pytest.mark.parametrize("grown", GROWING.values(), ids=GROWING)
def test_work_grows_with_the_size_and_no_faster(grown: Callable[[int], bytes]) -> None:
    """Four times the mail, at most five times the work, counted in lines of Python that were run."""
    reader = Reader(PEOPLE, SECRET)

    small, large = (work(lambda n=n: reader.read(grown(n))) for n in (500, 2_000))  # type: ignore[misc]

    assert large <= 5 * small


def test_python_s_own_mail_comes_through_as_before() -> None:
    """An ordinary mail with a photograph in front of its words."""
    message = EmailMessage()
    message["From"], message["Subject"] = "ADA@example.com", "Re: Commissions open"
    message.set_content("Please unsubscribe me, thank you\n")
    message.add_attachment(b"\xff\xd8" * 100_000, maintype="image", subtype="jpeg")

    (reply,) = read_all([message.as_bytes()], PEOPLE, SECRET)

    assert reply.meaning is Meaning.LEAVE
