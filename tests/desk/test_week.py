"""The coming weeks: worked out by hand, by counting days one by one, and against what `slots` says."""

from __future__ import annotations

import csv
import io
import json
import re
from collections import defaultdict
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any

import icalendar
import pytest
from hypothesis import example, given
from hypothesis import settings as bounds
from hypothesis import strategies as st

from sitegen.desk.slots import slots
from sitegen.desk.week import MarkKind, WeekPlan, week
from sitegen.jobs.answers import events
from sitegen.studio.capacity.bench import Away
from sitegen.studio.order_lines import WeekWorked, in_a_line, more_worked, read_worked
from sitegen.studio.whole import Studio
from sitegen.studio.workload import by_promise, left_by_step, usual_steps, workload
from sitegen.voice.calendar import calendar
from tests.desk.studios import TODAY, fixed, past_pieces, piece, queued, settings, studio

QUEUE = [
    queued("Q-1", private={"promised": "2026-12-24"}),
    queued("Q-2", private={"promised": "2026-11-26", "name": "Ida Example"}),
    queued("Q-3"),
]


def hours(found: WeekPlan) -> list[dict[str, str]]:
    return [{work.code: str(work.hours) for work in each.work} for each in found.weeks]


def test_pieces_follow_each_other_through_the_hours_that_weeks_have() -> None:
    """By hand: 20 h a week are 4 h a working day. From Wednesday 25 November 12 h are left of the week, one
    piece of 8 h and half of the second; the second's other half and the third fill 12 h of the next 20.
    """
    found = week(studio(fixed(), [queued("Q-1"), queued("Q-2"), queued("Q-3")]), TODAY, 3)

    assert hours(found) == [{"Q-1": "8", "Q-2": "4"}, {"Q-2": "4", "Q-3": "8"}, {}]
    assert [str(week_.room) for week_ in found.weeks] == ["12", "20", "20"]
    assert [(str(week_.first), str(week_.last)) for week_ in found.weeks] == [
        ("2026-11-25", "2026-11-29"), ("2026-11-30", "2026-12-06"), ("2026-12-07", "2026-12-13"),
    ]  # fmt: skip
    assert found.lost is None


def test_rest_and_shows_have_no_hours_and_stand_in_their_weeks() -> None:
    """By hand: away Thursday and Friday leave 4 h; a show on Monday and Tuesday leaves three days of 4 h."""
    own = settings(
        days_away=[{"from": "2026-11-26", "to": "2026-11-29", "why": "rest"}],
        takings=[{"on": "2026-12-05", "what": "Saturday class", "stream": "classes", "amount": "240"}],
    )
    show = {"slug": "fair", "name": "Fair", "from": "2026-11-30", "to": "2026-12-01"}
    found = week(studio(fixed(), [queued("Q-1")], shows=[show], own=own), TODAY, 2)

    assert hours(found) == [{"Q-1": "4"}, {"Q-1": "4"}]
    assert [str(week_.room) for week_ in found.weeks] == ["4", "12"]
    marks = [[(str(mark.kind), mark.name) for mark in week_.marks] for week_ in found.weeks]
    assert marks[0] == [("away", "rest")]
    assert ("show", "Fair") in marks[1]
    assert ("class", "Saturday class") in marks[1]
    assert ("done, as likely as not", "Q-1") in marks[1]


def test_a_lost_day_says_what_slips_by_how_much_and_whom_to_write_to() -> None:
    """By hand: by promised day Q-2 takes Wednesday and Thursday and keeps the 26th; with Wednesday lost it's
    done on Friday, so it surely doesn't. Q-1 then ends on Tuesday instead of Monday, long before its day.
    """
    found = week(studio(fixed(), QUEUE), TODAY).lost

    assert found is not None
    slips = [
        (order.code, was.kept, now.kept, str(was.sure), str(now.sure))
        for order, (was, now) in found.slips.pairs
    ]
    assert slips == [("Q-2", 1, 0, "2026-11-26", "2026-11-27"), ("Q-1", 1, 1, "2026-11-30", "2026-12-01")]
    assert found.as_answer()["becomes_unlikely"] == ["Q-2"]
    told = "\n".join(found.lines(TODAY, why=True))
    assert "Wednesday 25 November lost takes 4 bench hours; by that Q-2 becomes unlikely" in told
    assert "Write to Q-2 (Small, Ida Example): `sitegen order letter Q-2 --new-day 2026-11-27`." in told
    assert "Q-1 (" not in told


