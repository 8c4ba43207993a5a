"""A progress bar on a terminal; silence in a pipe."""

from __future__ import annotations

import sys
from typing import Any

import click


class Bar:
    """A progress bar on a terminal; silence in a pipe."""

    def __init__(self, label: str) -> None:
        self.label = label
        self.bar: Any = None
        self.done = 0

    def __enter__(self) -> Bar:
        return self

    def advance(self, done: int, total: int) -> None:
        """Show that `done` of `total` are ready."""
        if not sys.stderr.isatty():
            return
        if self.bar is None:
            self.bar = click.progressbar(length=total, label=self.label, file=sys.stderr)
            self.bar.__enter__()
        self.bar.update(done - self.done)
        self.done = done

    def __exit__(self, *_: object) -> None:
        if self.bar is not None:
            self.bar.__exit__(None, None, None)
