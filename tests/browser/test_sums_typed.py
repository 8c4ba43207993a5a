"""Sums as the studio's language writes them: read to the coin, or refused; none is ever another sum."""

from __future__ import annotations

import re
import shutil
from decimal import Decimal
from pathlib import Path

import pytest
from babel.numbers import format_decimal
from hypothesis import given
from hypothesis import settings as few
from hypothesis import strategies as st

from sitegen.browser.forms import plainly
from sitegen.studio.asked import Fault
from sitegen.studio.money import plain, pointed, read_amount
from sitegen.studio.settings import Settings
from tests import makers
from tests.browser.conftest import opened

THEMES = Path(__file__).resolve().parents[2] / "themes"
LANGUAGES = ["en", "en-US", "de", "de-AT", "de-CH", "fr", "sv", "es"]


def settings(language: str, digits: int) -> Settings:
    return Settings.model_construct(language=language, currency={0: "JPY", 2: "EUR", 3: "KWD"}[digits])


@few(max_examples=60)
@given(st.sampled_from(LANGUAGES), st.sampled_from([0, 2, 3]), st.integers(0, 10**9), st.booleans())
def test_a_sum_is_read_as_its_language_writes_it(
    language: str, digits: int, coins: int, grouped: bool
) -> None:
    """CLDR's way of writing, by the library that other programs write with; marks as it sets them."""
    amount, way = Decimal(coins).scaleb(-digits), "#,##0" if grouped else "0"
    written = format_decimal(amount, f"{way}.{'0' * digits}" if digits else way, language.replace("-", "_"))

    try:
        read = plainly(written, settings(language, digits))
    except Fault:
        assert digits == 3  # what three digits may be is asked
        return
    assert read_amount(read, digits) == amount


@few(max_examples=60)
@given(st.sampled_from(LANGUAGES), st.sampled_from([0, 2, 3]), st.integers(0, 10**9))
def test_what_a_file_has_stays_what_it_is(language: str, digits: int, coins: int) -> None:
    """Forms show digits and a point, so that must come back as it went."""
    shown = plain(Decimal(coins).scaleb(-digits), digits)

    try:
        assert plainly(shown, settings(language, digits)) == shown
    except Fault:
        assert digits == 3


@pytest.mark.parametrize(
    ("language", "written", "read"),
    [("de", "1.250", "1250"), ("de", "1.250,50", "1250.50"), ("de", "85,5", "85.5"), ("de", "85.50", "85.50"),
     ("en", "1.250", "1.250"), ("en", "1,250.50", "1250.50"), ("en", "85,5", "85,5"), ("de", "1.25.0", "1.25.0"),
     ("fr", "1 250,5", "1250.5"), ("de-CH", "1’250.50", "1250.50"), ("de", "12,5 euro", "12,5 euro")],
)  # fmt: skip
def test_what_fits_no_rule_is_left_to_be_refused(language: str, written: str, read: str) -> None:
    assert plainly(written, settings(language, 2)) == read
    if not pointed(read).replace(".", "", 1).isdecimal() or read == "1.250":
        with pytest.raises(ValueError, match=r"write|comma"):
            read_amount(read, 2)


def test_a_price_with_a_comma_is_kept_to_the_cent(tmp_path: Path) -> None:
    """Typed in a sheet and in a deed of a German studio."""
    folder = makers.studio(tmp_path / "studio")
    file = folder / "studio.yaml"
    kept = [line for line in file.read_text("utf-8").splitlines() if not line.startswith("language:")]
    file.write_text("\n".join(["language: de", *kept, ""]), "utf-8")
    with opened(folder) as desk:
        slug = next(piece.slug for piece in desk.desk.read().pieces if piece.status == "available")
        got = desk.do(f"/pieces/{slug}", "/sheet/piece", price="1.250,50")
        assert got.status == 303, got.words
        price = next(piece.price for piece in desk.desk.read().pieces if piece.slug == slug)
        assert price == Decimal("1250.50")
        sold = desk.do(f"/pieces/{slug}", "/do/pieces.mark", status="sold", price="1.300", on="2026-11-20")
        assert sold.status == 303, sold.words
        (piece,) = [piece for piece in desk.desk.read().pieces if piece.slug == slug]
        assert piece.private.sold
        assert piece.private.sold.price == Decimal(1300)


BOOK = """\
tiers:
  - {{name: Small figure, from_price: {price}}}
queue:
  - code: Q-1
    tier: Small figure
    step: offered
    since: 2026-11-17
    moves: 2026-11-10 request; 2026-11-17 offered
    private: {{name: Somebody, email: some@body.example, price: {price}, postage: {price}, brief: A moth.}}
"""


@pytest.mark.parametrize("language", ["de", "en", "fr"])
@pytest.mark.parametrize(("currency", "price"), [("EUR", "125.50"), ("JPY", "1500"), ("KWD", "5.250")])
def test_what_a_form_shows_is_taken_again_untouched(
    tmp_path: Path, language: str, currency: str, price: str
) -> None:
    """ISO 4217: no coins, two and three digits behind the point; a comma is a mark of German and French."""
    folder = makers.studio(tmp_path / "studio")
    file, book = folder / "studio.yaml", folder / "commissions.yaml"
    words = folder / "themes" / "own" / "words"
    words.mkdir(parents=True)
    (words.parent / "theme.yaml").write_text("like: case\n", "utf-8")
    shutil.copy(THEMES / "base" / "words" / "en.yaml", words / "fr.yaml")
    text = re.sub(r"(?m)^(language|currency|theme):.*\n", "", file.read_text("utf-8"))
    file.write_text(f"language: {language}\ncurrency: {currency}\ntheme: own\n{text}", "utf-8")
    for piece in (folder / "pieces").glob("*/piece.yaml"):
        shutil.rmtree(piece.parent)
    book.write_text(BOOK.format(price=price), "utf-8")
    with opened(folder) as desk:
        said = desk.after(desk.do("/orders/Q-1", "/sheet/order"))
        assert "Nothing was to change" in said.words
        assert desk.do("/orders/Q-1", "/do/orders.move").status == 303
        (order,) = desk.desk.read().commissions.queue
        assert (str(order.step), order.private.price) == ("accepted", Decimal(price))
        shown = desk.filled("/orders/Q-1", "/do/orders.pay")["amount"]
        paid = desk.do("/orders/Q-1", "/do/orders.pay")
        assert paid.status == 303, (shown, paid.words)
        (order,) = desk.desk.read().commissions.queue
        assert order.private.paid[0].amount == Decimal(shown.replace(",", "."))
