"""The post office: the one door through which messages leave, over SMTP submission (RFC 6409).

`Office` is what posting needs of one; a test writes its own in a few lines.
"""

from __future__ import annotations

import re
import smtplib
import ssl
from collections.abc import Callable
from dataclasses import dataclass
from typing import NoReturn, Protocol

from sitegen.letters.gate import OUTGOING, Ear, Gate, Security, in_words, no_starttls, not_let_in, private
from sitegen.letters.record import PostingEvent
from sitegen.studio.asked import LetterFault

# Seconds: RFC 5321 section 4.5.3.2 asks for 5 minutes after MAIL and RCPT, and 10 for the answer to
# the end of the data; a laptop's user gives up long before.
PATIENCE = 60
# So that no machine name leaves the house; RFC 5321 section 4.1.3 allows an address in brackets.
_GREETED_AS = "[127.0.0.1]"


@dataclass(frozen=True, slots=True)
class Handover:
    """What became of one message."""

    event: PostingEvent
    said: str  # the office's own words
    out_of_step: bool = False  # fits no message, so none after it can be trusted: no more may be handed in


class OfficeShut(Exception):
    """The office can't be reached or hung up before it had the message; it may be back later."""


class Office(Protocol):
    """Takes messages, one at a time."""

    def post(self, sender: str, recipient: str, message: bytes, before: Callable[[], None]) -> Handover:
        """Hand in one message; `before` is called right before its text goes out.

        Raises OfficeShut if it surely wasn't taken, LetterFault if no message can ever be.
        """

    def close(self) -> None:
        """Say good-bye; a later `post` opens the door again."""


# Bytes of one answer. RFC 5321 section 4.5.3.1.5 has lines of 512, and an honest greeting a dozen of them.
_MOST = 64 << 10


class _Door(smtplib.SMTP):
    """A connection to a post office."""

    def getreply(self) -> tuple[int, bytes]:
        """Read an answer; one without an end, or that takes too long, counts as hanging up."""
        if self.sock is not None and not isinstance(self.file, Ear):
            self.file = Ear(self.sock, _MOST)
        if self.file is not None:
            self.file.expect()
        try:
            return super().getreply()
        except smtplib.SMTPServerDisconnected as fault:
            if isinstance(fault.__context__, TimeoutError):
                raise fault.__context__ from None
            raise


class _PrivateDoor(_Door, smtplib.SMTP_SSL):
    """A connection that is private from its first byte."""


