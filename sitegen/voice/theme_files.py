"""The files of a theme: its own, then those of the theme it is like, then those that all themes share."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from sitegen.voice.fault import ThemeFault


@dataclass(frozen=True, slots=True)
class ThemeFiles:
    """One theme, spread over folders; the first folder that has a file wins."""

    folders: tuple[Path, ...]
    """The theme's own folder first."""

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
        """Find a file that has to be there. Raises ThemeFault."""
        if found := self.find(inside):
            return found
        raise ThemeFault(f"{self.name}/{inside}: the theme has no such file; copy it from another theme")

    def all_below(self, room: str) -> Mapping[str, Path]:
        """Return each file below `room` by its path inside it; the first folder that has one wins."""
        found: dict[str, Path] = {}
        for folder in reversed(self.below(room)):
            for file in folder.rglob("*"):
                if file.is_file():
                    found[file.relative_to(folder).as_posix()] = file
        return dict(sorted(found.items()))

    def shown(self, file: Path) -> str:
        """Name a file as the artist knows it: the theme's folder, and what lies below it."""
        for folder in self.folders:
            if file.is_relative_to(folder):
                return f"{folder.name}/{file.relative_to(folder).as_posix()}"
        return file.as_posix()
