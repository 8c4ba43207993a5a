"""Cut one developed photo into its renditions and encode them."""

from collections.abc import Iterator
from dataclasses import dataclass
from io import BytesIO

from PIL import Image

from sitegen.pictures import recipe
from sitegen.pictures.developing import Developed, shrink

FULL, CARD, SOCIAL = "full", "card", "social"


@dataclass(frozen=True, slots=True)
class Section:
    """Hold one encoded picture and what it's for."""

    # Some of FULL, CARD, SOCIAL.
    uses: tuple[str, ...]
    mime: str
    # Pixels.
    width: int
    height: int
    content: bytes


def cut(photo: Developed, focus: tuple[float, float] | None, *, detail: bool) -> list[Section]:
    """Return all renditions: the modern format first, each format from narrow to wide."""
    centre = focus or _default_focus(photo, detail=detail)
    parts = list(_frame(photo.image, card=not detail))
    if detail:
        parts += _card(crop(photo.image, recipe.CARD_SHAPE, centre))
    parts.append(_social(crop(photo.image, recipe.SOCIAL, centre)))
    return sorted(parts, key=lambda part: (part.mime == recipe.JPEG, part.width, part.uses))


def ladder(width: int, least: int, most: int) -> list[int]:
    """Return the widths to make of an image of this width, from narrow to wide.

    The image's own width closes the ladder if it's at most `most`; a step just below it isn't worth a file.
    """
    top = min(width, most)
    return [step for step in recipe.WIDTHS if least <= step and step * recipe.NEAR <= top] + [top]


def crop(image: Image.Image, shape: tuple[int, int], focus: tuple[float, float]) -> Image.Image:
    """Return the largest part of this shape (width by height) that has the focus nearest its middle."""
    scale = min(image.width / shape[0], image.height / shape[1])
    width, height = max(1, round(shape[0] * scale)), max(1, round(shape[1] * scale))
    left = _place(focus[0], image.width, width)
    top = _place(focus[1], image.height, height)
    return image.crop((left, top, left + width, top + height))


def encode(image: Image.Image, mime: str, uses: tuple[str, ...]) -> Section:
    """Encode pixels and nothing else."""
    name, options = recipe.encoder(mime, image.width)
    buffer = BytesIO()
    image.save(buffer, name, **options)
    return Section(uses, mime, image.width, image.height, buffer.getvalue())


def _default_focus(photo: Developed, *, detail: bool) -> tuple[float, float]:
    """Return where a face would be: in the upper third of an upright photo; the middle of any other."""
    upright = photo.height > photo.width and not detail
    return (0.5, 1 / 3) if upright else (0.5, 0.5)


def _place(share: float, length: int, window: int) -> int:
    pixel = min(length - 1, int(share * length))  # a window of one pixel could be rounded past it
    return max(0, pixel - window + 1, min(length - window, pixel, round(share * length - window / 2)))


def _frame(image: Image.Image, *, card: bool) -> Iterator[Section]:
    """Yield the renditions of the whole frame."""
    widths = ladder(image.width, recipe.WIDTHS[0] if card else recipe.FULL_FROM, image.width)
    for width, step in zip(reversed(widths), _steps(image, widths), strict=True):
        uses = _uses(width, widths, card=card)
        yield encode(step, recipe.MODERN, uses)
        if width in _jpeg_widths(widths):
            yield encode(step, recipe.JPEG, uses)


def _uses(width: int, widths: list[int], *, card: bool) -> tuple[str, ...]:
    full = width >= recipe.FULL_FROM or width == widths[-1]
    small = card and (width <= recipe.CARD_TO or width == widths[0])
    return (FULL,) * full + (CARD,) * small


def _jpeg_widths(widths: list[int]) -> set[int]:
    chosen = set(recipe.JPEG_WIDTHS) & set(widths)
    return chosen if max(recipe.JPEG_WIDTHS) in chosen else chosen | {widths[-1]}


def _card(image: Image.Image) -> Iterator[Section]:
    """Yield the renditions of a card's crop."""
    widths = ladder(image.width, recipe.WIDTHS[0], recipe.CARD_TO)
    for width, step in zip(reversed(widths), _steps(image, widths), strict=True):
        yield encode(step, recipe.MODERN, (CARD,))
        if width in _jpeg_widths(widths):
            yield encode(step, recipe.JPEG, (CARD,))


def _steps(image: Image.Image, widths: list[int]) -> Iterator[Image.Image]:
    """Yield the image in these widths, from wide to narrow, each made from the one before."""
    step = image
    for width in reversed(widths):
        step = shrink(step, (width, max(1, round(width * image.height / image.width))))
        yield step


def _social(image: Image.Image) -> Section:
    return encode(shrink(image, min(image.size, recipe.SOCIAL)), recipe.JPEG, (SOCIAL,))
