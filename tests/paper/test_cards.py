"""Table cards: a wall label a piece, and no offer of what's gone."""

from __future__ import annotations

from decimal import Decimal

import pytest

from sitegen.paper.cards import cards
from sitegen.paper.press import Printer
from sitegen.studio.asked import Fault
from sitegen.studio.piece import Status
from sitegen.voice.voice import english
from tests.paper.makers import CASE, SENTINEL, front, piece
from tests.paper.reading import codes, everything, flowing, letter_sizes, texts

# A price that occurs in no date, number or size of the invented studio.
PRICE = "8731"


def make(*pieces: dict[str, str], paper: str = "a4") -> bytes:
    view = front(tuple(piece(slug=f"piece-{n}", **changes) for n, changes in enumerate(pieces)))
    return cards(Printer(view, CASE, paper), view.pieces)


def test_label_is_in_the_trade_s_order() -> None:
    """Title; year and materials; base and height; status and price."""
    words = flowing(make({}))
    places = [words.index(part) for part in ("The Moth Clerk", "2026 · acrylic", "resin blank", "32 cm", "available · €480")]  # fmt: skip

    assert places == sorted(places)
    assert "resin blank, jointed 32 cm (12½ in) available" in words
    assert "2026-07 · Saltglass Studio" in words


SAID = {
    Status.IN_PROGRESS: "on the bench", Status.AVAILABLE: "available", Status.ON_HOLD: "on hold",
    Status.SOLD: "sold", Status.COMMISSIONED: "made to order", Status.NOT_FOR_SALE: "not for sale",
}  # fmt: skip


@pytest.mark.parametrize("status", list(Status))
def test_price_stands_only_on_a_piece_that_is_available(status: Status) -> None:
    """Every status is a word on its card; all but one are without a price."""
    pdf = make({"status": str(status), "price": PRICE})

    assert SAID[status] in flowing(pdf)
    assert (b"8,731" in everything(pdf)) is (status is Status.AVAILABLE)
    assert ("€8,731" in flowing(pdf)) is (status is Status.AVAILABLE)


def test_only_available_pieces_get_cards_unless_named() -> None:
    """The usual pile for a table holds no card of a sold piece."""
    view = front((piece(), piece(slug="gone", title="Gone Away", status="sold")))
    words = flowing(cards(Printer(view, CASE, "a4"), None))

    assert "The Moth Clerk" in words
    assert "Gone Away" not in words


def test_no_piece_at_all_is_refused() -> None:
    """An empty page isn't printed; the sentence says what to do."""
    view = front((piece(status="sold"),))

    with pytest.raises(Fault, match=r"no piece is available just now, .* name the pieces you want"):
        cards(Printer(view, CASE, "a4"), None)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_every_card_s_code_leads_to_its_piece(paper: str) -> None:
    """Nine pieces make a page of eight and a page of one; every code scans at 150 dpi."""
    pdf = make(*[{} for _ in range(9)], paper=paper)
    found = codes(pdf, 0) + codes(pdf, 1)

    assert len(texts(pdf)) == 2
    assert sorted(found) == [f"https://saltglass.example/pieces/piece-{n}/" for n in range(9)]


def test_usual_words_can_be_read_at_arm_s_length() -> None:
    """Title, facts, status and price are 14 pt and up; only the studio's own line is smaller."""
    small = [text for size, text in letter_sizes(make({})) if size < 14]

    assert " ".join("".join(small).split()) == "2026-07 · Saltglass Studio"


def test_much_to_say_is_set_smaller_and_nothing_is_lost() -> None:
    """A long title with long materials shrinks until it fits."""
    title = "Ash Wednesday and the Understudy Who Waited in the Wings and Was Never Called"
    materials = (
        "polymer clay, acrylic and oil, human-hair wig, silk, antique lace, brass, beeswax, glass eyes"
    )
    pdf = make({"title": title, "materials": materials})

    assert english().typographic(title) in flowing(pdf)
    assert materials in flowing(pdf)
    assert len(texts(pdf)) == 1


def test_missing_facts_leave_no_gap() -> None:
    """A piece with hardly any facts has no stray dots."""
    bare = {"number": None, "finished": None, "base": "", "materials": "", "height_mm": None, "price": None}
    view = front((piece(**bare),))
    words = flowing(cards(Printer(view, CASE, "a4"), view.pieces))

    assert words == "The Moth Clerk available Saltglass Studio"


@pytest.mark.parametrize(
    ("currency", "price", "shown"), [("JPY", "64000", "¥64,000"), ("USD", "480.50", "$480.50"), ("KWD", "150.125", "KWD 150.125"), ("EUR", "480.00", "€480")]
)  # fmt: skip
def test_prices_follow_the_currency(currency: str, price: str, shown: str) -> None:
    """As many decimals as the currency has (ISO 4217), none for a round sum."""
    view = front((piece(price=Decimal(price)),), currency=currency)

    assert shown in flowing(cards(Printer(view, CASE, "a4"), view.pieces))


def test_markup_in_a_title_stays_text_and_private_words_stay_out() -> None:
    """A title that looks like Typst is printed letter for letter."""
    title = 'The #panic("x") *Clerk* $2$ [a] \\ <b> @c // "d"'
    pdf = make({"title": title})

    assert english().typographic(title) in flowing(pdf)
    assert SENTINEL.encode() not in everything(pdf)


def test_same_cards_same_bytes() -> None:
    """Printing twice makes the same file."""
    assert make({}) == make({})
