"""The sign-up sheet for a show's table."""

from __future__ import annotations

from enum import StrEnum

from sitegen.paper.cards import code
from sitegen.paper.press import Content, Printer, sender_of, written
from sitegen.studio.asked import Fault
from sitegen.studio.person import Interest
from sitegen.studio.public import PublicShow, PublicStudio, sheet_code


class SheetForm(StrEnum):
    """How a sign-up sheet is laid out."""

    PORTRAIT = "portrait"
    LANDSCAPE = "landscape"
    CARDS = "cards"  # one name each, to cut apart, for a table where several people write at once


# More pages than a weekend fills; a slip of the keyboard shouldn't make a book.
MOST_PAGES = 200
# Beyond this the sentence takes the room that the rows need, and nobody reads it standing.
LONGEST_CONSENT = 600
# Rows of a page, where a theme of the artist's own doesn't note them.
USUAL_ROWS = 18
# It stands at the foot of every page, in small type.
LONGEST_NOTE = 400


def sheet(press: Printer, show: PublicShow, *, pages: int, form: SheetForm = SheetForm.PORTRAIT) -> bytes:
    """Make the sign-up sheet of a show as a PDF of so many pages.

    Raises Fault for a request that can't be printed or a faulty theme.
    """
    return press.set(*_asked(press, show, pages, form))


def sheet_rows(press: Printer, show: PublicShow, *, form: SheetForm = SheetForm.PORTRAIT) -> int:
    """Count the rows that a page of a show's sheet has for signing. Raises Fault, also for a faulty theme."""
    return press.count_in(*_asked(press, show, 1, form), "rows") or USUAL_ROWS


def _asked(press: Printer, show: PublicShow, pages: int, form: SheetForm) -> tuple[str, Content]:
    """Return which template sets the sheet, and its content. Raises Fault."""
    front, card, voice = press.front, press.front.card, press.voice
    _check(card, pages)
    letters = f"{card.address}letters/"
    drawn = code(letters)
    own: Content = {
        "tagline": card.tagline,
        "consent": card.consent,
        "privacy_note": card.privacy_note,
        "show": show.name,
        "venue": show.venue,
        "days": voice.tongue.days(show.first_day, show.last_day),
        "interests": [voice.interest(interest) for interest in Interest],
        "letters": letters,
        "privacy": f"{card.address}privacy/" if front.page("privacy") else None,
        "qr": drawn.svg,
        "qr_modules": drawn.modules,
        "pages": pages,
        "flipped": form is SheetForm.LANDSCAPE,
        "from": written(f"shows/{show.slug}.yaml", "venue", show="name"),
    }
    content = press.content(
        "sheet", own, who=sender_of(card), contact=card.contact, word=voice.words.plain("mail.leave"),
        code=sheet_code(show, front.shows), show=show.name,
    )  # fmt: skip
    return "slips" if form is SheetForm.CARDS else "sheet", content


def _check(card: PublicStudio, pages: int) -> None:
    if not 1 <= pages <= MOST_PAGES:
        raise Fault(f"a sheet of {pages} pages can't be made; ask for 1 to {MOST_PAGES}")
    if not card.consent:
        raise Fault(
            "studio.yaml has no consent sentence, and addresses gathered without one can't be written to; "
            "add a line like  consent: I would like letters about what I tick, and I can leave any time."
        )
    if len(card.consent) > LONGEST_CONSENT:
        raise Fault(
            f"studio.yaml: the consent sentence has {len(card.consent)} letters, too many for a sheet; "
            f"keep it below {LONGEST_CONSENT}"
        )
    if len(card.privacy_note) > LONGEST_NOTE:
        raise Fault(
            f"studio.yaml: the privacy note has {len(card.privacy_note)} letters, too many for a sheet; "
            f"keep it below {LONGEST_NOTE}, and say the rest in pages/privacy.md"
        )
