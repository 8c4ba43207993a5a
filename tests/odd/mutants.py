"""Studios, mails and leftovers with something odd in them: mutated by bytes, by lines, and by what they mean."""

from __future__ import annotations

import random
import re
from collections.abc import Callable

# Values that broke programs of this kind before: too long, too deep, too large, not there, not text.
ODD_VALUES = (
    "", "~", "null", "-", "&a", "*a", "!x y", "!!python/object:os.system", "{", "[", "]", "'", '"', "|", ">", "%", "@",
    "[a, ~]", "[[[]]]", "{a: {b: c}}", "- a", "\n  -", "\n  - a\n  -", "? a", "'\0'", '"\\0"', '"\\e[2J"', "\x1b[2J", "\x9b31m",
    "\u202eabc", "\ufeff", "\u2028", "\U0001f58c", "9" * 30, "-1", "1e999999", "NaN", "Infinity", "0", "999999999", "1,200", "٣",
    "9999-12-31", "0001-01-01", "2026-02-30", "2200-12-31", "1900-01-01", "9999-12-31 23:59", "2026-03-29 02:30",
    "https://", "https://[::1", "https://a:99999/", "https://a@b.example/", "http://" + "a" * 300 + ".example/", "https://b\u00fccher.example/",
    "javascript:alert(1)", "[x](nowhere)", "[x](javascript:1)", "[x]: nowhere\n", "<https://a.example>", "![x](moth)", "](](](", "{deposit}",
    "{nothing}", "a" * 251, "a" * 60_000, "*" * 3_000, "[" * 3_000, "`" * 3_000, "> " * 300, "xx-nowhere", "en_XX@x", "de", "tlh",
    "con", "..", "../../etc", "a/b", "a\\b", "Mars/Olympus", "handbill", "case/../case", "#000", "#ffffff", "draw", "waiting list", "first come",
    "called off", "shipped", "offered", "2026-01-01 request; 2026-01-02 offered", "2026-01-01 -5; x", "100%", "100.5%", "0%", "[0.5, 0.5]", "[2, 0]",
)  # fmt: skip
ODD_BYTES = (
    b"\0",
    b"\xff",
    b"\xc3",
    b"\xed\xa0\x80",
    b"\r",
    b"\x1b[2J",
    b"\x85",
    b"\xe2\x80\xa8",
    b"\xf0\x9f\x96\x8c",
    b"\t",
    b"\x0c",
)
_VALUE = re.compile(r"(?m)(?<=: ).*$")


def mutate_bytes(raw: bytes, luck: random.Random) -> bytes:
    """Cut, double, swap or spoil a few bytes."""
    for _ in range(luck.randint(1, 3)):
        at, end = sorted((luck.randrange(len(raw) + 1), luck.randrange(len(raw) + 1)))
        raw = luck.choice(_BYTEWISE)(raw, at, min(end, at + 400), luck)
    return raw


_BYTEWISE: tuple[Callable[[bytes, int, int, random.Random], bytes], ...] = (
    lambda raw, at, end, luck: raw[:at] + raw[end:],
    lambda raw, at, end, luck: raw[:at] + raw[at:end] * 3 + raw[end:],
    lambda raw, at, end, luck: raw[:at] + luck.choice(ODD_BYTES) + raw[at:],
    lambda raw, at, end, luck: raw[:at] + bytes([luck.randrange(256)]) + raw[at + 1 :],
    lambda raw, at, end, luck: raw[:at] if luck.random() < 0.3 else raw[:at] + raw[at + 1 :],
)


def mutate_lines(text: str, luck: random.Random) -> str:
    """Drop, double, move or indent a line, or give a key another value."""
    for _ in range(luck.randint(1, 2)):
        lines = text.split("\n")
        at = luck.randrange(len(lines))
        what = luck.randrange(7)
        if what == 0:
            del lines[at]
        elif what == 1:
            lines.insert(at, lines[luck.randrange(len(lines))])
        elif what == 2:
            lines[at] = luck.choice(("  ", "\t", " ")) + lines[at]
        elif what == 3:
            lines[at] = lines[at].lstrip()
        else:
            lines[at] = _other_value(lines[at], luck)
        text = "\n".join(lines)
    return text


def _other_value(line: str, luck: random.Random) -> str:
    odd = luck.choice(ODD_VALUES)
    if "," in line and luck.random() < 0.4:  # a row of people.csv
        cells = line.split(",")
        cells[luck.randrange(len(cells))] = odd
        return ",".join(cells)
    found = list(_VALUE.finditer(line))
    return line[: found[0].start()] + odd if found else odd


def mutate(raw: bytes, luck: random.Random) -> bytes:
    """Mutate a file one way or the other."""
    if luck.random() < 0.35:
        return mutate_bytes(raw, luck)
    return mutate_lines(raw.decode("utf-8", "replace"), luck).encode("utf-8", "replace")


def mutate_record(raw: bytes, luck: random.Random) -> bytes:
    """Mutate JSON that the program left: bytes, or a whole value."""
    if luck.random() < 0.5:
        return mutate_bytes(raw, luck)
    values = (
        b"[" * 100_000,
        b'{"a":' * 50_000,
        b"null",
        b"[]",
        b"{}",
        b"3",
        b'"x"',
        b"NaN",
        b"",
        b"1e999",
        b'{"code": {}}',
        b"\xff",
    )
    if luck.random() < 0.4:
        return luck.choice(values)
    found = list(re.finditer(rb'"[^"]*"|[0-9.]+', raw))
    if not found:
        return luck.choice(values)
    spot = luck.choice(found)
    return raw[: spot.start()] + luck.choice(values) + raw[spot.end() :]
