"""The artist's own words, and the pictures of pieces that they show: `![](moth-usher)`."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from sitegen.letters.faults import LetterFault
from sitegen.letters.pictures import Hanging, Layout, Picture, Want, lay_out, whole_figure
from sitegen.studio.fields import no_such
from sitegen.studio.public import FrontOfHouse, PublicPhoto, PublicPiece

_PICTURE = re.compile(r"!\[([^\]]*)\]\(\s*([^()\s]+)\s*\)")
_ELSEWHERE = re.compile(r"[a-z][a-z0-9+.-]*:|//", re.IGNORECASE)
_ANY_PICTURE = re.compile(
    r"!\[[^\]]*\](?:\([^)]*\)|\[[^\]]*\])?|<\s*(?:img|picture|svg)\b[^>]*>", re.IGNORECASE
)
# How a letter of one's own begins, in the themes' languages and some others (common practice, no source).
_GREETING = re.compile(
    r"(?:my |our )?(?:dear|dearest|hello|hi|hey|greetings|good (?:morning|day|afternoon|evening))\b"
    r"|lieber?\b|hallo\b|guten? (?:tag|morgen|abend)\b|sehr geehrte|grüß|grüezi\b|servus\b|moin\b"
    r"|bonjour\b|chère?s?\b|hola\b|estimad|ciao\b|gentile\b",
    re.IGNORECASE,
)
_LONGEST_GREETING = 60
# What text, HTML and headers take before any picture (measured: 8 to 14 KB), and what room is left for them.
WORDS = 20_000


@dataclass(frozen=True, slots=True)
class Note:
    """Markdown, and what it shows."""

    text: str = ""
    shown: Mapping[str, Picture] = field(default_factory=dict)
    """Pictures by what stands in the brackets."""


def shows_pieces(note: str) -> bool:
    """Tell whether a note asks for pictures of the studio's pieces."""
    return any(not _ELSEWHERE.match(source) for _, source in _PICTURE.findall(note))


def own_greeting(note: str, name: str = "") -> tuple[str, ...]:
    """Notice a note that greets, or begins with the reader's name: every letter greets by name already."""
    first = next((line.strip(" #*_>") for line in note.splitlines() if line.strip()), "")
    opening = re.split(r"[,!.:;–—]", first)[0].strip(" *_")
    named = opening != first and opening.casefold() in {name.casefold(), *name.casefold().split()}
    if (
        not (named or _GREETING.match(opening))
        or len(opening) > _LONGEST_GREETING
        or (opening == first and len(first.split()) > 5)
    ):
        return ()
    return (
        f"The note opens with '{opening}', and the letter greets already: take that line out of the note.",
    )


def refuse_pictures(note: str) -> None:
    """Stop at a picture in the note of a letter that carries none. Raises LetterFault."""
    found = _ANY_PICTURE.search(note)
    if found:
        raise LetterFault(
            f"the note shows a picture, '{found[0]}'; a letter about an order carries none. Take it out, and "
            "attach the picture in your mail program"
        )


def _refuse_unshown(note: str) -> None:
    for found in _ANY_PICTURE.finditer(note):
        named = _PICTURE.fullmatch(found[0])
        if named is None or (_ELSEWHERE.match(named[2]) and not named[1].strip()):
            raise LetterFault(
                f"the note has '{found[0]}', which no letter shows; write a piece's picture like "
                "![what it shows](moth-usher), and link to what is elsewhere"
            )


def hang(
    front: FrontOfHouse, note: str, hanging: Hanging, others: Sequence[Want | None] = ()
) -> tuple[Note, Layout]:
    """Lay out the pictures of a note and those a letter shows by itself, which keep their places in front.

    Raises LetterFault where the note names a piece or photo that isn't there, or a picture from elsewhere.
    """
    _refuse_unshown(note)
    wanted = dict(_wants(front, note))
    words = max(WORDS, 3 * len(note.encode("utf-8")) + WORDS // 2)
    layout = lay_out([*others, *wanted.values()], hanging, words, front.card.address)
    own = layout.pictures[len(others) :]
    return Note(note, {source: one for source, one in zip(wanted, own, strict=True) if one}), layout


def _wants(front: FrontOfHouse, note: str) -> dict[str, Want]:
    found = {}
    for alt, source in _PICTURE.findall(note):
        if not _ELSEWHERE.match(source):
            piece, photo = _named(front, source)
            found[source] = Want(piece, photo, alt.strip())
    return found


def _named(front: FrontOfHouse, source: str) -> tuple[PublicPiece, PublicPhoto]:
    slug, _, file = source.removeprefix("pieces/").partition("/")
    piece = front.piece(slug)
    if piece is None:
        missing = no_such("piece", slug, (one.slug for one in front.pieces))
        raise LetterFault(f"the note shows '{source}', but {missing}")
    photo = whole_figure(piece) if not file else next((one for one in piece.photos if one.file == file), None)
    if photo is None:
        files = ", ".join(one.file for one in piece.photos) or "none"
        raise LetterFault(f"the note shows '{source}', but {slug} has no such photo; it has {files}")
    return piece, photo
