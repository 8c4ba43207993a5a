"""The books as a table for the accountant: CSV as RFC 4180 has it, safe to open in a spreadsheet.

Every sum on the screen is the sum of rows here: income of the kinds sale, kept and refund; costs of
fees, supplies, show cost, overhead and expense. The other kinds say where money stands
and how many hours there were.
"""

from __future__ import annotations

import csv
import io

from sitegen.desk.year import Year
from sitegen.studio.counting import bare

HEADER = ("date", "kind", "stream", "what", "in", "out", "currency", "hours", "show")
# A cell that starts so is run as a formula by spreadsheets (OWASP, CSV Injection; ASVS 5.0, 1.2.10).
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "\0")


def ledger(books: Year) -> str:
    """Write a year's rows as CSV, sorted by date, lines ended by CRLF."""
    file = io.StringIO(newline="")
    writer = csv.writer(file, lineterminator="\r\n")
    writer.writerow(HEADER)
    for row in books.rows:
        amounts = [books.plain(one) if one else "" for one in (row.came, row.went)]
        hours = bare(row.hours) if row.hours else ""
        words = [row.on.isoformat(), row.kind, row.stream, guarded(row.what)]
        writer.writerow([*words, *amounts, books.rates.currency, hours, guarded(row.show)])
    return file.getvalue()


def guarded(text: str) -> str:
    """Put an apostrophe before a text that a spreadsheet would run."""
    return f"'{text}" if text.startswith(_FORMULA) else text
