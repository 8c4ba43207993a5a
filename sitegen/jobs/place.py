"""Where things are: the studio's folder, its output, its theme; and what day it is there."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from sitegen.carried import carried
from sitegen.studio.fault import Fault


class PlaceFault(Fault):
    """There is no studio, theme or day where one was looked for."""


def find_studio(asked: Path | None) -> Path:
    """Return the studio's folder: the one asked for, else ./content, else here.

    Raises PlaceFault when there is no studio.yaml in it.
    """
    candidates = [Path("content"), Path()] if asked is None else [asked]
    for folder in candidates:
        if (folder / "studio.yaml").is_file():
            return folder
    if asked is None:
        raise PlaceFault(
            "there is no studio here: no content/studio.yaml and no studio.yaml. Go to your studio's folder, "
            "name it with --studio DIR, or make one with `sitegen begin DIR`"
        )
    if not asked.is_dir():
        raise PlaceFault(f"there is no folder {asked}; `sitegen begin {asked}` makes a studio there")
    raise PlaceFault(
        f"{asked} holds no studio.yaml; `sitegen begin DIR` puts a starter studio in a new folder DIR"
    )


def find_theme(studio: Path, name: str) -> Path:
    """Return a theme's folder: the studio's own themes/NAME, else the carried one."""
    own, ours = studio / "themes", carried("themes")
    if not re.fullmatch(r"[A-Za-z0-9_-]+", name):
        raise PlaceFault(
            f"studio.yaml: theme '{name}' is not a folder's name; use letters, digits and hyphens"
        )
    for root in (own, ours):
        if (root / name / "theme.yaml").is_file():
            return root / name
    from sitegen.studio.fields import not_one_of

    known = sorted({file.parent.name for root in (own, ours) for file in root.glob("*/theme.yaml")})
    raise PlaceFault(f"studio.yaml: theme {not_one_of(name, known)}")


def moment_in(zone: ZoneInfo, pretended: str | None) -> datetime:
    """Return the present moment in the studio's zone, or the one to pretend.

    `pretended` is a date (noon is meant) or a date with a time, in the studio's zone.
    """
    if pretended is None:
        return datetime.now(UTC).astimezone(zone)
    text = pretended if len(pretended) > len("2027-01-16") else f"{pretended} 12:00"
    try:
        return datetime.fromisoformat(text).replace(tzinfo=zone)
    except ValueError:
        raise PlaceFault(
            f"--today '{pretended}' is no date; write it like 2027-01-16 or '2027-01-16 12:00'"
        ) from None
