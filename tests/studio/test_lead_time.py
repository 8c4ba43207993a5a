"""What the public hears of slots, time and payment: true to the desk, and nothing private in it."""

from __future__ import annotations

import dataclasses
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from sitegen.desk.slots import slots
from sitegen.studio import workload
from sitegen.studio.front import front_of_house
from sitegen.studio.plan import PaymentPlan
from sitegen.studio.public import FrontOfHouse, LeadTime
from sitegen.studio.settings import Settings
from sitegen.studio.whole import Studio
from tests.desk.studios import DIGITS, past_pieces, piece, queued, settings, studio

DUBLIN = ZoneInfo("Europe/Dublin")
TODAY = date(2026, 11, 25)
ROUND = {
    "name": "Winter 2027",
    "opens": "2027-01-16 12:00",
    "closes": "2027-01-23 20:00",
    "slots": "4",
    "way": "first come",
}


def front(own: Studio, day: date = TODAY) -> FrontOfHouse:
    """Open the front of house at noon."""
    return front_of_house(own, datetime(day.year, day.month, day.day, 12, tzinfo=DUBLIN))


def busy(**commissions: Any) -> Studio:
    """Make a studio with three orders and eleven pieces on record."""
    return studio(past_pieces(11), [queued(f"W27-{n}") for n in range(3)], **commissions)


def test_the_lead_time_is_that_of_the_next_new_slot_at_the_desk() -> None:
    """Source: `slots`, whose first new slot it is; months by dateutil's calendar."""
    told = front(busy()).lead_time
    (first, *_) = slots(busy(), TODAY, None, date(2027, 12, 31)).answer.new

    assert told is not None
    assert first.p80 is not None
    assert told.shortest == told.longest == months_until(TODAY, first.p80)
    assert told.latest == told.earliest == (TODAY + relativedelta(months=told.longest)).replace(day=1)
    assert told.latest >= first.p80.replace(day=1)


def test_a_rounds_lead_time_counts_from_its_close_to_its_last_place() -> None:
    """Source: `slots` from the closing day: the first and the fourth new slot."""
    own = busy(rounds=[ROUND])
    told = front(own).lead_time
    closes = date(2027, 1, 23)
    new = slots(own, TODAY, closes, date(2027, 12, 31)).answer.new

    assert told is not None
    assert [told.shortest, told.longest] == [
        months_until(closes, dates.p80)  # type: ignore[arg-type]
        for dates in (new[0], new[3])
    ]
    assert [told.earliest, told.latest] == [
        (closes + relativedelta(months=count)).replace(day=1) for count in (told.shortest, told.longest)
    ]


def months_until(start: date, end: date) -> int:
    """Count months with dateutil, which isn't ours."""
    return next(count for count in range(1, 999) if start + relativedelta(months=count) >= end)


@given(st.dates(date(2020, 1, 1), date(2040, 1, 1)), st.integers(0, 900))
def test_months_and_dates_say_one_thing(start: date, days: int) -> None:
    """So many months from the start, the day has come; with one fewer it hasn't (dateutil)."""
    end = start + timedelta(days=days)

    count = workload._months(start, end)

    assert count == months_until(start, end)


@pytest.mark.parametrize(
    "own",
    [studio(past_pieces(11), own=settings(weekly_hours=None)), studio(), studio(past_pieces(11), tiers=[])],
)
def test_nothing_is_said_where_the_files_do_not_say_enough(own: Studio) -> None:
    """No weekly hours, no records, no tier: no lead time, and no fault."""
    assert front(own).lead_time is None


def test_only_months_get_out() -> None:
    """Whole months and first days of months: hours and rates can't be read off them."""
    told = front(busy()).lead_time

    assert told is not None
    assert {field.name for field in dataclasses.fields(LeadTime)} == {
        "shortest",
        "longest",
        "earliest",
        "latest",
    }
    assert told.earliest.day == told.latest.day == 1
    # An hour more or less a week shows only where a month turns.
    near = front(studio(past_pieces(11), [queued("W27-1")], own=settings(weekly_hours="20.25"))).lead_time
    far = front(studio(past_pieces(11), [queued("W27-1")], own=settings(weekly_hours="20"))).lead_time
    assert near == far


def test_the_same_day_gives_the_same_view() -> None:
    """Nothing random and no clock: two views of one moment are equal."""
    assert front(busy(rounds=[ROUND])) == front(busy(rounds=[ROUND]))


