"""Read a studio for one job, as far as its answer needs it; in a process that stays, once for each change.

A browser's desk asks for page after page of the same files. Within `kept_reading()` a reading is handed out
again while every file looks as it did when it was read, so that an edit by hand shows on the next page.
"""

from __future__ import annotations

import os
import threading
import time
from collections.abc import Callable, Hashable, Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from types import MappingProxyType
from typing import Any, TypeVar

from sitegen.desk.find import Sitting
from sitegen.jobs.unchanged import look_at, stamps
from sitegen.jobs.where import moment_in
from sitegen.sources import Reading, read
from sitegen.sources.folder import EVERYTHING
from sitegen.sources.gathered import Instead, Look
from sitegen.studio.whole import Studio

# What the answers rest on beside studio.yaml.
PIECES = frozenset({"pieces"})
ORDERS = PIECES | {"commissions"}
BOOKS = ORDERS | {"shows"}
PEOPLE = frozenset({"people"})

Made = TypeVar("Made")


def sit(folder: Path, today: str | None, only: frozenset[str] = EVERYTHING) -> Sitting:
    """Read what an answer needs, with what a build remembers of the pieces, and look at the clock.

    `today` is the day or the moment to pretend. Raises StudioFault with every error found there.
    """
    studio = reading_of(folder, only).sound()
    to_the_minute = today is None or ":" in today
    return Sitting(studio, moment_in(studio.settings.time_zone, today), to_the_minute)


def reading_of(folder: Path, only: frozenset[str] = EVERYTHING) -> Reading:
    """Read a studio, or as much of it as `only` names; within `kept_reading()` only if a file changed.

    Raises StudioFault if the folder holds no studio.yaml at all.
    """
    if not _KEEPERS:
        return fresh_reading(folder, only)
    with _KEEPERS[-1].lock:
        return _kept_reading(folder, only)


def _kept_reading(folder: Path, only: frozenset[str]) -> Reading:
    """Hand out what is kept, or read. What is read whole without an error answers for every part."""
    looked, name = _LOOKED.get(), os.fspath(folder)
    looked = {} if looked is None else looked
    try:
        if name not in looked:
            looked[name] = state_of(folder, photos=False), folder.resolve()
        state, place = looked[name]
    except OSError:  # no folder any more, or a link in a circle: the reading has words for that
        return fresh_reading(folder, only)

    def known(part: frozenset[str]) -> Reading:
        return once(None, ("reading", place, part), state, lambda: fresh_reading(folder, part))

    whole = known(EVERYTHING)
    return whole if only == EVERYTHING or whole.studio is not None else known(only)


@contextmanager
def one_look() -> Iterator[None]:
    """Look at the files once for all that follows: a page is made of many answers, all on the same state.

    Only for what changes nothing. Where nothing is kept, each answer reads for itself.
    """
    before = _LOOKED.set({})
    try:
        yield
    finally:
        _LOOKED.reset(before)


def fresh_reading(
    folder: Path,
    only: frozenset[str] = EVERYTHING,
    instead: Instead = MappingProxyType({}),
    look: Look | None = None,
) -> Reading:
    """Read a studio, with some files `instead` as they would be. Raises StudioFault as `reading_of` does."""
    memory = folder / "out" / ".reading.json" if (folder / "out").is_dir() else None
    return read(folder, look=look, memory=memory, only=only, instead=instead)


@contextmanager
def kept_reading() -> Iterator[None]:
    """Keep readings, for every thread of this process, until the block ends."""
    _KEEPERS.append(_Keeper())
    try:
        yield
    finally:
        _KEEPERS.pop()


def once(about: object, name: Hashable, state: object, make: Callable[[], Made]) -> Made:
    """Work something out of what was read, and hand it out again while that is the same value.

    `about` is the studio, or the part of it that counts; `state` is what it rests on beside that. Where
    nothing is kept it's worked out each time.
    """
    return _KEEPERS[-1].once(about, name, state, make) if _KEEPERS else make()


def state_of(folder: Path, *, photos: bool = True) -> object:
    """Say how every file of a studio looks from outside, for `once`; of photos perhaps only which there are.

    Of what is so young that a change might not show, this is never the same.
    """
    now, skipped = time.time_ns(), () if photos else ("pieces",)
    seen = dict(stamps(folder, "out", "sent", *skipped))
    pieces = os.path.join(folder, "pieces")  # noqa: PTH118 (paths of text: a thousand on each page)
    if not photos and os.path.isdir(pieces):  # noqa: PTH112 (likewise)
        # Which photos a piece has shows in the times of its folder.
        homes = (pieces, *(entry.path for entry in os.scandir(pieces)))
        seen |= {path: look_of(path) for home in homes for path in (home, f"{home}{os.sep}piece.yaml")}
    # A file's age goes by the time that nobody can set, where there is one: on Windows that of its making.
    which = 1 if os.name == "nt" else 2
    return object() if _may_change_unseen((stamp[which] for stamp in seen.values()), now) else seen


def phase_of(studio: Studio, moment: datetime) -> tuple[date, int]:
    """Return what changes whenever what a studio shows changes by itself: its day, and its rounds' turns."""
    rounds = studio.commissions.rounds
    turns = [turn for held in rounds for turn in (held.taken_from(), held.closed_at) if turn is not None]
    return moment.date(), sum(turn <= moment for turn in turns)


# So many answers are kept; each holds what it was worked out of.
_MOST_KEPT = 64


@dataclass
class _Keeper:
    """What was worked out, the latest asked for last: out of what, in which state."""

    lock: threading.RLock = field(default_factory=threading.RLock)
    kept: dict[Hashable, tuple[object, object, Any]] = field(default_factory=dict)

    def once(self, about: object, name: Hashable, state: object, make: Callable[[], Made]) -> Made:
        """Hand out what was worked out, or work it out; two that ask at once may both do so."""
        with self.lock:
            before = self.kept.get(name)
        if before is not None and before[0] is about and (before[1] is state or before[1] == state):
            before = about, state, before[2]
        else:
            before = about, state, make()
        with self.lock:
            self.kept.pop(name, None)
            self.kept[name] = before
            while len(self.kept) > _MOST_KEPT:
                del self.kept[next(iter(self.kept))]
        found: Made = before[2]
        return found


_KEEPERS: list[_Keeper] = []  # the one at work is the last; none where nothing is kept
_LOOKED: ContextVar[dict[str, tuple[object, Path]] | None] = ContextVar("looked", default=None)
"""How folders looked at the one look, by what they were called, and where they really lie."""


def look_of(path: str | Path) -> tuple[int, ...]:
    """Say how a file looks from outside: size, two times, its number on the disk; noughts where it isn't."""
    try:
        return look_at(os.stat(path))  # noqa: PTH116 (likewise)
    except OSError:
        return 0, 0, 0, 0


# Nanoseconds. A file's time moves with the system's clock tick (up to 10 ms); the file systems of memory
# cards count in hundredths of a second or in steps of two seconds (all from memory).
_TICK, _COARSE = 50_000_000, 2_000_000_000
_HUNDREDTH = 10_000_000


def _may_change_unseen(changed: Iterable[int], now: int) -> bool:
    """Tell whether a file is so young that a change just after its reading might leave its time as it is.

    Such a reading isn't kept, as version control doesn't trust an entry as young as its index.
    """
    return any(at > now - (_TICK if at % _HUNDREDTH else _COARSE) for at in changed)
