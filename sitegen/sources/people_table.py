"""A table from elsewhere, row by row: of any common make, each row that can't be read set aside."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Sequence
from typing import Any

from sitegen.sources.complaints import StudioFault
from sitegen.studio.text import named, short, unfit_for_text

# Letters in a cell: no name, address or note that someone wrote on a form is longer.
LONGEST_CELL = 1_000
LOST = "\ufffd"
"""Stands where a letter could not be decoded."""


def rows_of(content: bytes) -> Iterator[tuple[int, list[str], str]]:
    """Yield each row with the line it starts in, its cells, and what is wrong with it (or nothing).

    Reads UTF-8, UTF-16 or CP1252; commas, semicolons or tabs. Raises StudioFault for a table cut short.
    """
    text = decoded(content)
    for line, row, torn in csv_rows(text, delimiter=_delimiter(text)):
        fault = "this row's quotes don't match, or a cell in it goes on for pages" if torn else _fault(row)
        yield line, row if fault else [" ".join(cell.split()) for cell in row], fault


def csv_rows(text: str, **how: Any) -> Iterator[tuple[int, list[str], str]]:
    """Yield each record with the line it starts in and what is wrong with its quotes; one may span lines."""
    reader, line = csv.reader(io.StringIO(text, newline=""), **how), 1
    while True:
        row, fault = list[str](), ""
        try:
            row = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            fault = short(error)
        yield line, row, fault
        line = reader.line_num + 1


def _fault(row: Sequence[str]) -> str:
    """Say what keeps a row from being taken over."""
    for number, cell in enumerate(row, start=1):
        if len(cell) > LONGEST_CELL:
            return f"cell {number} has {len(cell)} letters; was a quote opened and never closed?"
        if unfit := unfit_for_text(cell):
            return f"cell {number} holds a character that can't be shown ({named(unfit[0])})"
        if LOST in cell:
            return f"a letter was lost in cell {number}; export the table again, as UTF-8"
    return ""


def decoded(content: bytes) -> str:
    """Return a table's text. Raises StudioFault if it breaks off within a letter."""
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        try:
            return content.decode("utf-16")
        except UnicodeDecodeError as fault:
            raise StudioFault(
                "the table is cut short or damaged: it says that it is UTF-16 and breaks off within a "
                "letter; export it again, as UTF-8"
            ) from fault
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("cp1252", "replace")


def _delimiter(text: str) -> str:
    first = re.split(r"[\r\n]", text, maxsplit=1)[0]
    return max(",;\t", key=first.count)


def lost_letter(address: str, name: str) -> str:
    """Say that a letter was lost on the way: a question mark stands in its place. Nothing if none was.

    RFC 5322 allows the sign before the @; nobody has such a mailbox (common practice, no source).
    """
    if "?" in address:
        return "a question mark stands where a letter was; look at the table, and export it as UTF-8"
    if re.search(r"\w\?\w|\?\w|\w\?\B", name):
        return f"the name '{name}' has a question mark where a letter may have been"
    return ""
