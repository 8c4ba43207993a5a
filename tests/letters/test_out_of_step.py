"""A post office whose answers fit no question: nothing counts as posted that wasn't taken, and the run stops.

RFC 5321 section 4.2.1: what counts is an answer's first digit; section 4.3.2 says which answers a command may get.
"""

from __future__ import annotations

import itertools
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext, suppress
from dataclasses import replace
from pathlib import Path
from typing import cast

import pytest

from sitegen.jobs import posting
from sitegen.letters import gate as gates
from sitegen.letters.envelope import LARGEST
from sitegen.letters.gate import Gate, Security, messages_at
from sitegen.letters.office import OfficeShut, SmtpOffice
from sitegen.letters.posting import Manner, RunResult, send, send_to_me
from sitegen.letters.record import PostingEvent, opened
from sitegen.studio.asked import LetterFault
from sitegen.studio.person import Left, Why
from tests.letters.office import CROWD, FakeClock, ScriptedOffice, everybody, letter
from tests.letters.studio import MOMENT, room

P0, P1 = "p0@example.com", "p1@example.com"
WELL = {
    b"EHLO": b"250 here\r\n",
    b"MAIL": b"250 ok\r\n",
    b"RCPT": b"250 ok\r\n",
    b"DATA": b"354 go on\r\n",
    b".": b"250 taken\r\n",
}


class Server:
    """Answers each command by a table; what follows DATA is taken up to the lone dot."""

    def __init__(self, answers: dict[bytes, bytes], greeting: bytes) -> None:
        self.answers, self.greeting = (
            {**WELL, b"RSET": b"250 ok\r\n", b"QUIT": b"221 bye\r\n", **answers},
            greeting,
        )
        self.taken = 0
        self.listener = socket.create_server(("127.0.0.1", 0))
        self.listener.settimeout(10)

    def serve(self) -> None:
        """Serve one connection after another until the listener is closed."""
        while True:
            try:
                line, _ = self.listener.accept()
            except OSError:
                return
            line.settimeout(10)
            with suppress(OSError), line, line.makefile("rwb") as stream:
                self._converse(stream)

    def _converse(self, stream: object) -> None:
        say, hear = stream.write, stream.readline  # type: ignore[attr-defined]
        try:
            say(self.greeting)
            stream.flush()  # type: ignore[attr-defined]
            while command := hear():
                verb = command[:4].upper().strip()
                say(self.answers.get(verb, b"250 ok\r\n"))
                stream.flush()  # type: ignore[attr-defined]
                if verb == b"DATA" and b"354" in self.answers[b"DATA"]:
                    while hear() not in {b".\r\n", b""}:
                        pass
                    self.taken += 1
                    say(self.answers[b"."])
                    stream.flush()  # type: ignore[attr-defined]
        except OSError:
            return


@contextmanager
def serving(answers: dict[bytes, bytes], greeting: bytes = b"220 here\r\n") -> Iterator[tuple[Server, Gate]]:
    server = Server(answers, greeting)
    thread = threading.Thread(target=server.serve, daemon=True)
    thread.start()
    try:
        yield server, Gate("127.0.0.1", server.listener.getsockname()[1], Security.NONE)
    finally:
        # A blocked accept isn't woken by closing its socket; a last caller is.
        server.listener.shutdown(socket.SHUT_RDWR)
        server.listener.close()
        thread.join(10)


def run(folder: Path, at: Gate) -> RunResult:
    made = letter(folder)
    return send(made, room(folder), SmtpOffice(at, patience=5), everybody, Manner(pace=0), FakeClock())


def last_words(folder: Path) -> list[PostingEvent]:
    with opened("commissions-winter-2027", room(folder).sent) as record:
        return list(record.last.values())


