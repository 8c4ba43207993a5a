"""A studio put into a new folder, all of it or nothing.

It's put together in a hidden folder inside, and moved up once it's whole, `studio.yaml` last. So a folder
that is there already stays the same (a terminal may stand in it), and a stopped run can be finished.
"""

from __future__ import annotations

import contextlib
import shutil
from collections.abc import Iterator
from pathlib import Path

from sitegen.disk import own_folder
from sitegen.sources import StudioFault

_MAKING, _WHOLE = ".making-studio", ".whole-studio"
_LAST = "studio.yaml"


@contextlib.contextmanager
def new_studio(folder: Path) -> Iterator[Path]:
    """Give a hidden folder to fill; what is in it when all went well becomes the studio `folder`.

    Raises StudioFault unless `folder` is new or empty: nothing of the artist's is ever overwritten.
    """
    made, making = not folder.exists(), folder / _MAKING
    if (folder / _WHOLE).is_dir():
        _move_up(folder)
        raise StudioFault(
            f"{folder}: an earlier run was stopped just before its end; that's made up for, and all is there"
        )
    shutil.rmtree(making, ignore_errors=True)
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise StudioFault(
            f"{folder} is not empty; name a new folder, so that nothing of yours is written over"
        )
    folder.mkdir(mode=0o755, parents=True, exist_ok=True)
    own_folder(making)
    try:
        yield making
        making.rename(folder / _WHOLE)
        _move_up(folder)
    finally:
        shutil.rmtree(making, ignore_errors=True)
        if made:
            with contextlib.suppress(OSError):  # it's filled
                folder.rmdir()


def _move_up(folder: Path) -> None:
    whole = folder / _WHOLE
    for one in sorted(whole.iterdir(), key=lambda one: one.name == _LAST):
        one.rename(folder / one.name)
    whole.rmdir()
