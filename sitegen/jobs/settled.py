"""A build killed while its files took their places: the next command of any kind turns that back first."""

from __future__ import annotations

import contextlib
import os
import time
from collections.abc import Iterator
from pathlib import Path

from sitegen.studio.fault import Fault

# Written by `site.changing`, there only while files take their places. Each command and each page of the
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
def one_at_a_time(out: Path) -> Iterator[None]:
    """Hold the out folder for one build. Raises StudioFault while another build holds it."""
    from sitegen.disk import hold
    from sitegen.sources import StudioFault

    out.mkdir(parents=True, exist_ok=True)
    with (out / ".lock").open("a+b") as file:
        try:
            hold(file.fileno())
        except OSError:
            raise StudioFault(f"another build is at work in {out}; wait until it is done") from None
        yield


def settled_studio(asked: Path | None) -> Path:
    """Return the studio's folder, its site whole. Raises Fault when there is none."""
    from sitegen.jobs.where import find_studio

    settle(folder := find_studio(asked))
    return folder