def test_any_success_at_the_recipient_leads_on_to_the_message(tmp_path: Path) -> None:
    """252 ("will accept message and attempt delivery") is a success, so the letter is handed in."""
    with serving({b"RCPT": b"252 will try\r\n"}) as (server, at):
        result = run(tmp_path, at)

    assert (len(result.posted), server.taken, result.stopped) == (len(CROWD), len(CROWD), "")


@pytest.mark.parametrize(
    ("answers", "greeting"),
    [
        ({b"DATA": b"250 ok\r\n"}, b"220 here\r\n"),
        ({b"RCPT": b"354 go on\r\n"}, b"220 here\r\n"),
        ({b"RCPT": b"rubbish\r\n"}, b"220 here\r\n"),
        ({b"MAIL": b"354 go on\r\n"}, b"220 here\r\n"),
        ({b"MAIL": b"250 ok\r\n250 ok\r\n"}, b"220 here\r\n"),
        ({b"RCPT": b"250 ok\r\n354 go on\r\n"}, b"220 here\r\n"),
        ({b"DATA": b"354 go on\r\n250 taken\r\n"}, b"220 here\r\n"),
        ({b"EHLO": b"250 here\r\n250 here\r\n"}, b"220 here\r\n"),
        ({}, b"220 here\r\n220 here\r\n"),
    ],
)
def test_an_office_out_of_step_stops_the_run_before_anything_is_handed_in(
    tmp_path: Path, answers: dict[bytes, bytes], greeting: bytes
) -> None:
    with serving(answers, greeting) as (_, at):
        result = run(tmp_path, at)

    assert "answers out of step" in result.stopped
    assert (result.posted, result.in_doubt, result.left_over) == ([], [], len(CROWD))
    assert not {PostingEvent.POSTED, PostingEvent.HANDING, PostingEvent.UNSURE} & set(last_words(tmp_path))


@pytest.mark.parametrize(
    "answer", [b"rubbish\r\n", b"354 go on\r\n", b"\x00\xff\r\n", b"123 what\r\n", b"999 oh\r\n"]
)
def test_rubbish_after_the_last_dot_is_doubt_and_stops_the_run(tmp_path: Path, answer: bytes) -> None:
    """The office has the letter or hasn't; and the next one would only be in doubt, too."""
    with serving({b".": answer}) as (_, at):
        result = run(tmp_path, at)

    assert (result.in_doubt, result.posted, result.left_over) == ([P0], [], len(CROWD) - 1)
    assert "answers out of step, with 'an answer that fits no message: " in result.stopped
    assert last_words(tmp_path) == [PostingEvent.UNSURE]


def test_a_goodbye_unasked_is_no_fault(tmp_path: Path) -> None:
    """RFC 5321 section 3.8: a server may say 421 at any time and close; the next letter takes a new connection."""
    with serving({b".": b"250 taken\r\n421 tired\r\n"}) as (server, at):
        result = run(tmp_path, at)

    assert (len(result.posted), server.taken) == (len(CROWD), len(CROWD))


def test_what_an_office_says_can_t_reach_the_terminal_as_an_order(tmp_path: Path) -> None:
    with serving({b"MAIL": b"550 \x1b[2J\x9bno " + b"y" * 5_000 + b"\r\n"}) as (_, at):
        result = run(tmp_path, at)

    assert "\x1b" not in result.stopped
    assert len(result.stopped) < 400


def test_a_bounce_learnt_before_a_kill_reaches_the_list_at_the_next_run(tmp_path: Path) -> None:
    """The record has it, so the next run notes it; someone noted before, who may have come back, is left alone."""
    gone = replace(CROWD[1], left=Left(MOMENT.date(), Why.BOUNCED))
    made = letter(tmp_path)
    send(
        made,
        room(tmp_path),
        ScriptedOffice({P1: ["550 5.1.1 no such mailbox"]}),
        everybody,
        Manner(pace=0),
        FakeClock(),
    )

    again = send(made, room(tmp_path), ScriptedOffice(), everybody, Manner(pace=0), FakeClock())

    assert again.refused == [(P1, "refused in an earlier run")]
    assert posting._gone(again, CROWD) == {P1}
    assert posting._gone(again, [*CROWD, gone]) == set()


