"""The themes, as the program finds them."""

from __future__ import annotations

from pathlib import Path

from sitegen.carried import carried
from sitegen.voice.theme_files import BASE, ThemeFiles

FOLDER = carried("themes")
NAMES = tuple(sorted(file.parent.name for file in FOLDER.glob("*/theme.yaml")))


def theme_in(folder: Path) -> ThemeFiles:
    """Return the theme whose own files lie in `folder`."""
    return ThemeFiles((folder, FOLDER / BASE))


def theme_named(name: str) -> ThemeFiles:
    """Return one of the carried themes."""
    return theme_in(FOLDER / name)


ALL = tuple(theme_named(name) for name in NAMES)
