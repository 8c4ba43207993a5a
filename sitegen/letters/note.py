"""The artist's own words, the pictures of pieces that they show (`![](moth-usher)`), and their room."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from sitegen.letters.message import MailPart
from sitegen.letters.replies import GREETS, folded
from sitegen.studio.asked import LetterFault
from sitegen.studio.fields import no_such
from sitegen.studio.picture import PictureSet, Rendition, shelf
from sitegen.studio.public import FrontOfHouse, PublicPhoto, PublicPiece

# Beyond some 100 KB, mail readers cut a letter short (common practice, no source).
BUDGET = 100_000
# A column of 600 px less its margins, at most twice as fine.
SHOWN_WIDTH, FINEST_WIDTH = 544, 1088
# Octets a picture takes in base64 (RFC 2045 section 6.8): 4 for 3, and CRLF after 76; and its own header.
_GROWTH, _HEADER = 4 / 3 * 78 / 76, 400

Sets = Mapping[tuple[str, str], PictureSet]
"""By piece and photo file."""


class Showing(StrEnum):
    """How a letter shows pictures."""

    CARRIED = "carried"  # inside the letter: shown at once, also offline
    LINKED = "linked"  # from the artist's site: a small letter, but most readers are asked first
    NONE = "none"


@dataclass(frozen=True, slots=True)
class Picture:
    """One picture as a template shows it."""

    source: str
    width: int  # CSS pixels
    height: int
    alt: str
    part: MailPart | None  # the picture itself, where the letter carries it


@dataclass(frozen=True, slots=True)
class Hanging:
    """How a letter's pictures are shown, and from what."""

    sets: Sets = field(default_factory=dict)
    showing: Showing = Showing.CARRIED
    budget: int = BUDGET  # octets of a whole message


@dataclass(frozen=True, slots=True)
class Want:
    """One picture that a letter asks for."""

    piece: PublicPiece
    photo: PublicPhoto
    alt: str = ""  # the writer's own words for it, in place of the photo's


@dataclass(frozen=True, slots=True)
class Note:
    """The artist's own words in Markdown, and a letter's pictures."""

    text: str = ""
    shown: Mapping[str, Picture] = field(default_factory=dict)  # among the words, by what the brackets hold
    others: tuple[Picture | None, ...] = ()
    """Those that the letter shows by itself; None where there's no web picture, or none is wanted."""
    too_many: bool = False  # they didn't fit inside, so that all are shown from the site

    @property
    def parts(self) -> tuple[MailPart, ...]:
        """What the letter carries, each once."""
        carried = (photo.part for photo in (*self.others, *self.shown.values()) if photo and photo.part)
        return tuple({part.name: part for part in carried}.values())

    @property
    def remarks(self) -> tuple[str, ...]:
        """What the artist should know of the pictures."""
        if not self.too_many:
            return ()
        count = len([picture for picture in (*self.others, *self.shown.values()) if picture])
        return (
            f"The pictures ({count}) don't fit into {BUDGET // 1000} KB, so the letter shows "
            "them from your site; most readers are asked before they see them. Fewer would fit inside.",
        )


def whole_figure(piece: PublicPiece) -> PublicPhoto | None:
    """Return a piece's photo of the whole figure; the first, where all are details."""
    return next((photo for photo in piece.photos if not photo.detail), next(iter(piece.photos), None))


def _lay_out(
    wants: Sequence[Want | None], hanging: Hanging, words: int, site: str
) -> tuple[list[Picture | None], bool]:
    """Choose each picture's size so that the whole message keeps to its budget; tell if they were too many.

    `words` is what its text takes. Carried pictures grow in turn, the smallest first, while there's room.
    Where not even the smallest of each fits, all are linked: half of them missing would look like a mistake.
    """
    sizes: list[list[Rendition]] = []
    for want in wants if hanging.showing is not Showing.NONE else [None] * len(wants):
        shots = hanging.sets.get((want.piece.slug, want.photo.file)) if want else None
        # Every mail reader shows JPEG.
        found = [rendition for rendition in shots.full if rendition.mime == "image/jpeg"] if shots else []
        narrow = [rendition for rendition in found if rendition.width <= FINEST_WIDTH] or found[:1]
        sizes.append(sorted(narrow, key=lambda rendition: rendition.width))
    there, linked = [found for found in sizes if found], hanging.showing is Showing.LINKED
    carried = None if linked else grown(there, max(0, hanging.budget - words))
    settled = [found[-1] for found in there] if carried is None else carried
    # All of a letter's pictures are as wide as its narrowest, so that they stand in one column.
    width, chosen = min((SHOWN_WIDTH, *(rendition.width for rendition in settled))), iter(settled)
    pictures = [
        _picture(want, next(chosen), site, width, carried=carried is not None) if want and found else None
        for want, found in zip(wants, sizes, strict=True)
    ]
    return pictures, carried is None and not linked


