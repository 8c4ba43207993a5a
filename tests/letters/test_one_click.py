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

from sitegen.letters import Meaning, Slips, announce_commissions, make_token
from sitegen.letters.replies import Reply
from sitegen.sources import StudioFault, read
from sitegen.studio.person import Consent, Left, Why
from tests import makers
from tests.letters.studio import ADA, PEOPLE, SECRET, front, messages, room

ENDPOINT = "https://lantern.example/leave/"


def test_both_ways_out_stand_in_the_header(tmp_path: Path) -> None:
    """RFC 8058 section 3.1: one HTTPS address and others, and the second field exactly so; RFC 2369: in angle
    brackets, separated by commas. Read by Python's parser and by Rust's mailparse."""
    where = replace(room(tmp_path), leave_address=ENDPOINT)

    made = announce_commissions(front(tmp_path / "s"), PEOPLE, where)

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
    made = announce_commissions(front(tmp_path / "s"), PEOPLE, room(tmp_path))
    with_address = announce_commissions(
        front(tmp_path / "s"), PEOPLE, replace(room(tmp_path / "b"), leave_address=ENDPOINT)
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
    return Slips(PEOPLE, SECRET).read(lines)


@pytest.mark.parametrize(
    "line",
    [
        ADA_TOKEN,
        f"  {ADA_TOKEN.upper()}  ",
        f"2026-11-20 {ADA_TOKEN}",
        # A line of the usual log of web servers ("combined").
        f'192.0.2.7 - - [20/Nov/2026:10:00:00 +0000] "POST /leave/{ADA_TOKEN} HTTP/1.1" 200 0 "-" "abcdefghijklmnop"',
    ],
)
def test_a_token_that_came_back_is_a_wish_to_leave(line: str) -> None:
    """As a list of tokens or as the log itself."""
    assert [(one.meaning, one.key) for one in understood(line)] == [(Meaning.LEAVE, "ada@example.com")]


def test_forged_tokens_change_nothing() -> None:
    """One on a line of its own is shown; a word of a log that only looks like one isn't."""
    (reply,) = understood("aaaaaaaaaaaaaaaa")

    assert (reply.meaning, reply.key) == (Meaning.LOOK, None)
    assert understood("POST /leave/aaaaaaaaaaaaaaaa", "", make_token(b"guess", "ada@example.com")[:15]) == []


@given(st.text(max_size=80))
def test_any_line_at_all_takes_nobody_off(line: str) -> None:
    """Whatever a log holds."""
    assert [one.key for one in understood(line)] in ([], [None])


def test_what_was_asked_before_a_later_sign_up_no_longer_holds() -> None:
    """A log is read again after someone came back."""
    left = replace(ADA, left=Left(date(2026, 9, 14), Why.ASKED))
    back = replace(ADA, joined=date(2026, 10, 4), consent=Consent.SHOW_SHEET)
    slips = Slips([left, back], SECRET)

    assert [one.meaning for one in slips.read([f"2026-09-14 {ADA_TOKEN}"])] == [Meaning.PAST]
    assert [one.meaning for one in slips.read([f"2026-10-05 {ADA_TOKEN}"])] == [Meaning.LEAVE]
