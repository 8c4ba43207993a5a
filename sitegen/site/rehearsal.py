"""Go through what a build does, without a photograph and without writing, and tell what would stop it.

A page is set by the very code that the build sets it with. Of pages that differ only in plain values (a
thousand pieces, say) the first is set, and every one with a link in the artist's words.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

from sitegen.site import addresses
from sitegen.site.addresses import TAKEN
from sitegen.site.content import Content, Sheet
from sitegen.site.house import open_house
from sitegen.site.own import name_taken
from sitegen.site.pages import content
from sitegen.site.press import Press
from sitegen.site.publishing import check_names
from sitegen.studio.fault import Fault
from sitegen.studio.public import FrontOfHouse
from sitegen.voice.theme_files import ThemeFiles

# What every link in Markdown has, inline, by reference or bare.
_LINK = re.compile(r"\]\s*[(:\[]|<[A-Za-z]")
# Rooms of which there may be hundreds, all set by one template from plain values.
_ALIKE = re.compile(r"pieces/|gallery/[0-9]{4}/")


def rehearse(front: FrontOfHouse, theme: ThemeFiles, compiled: Path) -> Iterator[Fault]:
    """Yield everything that would stop a build of this studio with this theme, its photographs apart.

    `compiled` is where a build keeps its templates: read, if there are any.
    """
    taken = [page for page in front.pages if page.name in TAKEN]
    yield from map(name_taken, taken)
    if taken:
        return
    try:
        whole = content(open_house(front, {}, theme, ()), Press(theme, compiled, lent=True))
        check_names(whole.paths)
    except Fault as fault:
        yield fault
        return
    yield from _set(front, whole)


def _set(front: FrontOfHouse, whole: Content) -> Iterator[Fault]:
    linked = {addresses.piece(one.slug) for one in front.pieces if _LINK.search(one.story)}
    told: set[str] = set()
    for sheet in _chosen(whole, linked):
        try:
            sheet.make()
        except Fault as fault:
            # A link in a story is found on its piece's page and again in a feed.
            if str(fault) not in told:
                told.add(str(fault))
                yield fault


def _chosen(whole: Content, linked: set[str]) -> Iterator[Sheet]:
    seen: set[str] = set()
    for sheet in whole.sheets:
        alike = _ALIKE.match(sheet.path)
        if alike is None or sheet.path in linked or alike[0][:8] not in seen:
            yield sheet
        if alike is not None:
            seen.add(alike[0][:8])
