"""Write the header fields of a message: nothing a person typed can start a field of its own.

Lines stay within 78 characters where the words allow it (RFC 5322 section 2.1.1); text beyond ASCII
goes into encoded-words of at most 75 characters on lines of at most 76 (RFC 2047 section 2).
"""

from __future__ import annotations

import base64
import re
import unicodedata
from email.utils import quote as escaped
from urllib.parse import quote

LINE = 78
ENCODED_LINE = 76
ENCODED_WORD = 75
# What `=?utf-8?B?` and `?=` take away from an encoded-word.
_AROUND = len("=?utf-8?B??=")
# Longer than any name on a doorbell; a pasted page must not become a header.
LONGEST_NAME = 120

_ATOMS = re.compile(r"[A-Za-z0-9!#$%&'*+/=?^_`{|}~ -]+")
# Joiners that Persian, Hindi and family emoji need; other format characters can turn text around.
_JOINERS = {"\u200c", "\u200d"}
_DROPPED = {"Cc", "Cf", "Cs", "Co", "Zl", "Zp"}


def clean(text: str) -> str:
    """Return a text as one line of NFC without control, format, private or broken characters."""
    composed = unicodedata.normalize("NFC", text)
    if composed.isascii() and composed.isprintable():
        return " ".join(composed.split())
    kept = (c if c in _JOINERS or unicodedata.category(c) not in _DROPPED else " " for c in composed)
    return " ".join("".join(kept).split())


def field(name: str, text: str) -> str:
    """Write a field of plain words, such as Subject, folded and encoded as it needs."""
    words = clean(text)
    longest = max(map(len, words.split()), default=0)
    if words.isascii() and "=?" not in words and len(f"{name}: ") + longest <= LINE:
        return _fold(name, words.split())
    return f"{name}: " + "\r\n ".join(_encoded_words(words, len(name) + 2)) + "\r\n"


def mailbox(name: str, person: str, address: str) -> str:
    """Write a field with one mailbox: a person's name, if any, and an ASCII address."""
    words = clean(person)[:LONGEST_NAME].strip()
    if not words:
        return f"{name}: {address}\r\n"
    if not words.isascii() or "=?" in words:
        parts = _encoded_words(words, len(name) + 2)
    else:
        parts = [words if _ATOMS.fullmatch(words) else f'"{escaped(words)}"']
    return _fold(name, [*parts, f"<{address}>"])


def structured(name: str, text: str) -> str:
    """Write a field whose ASCII words must stay as they are, on a new line where they're long."""
    return _fold(name, text.split())


def mailto(address: str, subject: str) -> str:
    """Return a mailto link (RFC 6068) that starts a mail with this subject."""
    return f"mailto:{quote(address, safe='@')}?subject={quote(subject, safe='')}"


def _fold(name: str, words: list[str]) -> str:
    lines, line = [], f"{name}:"
    for word in words:
        limit = ENCODED_LINE if "=?" in word or "=?" in line else LINE
        if len(line) + 1 + len(word) > limit:
            lines.append(line)
            line = ""
        line += f" {word}"
    return "\r\n".join([*lines, line]) + "\r\n"


def _encoded_words(words: str, used: int) -> list[str]:
    """Split into base64 encoded-words; the first leaves room for the field's name."""
    parts: list[str] = []
    room = _octets(min(ENCODED_WORD, ENCODED_LINE - used))
    chunk = b""
    for character in words:
        octets = character.encode("utf-8")
        if len(chunk) + len(octets) > room:
            parts.append(_encoded(chunk))
            chunk, room = b"", _octets(ENCODED_WORD)
        chunk += octets
    return [*parts, _encoded(chunk)]


def _octets(characters: int) -> int:
    return (characters - _AROUND) // 4 * 3


def _encoded(chunk: bytes) -> str:
    return f"=?utf-8?B?{base64.b64encode(chunk).decode('ascii')}?="
