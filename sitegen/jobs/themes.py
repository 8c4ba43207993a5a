"""Find what is wrong with the theme, or with what studio.yaml chose of it, before anything is built."""

from __future__ import annotations

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
        key = getattr(fault, "key", "theme")
        return Complaint("studio.yaml", line_in(folder / "studio.yaml", [key]), words.removeprefix(_OURS))
    file, _, rest = words.partition(": ")
    return Complaint(f"themes/{file}", 0, rest)
