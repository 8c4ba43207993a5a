"""Put a studio into a new folder: the starter to fill in, or the demo to play with."""

from __future__ import annotations

import shutil
from pathlib import Path

from sitegen.carried import carried
from sitegen.disk.files import OWN_FILE
from sitegen.jobs.new_studio import new_studio
from sitegen.jobs.surroundings import IGNORE_FILE, IGNORED

# What lies in demo/ for its makers and not for its visitors, and what a build leaves behind.
_NOT_COPIED = shutil.ignore_patterns("out", "sent", "__pycache__", ".*")


def put(name: str, folder: Path) -> Path:
    """Copy the carried studio `name` ("content" or "demo") into `folder`, which must be new or empty.

    Raises StudioFault if there is anything in the folder: nothing of the artist's is ever overwritten.
    """
    with new_studio(folder) as making:
        shutil.copytree(carried(name), making, ignore=_NOT_COPIED, dirs_exist_ok=True)
        (making / IGNORE_FILE).write_text(IGNORED, "utf-8")
        for other_people in ("people.csv", "commissions.yaml"):
            (making / other_people).chmod(OWN_FILE)
    return folder