@pytest.mark.parametrize(("first", "last"), [("2026-11-28", "2026-11-29"), ("2026-12-07", "2026-12-08")])
def test_nothing_slips_by_a_day_without_bench_work_or_after_the_promised_one(first: str, last: str) -> None:
    own = settings(days_away=[{"from": "2026-12-07", "to": "2026-12-08"}])
    away = Away(date.fromisoformat(first), date.fromisoformat(last))
    found = week(studio(fixed(), QUEUE, own=own), TODAY, away=away).lost

    assert found is not None
    assert found.hours == 0
    assert all(was.kept == now.kept for _, (was, now) in found.slips.pairs)
    assert "nothing slips" in "".join(found.lines(TODAY, why=True))


def test_two_orders_stand_beside_each_other_with_their_late_days() -> None:
    """By hand: as booked Q-2 is done on Monday 30 November, four days late; by promised day on its day, and
    Q-1 on Monday, long before Christmas. So that order is better for Q-2, and the other for nobody.
    """
    found = week(studio(fixed(), QUEUE), TODAY).orders

    assert found is not None
    for one, booked, dated, days in (
        ("Q-1", "2026-11-26", "2026-11-30", (0, 0)),
        ("Q-2", "2026-11-30", "2026-11-26", (4, 0)),
    ):
        (answer,) = (each for each in found.as_answer() if each["code"] == one)
        assert (answer["as booked"]["done"], answer["by promised day"]["done"]) == (booked, dated)
        assert (answer["as booked"]["late_days"], answer["by promised day"]["late_days"]) == days
    assert found.said()[:2] == [
        "As booked, 1 piece is late, by 4 days in all and 4 at most.",
        "By promised day, 0 pieces are late; better for Q-2 (Small, Ida Example).",
    ]


def test_steps_come_in_the_order_in_which_pieces_are_made() -> None:
    """By hand: of two pieces of 10 h, sculpting is 6 and 4, painting 4 and 2, sewing 4 once (not in more than
    half). So sculpting has half, painting three tenths; of 10 h with 5 sculpted and 1 painted, 3 - 1 = 2 lack
    of painting, and all 4 h that are left fall to it. Before painting is begun, both share what is left.
    """
    usual = usual_steps([
        {"sculpting": Decimal(6), "painting": Decimal(4)},
        {"sculpting": Decimal(4), "sewing": Decimal(4), "painting": Decimal(2)},
    ])  # fmt: skip
    assert usual == [("sculpting", Fraction(1, 2)), ("painting", Fraction(3, 10))]

    begun = {"sculpting": Decimal(5), "painting": Decimal(1)}
    assert left_by_step(usual, begun, Fraction(4)) == [("painting", Fraction(4))]
    assert left_by_step(usual, {}, Fraction(8)) == [("sculpting", Fraction(5)), ("painting", Fraction(3))]
    # What has had less than half its hours is still to do, though a later step is begun: of 10 h, 5 less 1.
    begun = {"sculpting": Decimal(1), "painting": Decimal(1)}
    assert left_by_step(usual, begun, Fraction(8)) == [
        ("sculpting", Fraction(32, 6)),
        ("painting", Fraction(16, 6)),
    ]
    assert left_by_step(usual, {"painting": Decimal(2)}, Fraction(8)) == [
        ("sculpting", Fraction(40, 6)),
        ("painting", Fraction(8, 6)),
    ]
    assert left_by_step([], {"all": Decimal(2)}, Fraction(3)) == [("all", Fraction(3))]
    assert left_by_step([], {}, Fraction(3)) == [("", Fraction(3))]


