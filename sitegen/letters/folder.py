"""Where letters are made: the signs of their readers, and a letter's folder, written whole or not at all."""

from __future__ import annotations

import base64
import csv
import hashlib
import hmac
import json
import shutil
import tempfile
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field, fields
from datetime import datetime
from email import message_from_bytes
from email.policy import default
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter

from sitegen.disk import in_hand, own_folder, sweep_parts, write_whole
from sitegen.disk.files import make_own
from sitegen.studio.asked import LetterFault
from sitegen.studio.fields import did_you_mean
from sitegen.studio.person import Interest, Person, address_key
from sitegen.studio.text import as_csv, unguarded
from sitegen.voice.theme_files import ThemeFiles


@dataclass(frozen=True, slots=True)
class Room:
    """Where letters are made."""

    theme: ThemeFiles  # its templates are below `letters`
    out: Path  # where letters' folders go, as out/letters
    sent: Path  # where the record of what was posted is kept
    secret: bytes = field(repr=False)  # key of the ways out: whoever has it can make people leave
    forgotten: Callable[[str], bool] = lambda key: False  # whether a folded address asked to be erased
    leave_address: str = ""
    """The web address at which people can leave (RFC 8058), if there is one; their token is added to it."""
    second: str = ""  # sets a second letter on the same round, show or pieces apart from the first

    def named(self, ident: str) -> str:
        """Return how the folder of a letter is called here."""
        return f"{ident}-{self.second}" if self.second else ident


# 80 bits: 16 letters that survive a subject line in any case. Guessing one of ten thousand people's
# tokens takes some 10^20 tries, each of which is a mail to the artist.
TOKEN_BYTES = 10
TOKEN_LETTERS = 16


def make_token(secret: bytes, key: str) -> str:
    """Return a person's token: HMAC-SHA256 (RFC 2104) of their folded address, in lower-case base32."""
    digest = hmac.digest(secret, key.encode("utf-8"), hashlib.sha256)
    return base64.b32encode(digest[:TOKEN_BYTES]).decode("ascii").lower()


def confirm_token(secret: bytes, person: Person) -> str:
    """Return what only who reads a person's mail can send back, for the row of the day they signed.

    It differs from the token by which they leave, which stands in every letter.
    """
    return make_token(secret, f"confirm\n{person.key}\n{person.joined or ''}")


def message_name(secret: bytes, ident: str, key: str) -> str:
    """Return what tells one message's Message-ID from others': keyed, so that a report can be believed."""
    return hmac.digest(secret, f"{ident}\n{key}".encode(), hashlib.sha256).hex()[:24]


def who(token: str, secret: bytes, people: Iterable[Person]) -> str | None:
    """Return the folded address that a token belongs to, or None for a token nobody was given."""
    asked = token.strip().lower().encode("utf-8", "replace")
    signs = ((make_token(secret, person.key).encode("ascii"), person.key) for person in people)
    return next((key for sign, key in signs if hmac.compare_digest(sign, asked)), None)


@dataclass(frozen=True, slots=True)
class Letter:
    """A letter's folder; what has a default may be missing in the folder of an earlier program."""

    ident: str
    folder: Path
    interest: Interest | None  # None for the letter that asks whether they want any
    subject: str
    facts: Mapping[str, str]  # how each thing stood that it promises, by kind and name: `piece moth-usher`
    made: datetime | None = None
    largest: int = 0  # octets of its largest message
    left_out: Mapping[str, int] = field(default_factory=dict)  # how many didn't get it, by reason
    kept: tuple[str, ...] = ()  # what of the rules it keeps by itself
    cautions: tuple[str, ...] = ()  # what the artist should check before posting
    note: str = field(default="", repr=False)  # the artist's own words in it, as they were typed
    second: str = ""  # what sets it apart from a first letter on the same thing


_NOTED = "letter.json"
_LETTER: TypeAdapter[Letter] = TypeAdapter(Letter)


def note_letter(letter: Letter, folder: Path) -> None:
    """Write down in a folder what its letter says of itself."""
    noted = {part.name: getattr(letter, part.name) for part in fields(Letter) if part.name != "folder"}
    noted |= {"interest": letter.interest or "", "made": letter.made and letter.made.isoformat()}
    write_text(folder / _NOTED, json.dumps(noted, ensure_ascii=False, indent=2) + "\n")


def open_letter(folder: Path) -> Letter:
    """Read what a letter's folder says of itself. Raises LetterFault if it's none."""
    try:
        noted: dict[str, Any] = json.loads((folder / _NOTED).read_text(encoding="utf-8"))
        # The record is found by this name, so it has to be the folder's own.
        if noted["ident"] == folder.name:
            return _LETTER.validate_python(noted | {"folder": folder, "interest": noted["interest"] or None})
    except FileNotFoundError:
        there = sorted(file.parent.name for file in folder.parent.glob(f"*/{_NOTED}"))
        known = f"; there is {', '.join(there)}" if there else "; announce one first"
        near = did_you_mean(folder.name, there)
        raise LetterFault(f"there's no letter '{folder.name}'{near or known}") from None
    except (ValueError, KeyError, TypeError, RecursionError):
        pass
    raise LetterFault(f"{folder / _NOTED} can't be read; make the letter again")


def letters_in(out: Path) -> list[Letter]:
    """Return every sound letter of the list that lies below out/letters, the latest first."""
    found = []
    for file in out.glob(f"[!.]*/{_NOTED}"):
        with suppress(LetterFault):
            found.append(open_letter(file.parent))
    return sorted(found, key=lambda letter: (-(letter.made.timestamp() if letter.made else 0), letter.ident))


def write_text(file: Path, text: str) -> None:
    """Write a text, its lines ended by LF on every machine."""
    file.write_text(text, encoding="utf-8", newline="\n")


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


def write_table(file: Path, rows: Iterable[Iterable[str]]) -> None:
    """Write who gets a letter, or who doesn't, the header first; posting reads the messages themselves."""
    write_whole(file, as_csv(rows).encode(), parts=file.parent.parent, private=True)


def read_table(file: Path) -> list[list[str]]:
    """Read back what `write_table` wrote; nothing where there's no such file."""
    if not file.exists():
        return []
    with file.open(encoding="utf-8", newline="") as stream:
        return [[unguarded(cell) for cell in row] for row in csv.reader(stream)]


ERASED = "(erased)"


def erase_from_letters(letters: Path, key: str) -> int:
    """Erase the holder of a folded address from every letter's folder; return how many held something."""
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
    """Empty someone's rows of a list, as messages are numbered by the rows; tell whether there were any.

    Their messages go first: who is stopped in between still finds them by the rows.
    """
    rows = read_table(table)
    places = {n for n, row in enumerate(rows) if n and row and address_key(row[0]) == key}
    for file in messages.glob("*.eml") if messages else ():
        if file.stem.isdigit() and int(file.stem) in places:
            file.unlink()
    if places:
        write_table(table, [[ERASED, "", ""] if n in places else row for n, row in enumerate(rows)])
    return bool(places)
