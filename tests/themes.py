"""The themes, as the program finds them."""

from __future__ import annotations

from pathlib import Path

import pytest

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

EACH = pytest.mark.parametrize("theme", ALL, ids=lambda theme: theme.name)
# Every theme and every paper has its turn; the other pairs in the long form.
ON_PAPER = pytest.mark.parametrize(
    ("theme", "paper"),
    [
        pytest.param(theme, paper, id=f"{theme.name}-{paper}", marks=[pytest.mark.long] * (turn % 2))
        for number, theme in enumerate(ALL)
        for turn, paper in enumerate(("a4", "letter"), number)
    ],
)
