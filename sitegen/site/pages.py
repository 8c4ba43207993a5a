"""All files of the site, in order, and what each depends on: one with the key of last time isn't set again.

A page's key covers its leaf and everything that all pages share: the code, the theme's templates and words,
the studio's card, the versions of the libraries that write. It can't cover what a template asks of the world
outside, so a template must draw on nothing else.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import partial
from importlib.metadata import version
from pathlib import Path
from types import ModuleType

from sitegen import studio, voice
from sitegen.site import addresses
from sitegen.site.addresses import Known
from sitegen.site.house import Content, House, MadeSheet, Sheet, Shelf
from sitegen.site.machines import calendars, feeds, headers, robots, sitemap, write
from sitegen.site.rooms import leaves
from sitegen.site.setting import Press, moved, set_leaf, shared
from sitegen.site.theme import FONTS, TEMPLATES, fonts_of
from sitegen.studio.asked import Fault
from sitegen.voice.theme_files import ThemeFiles

_STYLE_SOURCES = "faces.css", "style.css"


def content(house: House) -> Content:
    """Return the whole site: pages, feeds, calendars, pictures, the theme's own files, icons for its root."""
    pages, theme, fixed = list(leaves(house)), house.theme, shared(house)
    known = Known((leaf.path for leaf in pages), house.front.pending)
    press = Press(theme.files, fixed)
    files = {
        addresses.SITEMAP: sitemap(house, pages),
        addresses.ROBOTS: robots(house),
        addresses.HEADERS: headers(house),
        addresses.STYLE: _style(house),
        **dict(calendars(house)),
        **dict(moved(house, press)),
        **{name: file.read_bytes() for name, file in theme.files.all_below(f"{TEMPLATES}/static").items()},
        **{theme.fonts[name]: file.read_bytes() for name, file in fonts_of(theme.files).items()},
        **dict(house.icons),
    }
    common = digest(*_common(house, fixed))
    sheets = [
        Sheet(
            leaf.path, digest(common, repr(leaf), repr(leaf.shot or house.face)),
            partial(set_leaf, house, press, known, leaf),
        )
        for leaf in pages
    ]  # fmt: skip
    sheets += [
        Sheet(feed.path, digest(common, repr(feed)), partial(write, house, known, feed))
        for feed in feeds(house)
    ]
    sheets += [
        Sheet(path, hashlib.sha256(body).hexdigest(), partial(MadeSheet, body))
        for path, body in files.items()
    ]
    shelves = (
        Shelf(exhibit.piece.slug, digest(*(shot.mark for shot in exhibit.shots)), exhibit.renditions)
        for exhibit in house.every if exhibit.shots
    )  # fmt: skip
    return Content(tuple(sheets), tuple(shelves), known.look)


def _style(house: House) -> bytes:
    """Put the style together; a rule for each shape of picture in use, so that no page needs inline style."""
    theme, shots = house.theme, [shot for exhibit in house.every for shot in exhibit.shots]
    shapes = {round(ratio * 1000) for shot in shots for ratio in (shot.ratio, shot.card_ratio)}
    rules = ""
    for name in _STYLE_SOURCES:
        if file := theme.files.find(f"{TEMPLATES}/{name}"):
            try:
                rules += file.read_text("utf-8")
            except (OSError, UnicodeDecodeError) as error:
                raise Fault(f"{theme.files.shown(file)}: the theme's style can't be read") from error
    for name, path in theme.fonts.items():
        rules = rules.replace(f'"{name}"', f'"{path}"')
    ratios = "".join(f".r{shape}{{--r:{shape / 1000:g}}}\n" for shape in sorted(shapes))
    return (theme.colours() + ratios + rules).encode("utf-8")


def _common(house: House, fixed: Mapping[str, object]) -> Iterator[str]:
    yield from map(version, ("babel", "jinja2", "markdown", "markupsafe"))
    yield from (_of_folder(Path(code).parent) for code in (__file__, studio.__file__, voice.__file__))
    for name, file in house.theme.files.all_below(TEMPLATES).items():
        if name.split("/")[0] not in (*_STYLE_SOURCES, FONTS, "static"):
            yield f"{name} {_of_folder(file)}"
    yield repr(replace(house.theme, files=ThemeFiles((Path(house.theme.files.name),))))
    yield repr(sorted(house.voice.words.sentences.items()))
    tongue, icons = house.voice.tongue, tuple(name for name, _ in house.icons)
    yield repr((str(tongue.locale), tongue.currency, tongue.digits, icons))
    # Functions and modules are covered by the code; their text would hold an address in memory.
    code = [name for name, value in fixed.items() if callable(value) or isinstance(value, ModuleType)]
    plain = {name: value for name, value in fixed.items() if name not in code}
    yield repr(plain)


def _of_folder(place: Path) -> str:
    """Return a digest of a file, or of all files below a folder, names and bytes."""
    files = sorted(path for path in place.rglob("*") if path.is_file()) if place.is_dir() else [place]
    ours = [file for file in files if "__pycache__" not in file.parts]
    names = (file.relative_to(place.parent).as_posix() for file in ours)
    return digest(*names, *(hashlib.sha256(file.read_bytes()).hexdigest() for file in ours))


def digest(*texts: str) -> str:
    """Return the SHA-256 of texts in a row; other texts, or other cuts between them, have another one."""
    whole = hashlib.sha256()
    for text in texts:
        content = text.encode("utf-8", "surrogatepass")
        whole.update(b"%d " % len(content))
        whole.update(content)
    return whole.hexdigest()
