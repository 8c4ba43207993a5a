"""Read what a web address for leaving has noted: one sign a line, or the log of the server behind it.

Programs that guard mailboxes fetch every address in a letter (a GET) before a person sees it. So a line of a
log counts only if it's what RFC 8058 asks for: a POST to that person's own address, answered with 200.
Read are the Common Log Format, alone or with more words before and behind it, and the Extended Log File
Format (W3C working draft WD-logfile-960323), whose `#Fields:` line says what stands where.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from email.utils import parsedate_to_datetime
from urllib.parse import urlsplit

from sitegen.letters.personal import TOKEN_LETTERS, make_token
from sitegen.letters.replies import Meaning, Reply, last_signed, unless_past
from sitegen.studio.person import Person
from sitegen.studio.text import short

# One sign on a line of its own, the day (and time) beside it if someone noted it.
_PLAIN = re.compile(
    rf"(?:(?P<day>20[0-9]{{2}}-[01][0-9]-[0-3][0-9])(?:[T ][0-9:.]+(?:Z|[+-][0-9:]+)?)?[\s,;]+)?"
    rf"(?P<token>[a-z2-7]{{{TOKEN_LETTERS}}})",
    re.IGNORECASE,
)
# [20/Nov/2026:10:00:00 +0000] "POST /leave/… HTTP/1.1" 200, as the Common Log Format has it.
_COMMON = re.compile(
    r'\[(?P<day>[0-9]{2}/[A-Za-z]{3}/[0-9]{4}):[^\[\]"]*\] '
    r'"(?P<method>[A-Za-z]+) (?P<target>[^\s"]+)(?: HTTP/[0-9.]+)?" (?P<status>[0-9]{3})(?![0-9])'
)
# The same without the rest, at the start of a line: POST /leave/… 200.
_BARE = re.compile(
    r"(?:(?P<day>20[0-9]{2}-[01][0-9]-[0-3][0-9])[0-9T:.Z+ -]*[ \t])?"
    r"(?P<method>[A-Za-z]+)[ \t](?P<target>[^\s\"]+)(?:[ \t]HTTP/[0-9.]+)?[ \t](?P<status>[0-9]{3})(?![0-9])"
)
# No line of a log that matters is longer; what follows are a browser's own words.
_LONGEST = 4_000


@dataclass(frozen=True, slots=True)
class _Request:
    """What a line of a log says was asked, and what was answered."""

    method: str
    target: str
    status: str
    day: date | None


class Slips:
    """Reads what the studio's leave address has noted; `address` is that of studio.yaml, without a sign."""

    def __init__(self, people: Sequence[Person], secret: bytes, address: str = "") -> None:
        self._by_token = {make_token(secret, person.key): person.key for person in people}
        self._signed = last_signed(people)
        self._way = _origin_form(address)
        self._fields: list[str] = []

    def read(self, lines: Iterable[str]) -> list[Reply]:
        """Understand each line; a log's other words can't be anyone's sign, so only known ones count."""
        found = (self._line(line[:_LONGEST].strip()) for line in lines)
        return [reply for reply in found if reply is not None]

    def _line(self, line: str) -> Reply | None:
        if line.startswith("#"):
            if line.lower().startswith("#fields:"):
                self._fields = line.split(":", 1)[1].lower().split()
            return None
        if plain := _PLAIN.fullmatch(line):
            return self._given(plain["token"].lower(), _day(plain["day"]))
        request = _common(line) or self._extended(line)
        return self._asked(request, line) if request is not None else self._unread(line)

    def _given(self, token: str, day: date | None) -> Reply:
        key = self._by_token.get(token)
        if key is None:
            return Reply(Meaning.LOOK, said=f"a way out that nobody was given: {token}")
        reply = Reply(Meaning.LEAVE, key, said="by the way out of a letter")
        return unless_past(reply, day, self._signed.get(key))

    def _asked(self, request: _Request, line: str) -> Reply | None:
        target = _origin_form(request.target)
        token = target.removeprefix(self._way).lower()
        if not (self._way and target.startswith(self._way) and token in self._by_token):
            return self._unread(line)
        if request.method.upper() == "POST" and request.status == "200":
            return self._given(token, request.day)
        return Reply(Meaning.PEEKED)

    def _extended(self, line: str) -> _Request | None:
        """Read a line of the Extended Log File Format by the fields it was announced with."""
        words = line.split()
        if not self._fields or len(words) != len(self._fields):
            return None
        field = dict(zip(self._fields, words, strict=True))
        query = field.get("cs-uri-query", "-")
        target = field.get("cs-uri", field.get("cs-uri-stem", "") + (f"?{query}" if query != "-" else ""))
        return _Request(
            field.get("cs-method", ""), target, field.get("sc-status", ""), _day(field.get("date"))
        )

    def _unread(self, line: str) -> Reply | None:
        """Tell of a line that names someone's sign and yet doesn't count; other lines say nothing."""
        if any(word.lower() in self._by_token for word in re.findall(r"[A-Za-z2-7]+", line)):
            return Reply(
                Meaning.LOOK,
                said=f"a line with someone's way out that isn't a POST to your leave_address: {short(line)}",
            )
        return None


def _origin_form(address: str) -> str:
    """Return path and query of an address, as a request names them (RFC 9112 section 3.2.1)."""
    try:
        parts = urlsplit(address)
    except ValueError:
        return ""
    if not address or parts.scheme not in {"", "http", "https"}:
        return ""
    return (parts.path or "/") + ("?" + address.partition("?")[2] if "?" in address else "")


def _common(line: str) -> _Request | None:
    found = _COMMON.search(line) or _BARE.match(line)
    return _Request(found["method"], found["target"], found["status"], _day(found["day"])) if found else None


def _day(text: str | None) -> date | None:
    """Read 2026-11-20, or 20/Nov/2026 as the Common Log Format has it."""
    with suppress(TypeError, ValueError):
        if text and "/" in text:
            return parsedate_to_datetime(f"{text.replace('/', ' ')} 00:00:00").date()
        return date.fromisoformat(text or "")
    return None
