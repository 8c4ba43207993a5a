"""people.csv line by line: what isn't touched stays byte for byte."""

from __future__ import annotations

import csv
import hashlib
import hmac
import io
import json
import secrets
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from sitegen.disk import own_folder, put
from sitegen.sources.people import COLUMNS, ZONE, csv_rows, has_zone
from sitegen.sources.text import BOM, StudioFault, readable
from sitegen.studio.person import Consent, Left, Person, address_key

Row = Mapping[str, str]
"""The cells of a record by their column; none for an empty line."""
Change = Callable[[Row], Row | None]
"""Returns a row as it is to be; None takes it out."""


def row_of(person: Person) -> Row:
    """Return a person as a row."""
    return {
        "email": person.email, "name": person.name, "interests": "; ".join(sorted(person.interests)),
        "joined": str(person.joined or ""), "consent": str(person.consent or ""), "evidence": person.evidence,
        "left": f"{person.left.on} {person.left.why}" if person.left else "",
        ZONE: person.zone.key if person.zone else "",
    }  # fmt: skip


@dataclass(slots=True)
class _Place:
    """Someone's place on the list: who stood there, and who does now."""

    was: Person | None
    now: Person | None


class Ledger:
    """The list while people are put on it: whose each row is, and what is to be written."""

    def __init__(self, people: Iterable[Person]) -> None:
        self._places: list[_Place] = []
        self._by_key: dict[str, list[_Place]] = {}
        for person in people:
            self._open(person.key, _Place(person, person))

    def _open(self, key: str, place: _Place) -> _Place:
        self._places.append(place)
        self._by_key.setdefault(key, []).append(place)
        return place

    def rows(self, key: str) -> list[Person]:
        """Return who stands on the list by a folded address."""
        return [place.now for place in self._by_key.get(key, ()) if place.now is not None]

    @property
    def added(self) -> list[Person]:
        """Who is new on the list."""
        return [place.now for place in self._places if place.was is None and place.now is not None]

    @property
    def changed(self) -> list[Person]:
        """Who stands otherwise afterwards, as they then would."""
        moved = (place for place in self._places if place.was is not None and place.now is not place.was)
        return [place.now for place in moved if place.now is not None]

    def put(self, before: Person | None, after: Person | None) -> None:
        """Write someone in the place of who stood there, or at the end; None takes who stood there out."""
        if before is None:
            if after is not None:
                self._open(after.key, _Place(None, after))
            return
        place = next(place for place in self._by_key[before.key] if place.now is before)
        place.now = after
        if after is not None and after.key != before.key:
            self._by_key[before.key].remove(place)
            self._by_key.setdefault(after.key, []).append(place)

    def write(self, file: Path) -> int:
        """Write it all into people.csv, in one step; return how many rows changed.

        A row is changed that has no exit and this folded address and evidence; others come at the end.
        """
        moved = {
            (one.was.key, one.was.evidence): one.now for one in self._places if one.was not in {None, one.now}
        }

        def change(row: Row) -> Row | None:
            place = address_key(row["email"]), row["evidence"].strip()
            if place not in moved or row["left"].strip():
                return row
            person = moved[place]
            return row_of(person) if person is not None else None

        return _edit(file, change, map(row_of, self.added))


def set_left(file: Path, leaving: Mapping[str, Left]) -> int:
    """Note in every row of these folded addresses that they left; return how many rows changed."""

    def change(row: Row) -> Row:
        exit_ = leaving.get(address_key(row["email"]))
        return row if exit_ is None or row["left"].strip() else {**row, "left": f"{exit_.on} {exit_.why}"}

    return _edit(file, change)


def set_confirmed(file: Path, days: Mapping[str, date]) -> int:
    """Note that these folded addresses confirmed, and when, in rows that wait for it; return how many."""

    def change(row: Row) -> Row:
        day = days.get(address_key(row["email"]))
        if day is None or row["left"].strip() or row["consent"] != Consent.NOT_CONFIRMED:
            return row
        noted = "; ".join(filter(None, (row["evidence"].strip(), f"{Consent.CONFIRMED} on {day}")))
        return {**row, "consent": str(Consent.CONFIRMED), "evidence": noted}

    return _edit(file, change) if days else 0


