"""The floor under the pictures room: a bare loop of Pillow that makes the same pictures and knows nothing else.

In a module of its own, so that its processes start as quickly as ours.
"""

from io import BytesIO
from pathlib import Path

from PIL import Image

from sitegen.pictures import recipe

# Pixels across of what is made of an upright photo of 12 megapixels, 3 : 4, wide to narrow.
MODERN = (1800, 1080, 760, 560, 400, 280, 160)
PLAIN = {1080, 560, 400}
PREVIEW = (0, 328, 1800, 1273)


def bare(path: Path) -> int:
    """Decode, shrink and encode one photo; return the bytes made."""
    made = 0
    with Image.open(path) as photo:
        photo.draft(None, (2 * MODERN[0], 2 * MODERN[0] * 4 // 3))
        step: Image.Image = photo
        for width in MODERN:
            step = step.resize((width, round(width * 4 / 3)), Image.Resampling.LANCZOS)
            made += _save(step, recipe.MODERN)
            if width in PLAIN:
                made += _save(step, recipe.JPEG)
            if width == MODERN[0]:
                preview = step.crop(PREVIEW).resize(recipe.SOCIAL, Image.Resampling.LANCZOS)
                made += _save(preview, recipe.JPEG)
    return made


def _save(image: Image.Image, mime: str) -> int:
    name, options = recipe.encoder(mime, image.width)
    buffer = BytesIO()
    image.save(buffer, name, **options)
    return len(buffer.getvalue())
