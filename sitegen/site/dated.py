"""Since when a page has said what it says, as far as the public files tell; no guess, and nothing private.

A piece's page changes for the last time when the piece is finished, unless its standing changes later. Of a
sale the files know the day, but that day is the buyer's and the artist's alone; of a piece on hold they know
none. Such pages, and those that show such pieces, go undated, and a reader of the sitemap looks for itself.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta

from sitegen.site.shown import Exhibit
from sitegen.studio.public import PublicShow
from sitegen.studio.status import Status

# These standings are what a piece has from the day it's finished.
_AS_FINISHED = frozenset({Status.AVAILABLE, Status.COMMISSIONED, Status.NOT_FOR_SALE})


def of_pieces(shown: Iterable[Exhibit]) -> date | None:
    """Return the day when the last of the pieces was finished; None if anything may have changed since."""
    days = [one.piece.finished if one.piece.status in _AS_FINISHED else None for one in shown]
    known = [day for day in days if day is not None]
    return max(known) if known and len(known) == len(days) else None


def of_shows(shows: Iterable[PublicShow]) -> date | None:
    """Return the day after the last show, when it became a past one; None while another is announced."""
    shows = tuple(shows)
    if any(one.coming for one in shows):
        return None
    return max((one.last_day + timedelta(days=1) for one in shows), default=None)
