"""Text made fit to be shown (from a file, a mail, a server's answer), to stand in addresses, or with a count.

A terminal takes some characters as orders, others turn the reading direction round, and a value may be as
long as a book. Whatever quotes or prints such text goes through here.
"""

import csv
import io
import re
import unicodedata
from collections.abc import Iterable
from decimal import Decimal

# C0 but for line end and tab, DEL, C1 (ECMA-48); marks that steer the direction of writing (Unicode
# annex 9); separators that a terminal may break at; halves of characters; tags and fillers nobody sees.
_ORDERS = "\\x00-\\x08\\x0b-\\x1f\\x7f-\\x9f"
_UNSEEN = (
    "\u061c\u200e\u200f\u2028\u2029\u202a-\u202e\u2066-\u2069\ufeff\ufff9-\ufffb\ud800-\udfff"
    "\U000e0000-\U000e007f"
)
# Patterns stay text until they are asked: `re` compiles each once, and most commands meet plain text only.
_UNFIT = f"[{_ORDERS}{_UNSEEN}]"
# What YAML 1.2 (5.1, c-printable) leaves out, and so no text file of a studio may hold.
_NO_TEXT = "[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]"
_LINE = 2_000
_QUOTED = 100


def fit(text: str) -> str:
    """Return text that a terminal only shows: a � stands for each sign it might obey, long lines are cut."""
    if not _plain(text):
        text = re.sub(_UNFIT, "�", text.replace("\r\n", "\n"))
    if len(text) <= _LINE:
        return text
    half = _LINE // 2  # a line's beginning stays, and its end, where a message has its cure
    lines = text.split("\n")
    return "\n".join(line if len(line) <= _LINE else f"{line[:half]} … {line[-half:]}" for line in lines)


def short(text: object, most: int = _QUOTED) -> str:
    """Return foreign text for quoting within a sentence: on one line, at most `most` characters."""
    line = str(text)[: most * 4].replace("\r", " ").replace("\n", " ")
    words = " ".join((line if _plain(line) else re.sub(_UNFIT, "�", line)).split())
    return words if len(words) <= most else words[: most - 1].rstrip() + "…"


# A cell that starts so is taken for a formula when a table is opened in a spreadsheet (common practice).
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "\0")


def guarded(cell: str) -> str:
    """Put an apostrophe before a cell of a table that a spreadsheet would run."""
    return f"'{cell}" if cell.startswith(_FORMULA) else cell


def as_csv(rows: Iterable[Iterable[object]]) -> str:
    """Write rows as CSV (RFC 4180), lines ended by CRLF; no cell is run by a spreadsheet."""
    file = io.StringIO(newline="")
    texts = ([str(cell) for cell in row] for row in rows)
    said = ([cell if re.fullmatch("-?[0-9.]+", cell) else guarded(cell) for cell in row] for row in texts)
    csv.writer(file, lineterminator="\r\n").writerows(said)
    return file.getvalue()


def unguarded(cell: str) -> str:
    """Take away the apostrophe that `guarded` put there."""
    return cell[1:] if cell.startswith("'") and cell[1:].startswith(_FORMULA) else cell


def quoted(text: object) -> str:
    """Return foreign text in quotes, as a message names what was typed."""
    return f"'{short(text)}'"


def _plain(text: str) -> bool:
    """Tell at a glance that no sign of a text steers anything; False means that it must be looked at."""
    return text.replace("\n", "").replace("\t", "").isprintable()


def unfit_for_text(text: str) -> re.Match[str] | None:
    """Find the first character that no text file should hold; None if there is none."""
    return None if _plain(text) else re.search(_NO_TEXT, text)


def without_unfit(text: str) -> str:
    """Return a text with a � for each character that no text file should hold."""
    return re.sub(_NO_TEXT, "�", text)


def named(character: str) -> str:
    """Name a character that can't be shown, as Unicode does: U+0000."""
    return f"U+{ord(character):04X}"


def for_machines(text: str) -> str:
    """Return JSON in which nothing a terminal obeys stands unescaped; it says the same as before."""
    return re.sub(_UNFIT, _escaped, text)


def _escaped(found: re.Match[str]) -> str:
    # RFC 8259 section 7: a character beyond U+FFFF is written as its two UTF-16 halves.
    units = found[0].encode("utf-16-be", "surrogatepass")
    return "".join(f"\\u{units[at]:02x}{units[at + 1]:02x}" for at in range(0, len(units), 2))


def ascii_domain(domain: str) -> str | None:
    """Write a domain as programs look it up (IDNA); None for one that can't be."""
    if domain.isascii():
        return domain.lower()
    import idna  # noqa: PLC0415 (its tables are large and few lists need them)

    try:
        return idna.encode(domain, uts46=True).decode("ascii")
    except idna.IDNAError:
        return None


# Letters that Unicode does not take apart into a base letter and a mark.
_LETTERS = str.maketrans({
    "ß": "ss", "æ": "ae", "œ": "oe", "ø": "o", "đ": "d", "ð": "d", "þ": "th", "ł": "l", "ħ": "h", "ı": "i",
})  # fmt: skip


def unmarked(text: str) -> str:
    """Take a text's letters apart (NFKD) and leave their marks out: `é` is `e`, `ﬁ` is `fi`."""
    return "".join(c for c in unicodedata.normalize("NFKD", text) if not unicodedata.combining(c))


def slug(name: str) -> str:
    """Turn a name into lower-case a-z, 0-9 and hyphens; empty when nothing of it can be kept."""
    letters = re.sub(r"['’ʼ]", "", unmarked(name.lower().translate(_LETTERS)))
    return re.sub(r"[^a-z0-9]+", "-", letters).strip("-")


def counted(count: int, single: str, many: str) -> str:
    """Return the count with its noun: `1 person`, `3 people`."""
    return f"{count} {single if count == 1 else many}"


def bare(number: Decimal) -> str:
    """Write a number in digits, without noughts at its end: 12.50 as `12.5`, 1E+1 as `10`."""
    return f"{number.normalize():f}"


def columns(text: str) -> int:
    """Count the columns a terminal gives a text: two for wide letters, none for combining marks (UAX #11)."""
    return sum(
        0 if unicodedata.combining(letter) else 1 + (unicodedata.east_asian_width(letter) in "WF")
        for letter in text
    )
