"""people.csv line by line: what isn't touched stays byte for byte."""

from __future__ import annotations

import csv
import hashlib
import hmac
import io
import json
import re
import secrets
from collections.abc import Callable, Iterable, Mapping
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from sitegen.disk import own_folder, put
from sitegen.sources.complaints import StudioFault
from sitegen.sources.people import COLUMNS, EVIDENCE_CELL, LEFT_CELL, ZONE, has_zone
from sitegen.sources.text import BOM
from sitegen.studio.person import Consent, Left, Person, address_key


@dataclass(frozen=True, slots=True)
class PersonRow:
    """One record as it stands in the file."""

    raw: str  # with its line end
    cells: tuple[str, ...]  # by column; empty for an empty line

    @property
    def key(self) -> str:
        """The address as compared."""
        return address_key(self.cells[0]) if self.cells else ""

    @property
    def evidence(self) -> str:
        """What stands in the column of evidence."""
        return self.cells[EVIDENCE_CELL].strip() if self.cells else ""

    @property
    def left(self) -> str:
        """What stands in the column of exits."""
        return self.cells[LEFT_CELL].strip() if self.cells else ""


def row_of(person: Person) -> tuple[str, ...]:
    """Return a person as the cells of a row, the zone's last."""
    left = f"{person.left.on} {person.left.why}" if person.left else ""
    interests, zone = "; ".join(sorted(person.interests)), person.zone.key if person.zone else ""
    how = str(person.joined or ""), str(person.consent or ""), person.evidence
    return person.email, person.name, interests, *how, left, zone


class Ledger:
    """The list while people are put on it: whose each row is, and what is to be written."""

    def __init__(self, people: Iterable[Person]) -> None:
        self.rows: dict[str, list[Person]] = {}
        """By folded address."""
        self.changed: dict[tuple[str, str], Person | None] = {}
        """By the folded address and the evidence they stand under; None for one that is taken out again."""
        self.added: list[Person] = []
        for person in people:
            self.rows.setdefault(person.key, []).append(person)

    def put(self, before: Person | None, after: Person | None) -> None:
        """Write someone in the place of who stood there, or at the end; None takes who stood there out."""
        same = after is not None and before is not None and after.key == before.key
        if before is not None:
            rows = self.rows[before.key]
            at = next(place for place, row in enumerate(rows) if row is before)
            rows[at : at + 1] = [after] if same and after else []
        if after is not None and not same:
            self.rows.setdefault(after.key, []).append(after)
        new = next((at for at, one in enumerate(self.added) if one is before), None)
        if before is None or new is not None:
            at = len(self.added) if new is None else new
            self.added[at : at + 1] = [] if after is None else [after]
        else:
            now = (place for place, one in self.changed.items() if one is before)
            self.changed[next(now, (before.key, before.evidence))] = after

    def write(self, file: Path) -> int:
        """Write it all into people.csv, in one step; return how many rows changed.

        A row is changed that has no exit and this folded address and evidence; others come at the end.
        """

        def change(row: PersonRow) -> tuple[str, ...] | None:
            place = row.key, row.evidence
            if place not in self.changed or row.left:
                return row.cells
            person = self.changed[place]
            return row_of(person) if person is not None else None

        zoned = any(person.zone for person in (*self.changed.values(), *self.added) if person is not None)
        return _edit(file, change, map(row_of, self.added), zoned=zoned)


def set_left(file: Path, leaving: Mapping[str, Left]) -> int:
    """Note in every row of these folded addresses that they left; return how many rows changed."""

    def change(row: PersonRow) -> tuple[str, ...] | None:
        exit_ = leaving.get(row.key)
        if exit_ is None or row.left:
            return row.cells
        return (*row.cells[:LEFT_CELL], f"{exit_.on} {exit_.why}", *row.cells[LEFT_CELL + 1 :])

    return _edit(file, change)


def set_confirmed(file: Path, days: Mapping[str, date]) -> int:
    """Note that these folded addresses confirmed, and when, in rows that wait for it; return how many."""

    def change(row: PersonRow) -> tuple[str, ...] | None:
        day, waits = days.get(row.key), row.cells and row.cells[EVIDENCE_CELL - 1] == Consent.NOT_CONFIRMED
        if day is None or row.left or not waits:
            return row.cells
        noted = "; ".join(filter(None, (row.evidence, f"{Consent.CONFIRMED} on {day}")))
        return (
            *row.cells[: EVIDENCE_CELL - 1],
            str(Consent.CONFIRMED),
            noted,
            *row.cells[EVIDENCE_CELL + 1 :],
        )

    return _edit(file, change) if days else 0


def remove(file: Path, key: str) -> int:
    """Take every row of a folded address out, for good; return how many there were."""
    return _edit(file, lambda row: None if row.key == key else row.cells, kept=False)


