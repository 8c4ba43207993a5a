"""The letters that can be written to the list: of each row both faces make their own, a command or a form."""

from __future__ import annotations

from typing import NamedTuple


class LetterKind(NamedTuple):
    """One kind of letter."""

    name: str  # the word of the command, and of the form's address
    job: str
    about: str  # what a letter's promises call the thing that it tells of
    asked: str  # the field of the wish that names the thing; empty where there's no such thing
    title: str
    told: str
    example: str


KINDS = (
    LetterKind(
        "commissions", "letters.commissions", "round", "round_name", "A letter on a round of commissions",
        "Write the letter that says a round of commissions opens (the open or next one, unless named).",
        "--note words.md",
    ),
    LetterKind(
        "pieces", "letters.pieces", "piece", "slugs", "A letter on new pieces",
        "Write the letter that says new pieces have come. Each must be available.",
        "star-darner --pictures linked",
    ),
    LetterKind(
        "show", "letters.show", "show", "slug", "An invitation to a show",
        "Write the letter that invites to a coming show.", "winter-fair-2027",
    ),
    LetterKind(
        "class", "letters.lesson", "class", "slug", "An invitation to a class",
        "Write the letter that invites to a coming class, to those who asked to hear of classes.",
        "two-day-heads-2027",
    ),
    LetterKind(
        "confirm", "letters.confirm", "confirm", "", "One question to who hasn't confirmed yet",
        """Write the letter that asks people from a sheet or a table whether they want letters.

        It goes to those who haven't confirmed and weren't asked since they signed, and says nothing else.
        `people replies` notes who says yes; until then they get no other letter.
        """, "",
    ),
    LetterKind(
        "notice", "letters.notice", "notice", "", "A notice in your own words",
        """Write a letter in your own words: a studio sale, new prices, a pause.

        It goes to those who asked to hear of what you say it's about, and may show pieces that are available.
        """,
        "--about 'new pieces' --subject 'Studio sale' --note words.md",
    ),
)  # fmt: skip