def _edit(file: Path, change: Change, added: Iterable[Row] = (), *, kept: bool = True) -> int:
    """Change rows one by one, add some at the end; return how many changed.

    A zone that is new asks for the column of zones; `kept` False leaves nothing to take back.
    """
    content = file.read_bytes() if file.exists() else b""
    mark = BOM if content.startswith(BOM) else b""
    text = content[len(mark) :].decode("utf-8") or ",".join(COLUMNS) + "\r\n"
    (header, columns), *records = _records(text)
    end = "\n" if header.endswith("\n") and not header.endswith("\r\n") else "\r\n"
    had = [dict(zip(columns, cells, strict=False)) for _, cells in records]
    made, new = [change(row) if row else row for row in had], list(added)
    wider = ZONE not in columns and any(row.get(ZONE) for row in (*made, *new) if row)
    columns = [*columns, ZONE] if wider else columns
    texts, count = [_longer(header, f",{ZONE}") if wider else header], len(new)
    for (raw, _), before, after in zip(records, had, made, strict=True):
        same = after is not None and all(before.get(name, "") == after.get(name, "") for name in columns)
        count += not same
        if same:
            texts.append(_longer(raw, ",") if wider and before else raw)
        elif after is not None:
            texts.append(_written(after, columns, end))
    if new and not texts[-1].endswith("\n"):
        texts[-1] += end
    if count:
        texts += [_written(row, columns, end) for row in new]
        put(file, mark + "".join(texts).encode("utf-8"), kept=kept, private=True)
    return count


def _longer(raw: str, cell: str) -> str:
    """Put something at a row's end; the rest stays byte for byte."""
    body = raw.rstrip("\r\n")
    return body + cell + raw[len(body) :]


def _records(text: str) -> list[tuple[str, list[str]]]:
    """Return each record as it stands and its cells; the first has the names of the columns."""
    rows, lines = [*csv_rows(text, strict=True)], io.StringIO(text, newline="").readlines()
    if any(fault for _, _, fault in rows):
        raise StudioFault("people.csv: the quotes don't match; `sitegen check` says in which line")
    ends = [*(line - 1 for line, _, _ in rows[1:]), len(lines)]
    records = [("".join(lines[line - 1 : end]), row) for (line, row, _), end in zip(rows, ends, strict=True)]
    columns = [*COLUMNS, ZONE][: len(COLUMNS) + has_zone(records[0][1])]
    if any(cells and len(cells) != len(columns) for _, cells in records):
        raise StudioFault("people.csv: a row has too few or too many fields; `sitegen check` says which")
    return [(records[0][0], columns), *records[1:]]


def _written(row: Row, columns: Sequence[str], end: str) -> str:
    stream = io.StringIO(newline="")
    csv.writer(stream, lineterminator=end).writerow([row.get(name, "") for name in columns])
    return stream.getvalue()


_FORGOTTEN = "sent/forgotten.json"


def forget(folder: Path, address: str) -> int:
    """Take a person out of people.csv and suppress them; return how many rows there were.

    The hash is written first: stopped in between, the person is suppressed rather than lost sight of.
    """
    own_folder(folder / "sent")
    suppress(folder, address, forgotten=True)
    key = address_key(address)
    file = folder / "people.csv"
    return _edit(file, lambda row: None if address_key(row["email"]) == key else row, kept=False)


def forgotten_in(folder: Path) -> Callable[[str], bool]:
    """Return a test that tells whether the holder of a folded address asked to be forgotten."""
    salt, hashes = _read(folder / _FORGOTTEN)
    return lambda key: bool(hashes) and _hash(salt, key) in hashes


def suppress(folder: Path, address: str, *, forgotten: bool) -> bool:
    """Note that someone is forgotten, or asks for letters again; return whether it was otherwise before."""
    salt, hashes = _read(folder / _FORGOTTEN)
    mark = _hash(salt, address_key(address))
    if new := (mark in hashes) != forgotten:
        kept = {"salt": salt.hex(), "people": sorted(hashes ^ {mark})}
        text = json.dumps(kept, indent=2) + "\n"
        put(folder / _FORGOTTEN, text.encode(), kept=False, private=True)
    return new


def mentions(folder: Path, address: str) -> list[str]:
    """List where else in the studio's files an address stands, as `file, line N`, for the artist to judge."""
    wanted, found = address.casefold(), []
    kinds = "commissions.yaml", "pieces/*/piece.yaml", "shows/*.yaml"
    for file in sorted(file for kind in kinds for file in folder.glob(kind)):
        lines = file.read_text(encoding="utf-8-sig").splitlines()
        shown = file.relative_to(folder).as_posix()
        found += [f"{shown}, line {n}" for n, line in enumerate(lines, 1) if wanted in line.casefold()]
    return found


def _read(file: Path) -> tuple[bytes, frozenset[str]]:
    if not file.exists():
        return secrets.token_bytes(16), frozenset()
    unknown = "so that nobody knows who asked to be forgotten; put it back from a copy"
    with readable(f"{file} is damaged, {unknown}"):
        kept = json.loads(file.read_text(encoding="utf-8"))
        return bytes.fromhex(kept["salt"]), frozenset(kept["people"])


def _hash(salt: bytes, key: str) -> str:
    return hmac.digest(salt, key.encode("utf-8"), hashlib.sha256).hex()
