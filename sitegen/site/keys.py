"""What a page depends on, as a digest: pages with the key of last time needn't be set again.

A page's key covers its leaf and everything that all pages share: the code, the theme's templates and words,
the studio's card, the versions of the libraries that write. It can't cover what a template asks of the world
outside, so a template must draw on nothing else.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import replace
from importlib.metadata import version
from pathlib import Path
from types import ModuleType

from sitegen import studio, voice
from sitegen.site.house import House
from sitegen.site.leaf import Later, Leaf
from sitegen.site.setting import shared
from sitegen.site.theme import TEMPLATES
from sitegen.voice.theme_files import ThemeFiles

_LIBRARIES = ("babel", "jinja2", "markdown", "markupsafe")
_NOT_TEMPLATES = ("style.css", "static")


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
    files = sorted(one for one in place.rglob("*") if one.is_file()) if place.is_dir() else [place]
    whole = hashlib.sha256()
    for file in files:
        if "__pycache__" not in file.parts:
            content = file.read_bytes()
            whole.update(f"{file.relative_to(place.parent).as_posix()} {len(content)} ".encode())
            whole.update(content)
    return whole.hexdigest()
