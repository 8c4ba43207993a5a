"""The register of studio numbers: whose each is, also of pieces that are gone. None is given twice."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import asdict, astuple, dataclass, field
from datetime import date
from typing import Any

from sitegen.studio.piece import Piece, StayKind
from sitegen.studio.text import as_csv
from sitegen.studio.whole import Studio


@dataclass(frozen=True)
class Given:
    """A number as it was given once."""

    number: str
    piece: str  # name of its folder then
    title: str


@dataclass(frozen=True)
class RegisterLine:
    """One number as things stand."""

    number: str
    title: str
    piece: str  # name of its folder; of one that is gone, what it was
    standing: str  # `gone` where the piece isn't in the studio's files any more, or has another number
    finished: str = ""
    where: str = ""
    was: str = ""  # what its folder was called earlier


@dataclass(frozen=True)
class Register:
    """Every number that was ever given, in order."""

    numbers: tuple[RegisterLine, ...] = field(repr=False)
    without: tuple[str, ...] = ()  # finished pieces that have no number

    def as_answer(self) -> dict[str, Any]:
        return {"numbers": [asdict(number) for number in self.numbers], "without": list(self.without)}

    def lines(self) -> list[str]:
        rows = ((one.number, one.title, f"({one.piece})", one.standing, one.where) for one in self.numbers)
        told = ["  ".join(filter(None, row)) for row in rows]
        return [*(told or ["No number is given yet."]), *(f"Without a number: {one}" for one in self.without)]

    def table(self) -> str:
        """Write it as a table (CSV)."""
        return as_csv([[*RegisterLine.__dataclass_fields__], *(astuple(number) for number in self.numbers)])


def unnoted(studio: Studio, given: Sequence[Given]) -> tuple[Given, ...]:
    """Return the numbers that a record of those given doesn't know yet."""
    known = {given.number for given in given}
    now = [Given(piece.number, piece.slug, piece.title) for piece in studio.pieces if piece.number]
    return tuple({given.number: given for given in now if given.number not in known}.values())


def register(studio: Studio, given: Sequence[Given], day: date) -> Register:
    """Put every number that was ever given in order; a piece that was renamed goes by its present name."""
    now = [_line(piece, day) for piece in studio.pieces if piece.number]
    held = {line.number for line in now}
    gone = [RegisterLine(one.number, one.title, one.piece, "gone") for one in given if one.number not in held]
    without = (piece.slug for piece in studio.pieces if not piece.number and piece.finished)
    numbers = sorted([*now, *gone], key=lambda line: (*map(int, line.number.split("-")), line.piece))
    return Register(tuple(numbers), tuple(sorted(without)))


def _line(piece: Piece, day: date) -> RegisterLine:
    stay, where = piece.stay(day), ""
    if stay is not None:
        until = f" until {stay.until}" if stay.until else ""
        place = "resting" if stay.kind is StayKind.RESTING else f"{stay.place} ({stay.kind})"
        where = f"{place}, from {stay.since}{until}"
    return RegisterLine(
        piece.number or "", piece.title, piece.slug, str(piece.status), str(piece.finished or ""), where,
        " ".join(piece.was),
    )  # fmt: skip


def reused(studio: Studio, given: Sequence[Given]) -> Iterator[tuple[Piece, Given]]:
    """Yield each piece whose number was another one's, with that.

    Whoever has the same folder, had it, or has the same title is the same piece.
    """
    first: dict[str, Given] = {}
    for number in given:
        first.setdefault(number.number, number)
    for piece in studio.pieces:
        had = first.get(piece.number or "")
        if had and had.piece not in {piece.slug, *piece.was} and had.title != piece.title:
            yield piece, had
