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
from collections.abc import Callable, Sequence
from contextlib import suppress
from functools import cached_property, partial
from pathlib import Path
from typing import Any

from sitegen.disk import read_note, write_note, write_whole
from sitegen.pictures.developing import CARD, FULL, SOCIAL, Section
from sitegen.pictures.recipe import EXTENSIONS
from sitegen.studio.picture import PictureSet, Rendition

_MAGIC = b"sitegen pictures 2"
_HEAD = len(_MAGIC) + 1 + 64 + 1 + 8 + 1
# Hexadecimal digits of a rendition's SHA-256 in its public name: 40 bits tell apart what one photo ever was.
_SHORT = 10


def pack_path(cache: Path, key: str) -> str:
    """Return where the pack of this key lies, as text: making a Path takes longer than a look at it."""
    return f"{cache}{os.sep}{key[:2]}{os.sep}{key}.pack"


def parts_folder(cache: Path) -> Path:
    """Return where packs are written before they are complete."""
    return cache / "parts"


def write_pack(path: str | Path, key: str, size: tuple[int, int], parts: Sequence[Section]) -> str:
    """Write a pack and return its manifest; raises OSError."""
    across, down = max((part.width, part.height) for part in parts if CARD in part.uses)
    manifest = ";".join((f"{key} {size[0]} {size[1]} {across} {down}", *map(_row, parts)))
    encoded = manifest.encode()
    digest = hashlib.sha256(encoded)
    for part in parts:
        digest.update(part.content)
    head = b"%s %s %08d\n" % (_MAGIC, digest.hexdigest().encode(), len(encoded))
    keep(Path(path), [head, encoded, *(part.content for part in parts)])
    return manifest


def keep(target: Path, content: Sequence[bytes]) -> None:
    """Put a pack in its place in one step; raises OSError.

    Windows refuses while another program has `target` open; another build's same bytes there are as good.
    """
    parts = parts_folder(target.parent.parent)
    for needed in (parts, target.parent):
        needed.mkdir(parents=True, exist_ok=True)
    try:
        write_whole(target, content, lasting=False, parts=parts)
    except PermissionError:
        if not target.is_file() or target.read_bytes() != b"".join(content):
            raise


def read_manifest(path: str | Path, key: str) -> str | None:
    """Return the manifest of a pack that was read whole; None if it's cut short, changed or another one's."""
    try:
        content = Path(path).read_bytes()
    except OSError:
        return None
    head, rest = content[:_HEAD], memoryview(content)[_HEAD:]
    magic, digest, length = head[: len(_MAGIC)], head[-74:-10], head[-9:]
    if magic != _MAGIC or hashlib.sha256(rest).hexdigest().encode() != digest:
        return None
    manifest = bytes(rest[: int(length)]).decode()
    return manifest if manifest.startswith(f"{key} ") else None


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
        name, look = f"{stem}-{width}-{short}{EXTENSIONS[mime]}", partial(read, path, offset, int(size))
        offset += int(size)
        for use in for_what.split(","):
            uses[use].append(Rendition(mime, int(width), int(height), name, int(size), look))
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


def _row(part: Section) -> str:
    short = hashlib.sha256(part.content).hexdigest()[:_SHORT]
    return f"{','.join(part.uses)} {part.mime} {part.width} {part.height} {len(part.content)} {short}"


# Modification time in ns, size in bytes.
Signature = tuple[int, int]
# The same, and what was found out about the file, as JSON gives it back.
Note = list[Any]

# A file written within this time of being looked at may change again without a new modification time, as some
# file systems count in steps of 2 s. Such a file is looked at again next time.
SETTLED_NS = 2_000_000_000
_FILE = "index-1.json"


class Index:
    """What the last run saw, photos by path and packs by key: what didn't change need not be read.

    Only a hint: lost, damaged or out of date it costs time, never a wrong picture.
    """

    def __init__(self, cache: Path) -> None:
        """Read the index of this cache; it is empty if there is none that can be trusted."""
        self._file = cache / _FILE
        stored = read_note(self._file) or {"photos": {}, "packs": {}}
        # Of a photo, by path: time, size, its content as SHA-256; of a pack, by key: the two, its manifest.
        self.photos: dict[str, Note] = stored["photos"]
        self.packs: dict[str, Note] = stored["packs"]
        self._before = dict(self.photos), dict(self.packs)

    def digest_of(self, path: str) -> str | None:
        """Return the content's hash of a photo that still looks as it did."""
        return _if_same(self.photos.get(path), path)

    def manifest_of(self, key: str, pack: str) -> str | None:
        """Return the manifest of a pack that still looks as it did."""
        return _if_same(self.packs.get(key), pack)

    def note_photo(self, path: str, seen: Signature, digest: str, now_ns: int) -> None:
        """Remember a photo, unless it's so new that it may still be changing."""
        if now_ns - seen[0] > SETTLED_NS:
            self.photos[path] = [*seen, digest]

    def note_pack(self, key: str, pack: str, manifest: str) -> None:
        """Remember a pack; nobody but this room writes there, and never twice differently."""
        if seen := signature(pack):
            self.packs[key] = [*seen, manifest]

    def save(self) -> None:
        """Store the index if it changed; a disk that refuses costs only time later."""
        if (self.photos, self.packs) != self._before:
            with suppress(OSError):
                write_note(self._file, {"photos": self.photos, "packs": self.packs})


def known_in(cache: Path) -> Callable[[Path], bool]:
    """Return a test that tells whether a photo was developed before and looks as it did then."""
    index = Index(cache)
    return lambda path: index.digest_of(os.fspath(path)) is not None


def signature(path: str) -> Signature | None:
    """Return modification time and size of a file; None if there is no such file."""
    try:
        stat = os.stat(path)  # noqa: PTH116  called thousands of times: a Path would double the time
    except OSError:
        return None
    return stat.st_mtime_ns, stat.st_size


def _if_same(remembered: Note | None, path: str) -> str | None:
    same = remembered is not None and signature(path) == (remembered[0], remembered[1])
    return str(remembered[2]) if remembered is not None and same else None