def grown(sizes: Sequence[list[Rendition]], room: int) -> list[Rendition] | None:
    """Pick one size each, as large as fit together; None if the smallest don't."""
    taken = [[int(rendition.size * _GROWTH) + _HEADER for rendition in found] for found in sizes]
    at, left = [0] * len(sizes), room - sum(octets[0] for octets in taken)
    while left >= 0:
        cost = {n: row[at[n] + 1] - row[at[n]] for n, row in enumerate(taken) if at[n] + 1 < len(row)}
        fitting = [n for n, octets in cost.items() if octets <= left]
        if not fitting:
            return [found[n] for found, n in zip(sizes, at, strict=True)]
        smallest = min(fitting, key=lambda n: sizes[n][at[n]].width)
        left -= cost[smallest]
        at[smallest] += 1
    return None


def _picture(want: Want, web: Rendition, site: str, width: int, *, carried: bool) -> Picture:
    ident = f"{web.name.rpartition('.')[0]}@pictures"
    source = f"cid:{ident}" if carried else f"{site}{shelf(want.piece.slug, web.name)}"
    part = MailPart("image/jpeg", web.name, web.read(), ident) if carried else None
    return Picture(source, width, round(web.height * width / web.width), want.alt or want.photo.alt, part)


_PICTURE = re.compile(r"!\[([^\]]*)\]\(\s*([^()\s]+)\s*\)")
_ELSEWHERE = re.compile(r"[a-z][a-z0-9+.-]*:|//", re.IGNORECASE)
_ANY_PICTURE = re.compile(r"(?i)!\[[^\]]*\](?:\([^)]*\)|\[[^\]]*\])?|<\s*(?:img|picture|svg)\b[^>]*>")
_LONGEST_GREETING = 60
# What text, HTML and headers take before any picture (measured: 8 to 14 KB), and what room is left for them.
WORDS = 20_000


def shows_pieces(note: str) -> bool:
    """Tell whether a note asks for pictures of the studio's pieces."""
    return any(not _ELSEWHERE.match(source) for _, source in _PICTURE.findall(note))


def own_greeting(note: str, name: str = "") -> tuple[str, ...]:
    """Notice a note that greets, or begins with the reader's name: every letter greets by name already."""
    first = next((line.strip(" #*_>") for line in note.splitlines() if line.strip()), "")
    opening = re.split(r"[,!.:;–—]", first)[0].strip(" *_")
    named = opening != first and opening.casefold() in {name.casefold(), *name.casefold().split()}
    greets = (named or GREETS.match(folded(opening))) and len(opening) <= _LONGEST_GREETING
    if not greets or (opening == first and len(first.split()) > 5):
        return ()
    said = f"The note opens with '{opening}', and the letter greets already: take that line out of the note."
    return (said,)


def refuse_pictures(note: str) -> None:
    """Stop at a picture in the note of a letter that carries none. Raises LetterFault."""
    if found := _ANY_PICTURE.search(note):
        raise LetterFault(
            f"the note shows a picture, '{found[0]}'; a letter about an order carries none. Take it out, and "
            "attach the picture in your mail program"
        )


def hang(front: FrontOfHouse, note: str, hanging: Hanging, others: Sequence[Want | None] = ()) -> Note:
    """Lay out the pictures of a note and those a letter shows by itself, which keep their places in front.

    Raises LetterFault where the note names a piece or photo that isn't there, or a picture from elsewhere.
    """
    for other in _ANY_PICTURE.finditer(note):
        named = _PICTURE.fullmatch(other[0])
        if named is None or (_ELSEWHERE.match(named[2]) and not named[1].strip()):
            raise LetterFault(
                f"the note has '{other[0]}', which no letter shows; write a piece's picture like "
                "![what it shows](moth-usher), and link to what is elsewhere"
            )
    wanted = {
        source: Want(*_named(front, source), alt.strip())
        for alt, source in _PICTURE.findall(note)
        if not _ELSEWHERE.match(source)
    }
    words = max(WORDS, 3 * len(note.encode("utf-8")) + WORDS // 2)
    found, too_many = _lay_out([*others, *wanted.values()], hanging, words, front.card.address)
    own = zip(wanted, found[len(others) :], strict=True)
    return Note(
        note, {source: picture for source, picture in own if picture}, tuple(found[: len(others)]), too_many
    )


def _named(front: FrontOfHouse, source: str) -> tuple[PublicPiece, PublicPhoto]:
    slug, _, file = source.removeprefix("pieces/").partition("/")
    piece = front.piece(slug)
    if piece is None:
        missing = no_such("piece", slug, (piece.slug for piece in front.pieces))
        raise LetterFault(f"the note shows '{source}', but {missing}")
    files = {photo.file: photo for photo in piece.photos}
    photo = files.get(file) if file else whole_figure(piece)
    if photo is None:
        has = ", ".join(files) or "none"
        raise LetterFault(f"the note shows '{source}', but {slug} has no such photo; it has {has}")
    return piece, photo
