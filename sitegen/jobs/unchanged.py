"""Tell in a blink that there is nothing to build.

A build leaves a note of everything it read, of the site it left, and of how long that stays true (until
midnight, or until a round opens or closes). While all of that is as noted, a build has nothing to do. The
note is only a hint: anything odd about it means that the build runs.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import sys
from collections.abc import Callable, Iterable, Iterator
from dataclasses import asdict, dataclass
from datetime import datetime, time, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from sitegen.studio.text import counted

if TYPE_CHECKING:
    from sitegen.studio.public import FrontOfHouse
    from sitegen.voice.theme_files import ThemeFiles


@dataclass(frozen=True)
class Compiled:
    site: Path
    unchanged: int  # files that stayed as they were
    pictures_made: int  # photos
    pictures_reused: int
    warnings: int  # complaints that only speak
    written: tuple[str, ...] = ()  # paths below out/site
    removed: tuple[str, ...] = ()

    @property
    def asides(self) -> list[str]:
        """What is worth a look: complaints, and pages that are gone while a printed code may lead there."""
        count = counted(self.warnings, "thing is", "things are")
        gone = (re.fullmatch(r"pieces/([^/]+)/index\.html", path) for path in self.removed)
        return [
            *([f"{count} worth a look; `sitegen check` lists them."] if self.warnings else []),
            *(
                f"The address pieces/{found[1]}/ is gone, and whatever is printed with it leads nowhere. If "
                f"the piece has another name now, write `was: {found[1]}` into its piece.yaml."
                for found in gone if found
            ),
        ]  # fmt: skip

    def as_answer(self) -> dict[str, Any]:
        return {
            "written": len(self.written), "removed": len(self.removed), "asides": self.asides,
            **self.as_of_next_time(),
        }  # fmt: skip

    def lines(self) -> list[str]:
        written, removed = len(self.written), len(self.removed)
        return [
            f"Photos:  {self.pictures_made} made ready, {self.pictures_reused} as before",
            f"Files:   {written} written, {removed} taken away, {self.unchanged} as before",
            f"Site:    {self.site / 'index.html'}",
        ]

    def as_of_next_time(self) -> dict[str, Any]:
        """Return what a build would report that finds all this done."""
        return {
            "unchanged": self.unchanged + len(self.written),
            "pictures_reused": self.pictures_made + self.pictures_reused,
            "warnings": self.warnings,
        }


NAME = ".built.json"
# The site's pictures lie below this folder, each under a name that changes with its bytes: it's enough that
# none came or went, and that shows in the time of its folder.
_PICTURES = "pictures"


@dataclass(frozen=True)
class BuildNote:
    """What is noted of a finished build."""

    key: str  # digest of what was read and of the site that was left
    zone: str  # the studio's time zone (IANA)
    since: float  # moment of the build, seconds since 1970
    until: float  # the next moment at which the same files would give another site
    theme: list[str]  # the theme's folders
    answer: dict[str, Any]  # what the build reported


@dataclass(frozen=True)
class Seen:
    """What was found out to tell whether there is anything to build."""

    studio_key: str  # what `studio_key_of` said
    answer: dict[str, Any] | None  # what the last build reported, if one now would change nothing
    same_files: bool  # whether every file is as it was then; the time may have moved on
    since: float  # moment of the last build, seconds since 1970


def look(folder: Path, moment_in: Callable[[ZoneInfo], datetime]) -> Seen | None:
    """Compare the note of the last build with what lies there; None if there is no such note.

    `moment_in` tells the present moment in the studio's zone.
    """
    try:
        note = BuildNote(**json.loads((folder / "out" / NAME).read_bytes()))
        now, studio_key = moment_in(ZoneInfo(note.zone)).timestamp(), studio_key_of(folder)
        key = _joined(studio_key, program_key_of(map(Path, note.theme)), site_key_of(folder))
        counts = note.answer.keys() == {"unchanged", "pictures_reused", "warnings"}
        same = note.key == key and counts and all(isinstance(told, int) for told in note.answer.values())
        in_time = note.since <= now < note.until
        return Seen(studio_key, note.answer if same and in_time else None, same, note.since)
    except (OSError, ValueError, TypeError, KeyError, RecursionError, AttributeError):
        return None


def leave_note(
    folder: Path, front: FrontOfHouse, theme: ThemeFiles, keys: tuple[str, str], answer: dict[str, Any]
) -> None:
    """Leave a note of a finished build.

    `keys` are what `studio_key_of` and `program_key_of` said before the files were read: what was changed
    since then is found by the next build.
    """
    here = front.moment
    midnight = datetime.combine(here.date() + timedelta(days=1), time(), here.tzinfo).timestamp()
    turns = (turn.timestamp() for one in front.rounds for turn in (one.opens, one.closes) if turn is not None)
    note = BuildNote(
        key=_joined(*keys, site_key_of(folder)),
        zone=front.card.zone.key,
        since=here.timestamp(),
        until=min([midnight, *(turn for turn in turns if turn > here.timestamp())]),
        theme=[str(folder.resolve()) for folder in theme.folders],
        answer=answer,
    )
    file, content = folder / "out" / NAME, json.dumps(asdict(note), ensure_ascii=False).encode()
    if not file.exists() or file.read_bytes() != content:
        from sitegen.disk import write_whole  # what it brings along is too slow for `look`

        write_whole(file, content, lasting=False)


def studio_key_of(folder: Path) -> str:
    """Return a digest of the stamps of the studio's files."""
    return _joined(*_stamped(folder, "out", "sent"))


