"""What is wrong with the theme or its words, at the file and line where it can be mended."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

from sitegen.sources.complaints import Complaint, Notebook
from sitegen.sources.text import read_text
from sitegen.sources.yaml_text import read_yaml
from sitegen.studio.fault import Fault

_OURS = "studio.yaml: "


def placed(folder: Path, fault: Fault) -> Complaint:
    """Give a theme's fault its file, and the line where it is one of studio.yaml."""
    words = str(fault)
    if words.startswith(_OURS):
        words = words.removeprefix(_OURS)
        key = getattr(fault, "key", "language" if "language" in words else "theme")
        return Complaint("studio.yaml", line_in(folder / "studio.yaml", [key]), words)
    found = re.match(r"(?P<file>[^:,]+)(?:, line (?P<line>[0-9]+))?: ", words)
    if found is None:
        return Complaint("studio.yaml", 0, words)
    ours = found["file"].startswith(("pages/", "pieces/", "shows/", "themes/"))
    file = found["file"] if ours else f"themes/{found['file']}"
    return Complaint(file, int(found["line"] or 0), words[found.end() :])


def line_in(file: Path, path: Sequence[str | int]) -> int:
    """Return the line of a YAML file in which the deepest part of `path` stands; 0 if it can't be read."""
    notes = Notebook(file.name)
    text = read_text(file, notes)
    written = read_yaml(text, notes) if text is not None else None
    return written.line(path) if written is not None else 0