def test_the_trial_copy_notices_it_too(tmp_path: Path) -> None:
    made = letter(tmp_path)

    with serving({b"DATA": b"250 ok\r\n"}) as (_, at), pytest.raises(LetterFault, match="out of step"):
        send_to_me(made, SmtpOffice(at, patience=5))


class _Endless:
    """A server that begins well, and then says the same line as long as anybody listens."""

    def __init__(self, well: bytes, line: bytes) -> None:
        self.well, self.line, self.said = well, line, 0
        self.listener = socket.create_server(("127.0.0.1", 0))
        self.listener.settimeout(10)

    def serve(self) -> None:
        with suppress(OSError):
            while True:
                guest, _ = self.listener.accept()
                guest.settimeout(10)
                with suppress(OSError), guest:
                    guest.sendall(self.well)
                    while self.said < 1 << 30:
                        guest.sendall(self.line)
                        self.said += len(self.line)


class _Dripping(_Endless):
    """A server that answers line by line, and then one letter at a time, each before anybody gives it up."""

    def serve(self) -> None:
        with suppress(OSError):
            while True:
                guest, _ = self.listener.accept()
                with suppress(OSError), guest, guest.makefile("rb") as asked:
                    for number, line in enumerate(self.well.splitlines(keepends=True)):
                        if number:
                            asked.readline()
                        guest.sendall(line)
                    for letter in itertools.cycle(self.line):
                        guest.sendall(bytes([letter]))
                        guest.settimeout(DRIP)
                        with suppress(TimeoutError):
                            while guest.recv(1 << 16):
                                pass
                            break


DRIP = 0.05
"""Seconds between two letters of a server that drips."""


@contextmanager
def endless(well: bytes, line: bytes, kind: type[_Endless] = _Endless) -> Iterator[_Endless]:
    server = kind(well, line)
    thread = threading.Thread(target=server.serve)
    thread.start()
    try:
        yield server
    finally:
        server.listener.shutdown(socket.SHUT_RDWR)
        server.listener.close()
        thread.join()


@pytest.mark.parametrize("well", [b"", b"220 here\r\n"])
def test_a_post_office_whose_answer_never_ends_is_shut(well: bytes) -> None:
    """RFC 5321 section 4.2.1: a hyphen says that another line follows. Nothing was handed in."""
    with endless(well, b"220-and\r\n" * 500 if not well else b"250-and\r\n" * 500) as server:
        office = SmtpOffice(Gate("127.0.0.1", server.listener.getsockname()[1], Security.NONE))
        with pytest.raises(OfficeShut):
            office.post("a@example.com", P0, b"x", lambda: pytest.fail("handed in"))

        assert server.said < 64 << 20


@pytest.mark.parametrize(
    ("well", "line"),
    [
        (b"", b"* OK " + b"x" * 900_000 + b"\r\n"),
        (b"* OK here\r\n", b"* CAPABILITY " + b"IMAP4rev1 " * 50_000 + b"\r\n"),
        (b"* OK here\r\n", b"* 1 FETCH (BODY[]<0> {4000000000}\r\n"),
    ],
)
def test_a_mailbox_whose_answer_never_ends_is_a_sentence(well: bytes, line: bytes) -> None:
    """Nor is room made for a message of four gigabytes."""
    with endless(well, line) as server:
        gate = Gate("127.0.0.1", server.listener.getsockname()[1], Security.NONE, "ana", "secret")
        with pytest.raises(LetterFault, match=r"127\.0\.0\.1"):
            list(messages_at(gate, MOMENT.date()))

        assert server.said < 64 << 20


SLOW = "no whole answer, nor 16 KB of one, within 0.4 seconds"


def slow_office(server: _Endless) -> SmtpOffice:
    gate = Gate("127.0.0.1", server.listener.getsockname()[1], Security.NONE)
    return SmtpOffice(gate, patience=8 * DRIP)


