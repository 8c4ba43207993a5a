"""The work on one photo, as it is done in another process: read, hash, look in the cache, else make."""

import hashlib
import time
from dataclasses import dataclass
from pathlib import Path

from sitegen.pictures.cutting import cut
from sitegen.pictures.developing import develop
from sitegen.pictures.index import Signature
from sitegen.pictures.opening import UnreadablePhoto, open_photo, read_photo
from sitegen.pictures.pack import BadPack, pack_path, read_manifest, signature, write_pack
from sitegen.pictures.recipe import key_of


@dataclass(frozen=True, slots=True)
class Task:
    """Ask for the pack of one photo."""

    path: Path
    focus: tuple[float, float] | None
    detail: bool
    cache: Path
    limit_megapixels: float


@dataclass(frozen=True, slots=True)
class Done:
    """Tell where the pack is and what was seen on the way."""

    task: Task
    digest: str
    # Of the photo before it was read, and the time then, in ns.
    seen: Signature
    at_ns: int
    key: str
    manifest: str
    made: bool


@dataclass(frozen=True, slots=True)
class Failed:
    """Tell why there is no pack."""

    task: Task
    message: str


def work(task: Task) -> Done | Failed:
    """Do one task; whatever is wrong with the photo comes back as a sentence."""
    try:
        return _pack(task)
    except UnreadablePhoto as fault:
        return Failed(task, str(fault))
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        return Failed(task, f"the finished pictures can't be stored in {task.cache} ({reason})")


def _pack(task: Task) -> Done:
    at_ns = time.time_ns()
    seen = signature(str(task.path)) or (0, 0)
    content = read_photo(task.path)
    digest = hashlib.sha256(content).hexdigest()
    key = key_of(digest, task.focus, task.detail)
    path = pack_path(task.cache, key)
    try:
        return Done(task, digest, seen, at_ns, key, read_manifest(path, key), made=False)
    except BadPack:
        manifest = _make(content, task, path, key)
        return Done(task, digest, seen, at_ns, key, manifest, made=True)


def _make(content: bytes, task: Task, path: Path, key: str) -> str:
    with open_photo(content, task.limit_megapixels) as photo:
        developed = develop(photo)
    return write_pack(
        path, key, (developed.width, developed.height), cut(developed, task.focus, detail=task.detail)
    )
