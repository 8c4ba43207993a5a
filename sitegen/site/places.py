"""Where the site lies, and what a build keeps beside it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

PICTURES = "pictures"


@dataclass(frozen=True)
class Places:
    """Where everything lies."""

    out: Path

    @property
    def site(self) -> Path:
        """The site that visitors get."""
        return self.out / "site"

    @property
    def new(self) -> Path:
        """What is to be put there: by number, or a whole site if there's none yet."""
        return self.out / ".site-new"

    @property
    def old(self) -> Path:
        """What was there before, by number, as long as a change can be turned back."""
        return self.out / ".site-before"

    @property
    def aside(self) -> Path:
        """Where earlier releases moved the whole site; a run of theirs may have been killed."""
        return self.out / ".site-old"

    @property
    def change(self) -> Path:
        """The change that is being made. Its presence says that all of `new` is ready."""
        return self.out / ".site-change.json"

    @property
    def part(self) -> Path:
        """A picture on its way to its shelf."""
        return self.out / ".site-part"

    @property
    def manifest(self) -> Path:
        """What lies in `site`, so that the next run needn't read it all."""
        return self.out / ".site-manifest.json"

    @property
    def own(self) -> Path:
        """Which files in `site` a build wrote; nothing else there is ever changed or deleted."""
        return self.out / ".site-own"
