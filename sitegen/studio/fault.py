"""The one family of exceptions that ends in a sentence for the artist and exit code 1.

A class of its own has only what somebody catches apart: StudioFault holds every complaint, LinkFault its
link, ChoiceFault its line of studio.yaml, ChangedMeanwhile what stands there now; LetterFault is one
letter's, NoStudio may be no fault, WishFault is wrong usage. OfferFault is the arithmetic's, like any
ValueError.
"""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any


class Fault(Exception):
    """The studio's files, or what was asked, are at fault; `str()` says why and what to write instead."""


class LetterFault(Fault):
    """A letter can't be made or posted as asked; `str()` is the sentence to show."""


class ChangedMeanwhile(Fault):
    """What a form showed says something else by now; nothing was written."""

    def __init__(self, message: str, now: Mapping[str, Any]) -> None:
        super().__init__(message)
        self.now = dict(now)
        """What stands there now, by the path it was asked for."""


@contextmanager
def told(where: str = "") -> Iterator[None]:
    """Turn the arithmetic's ValueError into the artist's sentence, with the place in front."""
    try:
        yield
    except ValueError as fault:
        raise Fault(f"{where}: {fault}" if where else str(fault)) from fault