def _edit(
    file: Path,
    change: Callable[[PersonRow], tuple[str, ...] | None],
    added: Iterable[tuple[str, ...]] = (),
    *,
    zoned: bool = False,
    kept: bool = True,
) -> int:
    """Change rows one by one, add some at the end; return how many changed.

    `zoned` asks for the column of zones; `kept` False leaves nothing to take back.
    """
    content = file.read_bytes() if file.exists() else (",".join(COLUMNS) + "\r\n").encode()
    mark = BOM if content.startswith(BOM) else b""
    header, *rows = _rows(content[len(mark) :].decode("utf-8"))
    if zoned and not has_zone(list(header.cells)):
        header, rows = _wider(header, ZONE), [_wider(row, "") if row.cells else row for row in rows]
    width = len(header.cells)
    end = "\n" if header.raw.endswith("\n") and not header.raw.endswith("\r\n") else "\r\n"
    pieces, count = [header.raw if header.raw.endswith("\n") else header.raw + end], 0
    for row in rows:
        cells = change(row) if row.cells else row.cells
        cells = cells if cells is None else cells[:width]
        count += cells != row.cells
        if cells is not None:
            pieces.append(row.raw if cells == row.cells else _written(cells, end))
    for cells in added:
        if not pieces[-1].endswith("\n"):
            pieces[-1] += end
        pieces.append(_written(cells[:width], end))
        count += 1
    if count:
        put(file, mark + "".join(pieces).encode("utf-8"), kept=kept, private=True)
    return count


def _wider(row: PersonRow, cell: str) -> PersonRow:
    """Add one cell at a row's end; the rest stays byte for byte."""
    body = row.raw.rstrip("\r\n")
    return PersonRow(f"{body},{cell}{row.raw[len(body) :]}", (*row.cells, cell))


def _rows(text: str) -> list[PersonRow]:
    """Cut a text at the line ends that stand outside quotes."""
    rows: list[PersonRow] = []
    raw = ""
    for line in re.findall(r"[^\n]*\n|[^\n]+", text) or [""]:
        raw += line
        if raw.count('"') % 2 == 0:
            cells = next(csv.reader(io.StringIO(raw, newline=""), strict=True), [])
            width = len(rows[0].cells) if rows else len(COLUMNS) + has_zone(cells)
            if cells and len(cells) != width:
                raise StudioFault(
                    "people.csv: a row has too few or too many fields; `sitegen check` says which"
                )
            rows.append(PersonRow(raw, tuple(cells)))
            raw = ""
    if raw:
        raise StudioFault("people.csv: the quotes don't match; `sitegen check` says in which line")
    return rows


def _written(cells: Iterable[str], end: str) -> str:
    stream = io.StringIO(newline="")
    csv.writer(stream, lineterminator=end).writerow(cells)
    return stream.getvalue()


_FORGOTTEN = "sent/forgotten.json"


def forget(folder: Path, address: str) -> int:
    """Take a person out of people.csv and suppress them; return how many rows there were.

    The hash is written first: stopped in between, the person is suppressed rather than lost sight of.
    """
    own_folder(folder / "sent")
    file, key = folder / _FORGOTTEN, address_key(address)
    salt, hashes = _read(file)
    _write(file, salt, {*hashes, _hash(salt, key)})
    return remove(folder / "people.csv", key)


def no_longer_forgotten(folder: Path, address: str) -> bool:
    """Lift the suppression of someone who asks for letters again; return whether there was one."""
    file = folder / _FORGOTTEN
    salt, hashes = _read(file)
    mark = _hash(salt, address_key(address))
    if mark in hashes:
        _write(file, salt, hashes - {mark})
    return mark in hashes


def forgotten_in(folder: Path) -> Callable[[str], bool]:
    """Return a test that tells whether the holder of a folded address asked to be forgotten."""
    salt, hashes = _read(folder / _FORGOTTEN)
    return lambda key: bool(hashes) and _hash(salt, key) in hashes


def mentions(folder: Path, address: str) -> list[str]:
    """List where else in the studio's files an address stands, as `file, line N`, for the artist to judge."""
    wanted, found = address.casefold(), []
    kinds = "commissions.yaml", "pieces/*/piece.yaml", "shows/*.yaml"
    for file in sorted(file for kind in kinds for file in folder.glob(kind)):
        lines = file.read_text(encoding="utf-8-sig").splitlines()
        shown = file.relative_to(folder).as_posix()
        found += [f"{shown}, line {n}" for n, line in enumerate(lines, 1) if wanted in line.casefold()]
    return found


def _write(file: Path, salt: bytes, hashes: AbstractSet[str]) -> None:
    text = json.dumps({"salt": salt.hex(), "people": sorted(hashes)}, indent=2) + "\n"
    put(file, text.encode(), kept=False, private=True)


def _read(file: Path) -> tuple[bytes, frozenset[str]]:
    if not file.exists():
        return secrets.token_bytes(16), frozenset()
    try:
        kept = json.loads(file.read_text(encoding="utf-8"))
        return bytes.fromhex(kept["salt"]), frozenset(kept["people"])
    except (ValueError, KeyError, TypeError, RecursionError) as fault:
        raise StudioFault(
            f"{file} is damaged, so that nobody knows who asked to be forgotten; put it back from a copy"
        ) from fault


def _hash(salt: bytes, key: str) -> str:
    return hmac.digest(salt, key.encode("utf-8"), hashlib.sha256).hex()
