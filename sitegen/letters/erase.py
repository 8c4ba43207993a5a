"""Take a person out of the letters in out/: message, rows in both lists, drafts about their order."""

from __future__ import annotations

import shutil
from email import message_from_bytes
from email.policy import default
from pathlib import Path

from sitegen.letters.folder import read_table, sweep, write_table
from sitegen.studio.person import address_key

ERASED = "(erased)"


def erase_from_letters(letters: Path, key: str) -> int:
    """Erase the holder of a folded address from every letter's folder; return how many held something.

    A row is emptied rather than taken out, since messages are numbered as the rows are.
    """
    sweep(letters)
    listed = sum(_erase(table.parent, key) for table in letters.glob("*/recipients.csv"))
    return listed + sum(_erase_draft(draft, key) for draft in [*letters.glob("*/letter.eml")])


def _erase_draft(draft: Path, key: str) -> bool:
    """Take away the folder of a letter about an order, if it's to the holder of a folded address."""
    message = message_from_bytes(draft.read_bytes(), policy=default)
    mine = any(address_key(one.addr_spec) == key for one in message["To"].addresses)
    if mine:
        shutil.rmtree(draft.parent)
    return mine


def _erase(folder: Path, key: str) -> bool:
    return _empty(folder / "recipients.csv", key, folder / "eml") | _empty(folder / "skipped.csv", key)


def _empty(table: Path, key: str, messages: Path | None = None) -> bool:
    """Empty someone's rows of a list; tell whether there were any.

    Their messages go first: who is stopped in between still finds them by the rows.
    """
    header, *rows = read_table(table) or [[]]
    places = {n for n, row in enumerate(rows, start=1) if row and address_key(row[0]) == key}
    for file in messages.glob("*.eml") if messages else ():
        if file.stem.isdigit() and int(file.stem) in places:
            file.unlink()
    if places:
        kept = [[ERASED, "", ""] if n in places else row for n, row in enumerate(rows, start=1)]
        write_table(table, header, kept)
    return bool(places)
