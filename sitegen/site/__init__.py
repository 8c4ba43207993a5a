"""The public view of a studio as a site: pages, feeds, calendars, structured data."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from sitegen.site.changing import Places
from sitegen.site.changing import recover as finish
from sitegen.site.faults import SiteFault
from sitegen.site.house import open_house
from sitegen.site.pages import content
from sitegen.site.press import Press
from sitegen.site.publishing import Built, publish
from sitegen.site.rehearsal import rehearse as _rehearse
from sitegen.site.theme import read_theme as examine_theme
from sitegen.studio.fault import Fault
from sitegen.studio.picture import PhotoKey, PictureSet
from sitegen.studio.public import FrontOfHouse
from sitegen.voice.theme_files import ThemeFiles

__all__ = ["Built", "SiteFault", "build", "examine_theme", "recover", "rehearse"]

# Templates as they were compiled, below the out folder.
_COMPILED = ".templates"


def build(
    front: FrontOfHouse,
    pictures: Mapping[PhotoKey, PictureSet],
    theme: ThemeFiles,
    out: Path,
    *,
    icons: Sequence[tuple[str, bytes]] = (),
) -> Built:
    """Compile the site into out/site, all of it or nothing; if nothing changed, nothing is written.

    `pictures` has the photos by (piece's slug, photo's file); a page goes without one that
    is missing.
    `theme` has the theme's files, `icons` are files for the site's root.
    Raises SiteFault, with the old site untouched, for anything wrong in the theme or in the way.
    """
    house = open_house(front, pictures, theme, tuple(name for name, _ in icons))
    whole = content(house, Press(theme, out / _COMPILED))
    return publish(out, replace(whole, files={**whole.files, **dict(icons)}))


def rehearse(front: FrontOfHouse, theme: ThemeFiles, out: Path) -> Iterator[Fault]:
    """Yield everything that would stop a build, its photographs apart; nothing is written."""
    return _rehearse(front, theme, out / _COMPILED)


def recover(out: Path) -> None:
    """Put a whole site into out/site if a killed build left none."""
    finish(Places(out))
