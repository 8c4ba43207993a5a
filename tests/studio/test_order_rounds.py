"""First come means first: requests by the minute, with the head start, across the clocks' changes.

The changes of the clocks are those of the IANA time zone database (package tzdata): in Berlin on 28 March
2027 from 02:00 to 03:00, on 25 October 2026 from 03:00 back to 02:00; UTC+2 in summer, UTC+1 in winter.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from sitegen.studio.commission import Commissions, Order
from sitegen.studio.offers import asked_at, in_line, pass_on
from sitegen.studio.order_lines import in_a_line, read_moves
from sitegen.studio.order_steps import missed, nearly, round_of, unsure

BERLIN = ZoneInfo("Europe/Berlin")
CARA = {"since": "2026-08-02", "private": {"name": "Cara", "email": "cara@mail.example"}}
ROUND = {
    "name": "Winter 2027", "opens": "2027-01-16 12:00", "closes": "2027-01-23 20:00", "slots": "2",
    "way": "first come", "head_start": "24", "tiers": ["Small"],
}  # fmt: skip


def asks(code: str, when: str, **more: Any) -> dict[str, Any]:
    private = {"name": f"N {code}", "email": f"{code}@mail.example"}
    return {"code": code, "tier": "Small", "step": "request", "moves": f"{when} request", "private": private, **more}  # fmt: skip


def book(*queue: dict[str, Any], zone: Any = BERLIN, **one: Any) -> Commissions:
    tiers = [{"name": "Small", "from_price": "420"}, {"name": "Large", "from_price": "900"}]
    return Commissions.model_validate(
        {"tiers": tiers, "rounds": [{**ROUND, **one}], "queue": list(queue), "waiting": [CARA]},
        context={"digits": 2, "zone": zone},
    )


def line(made: Commissions) -> list[str]:
    return [turn.code for turn in in_line(made, made.rounds[0], None) if isinstance(turn, Order)]


CARAS = {"private": CARA["private"]}


@pytest.mark.parametrize(
    ("entry", "is_in"),
    [
        (asks("A", "2027-01-16 11:59"), False),
        (asks("A", "2027-01-16 12:00"), True),
        (asks("A", "2027-01-23 19:59"), True),
        (asks("A", "2027-01-23 20:00"), False),
        (asks("A", "2027-01-15 13:00"), False),
        (asks("A", "2027-01-15 11:59", **CARAS), False),
        (asks("A", "2027-01-15 12:00", **CARAS), True),
        (asks("A", "2027-01-16"), True),
        (asks("A", "2027-01-15"), False),
        (asks("A", "2027-01-15", **CARAS), True),
        (asks("A", "2027-01-14", **CARAS), False),
        (asks("A", "2027-01-23"), True),
        (asks("A", "2027-01-24"), False),
        (asks("A", "2027-01-17 10:00", tier="Large"), False),
    ],
)
def test_a_request_is_in_the_round_to_the_minute_whether_it_names_it_or_not(
    entry: dict[str, Any], is_in: bool
) -> None:
    by_time, named = book(entry), book({**entry, "round": "Winter 2027"})

    assert (round_of(by_time, by_time.queue[0]) is not None) is is_in
    assert line(by_time) == line(named) == (["A"] if is_in else [])
    assert bool(missed(named, named.rounds[0], named.queue[0])) is not is_in


def test_who_waited_and_asked_in_the_head_start_is_first_and_a_day_alone_is_the_last_of_its_day() -> None:
    made = book(asks("A", "2027-01-16"), asks("B", "2027-01-16 23:59"), asks("C", "2027-01-16 12:00"), asks("D", "2027-01-17 00:00"), asks("E", "2027-01-15 22:00", **CARAS))  # fmt: skip

    assert line(made) == ["E", "C", "B", "A", "D"]


def test_a_head_start_means_something_only_where_the_first_are_served() -> None:
    early = asks("A", "2027-01-15 13:00", **CARAS)
    for way in ("draw", "waiting list"):
        made = book(early, way=way)
        assert round_of(made, made.queue[0]) is None


def test_a_round_by_the_waiting_list_takes_whom_it_names_before_it_opens_but_not_after_it_closed() -> None:
    """By how long somebody waits; who waits in another round isn't too late for this one either."""
    made = book(asks("A", "2027-01-10 08:00", round="Winter 2027"), asks("B", "2027-01-24 08:00", round="Winter 2027"), asks("C", "2026-12-01 08:00", step="waiting", since="2026-12-02"), asks("D", "2026-12-01 08:00", tier="Large", step="waiting", since="2026-12-02"), way="waiting list")  # fmt: skip

    assert line(made) == ["C", "A"]


