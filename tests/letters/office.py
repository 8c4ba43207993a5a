"""Post offices for tests: one that follows a script, and a real server on loopback."""

from __future__ import annotations

import socket
from collections import deque
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, Envelope, Session

from sitegen.letters.announce import Writing
from sitegen.letters.folder import Letter, open_letter
from sitegen.letters.gate import Gate, Security
from sitegen.letters.kinds import announce_commissions
from sitegen.letters.office import Handover, OfficeShut
from sitegen.letters.posting import WallClock
from sitegen.letters.record import PostingEvent
from sitegen.studio.asked import LetterFault
from sitegen.studio.person import Person
from tests.letters.studio import ADA, front, room

CROWD = [
    Person(f"p{n}@example.com", f"Reader {n}", ADA.interests, ADA.joined, ADA.consent, "form")
    for n in range(6)
]
EVERYBODY = frozenset(person.key for person in CROWD)


def letter(folder: Path, people: list[Person] | None = None) -> Letter:
    """Make a letter to a few people."""
    made = announce_commissions(Writing(front(folder / "studio"), people or CROWD, room(folder)))
    return open_letter(made.folder)


def everybody() -> frozenset[str]:
    """Let everyone in the crowd have the letter."""
    return EVERYBODY


@dataclass
class FakeClock(WallClock):
    """Time that passes only by waiting; stops after so many seconds, if told."""

    time: float = 0.0
    stop_at: float = float("inf")
    waits: list[float] = field(default_factory=list)

    def now(self) -> float:
        return self.time

    def wait(self, seconds: float) -> None:
        self.waits.append(seconds)
        self.time += max(seconds, 0.0)

    @property
    def stopping(self) -> bool:
        return self.time >= self.stop_at


@dataclass
class ScriptedOffice:
    """Answers by a script per address: `ok`, a code, `shut`, `unsure`, `fault`; `ok` when it runs out."""

    script: dict[str, list[str]] = field(default_factory=dict)
    taken: list[str] = field(default_factory=list)
    closed: int = 0

    def post(self, sender: str, recipient: str, message: bytes, before: Callable[[], None]) -> Handover:
        answers = deque(self.script.get(recipient, []))
        answer = answers.popleft() if answers else "ok"
        self.script[recipient] = list(answers)
        if answer == "shut":
            raise OfficeShut("nobody there")
        if answer == "fault":
            raise LetterFault("wrong password")
        if answer.startswith(("4", "5")):
            return Handover(PostingEvent.LATER if answer[0] == "4" else PostingEvent.REFUSED, answer)
        before()
        if answer == "hangup":
            raise OfficeShut("hung up in the middle")
        self.taken.append(recipient)
        return Handover(PostingEvent.UNSURE if answer == "unsure" else PostingEvent.POSTED, answer)

    def close(self) -> None:
        self.closed += 1


@dataclass
class Desk:
    """What a real server takes, and how it answers: codes by address, or a way to break the line."""

    at_recipient: dict[str, list[str]] = field(default_factory=dict)
    after_data: dict[str, list[str]] = field(default_factory=dict)
    taken: list[tuple[str, bytes]] = field(default_factory=list)

    async def handle_RCPT(  # noqa: N802 (the library's name)
        self, server: SMTP, session: Session, envelope: Envelope, address: str, options: list[str]
    ) -> str:
        answers = self.at_recipient.get(address)
        if answers:
            return answers.pop(0)
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server: SMTP, session: Session, envelope: Envelope) -> str:  # noqa: N802
        (address,) = envelope.rcpt_tos
        answers = self.after_data.get(address)
        answer = answers.pop(0) if answers else "250 taken"
        if answer.startswith("250") or answer == "drop after taking":
            assert isinstance(envelope.content, bytes)
            self.taken.append((address, envelope.content))
        if answer.startswith("drop"):
            assert server.transport is not None
            server.transport.abort()  # type: ignore[attr-defined]
        return answer


@contextmanager
def serving(desk: Desk, **options: Any) -> Iterator[Gate]:
    """Run aiosmtpd on loopback for a while; yield the way in."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    controller = Controller(desk, hostname="127.0.0.1", port=port, **options)
    controller.start()
    try:
        yield Gate("127.0.0.1", port, Security.NONE)
    finally:
        controller.stop()