class SmtpOffice:
    """A post office reached over SMTP, its connection kept open between messages."""

    def __init__(self, gate: Gate, patience: float = PATIENCE) -> None:
        self._at = gate
        self._patience = patience
        self._door: smtplib.SMTP | None = None

    def post(self, sender: str, recipient: str, message: bytes, before: Callable[[], None]) -> Handover:
        """Hand in one message; see `Office`. A connection that fell asleep is opened again, once."""
        handed: list[bool] = []

        def noted() -> None:
            before()
            handed.append(True)

        was_open = self._door is not None
        try:
            return self._post(sender, recipient, message, noted)
        except (OSError, smtplib.SMTPException) as fault:
            self._slam()
            if not was_open or handed:
                said = in_words(fault) or type(fault).__name__
                if isinstance(fault, smtplib.SMTPResponseException):
                    said = f"{fault.smtp_code} {in_words(fault.smtp_error)}"
                raise OfficeShut(said) from fault
        return self.post(sender, recipient, message, before)

    def close(self) -> None:
        """Say good-bye, if anyone still listens."""
        if self._door is not None:
            try:
                self._door.quit()
            except (OSError, smtplib.SMTPException):
                self._slam()
        self._door = None

    def _post(self, sender: str, recipient: str, message: bytes, before: Callable[[], None]) -> Handover:
        self._door = door = self._door or self._enter()
        self._nothing_unasked(door)
        code, said = door.mail(sender)
        outcome = _outcome(code, said)
        if outcome is None:
            self._out_of_step(code, said, "a sender")
        if outcome.event is PostingEvent.LATER:
            raise smtplib.SMTPSenderRefused(code, said, sender)
        if outcome.event is PostingEvent.REFUSED:
            raise LetterFault(f"{self._at.host} takes no mail from {sender}: {outcome.said}")
        self._nothing_unasked(door)
        code, said = door.rcpt(recipient)
        if code // 100 != 2:
            return self._back_out(door, code, said, "a recipient")
        self._nothing_unasked(door)
        code, said = door.docmd("DATA")
        if code != 354:
            return self._back_out(door, code, said, "DATA")
        self._nothing_unasked(door)
        before()
        # If this fails, the closing dot didn't leave, so the message wasn't taken.
        door.send(_dotted(message))
        return self._answer(door)

    def _answer(self, door: smtplib.SMTP) -> Handover:
        """Read the answer to a whole message: without one, nobody can know whether it was taken."""
        try:
            code, said = door.getreply()
        except (OSError, smtplib.SMTPException) as fault:
            self._slam()
            return Handover(PostingEvent.UNSURE, f"no answer after the message: {in_words(fault)}")
        unfit = f"an answer that fits no message: {code} {in_words(said)}"
        return _outcome(code, said) or Handover(PostingEvent.UNSURE, unfit, out_of_step=True)

    def _nothing_unasked(self, door: smtplib.SMTP) -> None:
        """Make sure that the next answer will be to the next question. Raises LetterFault, or smtplib's own.

        RFC 5321 section 3.8 lets a server speak unasked to say that it closes, and at no other time.
        """
        if not isinstance(door.file, Ear) or not door.file.is_spoken_to():
            return
        code, said = door.getreply()
        if code == 421:
            raise smtplib.SMTPServerDisconnected(in_words(said))
        self._out_of_step(code, said, "nothing at all")

    def _out_of_step(self, code: int, said: bytes, asked: str) -> NoReturn:
        self._slam()
        raise LetterFault(
            f"{self._at.host} answers out of step: '{code} {in_words(said)}' to {asked}. That letter was not "
            "handed in; run `send` again, and ask your mail provider if it stays so"
        )

    def _back_out(self, door: smtplib.SMTP, code: int, said: bytes, asked: str) -> Handover:
        outcome = _outcome(code, said)
        if outcome is None or outcome.event is PostingEvent.POSTED:
            self._out_of_step(code, said, asked)
        if code == 421:  # RFC 5321 section 3.8: the server closes after it
            self._slam()
        else:
            door.rset()
        return outcome

    def _enter(self) -> smtplib.SMTP:
        at, context = self._at, ssl.create_default_context()
        door: smtplib.SMTP
        if at.security is Security.TLS:
            door = private(at.host, lambda: _PrivateDoor(
                at.host, at.port, local_hostname=_GREETED_AS, timeout=self._patience, context=context
            ))  # fmt: skip
        else:
            door = _Door(at.host, at.port, local_hostname=_GREETED_AS, timeout=self._patience)
        try:
            door.ehlo_or_helo_if_needed()
            if at.security is Security.STARTTLS:
                if not door.has_extn("starttls"):
                    raise no_starttls(at, OUTGOING)
                private(at.host, lambda: door.starttls(context=context))
                door.ehlo_or_helo_if_needed()
            if at.user:
                _log_in(door, at)
        except BaseException:
            door.close()
            raise
        return door

    def _slam(self) -> None:
        if self._door is not None:
            self._door.close()
        self._door = None


def _log_in(door: smtplib.SMTP, at: Gate) -> None:
    try:
        door.login(at.user, at.password)
    except smtplib.SMTPAuthenticationError as fault:
        if 400 <= fault.smtp_code < 500:
            raise
        raise not_let_in(at, fault.smtp_error) from fault
    except UnicodeEncodeError as fault:
        raise LetterFault(
            f"the name or password for {at.host} holds letters beyond a–z, which SMTP can't carry; ask your "
            "mail provider for another password"
        ) from fault
    except smtplib.SMTPNotSupportedError as fault:
        raise LetterFault(f"{at.host} takes no log-in on port {at.port}; look up the port again") from fault


# RFC 5321 section 4.2.1: what the first digit of an answer means, whatever the others are.
_BY_FIRST_DIGIT = {2: PostingEvent.POSTED, 4: PostingEvent.LATER, 5: PostingEvent.REFUSED}


def _outcome(code: int, said: bytes) -> Handover | None:
    """Return what an answer to a message means; None if it's none."""
    event = _BY_FIRST_DIGIT.get(code // 100)
    return Handover(event, f"{code} {in_words(said)}") if event else None


def _dotted(message: bytes) -> bytes:
    """Double a dot that starts a line and close with one of its own (RFC 5321 section 4.5.2)."""
    body = re.sub(rb"(?m)^\.", b"..", message)
    return body + (b"" if body.endswith(b"\r\n") else b"\r\n") + b".\r\n"
