"""Bring a host from what it has to what was built, so that a visitor always meets a page with its pictures.

The way through: read what is ours there, compare by content, look that nothing of anybody else's is in the
way, claim, put pictures and styles, new pages, changed pages, feeds; then take away what is no longer built,
and write the list. Stopped anywhere, the next run goes on.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from sitegen.publishing.hosts import Host, Load, part_of
from sitegen.publishing.listing import CLAIM, LIST, Home, read, survey, written
from sitegen.studio.asked import Fault, Progress, silent

_FEEDS = (".xml", "robots.txt", "headers.txt")
# Seconds in which a visitor who got an old page has fetched its pictures (common practice, no source).
LINGER = 4.0


@dataclass(frozen=True)
class Course:
    """What is to be done on a host."""

    wanted: Mapping[str, str]  # digest by path of all that was built
    puts: tuple[Sequence[str], ...]  # paths to put, in the phases that follow each other
    removed: tuple[str, ...]  # pages before pictures
    stale: tuple[str, ...]  # parts that a stopped run may have left
    fresh: frozenset[str]  # paths at which nothing is
    blocked: tuple[str, ...]  # paths at which something lies that isn't ours
    listed: bool  # whether the list there is as it will be

    @property
    def put(self) -> tuple[str, ...]:
        """All paths to put."""
        return tuple(path for phase in self.puts for path in phase)

    @property
    def is_done(self) -> bool:
        """Tell whether there's nothing to do."""
        return not (self.put or self.removed or self.stale) and self.listed


@dataclass
class Mover:
    """One run of publishing."""

    host: Host
    home: Home
    site: Path
    progress: Progress = silent
    wait: Callable[[float], None] = lambda seconds: None
    """Waits before pictures are taken away that a visitor may be about to fetch."""
    stop: Callable[[], None] = lambda: None  # called after each file; raises to stop there
    _names: dict[str, frozenset[str]] = field(default_factory=dict)

    def plan(self) -> Course:
        """Compare what was built with what is there; nothing is written. Raises Fault, HostLost."""
        self._list, claim = self.host.read(LIST), self.host.read(CLAIM)
        self._stock = stock = self.home.stock(self._list, claim, self.host.name)
        wanted = survey(self.site, stock)
        put = [path for path, digest in wanted.items() if stock.get(path) != (digest, True)]
        strange = [path for path in put if path not in stock]
        blocked = {path for path in strange if self._is_there(path)}
        fresh = frozenset(strange) - blocked
        # A page that a stopped run was about to put, and no finished one ever put, is new as well.
        self._listed = listed = read(self._list, self.host.name)
        new = fresh | (stock.keys() - listed.keys() if listed else frozenset())
        removed = sorted(stock.keys() - wanted.keys(), key=lambda path: (_phase(path) == 0, path))
        return Course(
            wanted=wanted,
            puts=tuple([path for path in sorted(put) if _phase(path, new) == phase] for phase in range(4)),
            removed=tuple(removed),
            # Parts of what a stopped run was about to put, where another file is to be put now.
            stale=tuple(
                part_of(path, noted.digest)
                for path, noted in stock.items()
                if not noted.sure and wanted.get(path) != noted.digest
            ),
            fresh=fresh,
            blocked=tuple(sorted(blocked)),
            listed=self._list == written(wanted) and claim is None,
        )

    def _is_there(self, path: str) -> bool:
        """Tell whether anything has this path, asking for each folder once."""
        within = ""
        for part in path.split("/"):
            if within not in self._names:
                self._names[within] = self.host.names(within)
            if part not in self._names[within]:
                return False
            within = f"{within}/{part}".lstrip("/")
        return True

    def carry_out(self, course: Course) -> str:
        """Do it; return what the host says of it. Raises Fault, HostLost, and what `stop` raises."""
        host, home = self.host, self.home
        if course.stale:
            host.remove(course.stale)
        pending = {path: was for path, was in self._stock.items() if self._listed.get(path) != was.digest}
        claim = {path: was.digest for path, was in pending.items()}
        claim |= {path: course.wanted[path] for path in course.put}
        # What is being taken away may be there or not, if this run is stopped.
        claim |= {path: self._stock[path].digest for path in course.removed}
        try:
            if claim:
                home.begin(self._list, written(claim))
                for path, was in pending.items():
                    if was.sure and claim[path] == was.digest and path not in course.removed:
                        home.arrived(path, was.digest)
                self._note(CLAIM, written(claim))
            self._put(course)
            self._remove(course.removed)
            text = written(course.wanted)
            if self._list != text:
                self._note(LIST, text)
            host.remove([CLAIM])
            said = host.finish([*course.put, LIST], course.removed)
        except BaseException:
            home.end(None)
            raise
        home.end(text)
        return said

    def _put(self, course: Course) -> None:
        files = {path: self.site / path for path in course.put}
        sizes = {path: file.stat().st_size if file.exists() else 0 for path, file in files.items()}
        total, arrived = sum(sizes.values()), 0

        def done(load: Load) -> None:
            nonlocal arrived
            if self.host.counts_at_once:
                self.home.arrived(load.path, load.digest)
            arrived += sizes[load.path]
            self.progress(arrived, total)
            self.stop()

        for number, phase in enumerate(course.puts):
            first = course.fresh if number == 0 else ()
            loads = [Load(path, course.wanted[path], files[path].read_bytes, path in first) for path in phase]
            if loads:
                self.host.put(loads, done)

    def _remove(self, paths: Sequence[str]) -> None:
        if pages := [path for path in paths if _phase(path) != 0]:
            self.host.remove(pages)
        if rest := [path for path in paths if _phase(path) == 0]:
            self.wait(LINGER)
            self.host.remove(rest)

    def _note(self, path: str, text: bytes) -> None:
        load = Load(path, hashlib.sha256(text).hexdigest(), lambda: text)
        self.host.put([load], lambda load: None)


def _phase(path: str, new: Collection[str] = ()) -> int:
    """Return when a path is put: what pages need, new pages, changed pages, what leads programs to pages."""
    if path.endswith(".html"):
        return 1 if path in new else 2
    return 3 if path.endswith(_FEEDS) else 0


def refuse_blocked(course: Course, where: str) -> None:
    """Raise Fault if something of anybody else's is in the way."""
    if course.blocked:
        more = f" and {len(course.blocked) - 3} more" if len(course.blocked) > 3 else ""
        raise Fault(
            f"on {where} lies already: {', '.join(course.blocked[:3])}{more}; `publish` didn't put it there. "
            "Nothing was changed. Move it away there, or say --replace to put your site in its place"
        )
