"""The terms say the same numbers that the arithmetic works with."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from itertools import product
from pathlib import PurePath
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitegen.studio import terms
from sitegen.studio.asked import Fault
from sitegen.studio.commission import Commissions
from sitegen.studio.order_lines import Receipt
from sitegen.studio.plan import CalledOffBy, call_off, make
from sitegen.studio.settings import Settings
from sitegen.studio.whole import KeptTerms, Page, Studio
from sitegen.voice.words import read_words
from tests.themes import theme_named

BANDS = [{"up_to": "500", "instalments": "2"}, {"up_to": "1500", "instalments": "3"}, {"instalments": "4"}]
EUROS = {"digits": 2}


def settings(language: str = "en", **plan: Any) -> Settings:
    """Make an invented studio's settings with a payment plan."""
    return Settings.model_validate(
        {
            "studio": "Lantern *&* Loam",
            "maker": "Ottoline Example",
            "site": "https://lantern.example/",
            "contact": "hello_there@lantern.example",
            "currency": "EUR",
            "time_zone": "Europe/Dublin",
            "language": language,
            "payment_plan": {"deposit": "30%", "bands": BANDS, **plan},
        },
        context=EUROS,
    )


def numbers_of(own: Settings) -> dict[str, str]:
    """Return what stands in the places, in the words of all themes."""
    say = read_words(theme_named("case"), own.language).plain
    return terms.numbers(own, Commissions(offer_days=9), say)


def numbers(language: str = "en", **plan: Any) -> dict[str, str]:
    """Return what stands in the places."""
    return numbers_of(settings(language, **plan))


def test_places_are_filled_from_the_settings() -> None:
    """Line breaks and capitals in a place don't matter; a guarded brace isn't one."""
    text = "Pay {deposit} within {Grace\ndays} days, {offer days} for the offer. \\{deposit}\n"

    assert terms.fill(text, numbers(grace_days="5")) == (
        "Pay 30% within 5 days, 9 for the offer. \\{deposit}\n"
    )


def test_what_nothing_is_known_of_is_left_and_listed_with_its_line() -> None:
    """Nothing in braces is ever run or looked up elsewhere."""
    text = "One {deposit}\n\nTwo {deposit.__class__} and {}\n"

    assert terms.places(text) == [(1, "deposit"), (3, "deposit.__class__"), (3, "")]
    assert "{deposit.__class__} and {}" in terms.fill(text, numbers())


def test_bands_are_said_in_order() -> None:
    """English and German; `de-AT` takes the words of `de`."""
    assert numbers()["instalments"] == "2 for a price up to €500, 3 up to €1,500, 4 above that"
    assert numbers("de")["instalments"] == (
        "2 bei einem Preis bis 500\N{NO-BREAK SPACE}€, 3 bis 1.500\N{NO-BREAK SPACE}€, 4 darüber"
    )
    assert numbers(bands=[{"instalments": "3"}])["instalments"] == "3, whatever the price"
    assert numbers("de-AT")["weekend rule"] == numbers("de")["weekend rule"] != numbers()["weekend rule"]
    with pytest.raises(Fault, match="has no words for the language 'fi'"):
        numbers("fi")


def test_one_day_is_a_day() -> None:
    """Plural forms are CLDR's."""
    one, more = {"free_days": "1"}, {"free_days": "14"}

    assert "within 1 day of" in numbers(calling_off=one)["calling off"]
    assert "within 14 days of" in numbers(calling_off=more)["calling off"]
    assert "innerhalb von 1 Tag nach" in numbers("de", calling_off=one)["calling off"]


def test_names_from_the_settings_are_no_markup() -> None:
    """An asterisk in the studio's name stays one; an address keeps its underscore as it is."""
    assert numbers()["studio"] == r"Lantern \*&\* Loam"
    assert numbers()["contact"] == "hello_there@lantern.example"


def test_german_and_english_have_the_same_places() -> None:
    """A text can be translated without losing a number."""
    assert numbers().keys() == numbers("de").keys()


COMBINATIONS = list(product((True, False), (True, False), (True, False), (0, 14)))


