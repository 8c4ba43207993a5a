"""Publish: build the site, bring it to where it lives, look at it there."""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from sitegen.disk import read_note, write_note
from sitegen.jobs.build import build
from sitegen.jobs.reading import sit
from sitegen.jobs.unchanged import site_key_of
from sitegen.jobs.where import one_at_a_time, pen
from sitegen.publishing.hosts import FolderHost, Host, HostLost
from sitegen.publishing.listing import Home
from sitegen.publishing.moving import Course, Mover, refuse_blocked
from sitegen.studio.asked import Answer, Fault, Progress, Said, ask, silent, wish
from sitegen.studio.settings import Carriage, Publishing, Settings
from sitegen.studio.text import counted

PASSWORD = "SITEGEN_PUBLISH_PASSWORD"  # noqa: S105 (the name of what holds it)
Ask = Callable[[Publishing], str]  # returns the password of a place; asks somebody, where somebody is there
# So often a cut line is knit again while nothing arrived in between, and seconds to wait before.
_TRIES, _BREATH = 3, 2.0


def from_environment(_: Publishing) -> str:
    """Return the password that the environment holds."""
    return os.environ.get(PASSWORD, "")


@wish
class PublishWish:
    look: bool = ask("Say what would change there, and change nothing.", default=False)
    replace: bool = ask("Put your site in the place of what lies there by another hand.", default=False)
    sure: bool = ask("Trust a host's key at the first visit unseen.", default=False, name="yes")
    minutes: int | None = ask("At most so many minutes; the next run goes on.", default=None, least=1)
    password: str = ask("Of your user at the host; it is kept nowhere.", default="", secret=True)


@dataclass(frozen=True)
class Published:
    """What a run of publishing did, or would do."""

    place: str
    course: Course
    done: bool
    differs: tuple[str, ...] = ()  # what is otherwise on the web than it was built
    asides: tuple[str, ...] = ()
    compared: bool = False  # what was put was fetched, and is as it was built
    left: int = 0  # files that are still to be put

    @property
    def is_well(self) -> bool:
        """False where something is left to be done or mended."""
        return not (self.differs or self.left)

    def as_answer(self) -> dict[str, Any]:
        return {
            "put": list(self.course.put), "removed": list(self.course.removed),
            "unchanged": len(self.course.wanted) - len(self.course.put), "done": self.done,
            "left": self.left, "differs": list(self.differs), "asides": list(self.asides),
        }  # fmt: skip

    def lines(self) -> list[str]:
        course, kept = self.course, len(self.course.wanted) - len(self.course.put)
        if self.left:
            return [f"{self.left} of {len(course.put)} files are still to be put; publish again to go on."]
        if not self.done:
            would = f"{self._counts('to put', 'to take away')}, {kept} as they are; nothing was changed."
            rows = [("put", name) for name in course.put] + [("take away", name) for name in course.removed]
            return [*(f"  {what}   {row}" for what, row in rows), would]
        said = f"{self._counts('put', 'taken away')}, {kept} as before, on {self.place}."
        same = "Fetched from your address: live is as built." if self.compared else ""
        head = "Fetched from your address, this isn't as it was built:" if self.differs else ""
        return [*filter(None, [said, same, head]), *(f"  {differ}" for differ in self.differs[:20])]

    def _counts(self, put: str, removed: str) -> str:
        return f"{counted(len(self.course.put), 'file', 'files')} {put}, {len(self.course.removed)} {removed}"


class _Enough(Exception):
    """There's no more time in this run."""


def publish(
    folder: Path, wish: PublishWish, today: str | None, agree: Callable[[Answer], bool],
    settings: Ask = from_environment, progress: Progress = silent,
) -> Published:  # fmt: skip
    """Build the site and bring it to where studio.yaml says; stopped anywhere, the next run goes on.

    `agree` is shown a host's key at the first visit. Raises Fault.
    """
    own = sit(folder, today, frozenset()).studio.settings
    if (at := own.publish) is None:
        raise Fault(
            "studio.yaml doesn't say where the site lives; add a block `publish:` with `way: sftp`, `host:`, "
            "`user:` and `folder:` as your host names them. `sitegen guide publishing` tells of all ways"
        )
    with pen(folder):  # the program's own studios are nobody's to publish
        pass
    built = build(folder, today)
    with one_at_a_time(folder / "out", "publishing"):
        key = site_key_of(folder)
        done = _Run(folder, own, at, wish, agree, settings).through(progress)
        if done.done:
            write_note(last_of(folder), {"place": at.named, "site": key})
            done = _seen(own.address, at, folder / "out" / "site", done)
    return replace(done, asides=(*built.asides, *done.asides))


