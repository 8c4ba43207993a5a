"""people.csv line by line: what isn't touched stays byte for byte."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from sitegen.disk import put
from sitegen.sources.complaints import StudioFault
from sitegen.sources.people import COLUMNS, LEFT_CELL, ZONE, has_zone
from sitegen.sources.text import BOM
from sitegen.studio.addresses import address_key
from sitegen.studio.person import Left, Person


@dataclass(frozen=True, slots=True)
class Row:
    """One record as it stands in the file."""

    raw: str
    """With its line end."""
    cells: tuple[str, ...]
    """By column; empty for an empty line."""

    @property
    def key(self) -> str:
        """The address as compared."""
        return address_key(self.cells[0]) if self.cells else ""

    @property
    def left(self) -> str:
        """What stands in the column of exits."""
        return self.cells[LEFT_CELL].strip() if self.cells else ""


def row_of(person: Person) -> tuple[str, ...]:
    """Return a person as the cells of a row, the zone's last."""
    left = f"{person.left.on.isoformat()} {person.left.why}" if person.left else ""
    return (
        person.email,
        person.name,
        "; ".join(sorted(person.interests)),
        person.joined.isoformat() if person.joined else "",
        str(person.consent or ""),
        person.evidence,
        left,
        person.zone.key if person.zone else "",
    )


def set_left(file: Path, leaving: Mapping[str, Left]) -> int:
    """Note in every row of these folded addresses that they left; return how many rows changed."""

    def change(row: Row) -> tuple[str, ...] | None:
        exit_ = leaving.get(row.key)
        if exit_ is None or row.left:
            return row.cells
        return (*row.cells[:LEFT_CELL], f"{exit_.on.isoformat()} {exit_.why}", *row.cells[LEFT_CELL + 1 :])

    return _edit(file, change)


def remove(file: Path, key: str) -> int:
    """Take every row of a folded address out, for good; return how many there were."""
    return _edit(file, lambda row: None if row.key == key else row.cells, kept=False)


def replace(file: Path, changed: Mapping[str, Person], added: Iterable[Person] = ()) -> int:
    """Write people over the rows that have their folded address and no exit, and others at the end."""

    def change(row: Row) -> tuple[str, ...]:
        person = changed.get(row.key)
        return row.cells if person is None or row.left else row_of(person)

    people = list(added)
    zoned = any(person.zone for person in (*changed.values(), *people))
    return _edit(file, change, [row_of(person) for person in people], zoned=zoned)


def _edit(
    file: Path,
    change: Callable[[Row], tuple[str, ...] | None],
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


def _wider(row: Row, cell: str) -> Row:
    """Add one cell at a row's end; the rest stays byte for byte."""
    body = row.raw.rstrip("\r\n")
    return Row(f"{body},{cell}{row.raw[len(body) :]}", (*row.cells, cell))


def _rows(text: str) -> list[Row]:
    """Cut a text at the line ends that stand outside quotes."""
    rows: list[Row] = []
    raw = ""
    for line in re.findall(r"[^\n]*\n|[^\n]+", text) or [""]:
        raw += line
        if raw.count('"') % 2 == 0:
            rows.append(_row(raw, rows[0] if rows else None))
            raw = ""
    if raw:
        raise StudioFault("people.csv: the quotes don't match; `sitegen check` says in which line")
    return rows


def _row(raw: str, header: Row | None) -> Row:
    cells = next(csv.reader(io.StringIO(raw, newline=""), strict=True), [])
    width = len(header.cells) if header else len(COLUMNS) + has_zone(cells)
    if cells and len(cells) != width:
        raise StudioFault("people.csv: a row has too few or too many fields; `sitegen check` says which")
    return Row(raw, tuple(cells))


def _written(cells: Iterable[str], end: str) -> str:
    stream = io.StringIO(newline="")
    csv.writer(stream, lineterminator=end).writerow(cells)
    return stream.getvalue()
