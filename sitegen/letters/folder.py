"""A letter's folder: written whole or not at all, and emptied of a person who asks for it."""

from __future__ import annotations

import csv
import io
import shutil
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from email import message_from_bytes
from email.policy import default
from pathlib import Path

from sitegen.disk import in_hand, make_own, own_folder, sweep_parts, write_whole
from sitegen.studio.fault import LetterFault
from sitegen.studio.person import address_key
from sitegen.studio.text import guarded, unguarded


@contextmanager
def whole_folder(folder: Path) -> Iterator[Path]:
    """Give a fresh folder to fill; put it in the place of `folder` when all went well."""
    own_folder(folder.parent)
    if in_hand(folder.parent):
        sweep(folder.parent)
    making = Path(tempfile.mkdtemp(prefix=".making-", dir=folder.parent))
    try:
        yield making
        for path in making.rglob("*"):
            make_own(path)
        _swap(making, folder)
    finally:
        shutil.rmtree(making, ignore_errors=True)


def sweep(letters: Path) -> None:
    """Take away what a killed command left half-made. With the pen in hand, nobody else is at work there."""
    sweep_parts(letters)
    for aside in letters.glob(".aside-*"):
        for folder in aside.iterdir():
            if not (letters / folder.name).exists():
                folder.rename(letters / folder.name)  # killed between the two renames: the old one comes back
    for leftover in (*letters.glob(".making-*"), *letters.glob(".aside-*")):
        shutil.rmtree(leftover)


def _swap(making: Path, folder: Path) -> None:
    if not folder.exists():
        making.rename(folder)
        return
    aside = Path(tempfile.mkdtemp(prefix=".aside-", dir=folder.parent))
    folder.rename(aside / folder.name)
    try:
        making.rename(folder)
    except OSError:
        (aside / folder.name).rename(folder)
        raise
    finally:
        shutil.rmtree(aside, ignore_errors=True)


def refuse_if_posted(ident: str, sent: Path, folder: Path) -> tuple[str, ...]:
    """Stop before a letter that has gone out, even to one person, is made anew.

    Where the letter itself is gone (out/ may be deleted at any time), it's made again for those who haven't
    got it; returns what to say then. Raises LetterFault.
    """
    record = sent / f"{ident}.jsonl"
    if not record.exists():
        return ()
    if folder.exists():
        raise LetterFault(
            f"'{ident}' has been posted already (see sent/{record.name}); what people hold in their hands "
            f"can't be changed. `sitegen send {ident}` posts the rest; a second letter takes a name of its "
            "own, like --name reminder"
        )
    return (
        "This letter was posted before and its folder is gone, so it was made again. `send` skips whoever "
        f"has it by {record.name}; the others read it as it is now.",
    )


def write_table(file: Path, header: Iterable[str], rows: Iterable[Iterable[str]]) -> None:
    """Write a CSV file as RFC 4180 has it, no cell of which a spreadsheet would run.

    It's for the artist's eyes; posting reads the messages themselves.
    """
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(header)
    writer.writerows([guarded(cell) for cell in row] for row in rows)
    write_whole(file, stream.getvalue().encode(), parts=file.parent.parent, private=True)


def read_table(file: Path) -> list[list[str]]:
    """Read back what `write_table` wrote, the header first; nothing where there's no such file."""
    if not file.exists():
        return []
    with file.open(encoding="utf-8", newline="") as stream:
        return [[unguarded(cell) for cell in row] for row in csv.reader(stream)]


ERASED = "(erased)"


def erase_from_letters(letters: Path, key: str) -> int:
    """Erase the holder of a folded address from every letter's folder; return how many held something.

    A row is emptied rather than taken out, since messages are numbered as the rows are.
    """
    sweep(letters)
    held = sum(
        _empty(table, key, table.parent / "eml") | _empty(table.parent / "skipped.csv", key)
        for table in letters.glob("*/recipients.csv")
    )
    for draft in [*letters.glob("*/letter.eml")]:  # of a letter about an order
        message = message_from_bytes(draft.read_bytes(), policy=default)
        if any(address_key(address.addr_spec) == key for address in message["To"].addresses):
            shutil.rmtree(draft.parent)
            held += 1
    return held


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
