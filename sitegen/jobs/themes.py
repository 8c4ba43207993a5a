"""Find what is wrong with the theme, or with what studio.yaml chose of it, before anything is built."""

from __future__ import annotations

import re
from pathlib import Path

from sitegen.jobs.place import find_theme
from sitegen.sources import Complaint, line_in
from sitegen.studio.fault import Fault
from sitegen.studio.settings import Settings

_OURS = "studio.yaml: "


def complaint_of(folder: Path, settings: Settings) -> Complaint | None:
    """Return what is wrong with theme, accent or options, or None if a site can be built with them."""
    from sitegen.site import examine_theme

    try:
        examine_theme(find_theme(folder, settings.theme), settings.accent, settings.theme_options)
    except Fault as fault:
        return placed(folder, fault)
    return None


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
