"""A job that changes the studio's files holds the studio's pen from its first look to its last word."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import wraps
from pathlib import Path
from typing import Concatenate, ParamSpec, TypeVar

from sitegen.disk.pen import named, wrote
from sitegen.disk.pen import pen as taken
from sitegen.jobs.where import is_ours
from sitegen.studio.fault import Fault

__all__ = ["named", "pen", "writes", "wrote"]

Rest = ParamSpec("Rest")
Answer = TypeVar("Answer")


@contextmanager
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