def test_hours_noted_stand_against_the_hours_that_their_week_had() -> None:
    """By hand: 20 h a week; away on two days of the week before leave 12. Today is Wednesday 25 November."""
    own = settings(days_away=[{"from": "2026-11-19", "to": "2026-11-22"}])
    under_way = queued("Q-1", "on the bench", private={"worked": "2026-11-16 3; 2026-11-23 2.5"})
    made = piece("hare", status="in progress", private={"worked": "2026-11-18 1.5", "tier": "Small"})
    found = week(studio([*fixed(), made], [under_way], own=own), TODAY)

    said = [(str(noted.monday), str(noted.room), str(noted.hours)) for noted in found.noted]
    assert said == [
        ("2026-11-02", "20", "0"), ("2026-11-09", "20", "0"), ("2026-11-16", "12", "4.5"), ("2026-11-23", "20", "2.5"),
    ]  # fmt: skip
    assert "week of 2026-11-16           12    4.5" in found.lines()
    assert found.as_answer()["noted"][2] == {"monday": "2026-11-16", "bench_hours": "12", "noted": "4.5"}


def test_hours_without_a_day_are_in_no_week_and_named() -> None:
    """By hand: 9 h on the hare less the 1.5 of its weeks leave 7.5; 4 on the order less 2.5, 1.5; the owl is whole.

    What was finished before the weeks that are shown (from 2 November) isn't asked about.
    """
    hours = {"sculpting": "6", "sewing": "3"}
    pieces = [
        piece("hare", status="in progress", private={"hours": hours, "worked": "2026-11-18 1.5"}),
        piece("owl", finished="2026-11-20", private={"hours": hours, "worked": "2026-11-09 6; 2026-11-16 3"}),
        piece("bat", finished="2026-11-01", private={"hours": hours}),
        piece("fox", finished="2026-11-02", private={"hours": hours}),
    ]
    order = queued("Q-1", "on the bench", private={"hours": {"all": "4"}, "worked": "2026-11-23 2.5"})
    found = week(studio([*fixed(), *pieces], [order]), TODAY)

    assert found.no_week == (("hare", Decimal("7.5")), ("fox", Decimal(9)), ("Q-1", Decimal("1.5")))
    said = "Noted without a day, and so in no week: hare 7.5 h, fox 9 h and Q-1 1.5 h."
    assert said in " ".join(found.lines())
    assert found.as_answer()["no_week"] == {"hare": "7.5", "fox": "9", "Q-1": "1.5"}
    assert said not in " ".join(week(studio(fixed()), TODAY).lines())


@given(
    st.lists(st.tuples(st.dates(date(2026, 11, 1), date(2026, 12, 31)), st.decimals("0.01", 40, places=2)))
)
def test_hours_by_the_week_read_back_and_add_up(noted: list[tuple[date, Decimal]]) -> None:
    line: tuple[WeekWorked, ...] = ()
    for day, spent in noted:
        line = more_worked(read_worked(in_a_line(line)), day, spent)

    assert sum(worked.hours for worked in line) == sum(spent for _, spent in noted)
    assert len({one.on for one in line}) == len(line) == len({(day.isocalendar()[:2]) for day, _ in noted})
    assert all(worked.on.weekday() == 0 for worked in line)


@given(
    st.dictionaries(st.sampled_from("abcd"), st.decimals(0, 40, places=1), max_size=4),
    st.lists(st.dictionaries(st.sampled_from("abcd"), st.decimals(0, 40, places=1), max_size=4), max_size=5),
    st.fractions(0, 100),
)
def test_what_is_left_is_shared_out_whole(noted: Any, records: Any, left: Fraction) -> None:
    found = left_by_step(usual_steps(records), noted, left)

    assert sum(hours for _, hours in found) == left
    assert all(hours >= 0 for _, hours in found)
    assert len({step for step, _ in found}) == len(found)


