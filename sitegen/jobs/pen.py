"""A job that changes the studio's files holds the studio's pen from its first look to its last word."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from pathlib import Path
from typing import Concatenate, ParamSpec, TypeVar

from sitegen.disk.pen import named, pen

__all__ = ["named", "pen", "writes"]

Rest = ParamSpec("Rest")
Answer = TypeVar("Answer")


def writes(job: Callable[Concatenate[Path, Rest], Answer]) -> Callable[Concatenate[Path, Rest], Answer]:
    """Let a job, whose first argument is the studio's folder, read, decide and write with the pen in hand."""

    @wraps(job)
    def held(folder: Path, /, *args: Rest.args, **more: Rest.kwargs) -> Answer:
        with pen(folder):
            return job(folder, *args, **more)

    return held
