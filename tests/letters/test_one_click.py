"""Leaving by a web address: the headers of RFC 2369 and RFC 8058, and what that address gives back."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from pathlib import Path

import fast_mail_parser
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitegen.jobs import people as job
from sitegen.jobs.letters import leave_key
from sitegen.letters.announce import Writing
from sitegen.letters.folder import make_token
from sitegen.letters.kinds import announce_commissions
from sitegen.letters.replies import Meaning, Reply, Slips
from sitegen.sources import StudioFault, read
from sitegen.studio.person import Consent, Left, Why
from tests import makers
from tests.letters.studio import ADA, PEOPLE, SECRET, front, messages, room

ENDPOINT = "https://lantern.example/leave/"


def test_both_ways_out_stand_in_the_header(tmp_path: Path) -> None:
    """RFC 8058 section 3.1: one HTTPS address and others, and the second field exactly so; RFC 2369: in angle
    brackets, separated by commas. Read by Python's parser and by Rust's mailparse."""
    where = replace(room(tmp_path), leave_address=ENDPOINT)

    made = announce_commissions(Writing(front(tmp_path / "s"), PEOPLE, where))

    for raw, message in messages(made.folder):
        match = re.fullmatch(r"<([^<>\s]+)>, <(mailto:[^<>\s]+)>", str(message["List-Unsubscribe"]))
        assert match
        token = match[1].removeprefix(ENDPOINT)
        assert re.fullmatch("[a-z2-7]{16}", token)
        assert match[2] == f"mailto:hello@lantern.example?subject=leave%20{token}"
        assert b"\r\nList-Unsubscribe-Post: List-Unsubscribe=One-Click\r\n" in raw
        other = fast_mail_parser.parse_email(raw)
        assert other.headers["List-Unsubscribe-Post"] == ["List-Unsubscribe=One-Click"]
    tokens = [
        make_token(SECRET, key)
        for key in ("ada@example.com", "zoe@xn--bcher-kva.example", "post@example.org")
    ]
    assert [
        str(message["List-Unsubscribe"]).split(">")[0].rpartition("/")[2]
        for _, message in messages(made.folder)
    ] == tokens


def test_without_an_address_there_is_no_second_field(tmp_path: Path) -> None:
    """RFC 8058 section 3.1: it stands only where an HTTPS address does; the trial copy has neither."""
    made = announce_commissions(Writing(front(tmp_path / "s"), PEOPLE, room(tmp_path)))
    with_address = announce_commissions(
        Writing(front(tmp_path / "s"), PEOPLE, replace(room(tmp_path / "b"), leave_address=ENDPOINT))
    )

    for _, message in messages(made.folder):
        assert message["List-Unsubscribe-Post"] is None
        assert "https:" not in message["List-Unsubscribe"]
    assert b"One-Click" not in (with_address.folder / "to-me.eml").read_bytes()


@pytest.mark.parametrize(
    "address",
    ["http://lantern.example/leave/", "https://lantern.example/leave", "lantern.example/", "https://a b/"],
)
def test_only_a_private_address_is_taken(tmp_path: Path, address: str) -> None:
    """RFC 8058 section 3.1 asks for HTTPS."""
    folder = makers.studio(tmp_path)
    makers.write(folder / "studio.yaml", makers.STUDIO + f"leave_address: {address}\n")

    with pytest.raises(
        StudioFault, match=r"studio\.yaml, line \d+: .*must begin with https:// and end in / or ="
    ):
        read(folder).sound()


def test_the_addresses_of_a_studio_reach_its_letters(tmp_path: Path) -> None:
    """An address with a question mark, ending in =, is as good."""
    folder = makers.studio(tmp_path)
    makers.write(
        folder / "studio.yaml", makers.STUDIO + "leave_address: https://lantern.example/leave?who=\n"
    )

    assert read(folder).sound().settings.leave_address == "https://lantern.example/leave?who="


ADA_TOKEN = make_token(SECRET, "ada@example.com")


def understood(*lines: str) -> list[Reply]:
    return Slips(PEOPLE, SECRET, ENDPOINT).read(lines)


def test_forged_tokens_change_nothing() -> None:
    """One on a line of its own is shown; a word of a log that only looks like one isn't."""
    (reply,) = understood("aaaaaaaaaaaaaaaa")

    assert (reply.meaning, reply.key) == (Meaning.LOOK, None)
    assert understood("POST /leave/aaaaaaaaaaaaaaaa", "", make_token(b"guess", "ada@example.com")[:15]) == []


@given(st.text(max_size=80))
def test_any_line_at_all_takes_nobody_off(line: str) -> None:
    """Whatever a log holds."""
    assert [reply.key for reply in understood(line)] in ([], [None])


def test_what_was_asked_before_a_later_sign_up_no_longer_holds() -> None:
    """A log is read again after someone came back."""
    left = replace(ADA, left=Left(date(2026, 9, 14), Why.ASKED))
    back = replace(ADA, joined=date(2026, 10, 4), consent=Consent.SHOW_SHEET)
    slips = Slips([left, back], SECRET)

    assert [reply.meaning for reply in slips.read([f"2026-09-14 {ADA_TOKEN}"])] == [Meaning.PAST]
    assert [reply.meaning for reply in slips.read([f"2026-10-05 {ADA_TOKEN}"])] == [Meaning.LEAVE]


