"""One page before it is set: where it lies, which template sets it, and all that it may say."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from sitegen.site.shown import Exhibit, Shot
from sitegen.studio.public import PublicShow
from sitegen.studio.status import Status


@dataclass(frozen=True, slots=True)
class Told:
    """Something that structured data tells of; put into words when the page is set."""

    kind: str
    """One of `structured.TELLERS`."""
    subject: Any = None


@dataclass(frozen=True)
class Later:
    """A leaf that is written only if its page has to be set."""

    path: str
    inputs: tuple[Any, ...]
    """Plain values that decide over the leaf, besides what all pages share."""
    write: Callable[[], Leaf]
    listed: bool = True
    changed: date | None = None


@dataclass(frozen=True)
class Leaf:
    """A page as plain values: leaves with the same text (`repr`) give the same bytes, within one house."""

    path: str
    """From the site's root, like gallery/index.html."""
    template: str
    title: str
    """Without the studio's name."""
    description: str
    """One or two sentences for search engines and link previews."""
    parts: Mapping[str, Any] = field(default_factory=dict)
    """What the template gets, by name."""
    shot: Shot | None = None
    """The picture of link previews."""
    facts: tuple[Told, ...] = ()
    """What its structured data tells of."""
    listed: bool = True
    """Whether search engines are asked to keep it."""
    kind: str = "website"
    """Open Graph's type."""
    posts_to: str | None = None
    """Where a form on it sends what is written in."""
    changed: date | None = field(default=None, repr=False)
    """Day of its last change, where the files tell one that may be told: for the sitemap, not on the page."""


# These standings are what a piece has from the day it's finished.
_AS_FINISHED = frozenset({Status.AVAILABLE, Status.COMMISSIONED, Status.NOT_FOR_SALE})


def finished_of(shown: Iterable[Exhibit]) -> date | None:
    """Return the day when the last of the pieces was finished; None if anything may have changed since."""
    days = [one.piece.finished if one.piece.status in _AS_FINISHED else None for one in shown]
    known = [day for day in days if day is not None]
    return max(known) if known and len(known) == len(days) else None


def passed_of(shows: Iterable[PublicShow]) -> date | None:
    """Return the day after the last show, when it became a past one; None while another is announced."""
    shows = tuple(shows)
    if any(one.coming for one in shows):
        return None
    return max((one.last_day + timedelta(days=1) for one in shows), default=None)
