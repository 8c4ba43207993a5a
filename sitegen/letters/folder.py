"""Write a letter's folder whole or not at all."""

from __future__ import annotations

import csv
import io
import shutil
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

from sitegen.disk import in_hand, make_own, own_folder, sweep_parts, write_whole
from sitegen.letters.faults import LetterFault
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
        for one in making.rglob("*"):
            make_own(one)
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
            f"'{ident}' has been posted already (see {record}); what people hold in their hands can't be "
            f"changed. Run 'send {ident}' to finish posting it, or make a second letter with --name reminder"
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