@pytest.mark.parametrize("well", [b"", b"220 here\r\n", b"220 here\r\n250 here\r\n250 yes\r\n"])
def test_an_office_that_drips_its_answer_is_given_up(well: bytes) -> None:
    """Each letter comes in time, the whole answer never."""
    with endless(well, b"250-and so on, and so on\r\n", _Dripping) as server:
        office = slow_office(server)
        with pytest.raises(OfficeShut, match=SLOW):
            office.post("a@example.com", P0, b"x", lambda: pytest.fail("handed in"))


def test_an_answer_to_a_letter_that_drips_is_doubt() -> None:
    """Nobody knows whether it was taken."""
    well = b"220 here\r\n250 here\r\n" + b"250 yes\r\n" * 2 + b"354 go\r\n"
    with endless(well, b"250-taken, taken\r\n", _Dripping) as server:
        outcome = slow_office(server).post("a@example.com", P0, b"x\r\n", lambda: None)

    assert outcome.event is PostingEvent.UNSURE
    assert outcome.said == f"no answer after the message: {SLOW}"


@pytest.mark.parametrize(
    ("well", "line"),
    [
        (b"", b"* OK here and there"),
        (b"* OK here\r\n", b"* CAPABILITY IMAP4rev1 "),
        (b"* OK here\r\n", b"* OK\r\n"),
    ],
)
def test_a_mailbox_that_drips_its_answer_is_a_sentence(
    well: bytes, line: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(gates, "PATIENCE", 8 * DRIP)
    with endless(well, line, _Dripping) as server:
        gate = Gate("127.0.0.1", server.listener.getsockname()[1], Security.NONE, "ana", "secret")
        with pytest.raises(LetterFault, match=SLOW):
            list(messages_at(gate, MOMENT.date()))


class Line:
    """A line that brings `rate` octets a second, `each` at a time, `most` in all, on a clock of its own."""

    def __init__(self, rate: float, each: int, most: int) -> None:
        self.rate, self.each, self.left, self.now, self.patience = rate, each, most, 1000.0, 60.0

    def monotonic(self) -> float:
        return self.now

    def gettimeout(self) -> float:
        return self.patience

    def settimeout(self, seconds: float) -> None:
        self.patience = seconds

    def recv_into(self, room: memoryview) -> int:
        count = min(self.each, len(room), self.left)
        waited = count / self.rate if count else float("inf")
        if waited > self.patience:
            self.now += self.patience
            raise TimeoutError
        self.now, self.left = self.now + waited, self.left - count
        room[:count] = bytes(count)
        return count


@pytest.mark.parametrize(
    ("rate", "each", "most", "whole", "seconds"),
    [
        (1e9, 1 << 16, LARGEST, True, (0, 1)),
        (300, 1400, LARGEST, True, (LARGEST / 300 - 1, LARGEST / 300 + 1)),  # the slowest line that will do
        (250, 1400, LARGEST, False, (60, 900)),
        (1 / 60, 1, LARGEST, False, (60, 61)),  # a letter a minute
        (1e9, 1 << 12, LARGEST - 1, False, (60, 61)),  # all at once, and then the last one never
    ],
)
def test_patience_is_measured_by_what_arrives(
    rate: float,
    each: int,
    most: int,
    whole: bool,
    seconds: tuple[float, float],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A letter on a slow line comes whole; who drips is given up. V.22bis brings 300 octets a second."""
    line = Line(rate, each, most)
    monkeypatch.setattr(gates, "monotonic", line.monotonic)
    ear = gates.Ear(cast("socket.socket", line), LARGEST)

    with nullcontext() if whole else pytest.raises(TimeoutError, match="nor 16 KB of one, within 60 seconds"):
        assert len(ear.read(LARGEST)) == LARGEST

    assert seconds[0] <= line.now - 1000 <= seconds[1]
    assert line.patience == 60