@pytest.mark.parametrize(("deposit", "work", "claim", "free"), COMBINATIONS)
def test_the_sentence_on_calling_off_agrees_with_what_is_settled(
    deposit: bool, work: bool, claim: bool, free: int
) -> None:
    """Each thing said is checked against the money for half the work done, a tenth of it, and a late payer.

    Source: the settlement itself, for a price of 1,000 with a deposit of 300.
    """
    off = {
        "keep_deposit": "yes" if deposit else "no",
        "charge_work": "yes" if work else "no",
        "claim_missing": "yes" if claim else "no",
        "free_days": str(free),
    }
    own = settings(calling_off=off)
    said = numbers_of(own)["calling off"]
    start = date(2027, 1, 4)
    plan = make(Decimal(1000), start, 2, own.paying)

    def settle(share: str, paid: int, after: int = 20) -> tuple[Decimal, Decimal]:
        day = start + timedelta(days=after)
        done = call_off(
            plan,
            [Receipt(on=start, amount=Decimal(paid))],
            day,
            CalledOffBy.CLIENT,
            Decimal(share),
            own.paying.calling_off,
        )
        return done.kept, done.claimed

    half, tenth = settle("0.5", 900)[0], settle("0.1", 900)[0]
    assert ("I keep the deposit" in said) == (tenth == 300)
    assert ("share of the price" in said) == (half == 500)
    assert ("Everything you've paid comes back." in said) == (half == 0)
    assert ("ask for the difference" in said) == (work and settle("0.5", 300)[1] == 200)
    assert ("ask for nothing more" in said) == (work and settle("0.5", 300)[1] == 0)
    if free and (deposit or work):
        assert "within 14 days" in said
        assert settle("0.5", 900, after=14)[0] == 0
        assert settle("0.5", 900, after=15)[0] > 0
    else:
        assert "within" not in said


@given(st.decimals("1", "9000", places=2))
def test_the_bands_in_the_text_are_those_of_the_plan(price: Decimal) -> None:
    """The number of instalments said for a price is the number that the plan has."""
    own = settings()
    said = numbers_of(own)["instalments"]
    limits = [(Decimal(500), 0), (Decimal(1500), 1), (Decimal("Infinity"), 2)]
    spoken = said.split(", ")[next(place for limit, place in limits if price <= limit)]

    assert len(make(price, date(2027, 1, 4), 2, own.paying).parts) - 1 == int(spoken[0])


def studio(*kept: tuple[str, str], text: str = "Pay {deposit}.\n", **plan: Any) -> Studio:
    """Make a studio with one page of terms and kept versions of it."""
    return Studio(
        folder=PurePath("studio"),
        settings=settings(**plan),
        numbers=numbers(**plan),
        pieces=(),
        commissions=Commissions(),
        shows=(),
        pages=(Page("payment-terms", "Terms", text), Page("about", "About", "I like {braces}.\n")),
        people=(),
        kept_terms=tuple(KeptTerms("payment-terms", version, "Terms", words) for version, words in kept),
    )


def test_the_newest_version_is_in_force_while_it_says_the_same() -> None:
    """A line broken elsewhere changes nothing; a changed setting does, and so does a changed word."""
    kept = (("2026-09", "Pay 25%.\n"), ("2026-11", "Pay\n30%.\n"))

    assert terms.current(studio(*kept)) == "2026-11"
    assert terms.changed(studio(*kept, deposit="35%")) == ("payment-terms",)
    assert terms.changed(studio(*kept, text="Please pay {deposit}.\n")) == ("payment-terms",)
    # Going back to old words is a change as well: who accepts now accepts the newest version.
    assert terms.current(studio(*kept, deposit="25%")) is None
    assert terms.current(studio()) is None


def test_only_the_terms_have_places() -> None:
    """Braces on another page are the artist's own."""
    assert [page.text for page in terms.filled(studio())] == ["Pay 30%.\n", "I like {braces}.\n"]


def test_links_between_kept_texts_stay_within_their_version() -> None:
    """What was agreed on must not lead to what holds today."""
    text = "[a](payment-terms.md) [b](./commission-terms#late) [c](shipping.md) [d](payment-terms-x.md)"

    assert terms.linked_within(text, "2026-09") == (
        "[a](terms/payment/2026-09) [b](terms/commission/2026-09#late) [c](shipping.md) [d](payment-terms-x.md)"
    )