def test_a_size_finds_the_round_that_takes_it() -> None:
    made = book(asks("A", "2027-01-17 10:00", tier="Large"))
    large = made.rounds[0].model_copy(update={"name": "Large only", "tiers": ("Large",)})
    both = made.model_copy(update={"rounds": (*made.rounds, large)})

    assert round_of(both, both.queue[0]) == large


def test_what_is_passed_on_goes_to_nobody_out_of_time_or_of_another_size() -> None:
    offered = {
        "step": "offered",
        "since": "2027-01-25",
        "moves": "2027-01-16 12:00 request; 2027-01-25 offered",
    }
    named = {"round": "Winter 2027"}
    made = book(asks("A", "2027-01-16 12:00", **offered), asks("B", "2027-01-16 11:58", **named), asks("C", "2027-01-16 12:01", tier="Large", **named), asks("D", "2027-01-20 09:00"), slots="1")  # fmt: skip

    passed = pass_on(made, {}, date(2027, 2, 9))
    assert [order.code for order in passed.offered] == ["D"]


def test_a_head_start_is_counted_in_hours_not_on_the_wall() -> None:
    """Open on 28 March 2027 at 12:00 (UTC+2), 12 hours earlier is 22:00 UTC the day before: 23:00 in Berlin."""
    when = {"opens": "2027-03-28 12:00", "closes": "2027-04-01 12:00", "head_start": "12"}
    for clock, is_in in (("22:59", False), ("23:00", True)):
        made = book(asks("A", f"2027-03-27 {clock}", **CARAS), **when)
        assert (round_of(made, made.queue[0]) is not None) is is_in


@pytest.mark.parametrize(
    ("zone", "said"),
    [
        ("Europe/Berlin", "'2027-03-28 02:30' is a time that doesn't exist in Europe/Berlin"),
        ("Europe/Dublin", None),  # there from 01:00 to 02:00
    ],
)
def test_a_time_that_the_clocks_skip_is_refused(zone: str, said: str | None) -> None:
    for queue, ask in (([asks("A", "2027-03-28 02:30")], {}), ([], {"opens": "2027-03-28 02:30", "closes": "2027-04-01 12:00"})):  # fmt: skip
        if said is None:
            book(*queue, zone=ZoneInfo(zone), **ask)
            continue
        with pytest.raises(ValidationError, match=f"{said}: .*03:30 is what they show then"):
            book(*queue, zone=ZoneInfo(zone), **ask)


def test_a_time_that_comes_twice_is_the_first_unless_it_is_written_as_the_second() -> None:
    """02:45 for the first time is 00:45 UTC, 02:15B is 01:15 UTC: half an hour later, though 15 < 45."""
    when = {"opens": "2026-10-25 02:30", "closes": "2026-10-26 12:00"}
    made = book(asks("A", "2026-10-25 02:15B"), asks("B", "2026-10-25 02:45"), asks("C", "2026-10-25 02:15"), **when)  # fmt: skip

    assert [asked_at(order, BERLIN).astimezone(UTC).strftime("%H:%M") for order in made.queue] == ["01:15", "00:45", "00:15"]  # fmt: skip
    assert line(made) == ["B", "A"]
    assert in_a_line(made.queue[0].moves) == "2026-10-25 02:15B request"
    with pytest.raises(ValueError, match="has a B, but the clocks show 12:00 only once on 2026-10-25"):
        read_moves("2026-10-25 12:00B request", BERLIN)


@pytest.mark.parametrize(
    ("when", "more", "turn"),
    [
        ("2027-01-16", {}, "opens that day (2027-01-16 12:00)"),
        ("2027-01-23", {}, "closes that day (2027-01-23 20:00)"),
        ("2027-01-15", CARAS, "opens that day (2027-01-15 12:00)"),
        ("2027-01-16", CARAS, None),
        ("2027-01-17", {}, None),
        ("2027-01-16 12:00", {}, None),
        ("2027-01-15", {}, None),
    ],
)
def test_a_missing_time_is_told_where_it_decides(when: str, more: dict[str, Any], turn: str | None) -> None:
    made = book(asks("A", when, round="Winter 2027", **more))
    said = unsure(made, made.rounds[0], made.queue[0])

    assert bool(said) is (turn is not None)
    assert turn is None or f"A has no time of day, and Winter 2027 {turn}" in said
    assert turn is None or f"`{when} 12:00 request`" in said


