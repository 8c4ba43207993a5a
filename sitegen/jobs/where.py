"""Where the studio's folder is, its site whole, and what day it is there; and its pen, to change it with."""

from __future__ import annotations

import contextlib
import os
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from functools import wraps
from pathlib import Path
from typing import Concatenate, ParamSpec, TypeVar
from zoneinfo import ZoneInfo

from sitegen.carried import carried
from sitegen.disk.pen import named as named  # noqa: PLC0414 (the faces name what is done)
from sitegen.disk.pen import pen as taken
from sitegen.disk.pen import wrote as wrote  # noqa: PLC0414
from sitegen.studio.asked import Fault

_OURS = (carried("content"), carried("demo"))


class NoStudio(Fault):
    """There is no studio where one was looked for."""


def find_studio(asked: Path | None) -> Path:
    """Return the studio's folder: the one asked for, else ./content, else here. Raises NoStudio."""
    for folder in [Path("content"), Path()] if asked is None else [asked]:
        if asked is None and is_ours(folder):
            raise NoStudio(
                "this is the program's own folder, and content/ in it the starter that `sitegen begin` "
                "copies. Make a studio of yours with `sitegen begin DIR`, and name it with --studio DIR"
            )
        if (folder / "studio.yaml").is_file():
            return folder
    if asked is None:
        raise NoStudio(
            "there is no studio here: no content/studio.yaml and no studio.yaml. Go to your studio's folder, "
            "name it with --studio DIR, or make one with `sitegen begin DIR`"
        )
    if not asked.is_dir():
        raise NoStudio(f"there is no folder {asked}; `sitegen begin {asked}` makes a studio there")
    raise NoStudio(
        f"{asked} holds no studio.yaml; `sitegen begin DIR` puts a starter studio in a new folder DIR"
    )


def is_ours(folder: Path) -> bool:
    """Tell whether a folder is one of the studios that the program carries.

    The checkout's are, even for a copy of the program that was installed from it and carries its own.
    """
    there = folder.resolve()
    beside = there.parent / "sitegen" / "carried.py"
    return there in _OURS or (there.name in {path.name for path in _OURS} and beside.is_file())


def moment_in(zone: ZoneInfo, pretended: str | None) -> datetime:
    """Return the present moment in the studio's zone, or the one to pretend.

    `pretended` is a date (noon is meant) or a date with a time, in the studio's zone.
    """
    if pretended is None:
        return datetime.now(UTC).astimezone(zone)
    text = pretended if len(pretended) > len("2027-01-16") else f"{pretended} 12:00"
    try:
        moment = datetime.fromisoformat(text).replace(tzinfo=None)
    except ValueError:
        form = "write it like 2027-01-16 or '2027-01-16 12:00'"
        raise Fault(f"--today '{pretended}' is no date; {form}") from None
    from sitegen.studio.fields import in_our_time, refuse_skipped

    try:
        in_our_time(moment.date())
        refuse_skipped(moment, zone)
    except ValueError as fault:
        raise Fault(f"--today {fault}") from None
    return moment.replace(tzinfo=zone)


# Written by `site.placing`, there only while files take their places. Each command and each page of the
# preview looks for it, so what builds the site isn't loaded for that.
CHANGE = ".site-change.json"
# Seconds: files take their places in much less, even thousands of them.
_PATIENCE, _PAUSE = 5.0, 0.01


def changing(out: Path) -> bool:
    """Tell whether a site is in the middle of a change, by a build at work or by one that was killed."""
    return os.path.lexists(out / CHANGE)


def settle(folder: Path) -> None:
    """See to it that a studio's site is whole: turn back what a killed build began, or wait for one at work.

    Where neither can be, nothing happens: a command that builds says why.
    """
    out = folder / "out"
    end = time.monotonic() + _PATIENCE
    while changing(out):
        with contextlib.suppress(Fault, OSError), one_at_a_time(out):
            from sitegen import site

            site.recover(out)
        if not changing(out) or time.monotonic() > end:
            return
        time.sleep(_PAUSE)


@contextlib.contextmanager
def one_at_a_time(out: Path, work: str = "build") -> Iterator[None]:
    """Hold the out folder for one build, or other work of one kind. Raises Fault meanwhile."""
    from sitegen.disk import hold

    out.mkdir(parents=True, exist_ok=True)
    with (out / (".lock" if work == "build" else f".lock-{work}")).open("a+b") as file:
        try:
            hold(file.fileno())
        except OSError:
            raise Fault(f"another {work} is at work in {out}; wait until it is done") from None
        yield


def sheet_of(folder: Path, show: str) -> Path:
    """Return where a show's sign-up sheet lies once it's printed."""
    return folder / "out" / "paper" / f"sheet-{show}.pdf"


def settled_studio(asked: Path | None) -> Path:
    """Return the studio's folder, its site whole. Raises Fault when there is none."""
    settle(folder := find_studio(asked))
    return folder


Rest = ParamSpec("Rest")
Answer = TypeVar("Answer")


@contextlib.contextmanager
def pen(folder: Path, goes_on: str = "") -> Iterator[None]:
    """Hold a studio's pen; `goes_on` names what is taken back as one. Raises Fault, for a carried one too."""
    if is_ours(folder):
        raise Fault(
            f"{folder} is the program's own, to be copied and not to be written into. `sitegen begin DIR` or "
            "`sitegen demo DIR` makes a studio of yours; name it with --studio DIR"
        )
    with taken(folder, goes_on):
        yield


def writes(job: Callable[Concatenate[Path, Rest], Answer]) -> Callable[Concatenate[Path, Rest], Answer]:
    """Let a job, whose first argument is the studio's folder, read, decide and write with the pen in hand."""

    @wraps(job)
    def held(folder: Path, /, *args: Rest.args, **more: Rest.kwargs) -> Answer:
        with pen(folder):
            return job(folder, *args, **more)

    return held