def _seen(address: str, at: Publishing, site: Path, done: Published) -> Published:
    from sitegen.publishing import live

    if live.is_nobodys(address):
        said = f"{address} is an example's address, so nothing could be looked at there."
        return replace(done, asides=(*done.asides, said))
    if not done.course.put:
        return done
    found = tuple(live.compare(address, site, done.course.put))
    if found and at.way is Carriage.VERSIONS:  # a host that serves a repository takes a while
        said = f"{address} isn't as it was built yet; `sitegen check --live` looks again in a few minutes."
        return replace(done, asides=(*done.asides, said))
    return replace(done, differs=found, compared=not found)


def last_of(folder: Path) -> Path:
    """Return where it is noted what was published last."""
    return folder / "sent" / "published" / "last.json"


def is_out(folder: Path, at: Publishing) -> bool | None:
    """Tell whether the built site was published as it lies there; None if it never was."""
    noted = read_note(last_of(folder))
    if not isinstance(noted, dict) or noted.get("place") != at.named:
        return None
    return bool(noted.get("site") == site_key_of(folder))


@dataclass(repr=False)
class _Run:
    """One run, over as many connections as it takes."""

    folder: Path
    own: Settings
    at: Publishing
    wish: PublishWish
    agree: Callable[[Answer], bool]
    ask: Ask
    password: str | None = None
    arrived: int = 0

    def __post_init__(self) -> None:
        self.home = Home(self.folder / "sent" / "published", self.at.named)

    def through(self, progress: Progress) -> Published:
        """Go on until all is there, or nothing more arrives."""
        minutes, tries = self.wish.minutes, 0
        end = time.monotonic() + 60 * minutes if minutes else None

        def stop() -> None:
            self.arrived += 1
            if end is not None and time.monotonic() > end:
                raise _Enough

        while True:
            before = self.arrived
            try:
                with closing(self._open()) as host:
                    return self._on(host, progress, stop)
            except HostLost as lost:
                tries = 0 if self.arrived > before else tries + 1
                if tries >= _TRIES:
                    raise Fault(
                        f"the line to the host is cut: {lost}. What visitors meet there is whole; run "
                        "`sitegen publish` again when you're on line, and it goes on where it stopped"
                    ) from lost
                time.sleep(_BREATH * tries)

    def _on(self, host: Host, progress: Progress, stop: Callable[[], None]) -> Published:
        mover = Mover(host, self.home, self.folder / "out" / "site", progress, time.sleep, stop)
        course, before = mover.plan(), self.arrived
        if not self.wish.replace:
            refuse_blocked(course, host.name)
        if self.wish.look:
            return Published(host.name, course, done=False)
        try:
            said = host.finish((), ()) if course.is_done else mover.carry_out(course)
        except _Enough:
            return Published(host.name, course, False, left=len(course.put) - (self.arrived - before))
        parts = () if host.makes_parts else (
            f"{host.name} renames no file, so while a page is written a visitor may get the beginning of it.",
        )  # fmt: skip
        return Published(host.name, course, True, asides=(*parts, *filter(None, [said])))

    def _open(self) -> Host:
        at = self.at
        if at.way is Carriage.FOLDER:
            return FolderHost(Path(at.folder).expanduser())
        if at.way is Carriage.VERSIONS:
            from sitegen.publishing.versions import VersionHost

            return VersionHost(Path(at.folder).expanduser(), self.own.maker, self.own.contact)
        if self.password is None:
            self.password = self.wish.password or self.ask(at)
        if at.way is Carriage.FTPS:
            from sitegen.publishing.ftps import FtpsHost

            return FtpsHost(at, self.password)
        from sitegen.publishing.sftp import SftpHost

        return SftpHost(at, self.home.folder / "known_hosts", self._trust, self.password)

    def _trust(self, host: str, fingerprint: str) -> bool:
        shown = (
            f"This is the first visit to {host}. Its key has the fingerprint {fingerprint}.",
            "Compare it with the one that your host names; it is asked for this once.",
        )
        return self.wish.sure or self.agree(Said(shown))