def log_line(request: str, status: str = "200", before: str = "") -> str:
    """Return a line in the Common Log Format with a browser's words behind it."""
    return (
        f'{before}192.0.2.7 - - [20/Nov/2026:10:00:00 +0000] "{request}" {status} 5 "-" "Guard/1.0 (scanner)"'
    )


@pytest.mark.parametrize(
    "line",
    [
        log_line(f"GET /leave/{ADA_TOKEN} HTTP/1.1"),
        log_line(f"HEAD /leave/{ADA_TOKEN} HTTP/2.0"),
        log_line(f"POST /leave/{ADA_TOKEN} HTTP/1.1", "403"),
        log_line(f"POST /leave/{ADA_TOKEN} HTTP/1.1", "302"),
        log_line(f"POST /other/{ADA_TOKEN} HTTP/1.1"),
        log_line(f"POST /leave/{ADA_TOKEN}/more HTTP/1.1"),
        log_line(f"POST /leave/?x={ADA_TOKEN} HTTP/1.1"),
        log_line("POST /leave/ HTTP/1.1") + f' "https://lantern.example/leave/{ADA_TOKEN}"',
        f"seen: {ADA_TOKEN}",
    ],
)
def test_whoever_only_looked_stays_on_the_list(line: str) -> None:
    """RFC 8058 section 3.2: a POST is a wish to leave; programs that follow links send a GET. Told, and no more."""
    assert [(reply.meaning, reply.key) for reply in understood(line)] in (
        [(Meaning.PEEKED, None)],
        [(Meaning.LOOK, None)],
    )


@pytest.mark.parametrize(
    "line",
    [
        ADA_TOKEN,
        f"  {ADA_TOKEN.upper()}  ",
        f"2026-11-20 {ADA_TOKEN}",
        # A line of the usual log of web servers ("combined").
        f'192.0.2.7 - - [20/Nov/2026:10:00:00 +0000] "POST /leave/{ADA_TOKEN} HTTP/1.1" 200 0 "-" "abcdefghijklmnop"',
        log_line(f"POST /leave/{ADA_TOKEN} HTTP/1.1"),
        log_line(f"POST /leave/{ADA_TOKEN.upper()} HTTP/2.0"),
        log_line(f"POST {ENDPOINT}{ADA_TOKEN} HTTP/1.1"),  # RFC 9112 section 3.2.2: through a proxy
        log_line(f"POST /leave/{ADA_TOKEN} HTTP/1.1", before="lantern.example:443 "),
        log_line(f"POST /leave/{ADA_TOKEN} HTTP/1.1").split(' "-"', maxsplit=1)[0],
    ],
)
def test_a_token_that_came_back_is_a_wish_to_leave(line: str) -> None:
    """As a list of tokens, or as the log itself: a POST that was answered with success."""
    assert [(reply.meaning, reply.key) for reply in understood(line)] == [(Meaning.LEAVE, "ada@example.com")]


def test_the_extended_log_format_is_read_by_its_own_list_of_fields() -> None:
    """W3C working draft WD-logfile-960323: `#Fields:` says what stands where."""
    head = ["#Version: 1.0", "#Fields: date time c-ip cs-method cs-uri-stem cs-uri-query sc-status"]
    asked = f"2026-11-20 10:00:00 192.0.2.7 POST /leave/{ADA_TOKEN} - 200"

    assert [reply.meaning for reply in understood(*head, asked)] == [Meaning.LEAVE]
    assert [reply.meaning for reply in understood(*head, asked.replace("POST", "GET"))] == [Meaning.PEEKED]
    assert [reply.meaning for reply in understood(*head, asked.replace(" 200", " 500"))] == [Meaning.PEEKED]


def test_an_address_with_a_question_mark_is_found_in_a_log() -> None:
    slips = Slips(PEOPLE, SECRET, "https://lantern.example/leave?who=")

    assert [reply.meaning for reply in slips.read([log_line(f"POST /leave?who={ADA_TOKEN} HTTP/1.1")])] == [
        Meaning.LEAVE
    ]
    assert [reply.meaning for reply in slips.read([log_line(f"POST /leave?you={ADA_TOKEN} HTTP/1.1")])] == [
        Meaning.LOOK
    ]


def test_a_log_line_from_before_a_later_sign_up_no_longer_holds() -> None:
    left = replace(ADA, left=Left(date(2026, 9, 14), Why.ASKED))
    back = replace(ADA, joined=date(2026, 12, 4), consent=Consent.SHOW_SHEET)

    (reply,) = Slips([left, back], SECRET, ENDPOINT).read([log_line(f"POST /leave/{ADA_TOKEN} HTTP/1.1")])

    assert reply.meaning is Meaning.PAST


def test_a_browser_s_name_can_t_make_a_line_of_its_own(tmp_path: Path) -> None:
    """Only a line feed ends a line of a log: not U+2028, not a form feed, both of which may stand in a name."""
    folder = makers.studio(tmp_path)
    makers.write(folder / "studio.yaml", makers.STUDIO + f"leave_address: {ENDPOINT}\n")
    makers.write(
        folder / "people.csv",
        "email,name,interests,joined,consent,evidence,left\nada@example.com,,,2026-01-02,web,f,\n",
    )
    (folder / "sent").mkdir()
    token = make_token(leave_key(folder / "sent"), "ada@example.com")
    log = folder / "access.log"
    makers.write(log, log_line("GET / HTTP/1.1")[:-1] + f"\u2028{token}\u2028\x0c{token}\x0c\n")

    said = job.leave(folder, job.LeaveWish(noted=log), "2026-11-21")

    assert said.facts["rows"] == 0
