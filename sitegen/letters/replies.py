"""Read what came back: requests to leave, failed deliveries (RFC 3464), complaints (RFC 5965), a web way out.

Anyone can write a mail that looks like a bounce. So a report counts only if it returns something that
only our letters hold: the person's token, or the Message-ID, which is keyed too.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from configparser import ConfigParser
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import date
from email.message import Message
from email.utils import parsedate_to_datetime
from enum import StrEnum
from itertools import islice
from pathlib import Path
from urllib.parse import urlsplit

from sitegen.letters import envelope
from sitegen.letters.folder import TOKEN_LETTERS, confirm_token, make_token, message_name
from sitegen.studio.person import Consent, Person, address_key
from sitegen.studio.text import quoted, short, unmarked


class Meaning(StrEnum):
    """What a message that came back means."""

    LEAVE = "asked to leave"
    CONFIRMED = "confirmed that they want letters"
    BOUNCED = "can't be reached for good"
    TEMPORARY = "couldn't be reached this time"
    COMPLAINED = "complained"
    WAITING = "still being tried"
    LOOK = "look at it yourself"
    PAST = "older than a later sign-up"
    PEEKED = "only looked at a way out, as link scanners do"
    UNREADABLE = "couldn't be read and was set aside"
    OTHER = "an ordinary mail"


@dataclass(frozen=True, slots=True)
class Reply:
    """One message that came back, understood as far as it can be."""

    meaning: Meaning
    key: str | None = field(default=None, repr=False)  # whom it's about: their folded address
    letter: str | None = None  # which letter it's about, where it says so
    said: str = ""  # why it's taken so, for the artist
    on: date | None = None  # the day of the mail, of one that confirms


_WORDS = ConfigParser(interpolation=None)
_WORDS.read(Path(__file__).with_name("replies.ini"), encoding="utf-8")


def _phrases(part: str, name: str) -> str:
    """Return a pattern of the phrases of a list; scripts that part no words know no bounds of words."""
    said = " ".join(_WORDS[part][name].split()).split(", ")
    return "|".join(rf"\b(?:{phrase})\b" if phrase.isascii() else phrase for phrase in said)


_SURE = re.compile(_phrases("leaving", "sure"))
_LEAVING = re.compile(f"{_phrases('leaving', 'plain')}|{_SURE.pattern}")
_HARMLESS = re.compile(_phrases("leaving", "harmless"))
GREETS = re.compile(_phrases("greeting", "words"))
_BY_SIGN = r"(?i){answered}*(?:(?P<leave>leave|stop|{leave})|yes|ja|{yes})\s+(?P<sign>[a-z2-7]{{16}})"
_OUR_NAME = re.compile(r"<([a-z0-9-]+)\.([0-9a-f]{24})@[^<>\s]+>")
# A letter has one name; each that is tried is compared with everyone on the list.
_MOST_NAMES = 2
_OUR_WAY_OUT = re.compile(r"subject=[^?&>]*%20([a-z2-7]{16})", re.IGNORECASE)
# RFC 3463 sections 3.2 and 3.3, RFC 7505 section 4: what says of an address or a mailbox that no letter will
# ever come through. All others speak of a full mailbox, the sender, the letter, the way, or policy.
_FOR_GOOD = re.compile(r"5\.(?:0\.[0-9]+|1\.(?:[0-46]|10)|2\.[01])$")
# RFC 3464 and RFC 6533 section 3.1: the second for addresses beyond ASCII.
_DELIVERY = {"message/delivery-status", "message/global-delivery-status"}
_COMPLAINT = "message/feedback-report"


class Reader:
    """Reads what came back, for one list of people."""

    def __init__(
        self, people: Sequence[Person], secret: bytes, leave: str = "leave", yes: str = "yes"
    ) -> None:
        """Read for these people; `leave` and `yes` are the words by which letters say what to answer."""
        self._secret, self._leave, self._yes = secret, folded(leave), {"yes", "ja", folded(yes)}
        words = {"answered": envelope.ANSWERED, "leave": re.escape(leave), "yes": re.escape(yes)}
        self._by_sign = re.compile(_BY_SIGN.format(**words))
        awaited = {Consent.NOT_CONFIRMED, Consent.CONFIRMED}  # their yes, or it came already
        asked = (person for person in people if person.consent in awaited)
        self._asked = {confirm_token(secret, person): person for person in asked}
        self._keys = {person.key for person in people}
        self._by_token = {make_token(secret, key): key for key in self._keys}
        self._signed = last_signed(people)

    def read(self, raw: bytes) -> Reply:
        """Understand one message; whatever is in it, this returns an answer."""
        try:
            reply = self._read(envelope.opened(raw))
        except (Exception, RecursionError) as fault:  # noqa: BLE001
            # Strangers write these, and the library that takes them apart has a fault for every oddity. None
            # of them may stand between the artist and the wishes to leave that come after it.
            return Reply(Meaning.UNREADABLE, said=f"a mail {envelope.told_of(raw)} ({type(fault).__name__})")
        looked_up = f": {envelope.told_of(raw)}" if reply.meaning is Meaning.LOOK else ""
        return replace(reply, said=reply.said + looked_up)

    def _read(self, message: Message) -> Reply:
        parts = message.get_payload() if message.is_multipart() else ()
        kinds = {part.get_content_type() for part in parts if isinstance(part, Message)}
        report = self._delivery if kinds & _DELIVERY else self._complaint if _COMPLAINT in kinds else None
        reply = (report or self._letter)(message)
        return unless_past(reply, envelope.day_of(message), self._signed.get(reply.key or ""))

    def _letter(self, message: Message) -> Reply:
        subject, lines = envelope.header(message, "Subject"), envelope.written_lines(message)
        first, by_itself = next((line for line in lines if not _only_greets(line)), ""), _by_itself(message)
        # A way out that was pressed is written by a mail program, which may say so of itself.
        for text in (subject,) if by_itself else (subject, first):
            if match := self._by_sign.fullmatch(text.strip(" .!\"'“”„‘’‚")):
                sign = match["sign"].lower()
                if match["leave"]:
                    unknown = f"with a way out that nobody was given ({match['sign']})"
                    return _leaving(self._by_token.get(sign), "by the way out of a letter", unknown)
                if not by_itself:
                    return self._confirming(sign, envelope.day_of(message))
        subject = re.sub(f"(?i)^{envelope.ANSWERED}+", "", subject)
        return by_itself or self._in_plain_words(message, subject, first, lines)

    def _in_plain_words(self, message: Message, subject: str, first: str, lines: Sequence[str]) -> Reply:
        sender = address_key(envelope.sender_of(message))
        known = sender if sender in self._keys else None
        if self._asks_to_leave(subject) or self._asks_to_leave(first):
            names = f"{envelope.header(message, 'In-Reply-To')} {envelope.header(message, 'References')}"
            answered, _ = self._by_name(names)
            whose = f" (it answers the letter to {answered})" if answered else ""
            return _leaving(known, "in plain words", f"from an address that isn't on the list{whose}")
        if _bare(first) in self._yes and any(sender == question.key for question in self._asked.values()):
            return Reply(
                Meaning.LOOK, said="a yes in plain words, which anybody could send under that address; ask "
                "them to use the letter's own way to confirm"
            )  # fmt: skip
        doubtful = next((line for line in (subject, *lines) if known and _SURE.search(folded(line))), "")
        said = f"may ask to leave ({quoted(doubtful)})" if doubtful else ""
        return Reply(Meaning.LOOK if said else Meaning.OTHER, said=said)

    def _asks_to_leave(self, text: str) -> bool:
        """Tell whether a line says that somebody wants to leave, and nothing else."""
        words = folded(text)
        said, rest = _LEAVING.search(words), _bare(_LEAVING.sub(" ", words))
        return self._leave in {words, _bare(words)} or bool(said and not rest)

    def _confirming(self, sign: str, on: date | None) -> Reply:
        person = self._asked.get(sign)
        if person is None:
            return Reply(Meaning.LOOK, said="a yes with a sign that nobody on the list was given")
        if person.left is not None:
            return Reply(Meaning.PAST, said="a yes of someone who left")
        return Reply(Meaning.CONFIRMED, person.key, said="by the letter's own way", on=on)

    def _delivery(self, message: Message) -> Reply:
        fields = [block for block in envelope.blocks(message, _DELIVERY) if block.get("Action")]
        if not fields:
            return Reply(Meaning.LOOK, said="a delivery report that names no recipient")
        key, letter = self._owner(message)
        # A report may speak of several recipients (RFC 3464 section 2.3).
        own = next((group for group in fields if key and key in _named(group)), fields[0])
        meaning, said = _meaning_of(own)
        if meaning in {Meaning.BOUNCED, Meaning.TEMPORARY}:
            return _about(meaning, said, key, letter)
        return Reply(meaning, said=said)

    def _complaint(self, message: Message) -> Reply:
        fields, *_ = envelope.blocks(message, {_COMPLAINT})
        kind = str(fields.get("Feedback-Type", "")).strip().lower()
        if kind != "abuse":
            return Reply(Meaning.LOOK, said=f"a report of the kind '{short(kind or 'unknown')}'")
        return _about(Meaning.COMPLAINED, "a report of abuse", *self._owner(message))

    def _owner(self, message: Message) -> tuple[str | None, str | None]:
        """Find whose letter was returned, and which, by what only that letter holds."""
        returned = envelope.returned_headers(message)
        ways = "".join(envelope.header(returned, "List-Unsubscribe").split())
        owners = (self._by_token.get(match[1].lower()) for match in _OUR_WAY_OUT.finditer(ways))
        by_name = self._by_name(envelope.header(returned, "Message-ID"))
        return by_name if by_name[0] else (next(filter(None, owners), None), None)

    def _by_name(self, text: str) -> tuple[str | None, str | None]:
        """Find to whom a letter of ours went whose name stands in a field, and which letter."""
        for match in islice(_OUR_NAME.finditer(text), _MOST_NAMES):
            letter, name = match[1], match[2]
            for key in self._keys:
                if message_name(self._secret, letter, key) == name:
                    return key, letter
        return None, None


def _by_itself(message: Message) -> Reply | None:
    """Say what a mail is that no person wrote (RFC 3834, 2369, 5321 section 4.5.5); nothing for others."""
    report = message.get_content_type() == "multipart/report"
    receipt = str(message.get_param("report-type", "")).lower() == "disposition-notification"
    if (report and not receipt) or envelope.sender_of(message).lower().startswith("mailer-daemon@"):
        return Reply(Meaning.LOOK, said="a mail server's notice, in no form that can be read")
    signs = (
        re.split(r"[\s;(]", envelope.header(message, "Auto-Submitted").lower())[0] not in {"no", ""},
        envelope.header(message, "Precedence").lower() in {"bulk", "junk", "list", "auto_reply"},
        envelope.header(message, "Return-Path") == "<>",
        any(name in message for name in ("List-Id", "List-Unsubscribe", "X-Autoreply", "X-Autorespond")),
    )
    return Reply(Meaning.OTHER, said="an automatic answer") if report or any(signs) else None


def _leaving(key: str | None, how: str, unknown: str) -> Reply:
    look = Reply(Meaning.LOOK, said=f"a request to leave {unknown}")
    return look if key is None else Reply(Meaning.LEAVE, key, said=how)


def _about(meaning: Meaning, said: str, key: str | None, letter: str | None) -> Reply:
    if key is None:
        return Reply(Meaning.LOOK, said=f"{said}, but it returns nothing that only a letter of yours holds")
    return Reply(meaning, key, letter, said)


def _named(group: Message) -> set[str]:
    """Return the folded addresses that a group of fields is on."""
    named = (str(group.get(name, "")) for name in ("Original-Recipient", "Final-Recipient"))
    return {address_key(address.rpartition(";")[2]) for address in named}


def unless_past(reply: Reply, on: date | None, signed: date | None) -> Reply:
    """Return a reply, or that whoever wrote it on that day has signed up again since."""
    if signed and on and on < signed:
        return Reply(Meaning.PAST, said=f"of {on}; they signed up again on {signed}")
    return reply


def last_signed(people: Sequence[Person]) -> dict[str, date]:
    """Return when those who left once and came back signed last: what they wrote before no longer holds."""
    came_back = {person.key for person in people if person.left}
    signed = (person for person in people if not person.left and person.key in came_back)
    days = [(person.joined, person.key) for person in signed if person.joined]
    return {key: joined for joined, key in sorted(days)}


def _meaning_of(fields: Message) -> tuple[Meaning, str]:
    """Read one recipient's fields: action and status (RFC 3464 sections 2.3.3 and 2.3.4)."""
    action = str(fields["Action"]).partition("(")[0].strip().lower()
    code = re.search(r"[245]\.[0-9]{1,3}\.[0-9]{1,3}", str(fields.get("Status", "")))
    status = code[0] if code else "no status"
    if action != "failed":
        done = Meaning.OTHER if action in {"delivered", "relayed", "expanded"} else Meaning.LOOK
        return Meaning.WAITING if action == "delayed" else done, short(action)
    if _FOR_GOOD.match(status):
        return Meaning.BOUNCED, f"failed for good ({status})"
    # The RFC's own first example has "failed" with status 4.0.0: given up, but for this letter only.
    return Meaning.TEMPORARY, f"failed this time ({status})"