DAYS = st.dates(date(2026, 11, 20), date(2027, 1, 20))
SPANS = st.tuples(DAYS, st.integers(0, 12)).map(
    lambda one: {"from": str(one[0]), "to": str(one[0] + timedelta(days=one[1]))}
)


@st.composite
def studios(draw: st.DrawFn) -> Studio:
    """Draw a studio with a queue, own pieces, days away and shows."""
    count = draw(st.integers(0, 5))
    queue = [
        queued(
            f"Q-{number}", draw(st.sampled_from(["accepted", "on the bench", "offered"])),
            private={
                **({"promised": str(draw(DAYS))} if draw(st.booleans()) else {}),
                "hours": {step: str(draw(st.integers(0, 9))) for step in ("sculpting", "painting")},
            },
        )
        for number in range(count)
    ]  # fmt: skip
    own = settings(
        weekly_hours=str(draw(st.sampled_from([1, 7, 20, 33.5, 60]))),
        days_away=draw(st.lists(SPANS, max_size=4)),
    )
    shows = [
        {"slug": f"s-{n}", "name": f"S {n}", **span}
        for n, span in enumerate(draw(st.lists(SPANS, max_size=2)))
    ]
    made = past_pieces(draw(st.integers(3, 12)), hours=draw(st.sampled_from([6.0, 20.0])))
    begun = (
        [piece("own", status="in progress", private={"hours": {"all": "2"}})] if draw(st.booleans()) else []
    )
    pinned = draw(st.sampled_from([{}, {"bench_order": "as booked"}, {"bench_order": "by promised day"}]))
    return studio([*made, *begun], queue, shows, own, **pinned)


@bounds(max_examples=40)
@given(studios(), st.integers(1, 6), DAYS.filter(lambda day: day <= date(2026, 12, 20)))
@example(studio(fixed(), QUEUE), 3, TODAY)
def test_hours_never_exceed_the_bench_rest_is_never_used_and_each_hour_is_planned_once(
    made: Studio, weeks: int, today: date
) -> None:
    found, said = week(made, today, weeks), slots(made, today)
    load = workload(made, today)
    daily = Fraction(load.bench.weekly_hours) / 5

    def works(day: date) -> bool:
        spans = [*made.settings.private.days_away]
        away = any(away.first_day <= day <= away.last_day for away in spans)
        show = any(fair.first_day <= day <= fair.ends for fair in made.shows)
        return day.weekday() < 5 and not away and not show

    planned: dict[str, Decimal] = defaultdict(Decimal)
    for week_ in found.weeks:
        days = [week_.first + timedelta(days=n) for n in range((week_.last - week_.first).days + 1)]
        there = daily * sum(map(works, days))
        assert Fraction(week_.planned) <= Fraction(week_.room) <= there
        assert Fraction(week_.room) > there - Fraction(1, 10)
        for work in week_.work:
            planned[work.code] += work.hours
    assert [week_.first for week_ in found.weeks][1:] == [
        week_.last + timedelta(days=1) for week_ in found.weeks
    ][:-1]

    # One after the other, in one of the two orders; no piece has more than its even-chance hours.
    codes = list(planned)
    assert codes in ([job.code for job in one.jobs][: len(codes)] for one in (load, by_promise(load)))
    begun = Fraction(0)
    for dates in said.answer.queue:
        assert dates.p50 is not None
        until = sum(map(works, (today + timedelta(days=n) for n in range((dates.p50 - today).days + 1))))
        end = daily * until
        if dates.code in planned:
            assert Fraction(planned[dates.code]) <= end - begun + daily
        begun = end - daily

    # What is said to be done is done on the even-chance day of `slots`, a day at the bench.
    done = {m.name: m.first for week_ in found.weeks for m in week_.marks if m.kind is MarkKind.DONE}
    assert done.items() <= {dates.code: dates.p50 for dates in said.answer.queue}.items()
    assert all(map(works, done.values()))
    kept = {m.name: m.kept for week_ in found.weeks for m in week_.marks if m.kind is MarkKind.PROMISED}
    assert kept.items() <= {dates.code: dates.kept for dates in said.answer.queue}.items()
    if found.lost is not None:
        for _, (was, now) in found.lost.slips.pairs:
            assert was.sure is not None
            assert now.sure is not None
            assert (now.kept or 0) <= (was.kept or 0)
            assert now.sure >= was.sure
            assert now.late >= was.late

    _says_the_same_everywhere(found)


