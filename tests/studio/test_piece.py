"""What a piece, a sale, a show and a person say of themselves."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from pydantic import ValidationError

from sitegen.studio.person import Consent, Person, last_day_of_consent
from sitegen.studio.piece import Piece
from sitegen.studio.show import Show
from sitegen.studio.text import slug


def piece(name: str = "owl", **more: Any) -> Piece:
    return Piece.model_validate({"slug": name, "title": "Owl", "status": "available", **more})


def refused(**more: Any) -> str:
    with pytest.raises(ValidationError) as fault:
        piece(**more)
    (error,) = fault.value.errors()
    return str(error["ctx"]["error"])


SOLD, BACK = (
    {"on": "2026-05-14", "price": "480"},
    {"on": "2026-05-14", "price": "480", "returned": "2026-05-14"},
)


@pytest.mark.parametrize(
    ("sold", "holds"),
    [
        ((), None),
        (SOLD, date(2026, 5, 14)),
        ([SOLD], date(2026, 5, 14)),
        (BACK, None),
        ([BACK, {"on": "2026-05-14", "price": "450"}], date(2026, 5, 14)),
        ([BACK, {"on": "2026-06-01", "price": "450", "returned": "2026-06-02", "refund": "450"}], None),
    ],
)
def test_the_sale_that_holds_is_the_last_one_that_did_not_come_back(sold: Any, holds: date | None) -> None:
    found = piece(private={"sold": sold}).private.sold

    assert (found.on if found else None) == holds


@pytest.mark.parametrize(
    ("sold", "said"),
    [
        ({**BACK, "returned": "2026-05-13"}, "it came back (2026-05-13) before it was sold (2026-05-14)"),
        ({**SOLD, "refund": "1"}, "a refund of 1.00 has no day; add a line like `returned: 2026-06-02`"),
        ([SOLD, {"on": "2026-06-01", "price": "1"}], "sold on 2026-06-01, but the sale of 2026-05-14 says of no return before that; add `returned: 2026-06-01` and its `refund:` to the earlier sale"),
        ([BACK, {"on": "2026-05-13", "price": "1"}], "sold on 2026-05-13, but the sale of 2026-05-14 says of no return before that; add `returned: 2026-05-13` and its `refund:` to the earlier sale"),
    ],
)  # fmt: skip
def test_nobody_has_a_piece_that_another_has(sold: Any, said: str) -> None:
    assert refused(private={"sold": sold}) == said


@pytest.mark.parametrize(
    ("status", "private", "unpriced"),
    [
        ("sold", {}, True),
        ("sold", {"sold": SOLD}, False),
        ("sold", {"sold": BACK}, True),
        ("sold", {"order": "A-1"}, True),
        ("commissioned", {}, True),
        ("commissioned", {"order": "A-1"}, False),
        ("commissioned", {"sold": SOLD}, False),
        ("available", {}, False),
        ("not for sale", {}, False),
    ],
)
def test_a_piece_that_is_gone_without_a_price_is_known(
    status: str, private: dict[str, Any], unpriced: bool
) -> None:
    assert piece(status=status, private=private).unpriced_sale is unpriced


def test_the_newest_stands_first() -> None:
    """On the bench before all; then by day; of one day the later number; last by name."""
    order = [
        piece("bench"),
        piece("late", finished="2026-05-15", number="2026-01"),
        piece("tenth", finished="2026-05-14", number="2026-10"),
        piece("ninth", finished="2026-05-14", number="2026-9".replace("-9", "-09")),
        piece("a", finished="2026-05-14"),
        piece("b", finished="2026-05-14"),
        piece("old", finished="2026-05-13", number="2026-99"),
    ]

    mixed = order[::-1]
    assert sorted(mixed, key=lambda one: one.newest_first) == order
    assert piece(private={"hours": {"a": "1.5", "b": "2"}}).hours == Decimal("3.5")


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"number": "26-07"}, "'26-07' is not a studio number; write year and count, like 2026-07"),
        ({"number": "2026-7"}, "'2026-7' is not a studio number; write year and count, like 2026-07"),
        ({"was": "owl, Old Owl"}, "'Old Owl' was no address; write the old folder name in a-z, 0-9 and hyphens"),
        ({"photos": [{"file": "a.jpg", "focus": ["0.5", "1.1"]}]}, "focus is two shares between 0 and 1, like [0.5, 0.3]: across, then down"),
    ],
)  # fmt: skip
def test_what_a_piece_cant_say_is_told(more: dict[str, Any], said: str) -> None:
    assert refused(**more) == said


def test_what_a_piece_may_say_is_read() -> None:
    found = piece(
        number=" 2026-0107 ", was=" old-owl ,owl2,", photos=[{"file": "a.jpg", "focus": ["0", "1"]}]
    )

    assert (found.number, found.was, found.photos[0].focus) == (
        "2026-0107", ("old-owl", "owl2"), (Decimal(0), Decimal(1)),
    )  # fmt: skip


def test_a_show_ends_on_its_last_day() -> None:
    def show(**more: str) -> Show:
        return Show.model_validate({"slug": "fair", "name": "Fair", "from": "2027-02-27", **more})

    assert [show().ends, show(to="2027-02-27").ends, show(to="2027-02-28").ends] == [
        date(2027, 2, 27), date(2027, 2, 27), date(2027, 2, 28),
    ]  # fmt: skip
    with pytest.raises(
        ValidationError, match=r"the show ends \(2027-02-26\) before it starts \(2027-02-27\)"
    ):
        show(to="2027-02-26")


@pytest.mark.parametrize(
    ("bought", "last"),
    [(date(2024, 2, 29), date(2026, 2, 28)), (date(2025, 3, 1), date(2027, 3, 1)), (date(2022, 2, 28), date(2024, 2, 28))],
)  # fmt: skip
def test_a_purchase_counts_for_two_years_from_a_leap_day_too(bought: date, last: date) -> None:
    """S.C. 2010 c. 23 s. 10(10)(a); the 29th of February has its anniversary on the 28th."""
    buyer = Person("ada@example.com", joined=bought, consent=Consent.PURCHASE)

    assert last_day_of_consent(buyer) == last
    assert last_day_of_consent(Person("a@example.com", joined=bought, consent=Consent.WEB)) is None


@pytest.mark.parametrize(
    ("name", "made"),
    [
        ("The Moth Clerk", "the-moth-clerk"), ("Łódź & Straße", "lodz-strasse"), ("Smørrebrød’s", "smorrebrods"),
        ("Ærø œuvre Ðað þing ħı", "aero-oeuvre-dad-thing-hi"), ("Ångström—2", "angstrom-2"), ("--a--", "a"), ("東京", ""),
    ],
)  # fmt: skip
def test_a_name_becomes_an_address(name: str, made: str) -> None:
    """Letters, digits and hyphens: what needs no escape in an address (RFC 3986 section 2.3)."""
    assert slug(name) == made
