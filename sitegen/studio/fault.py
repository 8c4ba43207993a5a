"""The one family of exceptions that ends in a sentence for the artist and exit code 1.

A class of its own has only what somebody catches apart: StudioFault holds every complaint, LinkFault its
link, ChoiceFault its line of studio.yaml; LetterFault is one letter's, NoStudio may be no fault, WishFault
is wrong usage. OfferFault is the arithmetic's, like any ValueError.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager


class Fault(Exception):
    """The studio's files, or what was asked, are at fault; `str()` says why and what to write instead."""


@contextmanager
def told(where: str = "") -> Iterator[None]:
    """Turn the arithmetic's ValueError into the artist's sentence, with the place in front."""
    try:
        yield
    except ValueError as fault:
        raise Fault(f"{where}: {fault}" if where else str(fault)) from fault