def _says_the_same_everywhere(found: WeekPlan) -> None:
    """The sums of work on the screen, as JSON and as CSV are one sum."""
    answer = json.loads(json.dumps(found.as_answer()))
    rows = list(csv.DictReader(io.StringIO(found.table())))
    screen = "\n".join(found.lines())
    by_json = sum(Decimal(work["hours"]) for one in answer["weeks"] for work in one["work"])
    by_csv = sum(Decimal(row["hours"]) for row in rows if row["kind"] == "work")
    by_screen = sum(Decimal(one) for one in re.findall(r"^  \S.* ([0-9.]+) h$", screen, re.M))
    assert by_json == by_csv == by_screen == Decimal(answer["hours"])
    assert sum(Decimal(one["planned"]) for one in answer["weeks"]) == by_json


def _events(content: bytes) -> list[Any]:
    return list(icalendar.Calendar.from_ical(content).walk("VEVENT"))


def test_the_calendar_is_read_by_another_reader_with_whole_days_and_moments_in_utc() -> None:
    """icalendar is the independent reader. Dublin's clocks go forward on 28 March 2027 (IANA), so 12:00 of
    the 27th is 12:00 in UTC and 12:00 of the 28th is 11:00. RFC 5545, 3.8.1.3: CLASS:PRIVATE.
    """
    name = "Fair; of, figures\\ – " + "long " * 20
    show = {"slug": "fair", "name": name.strip(), "from": "2027-03-27", "to": "2027-03-28"}
    turns = {"name": "Spring", "opens": "2027-03-27 12:00", "closes": "2027-03-28 12:00", "slots": "2"}
    queue = [queued("Q 1/ä", private={"promised": "2027-03-26", "name": "Secret Client"})]
    made = studio(fixed(), queue, [show], rounds=[turns])
    zoned = made.commissions.rounds[0].model_copy(
        update={
            n: getattr(made.commissions.rounds[0], n).replace(tzinfo=made.settings.time_zone)
            for n in ("opens", "closes")
        }
    )
    made = Studio(**{
        **{name: getattr(made, name) for name in made.__slots__},
        "commissions": made.commissions.model_copy(update={"rounds": (zoned,)}),
    })  # fmt: skip
    found = week(made, date(2027, 3, 22), 2)
    written = calendar(tuple(events(found)), made.settings)

    read = {str(event["UID"]): event for event in _events(written)}
    assert len(read) == written.count(b"BEGIN:VEVENT") == len({*read})
    assert all(one["CLASS"] == "PRIVATE" and not one.errors for one in read.values())
    home = "@lantern.example"
    opens, closes = (read[f"round-spring-{turn}{home}"]["DTSTART"].dt for turn in ("opens", "closes"))
    assert (opens.isoformat(), closes.isoformat()) == (
        "2027-03-27T12:00:00+00:00",
        "2027-03-28T11:00:00+00:00",
    )
    assert [f"{one.astimezone(made.settings.time_zone):%H:%M}" for one in (opens, closes)] == [
        "12:00",
        "12:00",
    ]
    fair = read[f"show-fair{home}"]
    assert (str(fair["SUMMARY"]), fair["DTSTART"].dt, fair["DTEND"].dt) == (
        f"Show: {name.strip()}", date(2027, 3, 27), date(2027, 3, 29),
    )  # fmt: skip
    bench = read[f"week-2027-03-22{home}"]
    assert (str(bench["SUMMARY"]), bench["DTEND"].dt) == ("At the bench: 8 h", date(2027, 3, 29))
    assert any(str(one["SUMMARY"]).startswith("Promised: Q 1/ä, nearly certain") for one in read.values())
    assert b"Secret" not in written
