"""Files that a browser brings: kept in a private place until their form is done, so none is sent twice."""

from __future__ import annotations

import re
import secrets
import shutil
from pathlib import Path, PurePosixPath, PureWindowsPath

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData, UploadFile

_PLACE = ".incoming"
_TOKEN = re.compile(r"[A-Za-z0-9_-]{12,}")


def place_of(folder: Path, token: str) -> Path:
    """Return where the files of one form lie."""
    return folder / "out" / _PLACE / token


async def keep(folder: Path, form: FormData, field: str) -> tuple[str, tuple[Path, ...]]:
    """Keep what a form brings beside what an earlier try of it brought; return its word, and the files.

    Files keep their own names, each in a folder of its own, in the order in which they were chosen.
    """
    given = form.get("kept")
    token = given if isinstance(given, str) and _TOKEN.fullmatch(given) else secrets.token_urlsafe(12)
    place = place_of(folder, token)
    for upload in form.getlist(field):
        if isinstance(upload, UploadFile) and upload.filename:
            await run_in_threadpool(_put, upload, place)
    return token, kept(folder, token)


def kept(folder: Path, token: str) -> tuple[Path, ...]:
    """Return the files kept under a word, in their order."""
    if not _TOKEN.fullmatch(token):
        return ()
    return tuple(sorted(place_of(folder, token).glob("*/*")))


def let_go(folder: Path, token: str) -> None:
    """Take the files of a form away: they are where they belong."""
    if _TOKEN.fullmatch(token):
        shutil.rmtree(place_of(folder, token), ignore_errors=True)


def sweep(folder: Path) -> None:
    """Take away what forms left that were never sent."""
    shutil.rmtree(folder / "out" / _PLACE, ignore_errors=True)


def _put(upload: UploadFile, place: Path) -> None:
    place.mkdir(mode=0o700, parents=True, exist_ok=True)
    spot = place / f"{len(list(place.iterdir())):03}"
    spot.mkdir()
    # The last part of its name as any system writes it, without what a file's name can't hold.
    last = PureWindowsPath(PurePosixPath(upload.filename or "").name).name
    name = re.sub(r'[\x00-\x1f<>:"/\\|?*]', "", last).strip(". ")[-100:] or "file"
    with (spot / name).open("wb") as file:
        shutil.copyfileobj(upload.file, file)