def folded(text: str) -> str:
    """Return a text's words without case, marks and signs."""
    return " ".join(re.sub(r"[^\w\s]", " ", unmarked(text.casefold())).split())


def _bare(text: str) -> str:
    """Return a text's words without those that any wish to leave or any yes may have around it."""
    return " ".join(_HARMLESS.sub(" ", GREETS.sub(" ", folded(text), count=1)).split())


def _only_greets(line: str) -> bool:
    """Tell whether a mail's line is one that stands above what it says."""
    words = folded(line)
    return bool(GREETS.match(words)) and len(words.split()) < 7 and not _LEAVING.search(words)


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
        if found := _COMMON.search(line) or _BARE.match(line) or self._extended(line):
            return self._asked(line, *(found[name] for name in ("method", "target", "status", "day")))
        return self._unread(line)

    def _given(self, token: str, day: date | None) -> Reply:
        key = self._by_token.get(token)
        if key is None:
            return Reply(Meaning.LOOK, said=f"a way out that nobody was given: {token}")
        reply = Reply(Meaning.LEAVE, key, said="by the way out of a letter")
        return unless_past(reply, day, self._signed.get(key))

    def _asked(self, line: str, method: str, target: str, status: str, day: str | None) -> Reply | None:
        asked = _origin_form(target)
        token = asked.removeprefix(self._way).lower()
        if not (self._way and asked.startswith(self._way) and token in self._by_token):
            return self._unread(line)
        pressed = method.upper() == "POST" and status == "200"
        return self._given(token, _day(day)) if pressed else Reply(Meaning.PEEKED)

    def _extended(self, line: str) -> dict[str, str] | None:
        """Read a line of the Extended Log File Format by the fields it was announced with."""
        words = line.split()
        if not self._fields or len(words) != len(self._fields):
            return None
        field = dict(zip(self._fields, words, strict=True))
        query = field.get("cs-uri-query", "-")
        stem = field.get("cs-uri-stem", "") + (f"?{query}" if query != "-" else "")
        named = {"method": "cs-method", "target": "cs-uri", "status": "sc-status", "day": "date"}
        return {name: field.get(theirs, "") for name, theirs in named.items()} | {
            "target": field.get("cs-uri", stem)
        }

    def _unread(self, line: str) -> Reply | None:
        """Tell of a line that names someone's sign and yet doesn't count; other lines say nothing."""
        if not any(word.lower() in self._by_token for word in re.findall(r"[A-Za-z2-7]+", line)):
            return None
        said = f"a line with someone's way out that isn't a POST to your leave_address: {short(line)}"
        return Reply(Meaning.LOOK, said=said)


def _origin_form(address: str) -> str:
    """Return path and query of an address, as a request names them (RFC 9112 section 3.2.1)."""
    try:
        parts = urlsplit(address)
    except ValueError:
        return ""
    if not address or parts.scheme not in {"", "http", "https"}:
        return ""
    return (parts.path or "/") + ("?" + address.partition("?")[2] if "?" in address else "")


def _day(text: str | None) -> date | None:
    """Read 2026-11-20, or 20/Nov/2026 as the Common Log Format has it."""
    with suppress(TypeError, ValueError):
        if text and "/" in text:
            return parsedate_to_datetime(f"{text.replace('/', ' ')} 00:00:00").date()
        return date.fromisoformat(text or "")
    return None
