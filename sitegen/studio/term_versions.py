"""Versions of the written terms: named by year and month, with a count from the second one in a month."""

import re
from collections.abc import Iterable
from datetime import date
from typing import Annotated

from pydantic import Field

from sitegen.studio.fields import Day, Entry, typed
from sitegen.studio.text import quoted

_NAME = re.compile(r"([0-9]{4})-(0[1-9]|1[0-2])(?:-([2-9]|[1-9][0-9]))?")


def is_version(name: str) -> bool:
    """Say whether a name is one of a version."""
    return _NAME.fullmatch(name) is not None


def read_version(text: str) -> str:
    """Read a version's name. Raises ValueError with a sentence."""
    if not is_version(text.strip()):
        raise ValueError(f"{quoted(text)} is no version of the terms; write year and month, like 2026-11")
    return text.strip()


class AcceptedTerms(Entry):
    """Which version of the written terms was agreed to, and when."""

    version: Annotated[str, typed(read_version)] = Field(examples=["2026-11"])
    """As kept below pages/: year and month, and a count for a second one in that month, `2026-11-2`."""
    on: Day = Field(examples=["2026-11-25"])


def in_order(names: Iterable[str]) -> tuple[str, ...]:
    """Sort versions, oldest first: 2026-11, 2026-11-2, 2026-11-10, 2026-12."""
    return tuple(sorted(names, key=_key))


def _key(name: str) -> tuple[str, int]:
    found = _NAME.fullmatch(name)
    return (name[:7], int(found[3] or 1)) if found else (name, 0)


def next_version(names: Iterable[str], today: date) -> str:
    """Name the version that is kept today, so that it comes after all others."""
    month = f"{today:%Y-%m}"
    newest = next(reversed(in_order(names)), "")
    if newest[:7] < month:
        return month
    count = _key(newest)[1] + 1
    return f"{newest[:7]}-{count}"
