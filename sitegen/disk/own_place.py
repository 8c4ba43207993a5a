"""A folder of this user's own on this machine, for notes that belong to no studio."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from sitegen.disk.files import own_folder


def own_place() -> Path | None:
    """Return the folder, made if need be; None where it can't be trusted to be this user's alone."""
    user = os.getuid() if hasattr(os, "getuid") else os.environ.get("USERNAME", "me")
    place = Path(tempfile.gettempdir()) / f"sitegen-{user}"
    try:
        own_folder(place)
        # Others may write in the temporary folder too: what they laid there first isn't ours.
        mine = not hasattr(os, "getuid") or (place.lstat().st_uid == user and not place.is_symlink())
    except OSError:
        return None
    return place if mine else None
