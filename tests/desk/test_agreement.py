"""What an agreement holds, by where its order or piece stands."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from sitegen.desk.plan import AgreementWish, agreed
from sitegen.studio.asked import Fault
from sitegen.studio.terms import Agreed
from sitegen.studio.whole import KeptTerms, Page, Studio
from tests.desk.studios import TODAY, piece, queued, studio

NAMES = ("commission-terms", "payment-terms")
MADE = {"title": "Old Hare", "materials": "stoneware", "base": "own", "height_mm": "210"}


def kept(queue: list[dict[str, Any]], *pieces: Any, version: str | None = "2026-10") -> Studio:
    """A studio whose terms are those of October, and were others in July."""
    one = studio(list(pieces), queue)
    texts = [KeptTerms(name, "2026-07", "Terms", "As in July.") for name in NAMES]
    texts += [KeptTerms(name, version, "Terms", "As now.") for name in NAMES if version]
    return replace(
        one, pages=tuple(Page(name, "Terms", "As now.") for name in NAMES), kept_terms=tuple(texts)
    )


def of(one: Studio, what: str, **wish: str | None) -> Agreed:
    return agreed(one, AgreementWish(what=what, **wish), TODAY)


@pytest.mark.parametrize(
    ("step", "made"),
    [
        ("request", True),
        ("offered", True),
        ("accepted", True),
        ("shipped", True),
        ("called off", True),
        ("declined", False),
        ("withdrawn", False),
        ("lapsed", False),
    ],
)
def test_what_never_was_agreed_on_and_never_will_be_has_no_agreement(step: str, made: bool) -> None:
    one = kept([queued("Q-1", step, private={"price": "440", "name": "Ana"})])

    if made:
        assert (of(one, "q-1").code, of(one, "q-1").client) == ("Q-1", "Ana")
    else:
        with pytest.raises(Fault, match=f"Q-1 is {step}; there is nothing to agree on"):
            of(one, "Q-1")


def test_the_days_count_from_the_yes_else_from_the_day_that_is_asked_for() -> None:
    one = kept([
        queued("Q-1", "offered", private={"price": "440"}),
        queued("Q-2", "accepted", since="2026-11-02", private={"price": "440", "promised": "2027-06-30"}),
    ])  # fmt: skip

    firsts = [of(one, what, start=start).plan.parts[0].due for what in ("Q-1", "Q-2") for start in (None, "2026-12-24")]  # fmt: skip

    assert firsts == [TODAY, date(2026, 12, 24), date(2026, 11, 2), date(2026, 11, 2)]
    assert [of(one, what).ready_by for what in ("Q-1", "Q-2")] == [None, date(2027, 6, 30)]


def test_a_commission_has_both_texts_of_its_version_and_a_piece_only_the_payments() -> None:
    accepted = {"version": "2026-07", "on": "2026-11-02"}
    plan = {"from": "2026-11-01", "to": "Ruth", "price": "450", "terms": accepted}
    one = kept(
        [queued("Q-1", terms=accepted, private={"price": "440"}), queued("Q-2", private={"price": "440"})],
        piece("hare", status="on hold", private={"plan": plan}, **MADE),
        piece("wren", status="available", price="300"),
    )

    found = {what: of(one, what) for what in ("Q-1", "Q-2", "hare", "wren")}

    assert {what: [(text.name, text.version) for text in made.terms] for what, made in found.items()} == {
        "Q-1": [(name, "2026-07") for name in NAMES],
        "Q-2": [(name, "2026-10") for name in NAMES],
        "hare": [(NAMES[1], "2026-07")],
        "wren": [(NAMES[1], "2026-10")],
    }
    assert [made.accepted is not None for made in found.values()] == [True, False, True, False]
    assert [made.commission for made in found.values()] == [True, True, False, False]
    assert [made.client for made in found.values()] == ["", "", "Ruth", ""]
    assert [of(one, what, client="Ida").client for what in found] == ["Ida"] * 4
    assert of(one, "hare", client="").client == ""
    assert (found["hare"].plan.price, found["wren"].plan.price) == (Decimal(450), Decimal(300))
    with pytest.raises(Fault, match="the terms as they are now aren't kept; `sitegen terms keep`"):
        of(kept([queued("Q-2", private={"price": "440"})], version=None), "Q-2")


@pytest.mark.parametrize(
    ("changes", "facts"),
    [
        ({"finished": "2024-05-01", **MADE}, (("year", "2024"), ("materials", "stoneware"), ("base", "own"), ("height", 210))),
        ({"finished": "2024-05-01", "size": "as a hand"}, (("year", "2024"), ("height", "as a hand"))),
        ({}, ()),
    ],
)  # fmt: skip
def test_a_piece_says_what_is_known_of_it(changes: dict[str, Any], facts: tuple[Any, ...]) -> None:
    one = kept([], piece("hare", status="available", price="300", **changes))

    assert of(one, "hare").facts == facts
    assert (of(one, "hare").code, of(kept([], piece("hare", status="available", price="300", number="2024-07")), "hare").code) == ("hare", "2024-07")  # fmt: skip


def test_a_size_says_what_is_known_of_it() -> None:
    tiers = [{"name": "Small", "from_price": "420", "height_mm": "200", "includes": " One prop. "}]
    one = replace(
        kept([]),
        commissions=studio(
            [], [queued("Q-1", private={"price": "440"}, round="Winter")], tiers=tiers
        ).commissions,
    )

    assert of(one, "Q-1").facts == (("height", 200), ("includes", "One prop."), ("round", "Winter"))


def test_who_is_meant_is_an_order_before_a_piece_and_else_said() -> None:
    one = kept(
        [queued("hare", private={"price": "440"})],
        piece("hare", status="available", price="300"),
        piece("wren", status="available"),
        piece("owl", status="sold"),
    )

    assert of(one, "HARE").commission
    assert of(one, "hare").commission
    for what, said in [
        ("wren", r"pieces/wren/piece\.yaml has no price; write one, like `price: 480`"),
        ("owl", "Owl is sold and nobody pays for it in parts"),
        ("crow", r"there is no order or piece 'crow'; a code of the order book, or a folder's name below"),
    ]:
        with pytest.raises(Fault, match=said):
            of(one, what)