def program_key_of(theme: Iterable[Path]) -> str:
    """Return a digest of the stamps of what else a build reads: the theme, the program."""
    libraries = [Path(json.__file__).parent, *(Path(one) for one in sys.path if one.endswith("-packages"))]
    return _joined(
        *(stamp for folder in theme for stamp in _stamped(folder)),
        *_stamped(Path(__file__).resolve().parent.parent, "carried"),
        *(f"{path} {path.stat().st_mtime_ns}" for path in libraries if path.is_dir()),
        sys.version,
    )


def site_key_of(folder: Path) -> str:
    """Return a digest of the stamps of the site that lies in out/site."""
    site = folder / "out" / "site"
    shelves = os.scandir(site / _PICTURES) if (site / _PICTURES).is_dir() else ()
    times = sorted(f"{entry.name} {entry.stat().st_mtime_ns}" for entry in shelves)
    return _joined(*times, *_stamped(site, _PICTURES))


def _joined(*rows: str) -> str:
    return hashlib.sha256("\n".join(rows).encode("utf-8", "surrogateescape")).hexdigest()


def _stamped(folder: Path, *skipped: str) -> list[str]:
    return sorted(" ".join(map(str, (path, *look))) for path, look in stamps(folder, *skipped))


def look_at(stat: os.stat_result) -> tuple[int, ...]:
    """Say how a file looks from outside: size, two times, its number on the disk."""
    return stat.st_size, stat.st_mtime_ns, stat.st_ctime_ns, stat.st_ino


def stamps(folder: Path | str, *skipped: str) -> Iterator[tuple[str, tuple[int, ...]]]:
    """Yield each file that isn't hidden with how it looks; `skipped` are names right in the folder."""
    left_out = {*skipped, "__pycache__"}
    with os.scandir(folder) as entries:
        for entry in entries:
            if entry.name in left_out or entry.name.startswith("."):
                continue
            if _enters(entry):
                yield from stamps(entry.path)
            else:
                try:
                    yield entry.path, look_at(entry.stat())
                except OSError:  # a link that leads nowhere
                    yield entry.path, look_at(entry.stat(follow_symlinks=False))


def _enters(entry: os.DirEntry[str]) -> bool:
    """Tell whether an entry is a folder to look into; a link to one of the folders above it isn't."""
    try:
        if not entry.is_dir():
            return False
    except OSError:  # links in a circle
        return False
    if not entry.is_symlink():
        return True
    above, target = os.path.realpath(os.path.dirname(entry.path)), os.path.realpath(entry.path)  # noqa: PTH120
    return os.path.commonpath([above, target]) != target
