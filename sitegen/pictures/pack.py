"""A pack: all renditions of one photo in one cached file that proves itself.

One file a photo, because a build with nothing changed has to look at every entry, and 4,000 packs are looked
at in a tenth of the time that their 40,000 renditions would take.

    sitegen pictures 2 SHA-256-OF-THE-REST LENGTH-OF-THE-MANIFEST, a line feed,
    the manifest, the renditions end to end

The manifest is "KEY WIDTH HEIGHT WIDTH HEIGHT" of the upright original and of its widest card, then for each
rendition ";USE,USE MIME WIDTH HEIGHT BYTES HASH": plain words, as thousands are read in a build that changes
nothing.
"""

import hashlib
import os
from collections.abc import Sequence
from pathlib import Path

from sitegen.pictures.cutting import CARD, FULL, SOCIAL, Part
from sitegen.pictures.files import keep
from sitegen.pictures.recipe import EXTENSIONS
from sitegen.pictures.values import PictureSet, Rendition, Shape

_MAGIC = b"sitegen pictures 2"
_HEAD = len(_MAGIC) + 1 + 64 + 1 + 8 + 1
# Hexadecimal digits of a rendition's SHA-256 in its public name: 40 bits tell apart what one photo ever was.
_SHORT = 10


class BadPack(Exception):
    """Tell that a cached file is cut short, changed or not what its name says."""


def pack_path(cache: Path, key: str) -> Path:
    """Return where the pack of this key lies."""
    return cache / key[:2] / f"{key}.pack"


def parts_folder(cache: Path) -> Path:
    """Return where packs are written before they are complete."""
    return cache / "parts"


def write_pack(path: Path, key: str, size: tuple[int, int], parts: Sequence[Part]) -> str:
    """Write a pack and return its manifest; raises OSError."""
    manifest = _manifest(key, size, parts)
    encoded = manifest.encode()
    digest = hashlib.sha256(encoded)
    for part in parts:
        digest.update(part.content)
    head = b"%s %s %08d\n" % (_MAGIC, digest.hexdigest().encode(), len(encoded))
    keep(path, [head, encoded, *(part.content for part in parts)], parts=parts_folder(path.parent.parent))
    return manifest


def read_manifest(path: Path, key: str) -> str:
    """Return the manifest of a pack that was read whole and found sound; raises BadPack."""
    try:
        content = path.read_bytes()
    except OSError as error:
        raise BadPack(str(error)) from error
    head, rest = content[:_HEAD], memoryview(content)[_HEAD:]
    magic, digest, length = head[: len(_MAGIC)], head[-74:-10], head[-9:]
    if magic != _MAGIC or hashlib.sha256(rest).hexdigest().encode() != digest:
        raise BadPack("cut short or changed")
    manifest = bytes(rest[: int(length)]).decode()
    if not manifest.startswith(f"{key} "):
        raise BadPack("belongs to another photo")
    return manifest


def unpack(manifest: str, path: Path, stem: str) -> PictureSet:
    """Return the pictures of a pack under their public names."""
    about, *rows = manifest.split(";")
    uses: dict[str, list[Rendition]] = {FULL: [], CARD: [], SOCIAL: []}
    offset = _HEAD + len(manifest)
    for row in rows:
        for_what, mime, width, height, size, short = row.split(" ")
        name = f"{stem}-{width}-{short}{EXTENSIONS[mime]}"
        rendition = Rendition(mime, int(width), int(height), name, int(size), path, offset)
        offset += rendition.size
        for use in for_what.split(","):
            uses[use].append(rendition)
    _, width, height, *_ = about.split(" ")
    return PictureSet(int(width), int(height), tuple(uses[FULL]), tuple(uses[CARD]), uses[SOCIAL][0])


def shape_of(manifest: str) -> Shape:
    """Return the shape of a pack's photo and of its card, without putting the set together."""
    _, width, height, across, down = manifest.partition(";")[0].split(" ")
    return Shape(int(width) / int(height), int(across) / int(down))


def signature(path: str) -> tuple[int, int] | None:
    """Return modification time in ns and size in bytes of a file; None if there is no such file."""
    try:
        stat = os.stat(path)  # noqa: PTH116  called thousands of times: a Path would double the time
    except OSError:
        return None
    return stat.st_mtime_ns, stat.st_size


def _manifest(key: str, size: tuple[int, int], parts: Sequence[Part]) -> str:
    across, down = max((part.width, part.height) for part in parts if CARD in part.uses)
    return ";".join((f"{key} {size[0]} {size[1]} {across} {down}", *map(_row, parts)))


def _row(part: Part) -> str:
    uses, size, short = ",".join(part.uses), len(part.content), _short(part.content)
    return f"{uses} {part.mime} {part.width} {part.height} {size} {short}"


def _short(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()[:_SHORT]
