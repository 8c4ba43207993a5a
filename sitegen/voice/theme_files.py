"""The files of a theme: its own, then those of the theme it is like, then those that all themes share."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import yaml

from sitegen.carried import carried
from sitegen.studio.asked import Fault

Tree = Mapping[str, Any]

# Folder of what all themes share, below the carried themes.
BASE = "base"
_ABOUT = "theme.yaml"
# A few builds of PyYAML come without the C parser, which takes a tenth of the time.
_LOADER: Any = getattr(yaml, "CBaseLoader", yaml.BaseLoader)


@dataclass(frozen=True, slots=True)
class ThemeFiles:
    """One theme, spread over folders; the first folder that has a file wins."""

    folders: tuple[Path, ...]  # the theme's own folder first

    @property
    def name(self) -> str:
        """The theme's name: that of its own folder."""
        return self.folders[0].name

    def below(self, room: str) -> tuple[Path, ...]:
        """Return the folders called `room` (site, letters, paper, words) that there are."""
        return tuple(folder / room for folder in self.folders if (folder / room).is_dir())

    def find(self, inside: str) -> Path | None:
        """Find a file by its path inside a theme, like `site/style.css`."""
        return next((folder / inside for folder in self.folders if (folder / inside).is_file()), None)

    def file(self, inside: str) -> Path:
        """Find a file that has to be there. Raises Fault."""
        if found := self.find(inside):
            return found
        raise Fault(f"{self.name}/{inside}: the theme has no such file; copy it from another theme")

    def all_below(self, room: str) -> Mapping[str, Path]:
        """Return each file below `room` by its path inside it; the first folder that has one wins."""
        found: dict[str, Path] = {}
        for folder in reversed(self.below(room)):
            for file in folder.rglob("*"):
                if file.is_file():
                    found[file.relative_to(folder).as_posix()] = file
        return dict(sorted(found.items()))

    def tree(self, files: Sequence[Path]) -> Tree:
        """Return what YAML files of the theme say, each laid over those behind it. Raises Fault."""
        whole: Tree = {}
        for file in reversed(files):
            shown = self.shown(file)
            try:
                tree = _tree(file.read_text("utf-8"))
            except (yaml.YAMLError, UnicodeDecodeError) as error:
                mark = getattr(error, "problem_mark", None)
                line = f", line {mark.line + 1}" if mark else ""
                raise Fault(
                    f"{shown}{line}: this isn't readable YAML; put words with a colon in quotes"
                ) from error
            if not isinstance(tree, Mapping):
                raise Fault(f"{shown}: this should be a list of name: value lines")
            whole = _laid_over(whole, tree)
        return whole

    def shown(self, file: Path) -> str:
        """Name a file as the artist knows it: the theme's folder, and what lies below it."""
        for folder in self.folders:
            if file.is_relative_to(folder):
                return f"{folder.name}/{file.relative_to(folder).as_posix()}"
        return file.as_posix()


def _laid_over(under: Tree, over: Tree) -> Tree:
    """Return what `under` says, with what `over` says otherwise."""
    blocks = {key for key in under if isinstance(under[key], Mapping) and isinstance(over.get(key), Mapping)}
    return {
        key: _laid_over(under[key], over[key]) if key in blocks else value
        for key, value in {**under, **over}.items()
    }


def find_theme(studio: Path, name: str) -> ThemeFiles:
    """Return a theme's files: those in the studio's own themes/NAME come before the carried ones.

    A theme that says `like: OTHER` takes from that one what it hasn't, and every theme from `base`.
    Raises Fault.
    """
    folders: list[Path] = []
    while name and all(folder.name != name for folder in folders):
        folders += _folders_of(studio, name)
        try:
            liked = _tree((folders[-1] / _ABOUT).read_text("utf-8")).get("like")
        except (OSError, UnicodeDecodeError, yaml.YAMLError, AttributeError):
            liked = ""
        name = liked if isinstance(liked, str) else ""
    return ThemeFiles((*folders, *shared().folders))


def shared() -> ThemeFiles:
    """Return the files that all themes share."""
    return ThemeFiles((carried("themes") / BASE,))


def _folders_of(studio: Path, name: str) -> list[Path]:
    """Return a theme's folders; only the last of them has to say what it is.

    The studio's own folder may hold no more than other words for a carried theme.
    """
    own, ours = studio / "themes", carried("themes")
    if not re.fullmatch(r"[A-Za-z0-9_-]+", name):
        raise Fault(f"studio.yaml: theme '{name}' is not a folder's name; use letters, digits and hyphens")
    if (own / name / _ABOUT).is_file():
        return [own / name]
    if (ours / name / _ABOUT).is_file():
        return [root / name for root in (own, ours) if (root / name).is_dir()]
    from sitegen.studio.fields import not_one_of  # noqa: PLC0415 (slow to load)

    raise Fault(f"studio.yaml: theme {not_one_of(name, themes_of(studio))}")


def themes_of(studio: Path) -> list[str]:
    """Name the themes that a studio can have."""
    roots = studio / "themes", carried("themes")
    return sorted({file.parent.name for root in roots for file in root.glob(f"*/{_ABOUT}")})


@lru_cache(maxsize=16)  # a studio's reading, its pages, letters and papers ask for the same words
def _tree(text: str) -> Any:
    """Return what the text of a theme's YAML file says. Raises yaml.YAMLError."""
    return yaml.load(text, Loader=_LOADER)  # noqa: S506 (a base loader makes only text)