@pytest.mark.parametrize(
    ("entry", "why"),
    [
        (asks("A", "2027-01-16 11:58"), "asked on 2027-01-16 11:58, before Winter 2027 opens (2027-01-16 12:00)"),
        (asks("A", "2027-01-15 11:58", **CARAS), "asked on 2027-01-15 11:58, before Winter 2027 opens to those on the waiting list (2027-01-15 12:00)"),
        (asks("A", "2027-01-23 21:00"), "asked on 2027-01-23 21:00, when Winter 2027 was closed (2027-01-23 20:00)"),
        (asks("A", "2027-01-18", tier="Large"), "asks for Large, and Winter 2027 is for Small only"),
        (asks("A", "2027-01-14 12:00"), None),
        (asks("A", "2027-01-24 00:00"), None),
        (asks("A", "2027-01-18"), None),
    ],
)  # fmt: skip
def test_whoever_only_just_is_not_in_a_round_is_told_why(entry: dict[str, Any], why: str | None) -> None:
    made = book(entry)
    near = nearly(made, made.queue[0])

    assert (near[1] if near else None) == why


@given(
    minutes=st.lists(st.integers(-3 * 1440, 9 * 1440), min_size=1, max_size=6),
    zone=st.sampled_from(["Europe/Berlin", "America/Halifax", "Australia/Lord_Howe", "UTC"]),
    opens=st.datetimes(datetime(2026, 1, 1), datetime(2027, 12, 31)).map(lambda one: one.replace(second=0, microsecond=0, minute=0, hour=12)),  # noqa: DTZ001
)  # fmt: skip
def test_the_line_is_that_of_the_moments_in_utc(minutes: list[int], zone: str, opens: datetime) -> None:
    """Whoever asks between opening and closing is in line, in the order of time, wherever the clocks change."""
    there = ZoneInfo(zone)
    start = opens.replace(tzinfo=there).astimezone(UTC)
    moments = [start + timedelta(minutes=late) for late in minutes]
    queue = [asks(f"A{number}", "2026-01-01", moves=_written(moment.astimezone(there))) for number, moment in enumerate(moments)]  # fmt: skip
    closes = (start + timedelta(days=5)).astimezone(there).replace(tzinfo=None, hour=12)
    made = book(*queue, zone=there, opens=f"{opens:%Y-%m-%d %H:%M}", closes=f"{closes:%Y-%m-%d %H:%M}", head_start="0")  # fmt: skip

    ends = closes.replace(tzinfo=there).astimezone(UTC)
    wanted = sorted((moment, number) for number, moment in enumerate(moments) if start <= moment < ends)
    assert line(made) == [f"A{number}" for _, number in wanted]


def _written(moment: datetime) -> str:
    return f"{moment:%Y-%m-%d %H:%M}{'B' if moment.fold else ''} request"


def test_a_round_by_the_waiting_list_needs_no_time_on_the_day_it_opens() -> None:
    made = book(asks("A", "2027-01-16", round="Winter 2027"), asks("B", "2027-01-23", round="Winter 2027"), way="waiting list")  # fmt: skip

    assert unsure(made, made.rounds[0], made.queue[0]) == ""
    assert "closes that day" in unsure(made, made.rounds[0], made.queue[1])


def test_of_an_order_whose_request_is_not_on_record_only_the_size_is_said() -> None:
    """It was offered before the round opened, which tells nothing of when it was asked for."""
    early = {"step": "offered", "since": "2027-01-02", "moves": "2027-01-02 offered", "round": "Winter 2027"}
    made = book(asks("A", "2027-01-02", **early), asks("B", "2027-01-02", **{**early, "tier": "Large"}))

    assert missed(made, made.rounds[0], made.queue[0]) == ""
    assert missed(made, made.rounds[0], made.queue[1]).startswith("asks for Large")


def test_a_time_is_missed_only_of_a_request_that_has_a_day_and_could_be_in_line() -> None:
    opening = {
        "step": "offered",
        "since": "2027-01-16",
        "moves": "2027-01-16 offered",
        "round": "Winter 2027",
    }
    dayless = {"code": "B", "tier": "Small", "step": "request", "round": "Winter 2027"}
    large = asks("C", "2027-01-16", tier="Large", round="Winter 2027")
    made = book(asks("A", "2027-01-16", **opening), dayless, large)

    assert [unsure(made, made.rounds[0], order) for order in made.queue] == ["", "", ""]
