"""pages/NAME.md: the artist's own words, one file a page."""

from __future__ import annotations

import re

from sitegen.sources.complaints import Notebook
from sitegen.studio.whole import Page


def read_page(name: str, text: str, notes: Notebook) -> Page | None:
    """Split a page into its title line and the rest."""
    lines = text.replace("\r\n", "\n").split("\n")
    first = next((n for n, line in enumerate(lines) if line.strip()), None)
    match = re.fullmatch(r"#\s+(.+?)\s*#*\s*", lines[first]) if first is not None else None
    if first is None or match is None:
        line = 1 if first is None else first + 1
        notes.error(line, "the page must start with its title, written like `# About the studio`")
        return None
    return Page(name=name, title=match[1], text="\n".join(lines[first + 1 :]).strip() + "\n")