@pytest.mark.parametrize(
    ("steps", "left"),
    [
        ([], 4),
        (["request", "waiting", "declined"], 4),
        (["offered"], 3),
        (["accepted", "on the bench", "shipped"], 1),
        (["accepted"] * 5, 0),
    ],
)
def test_slots_left_are_those_that_nobody_holds(steps: list[str], left: int) -> None:
    """Counted by hand: an offer holds its slot while it stands, a request holds none."""
    queue = [queued(f"W27-{n}", step, round="Winter 2027") for n, step in enumerate(steps)]
    (told,) = front(studio(past_pieces(11), queue, rounds=[ROUND])).rounds

    assert (told.slots, told.left) == (4, left)


def with_plan(**plan: Any) -> Settings:
    """Make settings with a payment plan."""
    written = PaymentPlan.model_validate({"deposit": "30%", **plan}, context=DIGITS)
    return settings().model_copy(update={"payment_plan": written})


# By hand: 30 % of 640 is 192; 448 in three is 149.34, 149.33, 149.33, the odd cent first unless last.
@pytest.mark.parametrize(
    ("plan", "deposit", "shares"),
    [
        ({}, "192.00", ["149.34", "149.33", "149.33"]),
        ({"largest_last": "yes"}, "192.00", ["149.33", "149.33", "149.34"]),
        ({"deposit": "40", "bands": [{"instalments": "2"}]}, "40.00", ["300.00", "300.00"]),
    ],
)
def test_each_tier_shows_its_plan(plan: dict[str, Any], deposit: str, shares: list[str]) -> None:
    """The deposit and the parts of the lowest price."""
    tiers = [{"name": "Small", "from_price": "640"}]
    (tier,) = front(studio(own=with_plan(**plan), tiers=tiers)).tiers

    assert tier.example is not None
    assert tier.example.deposit == Decimal(deposit)
    assert list(tier.example.instalments) == [Decimal(share) for share in shares]
    assert tier.example.even == (len(set(shares)) == 1)


@given(st.decimals("0.01", "9000", places=2))
def test_an_example_sums_to_its_price_or_is_left_out(price: Decimal) -> None:
    """Whatever the price, no example is a cent off."""
    tiers = [{"name": "Small", "from_price": f"{price}"}]
    (tier,) = front(studio(own=with_plan(smallest_part="5"), tiers=tiers)).tiers

    if tier.example is not None:
        assert tier.example.deposit + sum(tier.example.instalments) == price
        assert min(tier.example.instalments) >= 5
    else:
        assert price < 40


def test_an_offer_that_stands_is_counted_before_the_last_place_of_the_round_and_not_before_the_first() -> (
    None
):
    """Source: `slots` from the closing day; 4 slots, 1 of them offered and unanswered."""
    own = studio(past_pieces(11), [*(queued(f"W27-{n}") for n in range(3)), queued("W27-4", "offered", since="2026-11-20", round="Winter 2027")], rounds=[ROUND])  # fmt: skip
    told = front(own).lead_time
    assert told is not None
    assert told == front(busy(rounds=[ROUND])).lead_time


def test_a_piece_dated_after_today_is_no_record_for_the_public_either() -> None:
    """Five pieces of 90 h, finished next summer, tell neither `slots` nor the site anything."""
    hours = {"tier": "Small", "hours": {"all": "90"}}
    later = [piece(f"later-{n}", finished="2027-06-01", private=hours) for n in range(5)]
    known = studio(past_pieces(11), [queued("W27-1")])
    dreamt = studio([*past_pieces(11), *later], [queued("W27-1")])

    assert workload.lead_time(dreamt, TODAY, None, 4) == workload.lead_time(known, TODAY, None, 4)


@pytest.mark.parametrize("owed", [0, 1, 3])
def test_slots_and_the_public_lead_time_never_part(owed: int) -> None:
    """Weeks and pieces that vary and grow, at a bench of 3 to 30 hours: the months to the desk's 80 % day."""
    hours = [14 + 1.3 * n + (n * 7 % 11) for n in range(14)]
    made = [
        piece(f"past-{n}", finished=str(date(2025, 1, 8) + timedelta(days=35 * n + n * 5 % 9)), private={"tier": "Small", "hours": {"all": f"{hours:g}"}})
        for n, hours in enumerate(hours)
    ]  # fmt: skip
    queue = [queued(f"W27-{n}") for n in range(owed)]
    for weekly in range(3, 31, 3):
        # The real week of the record is the same whatever is written, so the day of asking makes the cases.
        today = TODAY + timedelta(days=weekly)
        own = studio(made, queue, own=settings(weekly_hours=str(weekly)))
        answer = slots(own, today, None, date(2027, 12, 31)).answer
        told = workload.lead_time(own, today, None, 1)
        first = (*answer.new, answer.beyond)[0].p80

        assert told is not None
        assert first is not None
        assert told.shortest == months_until(today, first)
