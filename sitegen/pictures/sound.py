"""Tell whether a photo can be developed, to its last row, without developing it."""

import os
import warnings
from collections.abc import Callable
from pathlib import Path

from sitegen.pictures.index import load_index
from sitegen.pictures.opening import FOREIGN, UnreadablePhoto, damaged, look, open_photo, read_photo
from sitegen.pictures.pack import signature
from sitegen.pictures.values import Fault

# A JPEG can be decoded at an eighth of its size: all of it is read, and little is computed.
_EIGHTH = 8


def known_in(cache: Path) -> Callable[[Path], bool]:
    """Return a test that tells whether a photo was developed before and looks as it did then."""
    index = load_index(cache)

    def known(path: Path) -> bool:
        return index.digest_of(os.fspath(path), signature(os.fspath(path))) is not None

    return known


def examine(path: Path, *, limit_megapixels: float = 100) -> Fault | None:
    """Check by its header, then by its pixels, whether a photo can be used; None means yes."""
    if fault := look(path, limit_megapixels=limit_megapixels):
        return fault
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            _decode(read_photo(path), limit_megapixels)
    except UnreadablePhoto as fault:
        return Fault(path, str(fault))
    return None


def _decode(content: bytes, limit_megapixels: float) -> None:
    with open_photo(content, limit_megapixels) as photo:
        try:
            if photo.format in {"JPEG", "MPO"}:
                photo.draft(None, (photo.width // _EIGHTH, photo.height // _EIGHTH))
            photo.load()
        except FOREIGN as error:
            raise damaged(error) from error
