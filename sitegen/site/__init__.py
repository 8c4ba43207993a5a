"""The public view of a studio as a site: pages, feeds, calendars, structured data."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from sitegen.site import addresses
from sitegen.site.house import Content, Sheet, open_house
from sitegen.site.pages import content
from sitegen.site.placing import Built, check_names, put_in_place, recover
from sitegen.site.rooms import name_taken
from sitegen.site.theme import read_theme as examine_theme
from sitegen.studio.asked import Fault
from sitegen.studio.picture import PhotoKey, PictureSet
from sitegen.studio.public import FrontOfHouse
from sitegen.voice.theme_files import ThemeFiles

__all__ = ["Built", "build", "examine_theme", "page", "recover", "rehearse"]

# What every link in Markdown has, inline, by reference or bare.
_LINK = re.compile(r"\]\s*[(:\[]|<[A-Za-z]")
# Rooms of which there may be hundreds, all set by one template from plain values.
_ALIKE = re.compile(r"pieces/|gallery/[0-9]{4}/")


def build(
    front: FrontOfHouse, pictures: Mapping[PhotoKey, PictureSet], theme: ThemeFiles, out: Path, *,
    icons: Sequence[tuple[str, bytes]] = (),
) -> Built:  # fmt: skip
    """Compile the site into out/site, all of it or nothing; if nothing changed, nothing is written.

    `pictures` has the photos by (piece's slug, photo's file); a page goes
    without one that is missing. `theme` has the theme's files, `icons` are files for the site's root.
    Raises Fault, with the old site untouched, for anything wrong in the theme or in the way.
    """
    return put_in_place(out, content(open_house(front, pictures, theme, icons)))


def page(
    front: FrontOfHouse, pictures: Mapping[PhotoKey, PictureSet], theme: ThemeFiles, path: str,
    icons: Sequence[tuple[str, bytes]] = (),
) -> bytes:  # fmt: skip
    """Return one page of the site as it would be. Raises Fault for anything wrong, or if there's none."""
    for sheet in content(open_house(front, pictures, theme, icons)).sheets:
        if sheet.path == path:
            return sheet.make().content
    raise Fault(f"the site has no page {path} yet: what is still to be filled in waits")


def rehearse(front: FrontOfHouse, theme: ThemeFiles) -> Iterator[Fault]:
    """Yield everything that would stop a build, its photographs apart; nothing is written.

    A page is set by the very code that the build sets it with. Of pages that differ only in plain values (a
    thousand pieces, say) the first is set, and every one with a link in the artist's words.
    """
    if taken := [page for page in front.pages if page.name in addresses.TAKEN]:
        yield from map(name_taken, taken)
        return
    try:
        whole = content(open_house(front, {}, theme))
        check_names(sheet.path for sheet in whole.sheets)
    except Fault as fault:
        yield fault
        return
    linked = {addresses.piece(piece.slug) for piece in front.pieces if _LINK.search(piece.story)}
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
