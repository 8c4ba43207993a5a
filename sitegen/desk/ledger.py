"""The books as a table for the accountant: CSV as RFC 4180 has it, safe to open in a spreadsheet."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from datetime import date
from decimal import Decimal

from sitegen.desk.books import Books
from sitegen.studio import money
from sitegen.studio.commission import Step
from sitegen.studio.whole import Studio

HEADER = ("date", "kind", "stream", "what", "in", "out", "currency")
# A cell that starts so is run as a formula by spreadsheets (OWASP, CSV Injection; ASVS 5.0, 1.2.10).
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "\0")

Row = tuple[date, str, str, str, Decimal, Decimal]


def ledger(studio: Studio, books: Books) -> str:
    """Write a year's sales, advances, supplies and show costs as CSV, sorted by date, lines ended by CRLF."""
    digits = books.settings.digits
    file = io.StringIO(newline="")
    writer = csv.writer(file, lineterminator="\r\n")
    writer.writerow(HEADER)
    for on, kind, stream, what, came, went in sorted(_rows(studio, books)):
        amounts = [money.plain(one, digits) if one else "" for one in (came, went)]
        writer.writerow([on.isoformat(), kind, stream, guarded(what), *amounts, books.settings.currency])
    return file.getvalue()


def guarded(text: str) -> str:
    """Put an apostrophe before a text that a spreadsheet would run."""
    return f"'{text}" if text.startswith(_FORMULA) else text


def _rows(studio: Studio, books: Books) -> Iterable[Row]:
    nothing = Decimal(0)
    for sale in books.sales:
        yield (sale.on, "sale", sale.stream, sale.what, sale.price, nothing)
        if sale.supplies:
            yield (sale.on, "supplies", sale.stream, sale.what, nothing, sale.supplies)
    for show in studio.shows:
        if show.first_day.year == books.year:
            for cost in show.private.costs:
                yield (show.first_day, "show cost", "shows", f"{show.name}: {cost.what}", nothing, cost.cost)
    sold = {piece.private.order for piece in studio.pieces if piece.private.sold is not None}
    for place in studio.commissions.queue:
        if place.code in sold or place.step in {Step.CALLED_OFF, Step.SHIPPED}:
            continue  # the sale, or what was kept, stands for these
        for one in place.private.paid:
            if one.on.year == books.year:
                came, went = max(one.amount, nothing), max(-one.amount, nothing)
                yield (one.on, "advance", "commissions", place.code, came, went)
