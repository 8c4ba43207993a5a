"""Every page of the site, in order, and what each depends on: one with the key of last time isn't set again.

A page's key covers its leaf and everything that all pages share: the code, the theme's templates and words,
the studio's card, the versions of the libraries that write. It can't cover what a template asks of the world
outside, so a template must draw on nothing else.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from functools import partial
from importlib.metadata import version
from pathlib import Path
from types import ModuleType

from sitegen import studio, voice
from sitegen.site import addresses
from sitegen.site.addresses import Known
from sitegen.site.content import Content, Later, Leaf, Sheet, Shelf, ready
from sitegen.site.feeds import feeds, robots, sitemap, write
from sitegen.site.gallery import gallery, moved, pieces
from sitegen.site.head import headers
from sitegen.site.house import House
from sitegen.site.own import commissions, home, kept_terms, letters, lost, own_pages, shows
from sitegen.site.setting import Press, set_leaf, shared
from sitegen.site.shown import Exhibit, ratio_styles
from sitegen.site.theme import FONTS, TEMPLATES, fonts_of
from sitegen.studio.fault import Fault
from sitegen.studio.public import RoundState
from sitegen.voice.calendar import Event, calendar, round_events, show_events
from sitegen.voice.theme_files import ThemeFiles

_ROOMS: tuple[Callable[[House], Iterator[Leaf | Later]], ...] = (
    home, gallery, pieces, commissions, shows, letters, own_pages, kept_terms, lost,
)  # fmt: skip
_STYLE_SOURCES = "faces.css", "style.css"
_STATIC = f"{TEMPLATES}/static"


def content(house: House, press: Press, icons: Iterable[tuple[str, bytes]] = ()) -> Content:
    """Return the whole site: pages, feeds, calendars, pictures, the theme's own files, icons for its root."""
    leaves = [leaf for room in _ROOMS for leaf in room(house)]
    known = Known(frozenset(leaf.path for leaf in leaves), house.front.pending)
    files = {
        addresses.SITEMAP: sitemap(house, leaves),
        addresses.ROBOTS: robots(house),
        addresses.HEADERS: headers(house),
        addresses.STYLE: _style(house),
        **dict(calendars(house)),
        **dict(moved(house)),
        **{name: file.read_bytes() for name, file in house.theme.files.all_below(_STATIC).items()},
        **_fonts(house),
        **dict(icons),
    }
    sheets = _sheets(house, press.lay_out(shared(house)), known, leaves)
    return Content(
        sheets=(*sheets, *(ready(path, content) for path, content in files.items())),
        shelves=tuple(_shelf(one) for one in house.every if one.shots),
        find=known.look,
    )


def _sheets(house: House, press: Press, known: Known, leaves: Iterable[Leaf | Later]) -> Iterator[Sheet]:
    common = common_key(house)
    for leaf in leaves:
        make = partial(set_leaf, house, press, known, leaf)
        yield Sheet(leaf.path, leaf_key(common, house, leaf), make)
    for feed in feeds(house):
        yield Sheet(feed.path, digest(common, repr(feed)), partial(write, house, known, feed))


def _shelf(one: Exhibit) -> Shelf:
    key = digest(*(shot.mark for shot in one.shots))
    return Shelf(
        one.piece.slug, key, lambda: tuple(picture for shot in one.shots for picture in shot.renditions)
    )


def _style(house: House) -> bytes:
    found = [house.theme.files.find(f"{TEMPLATES}/{name}") for name in _STYLE_SOURCES]
    rules = "".join(_rules(house, file) for file in found if file)
    for name, path in house.theme.fonts.items():
        rules = rules.replace(f'"{name}"', f'"{path}"')
    return (house.theme.colours() + ratio_styles(house.every) + rules).encode("utf-8")


def _rules(house: House, file: Path) -> str:
    try:
        return file.read_text("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise Fault(f"{house.theme.files.shown(file)}: the theme's style can't be read") from error


def _fonts(house: House) -> dict[str, bytes]:
    files, paths = fonts_of(house.theme.files), house.theme.fonts
    return {paths[f"{FONTS}/{name}"]: file.read_bytes() for name, file in files.items()}


def calendars(house: House) -> Iterator[tuple[str, bytes]]:
    """Yield path and bytes of each calendar file: what is still to come, and all of it to subscribe to."""
    card, voice = house.front.card, house.voice
    dated: tuple[Event, ...] = ()
    for show in house.front.shows:
        if show.coming:
            dated += (events := show_events(voice, card, show))
            yield addresses.show_calendar(show.slug), calendar(events, card)
    for one in house.front.rounds:
        if one.state is not RoundState.CLOSED:
            dated += (events := round_events(voice, card, one))
            yield addresses.round_calendar(one.slug), calendar(events, card)
    if dated:
        yield addresses.DATES, calendar(dated, card)


_LIBRARIES = ("babel", "jinja2", "markdown", "markupsafe")
_NOT_TEMPLATES = (*_STYLE_SOURCES, FONTS, "static")


def common_key(house: House) -> str:
    """Return the digest of what all pages share."""
    return digest(*_common(house))


def leaf_key(common: str, house: House, leaf: Leaf | Later) -> str:
    """Return the digest of what one page depends on."""
    if isinstance(leaf, Later):
        return digest(common, leaf.path, repr(leaf.inputs))
    return digest(common, repr(leaf), repr(leaf.shot or house.face))


def digest(*texts: str) -> str:
    """Return the SHA-256 of texts in a row; other texts, or other cuts between them, have another one."""
    whole = hashlib.sha256()
    for text in texts:
        content = text.encode("utf-8", "surrogatepass")
        whole.update(b"%d " % len(content))
        whole.update(content)
    return whole.hexdigest()


def _common(house: House) -> Iterator[str]:
    yield from map(version, _LIBRARIES)
    yield from map(_of_folder, _code())
    yield from (f"{name} {_of_folder(file)}" for name, file in _templates(house))
    yield repr(replace(house.theme, files=ThemeFiles((Path(house.theme.files.name),))))
    yield repr(sorted(house.words.sentences.items()))
    yield repr((str(house.tongue.locale), house.tongue.currency, house.tongue.digits, house.icons))
    # Functions and modules are covered by the code; their text would hold an address in memory.
    yield repr({name: value for name, value in shared(house).items() if not _is_code(value)})


def _is_code(value: object) -> bool:
    return callable(value) or isinstance(value, ModuleType)


def _code() -> tuple[Path, ...]:
    return Path(__file__).parent, Path(studio.__file__).parent, Path(voice.__file__).parent


def _templates(house: House) -> Iterator[tuple[str, Path]]:
    for name, file in house.theme.files.all_below(TEMPLATES).items():
        if name.split("/")[0] not in _NOT_TEMPLATES:
            yield name, file


def _of_folder(place: Path) -> str:
    """Return a digest of a file, or of all files below a folder, names and bytes."""
    files = sorted(path for path in place.rglob("*") if path.is_file()) if place.is_dir() else [place]
    whole = hashlib.sha256()
    for file in files:
        if "__pycache__" not in file.parts:
            content = file.read_bytes()
            whole.update(f"{file.relative_to(place.parent).as_posix()} {len(content)} ".encode())
            whole.update(content)
    return whole.hexdigest()
