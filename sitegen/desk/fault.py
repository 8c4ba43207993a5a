"""What the desk can't answer, in sentences for the artist."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from sitegen.studio.fault import Fault


class DeskFault(Fault):
    """The desk can't answer; `str()` says why and what to write instead."""


@contextmanager
def told(where: str = "") -> Iterator[None]:
    """Turn the arithmetic's ValueError into the artist's sentence, with the place in front."""
    try:
        yield
    except ValueError as fault:
        raise DeskFault(f"{where}: {fault}" if where else str(fault)) from fault
