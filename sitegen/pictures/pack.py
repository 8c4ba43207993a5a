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
from functools import cached_property, partial
from pathlib import Path
from typing import Any

from sitegen.disk import write_whole
from sitegen.pictures.cutting import CARD, FULL, SOCIAL, Section
from sitegen.pictures.recipe import EXTENSIONS
from sitegen.studio.picture import PictureSet, Rendition

_MAGIC = b"sitegen pictures 2"
_HEAD = len(_MAGIC) + 1 + 64 + 1 + 8 + 1
# Hexadecimal digits of a rendition's SHA-256 in its public name: 40 bits tell apart what one photo ever was.
_SHORT = 10


class BadPack(Exception):
    """Tell that a cached file is cut short, changed or not what its name says."""


def pack_path(cache: Path, key: str) -> str:
    """Return where the pack of this key lies, as text: making a Path takes longer than a look at it."""
    return f"{cache}{os.sep}{key[:2]}{os.sep}{key}.pack"


def parts_folder(cache: Path) -> Path:
    """Return where packs are written before they are complete."""
    return cache / "parts"


def write_pack(path: str | Path, key: str, size: tuple[int, int], parts: Sequence[Section]) -> str:
    """Write a pack and return its manifest; raises OSError."""
    manifest = _manifest(key, size, parts)
    encoded = manifest.encode()
    digest = hashlib.sha256(encoded)
    for part in parts:
        digest.update(part.content)
    head = b"%s %s %08d\n" % (_MAGIC, digest.hexdigest().encode(), len(encoded))
    keep(Path(path), [head, encoded, *(part.content for part in parts)])
    return manifest


def keep(target: Path, content: Sequence[bytes]) -> None:
    """Put a pack in its place in one step; raises OSError.

    Windows refuses while another program has `target` open; if another build has written the same bytes
    there, its file is as good as ours.
    """
    parts = parts_folder(target.parent.parent)
    for needed in (parts, target.parent):
        needed.mkdir(parents=True, exist_ok=True)
    try:
        write_whole(target, content, lasting=False, parts=parts)
    except PermissionError:
        if not target.is_file() or target.read_bytes() != b"".join(content):
            raise


def read_manifest(path: str | Path, key: str) -> str:
    """Return the manifest of a pack that was read whole and found sound; raises BadPack."""
    try:
        content = Path(path).read_bytes()
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


class Packed(PictureSet):
    """A set out of a pack, put together when it's asked for: most builds ask for a few among thousands."""

    def __init__(self, key: str, manifest: str, path: str, stem: str) -> None:
        """Hold a pack's manifest, where the pack lies, and what the public names start with."""
        self.__dict__.update(key=key, manifest=manifest, path=path, stem=stem)

    def __getattr__(self, name: str) -> Any:
        if name in PictureSet.__dataclass_fields__:
            self.__dict__.update(_unpacked(self.manifest, self.path, self.stem))
        return object.__getattribute__(self, name)

    @property
    def mark(self) -> str:
        """A text that is another one whenever a picture of the set or its name is."""
        # The pack's name stands for all bytes in it; the pictures' names start with the stem.
        return f"{self.key} {self.stem}"

    @property
    def ratio(self) -> float:
        """Width over height of the whole frame."""
        return self._ratios[0]

    @property
    def card_ratio(self) -> float:
        """Width over height of the frame as a card shows it."""
        return self._ratios[1]

    @cached_property
    def _ratios(self) -> tuple[float, float]:
        _, width, height, across, down = self.manifest.partition(";")[0].split(" ")
        return int(width) / int(height), int(across) / int(down)


def _unpacked(manifest: str, path: str, stem: str) -> dict[str, Any]:
    about, *rows = manifest.split(";")
    uses: dict[str, list[Rendition]] = {FULL: [], CARD: [], SOCIAL: []}
    offset = _HEAD + len(manifest)
    for row in rows:
        for_what, mime, width, height, size, short = row.split(" ")
        name = f"{stem}-{width}-{short}{EXTENSIONS[mime]}"
        octets = int(size)
        rendition = Rendition(
            mime, int(width), int(height), name, octets, partial(read, path, offset, octets)
        )
        offset += octets
        for use in for_what.split(","):
            uses[use].append(rendition)
    _, width, height, *_ = about.split(" ")
    full, card, (social, *_) = map(tuple, uses.values())
    return {"width": int(width), "height": int(height), "full": full, "card": card, "social": social}


def read(pack: str, offset: int, size: int) -> bytes:
    """Return the bytes of one rendition. Raises OSError if they can't be read, or not all of them."""
    with open(pack, "rb") as file:  # noqa: PTH123
        file.seek(offset)
        found = file.read(size)
    if len(found) != size:
        raise OSError(None, "the stored pictures are cut short; run this again, and they are made anew", pack)
    return found


def _manifest(key: str, size: tuple[int, int], parts: Sequence[Section]) -> str:
    across, down = max((part.width, part.height) for part in parts if CARD in part.uses)
    return ";".join((f"{key} {size[0]} {size[1]} {across} {down}", *map(_row, parts)))


def _row(part: Section) -> str:
    uses, size, short = ",".join(part.uses), len(part.content), _short(part.content)
    return f"{uses} {part.mime} {part.width} {part.height} {size} {short}"


def _short(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()[:_SHORT]
