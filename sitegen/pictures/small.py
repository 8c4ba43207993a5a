"""A small picture of a photo, for the desk: quickly made, kept by nobody."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path

from PIL import Image, ImageOps

from sitegen.pictures.developing import to_srgb
from sitegen.pictures.opening import FOREIGN, damaged, open_photo, read_photo


def small(path: Path, side: int) -> bytes:
    """Return a JPEG whose longer side has at most so many pixels, without a word about where it was taken.

    Raises UnreadablePhoto.
    """
    with open_photo(read_photo(path)) as photo:
        try:
            profile = photo.info.get("icc_profile")
            photo.draft("RGB", (side * 2, side * 2))  # a JPEG is decoded at an eighth where that will do
            photo.thumbnail((side * 2, side * 2), Image.Resampling.BOX)
            turned = ImageOps.exif_transpose(photo)
            turned.thumbnail((side, side), Image.Resampling.LANCZOS)
            plain = to_srgb(turned, profile) if profile else turned
            bare = Image.new("RGB", plain.size, "white")
            bare.paste(plain.convert("RGB"), mask=plain.getchannel("A") if "A" in plain.getbands() else None)
            kept = BytesIO()
            bare.save(kept, "JPEG", quality=82)
        except FOREIGN as error:
            raise damaged(error) from error
    return kept.getvalue()
