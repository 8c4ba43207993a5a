"""Errands: none names a thing that isn't there, and what is lost first comes first."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitegen.desk.errands import Errand, ErrandKind, Target, by_loss
from sitegen.desk.slots import outlook
from sitegen.desk.today import Beside, today
from sitegen.desk.words import at_day
from sitegen.studio.asked import Fault
from sitegen.studio.order_lines import Step
from sitegen.studio.order_steps import FOLLOWING
from sitegen.studio.person import Consent, Person
from sitegen.studio.piece import Piece
from sitegen.studio.whole import Studio
from tests.desk.studios import TODAY, past_pieces, piece, queued, studio

MOMENT = datetime(2026, 11, 25, 12, tzinfo=ZoneInfo("Europe/Dublin"))
FORWARD = [
    Step.REQUEST, Step.OFFERED, Step.ACCEPTED, Step.ON_THE_BENCH, Step.FINISHED, Step.PAID, Step.SHIPPED,
]  # fmt: skip


@dataclass(frozen=True)
class Made:
    """A letter as the errands see it."""

    ident: str
    about: tuple[tuple[str, str], ...]
    left: int
    in_doubt: tuple[str, ...]
    refused_still: int
    untrue: str
    subject: str = "Commissions open"
    chosen: int = 3


@st.composite
def orders(draw: st.DrawFn, code: str) -> dict[str, Any]:
    """An order on its way, each step some days after the one before; perhaps ended, promised, paid."""
    steps = FORWARD[: draw(st.integers(1, len(FORWARD)))]
    if draw(st.booleans()):
        ended = [step for step in FOLLOWING[steps[-1]] if step not in FORWARD]
        steps = [*steps, *ended[:1]]
    day, moves = TODAY - timedelta(days=draw(st.integers(1, 120))), []
    for step in steps:
        moves.append(f"{day} {step}")
        day = min(day + timedelta(days=draw(st.integers(0, 20))), TODAY)
    private: dict[str, Any] = {"name": f"Client {code}", "email": f"{code}@mail.example"}
    if draw(st.booleans()):
        private["price"] = "400"
    if draw(st.booleans()):
        private["paid"] = f"{TODAY} {draw(st.sampled_from(['120', '400', '420']))}"
    if draw(st.booleans()):
        private["promised"] = str(TODAY + timedelta(days=draw(st.integers(-60, 60))))
    last = moves[-1].partition(" ")[0]
    return queued(code, str(steps[-1]), since=last, moves="; ".join(moves), private=private)


@st.composite
def studios(draw: st.DrawFn) -> Studio:
    queue = [draw(orders(f"W-{n}")) for n in range(draw(st.integers(0, 6)))]
    opens = TODAY + timedelta(days=draw(st.integers(-40, 40)))
    rounds = [
        {"name": "Winter", "opens": f"{opens} 12:00", "closes": f"{opens + timedelta(days=7)} 12:00",
         "slots": "4", "way": draw(st.sampled_from(["draw", "first come", "waiting list"]))}
    ]  # fmt: skip
    show = TODAY + timedelta(days=draw(st.integers(-5, 60)))
    pieces = [
        *past_pieces(9),
        piece("owl", status=draw(st.sampled_from(["sold", "commissioned", "available"]))),
        piece("hare", status="on hold", private={"plan": {"from": "2026-09-01", "price": "300"}}),
    ]
    people = tuple(
        Person(f"p{n}@mail.example", joined=TODAY - timedelta(days=days), consent=Consent.PURCHASE)
        for n, days in enumerate(draw(st.lists(st.integers(600, 800), max_size=4)))
    )
    made = studio(pieces, queue, [{"slug": "fair", "name": "Fair", "from": str(show)}], rounds=rounds)
    return replace(made, people=people)


letters = st.lists(
    st.builds(
        Made,
        st.sampled_from(["round-letter", "show-letter"]),
        st.sampled_from([(("round", "winter"),), (("show", "fair"),), (("piece", "owl"),)]),
        st.integers(0, 3),
        st.sampled_from([(), ("ana@mail.example",)]),
        st.integers(0, 2),
        st.sampled_from(["", "round winter was …"]),
    ),
    max_size=2,
    unique_by=lambda made: made.ident,
)


@given(studios(), letters, st.booleans(), st.booleans())
def test_an_errand_never_names_what_is_not_there(
    made: Studio, written: list[Made], ready: bool, built: bool
) -> None:
    try:
        ahead = outlook(made, TODAY)
    except Fault:  # a promise before the order, say
        ahead = Beside().outlook
    beside = Beside(
        ahead, written, lambda code, matter: TODAY if ready else None,
        frozenset({"fair"} if ready else ()), "" if built else "Not built.", "" if built else "No backup.",
    )  # fmt: skip
    there = {
        "order": {order.code for order in made.commissions.queue},
        "round": {held.name for held in made.commissions.rounds},
        "show": {fair.slug for fair in made.shows},
        "piece": {one.slug for one in made.pieces},
        "letter": {made.ident for made in written},
    }

    found = today(made, beside, MOMENT)

    for errand in found.errands:
        assert errand.target.name in there.get(errand.target.kind, {""})
        assert errand.sentence.endswith(".")
        assert errand.do.endswith(".")
        assert "None" not in errand.sentence + errand.do
    assert len(found.errands) == len(set(found.errands)), "nothing is said twice"


errands = st.builds(
    Errand,
    st.sampled_from(ErrandKind),
    st.just("It is."),
    st.none() | st.dates(TODAY - timedelta(days=40), TODAY + timedelta(days=90)),
    st.just("Do."),
    st.builds(Target, st.just("order"), st.sampled_from("ABC")),
)


@given(st.lists(errands), st.randoms())
def test_what_is_lost_first_comes_first_however_it_was_found(found: list[Errand], chance: Any) -> None:
    ordered = by_loss(TODAY, found).errands
    chance.shuffle(found)

    assert by_loss(TODAY, found).errands == ordered
    near = [errand for errand in ordered if errand.by is not None and errand.by <= TODAY + timedelta(days=2)]
    assert list(ordered[: len(near)]) == near
    assert [list(ErrandKind).index(errand.kind) for errand in near] == sorted(
        list(ErrandKind).index(errand.kind) for errand in near
    )


@pytest.mark.parametrize(
    ("day", "said"),
    [
        ("2026-11-25", "today, Wednesday 25 November"),
        ("2026-11-26", "tomorrow, Thursday 26 November"),
        ("2026-11-24", "yesterday, Tuesday 24 November"),
        ("2026-11-28", "in 3 days, Saturday 28 November"),
        ("2026-12-01", "in 6 days, Tuesday 1 December"),
        ("2027-01-01", "in 37 days, Friday 1 January 2027"),
        ("2025-12-31", "329 days ago, Wednesday 31 December 2025"),
    ],
)
def test_a_day_is_said_as_people_say_it(day: str, said: str) -> None:
    """Weekdays by an almanac: 1 December 2026 is a Tuesday, 1 January 2027 a Friday (from memory)."""
    assert at_day(date.fromisoformat(day), TODAY) == said


def test_a_letter_that_is_no_longer_true_is_to_be_made_again() -> None:
    """Until a later letter tells of the same, or what it tells of can't be had any more."""
    hare, sold = piece("hare", status="available", price="480"), piece("hare", status="sold")
    stale = Made("new-pieces-1", (("piece", "hare"),), 3, (), 0, "its price rose")
    later = replace(stale, ident="new-pieces-2", left=0, untrue="")

    def told(one: Piece, *letters: Made) -> list[tuple[str, str]]:
        found = today(studio([one]), Beside(letters=letters), MOMENT).errands
        return [errand.target for errand in found if errand.kind is ErrandKind.LETTER]

    assert told(hare, stale) == [("letter", "new-pieces-1")]
    assert told(hare, later, stale) == told(sold, stale) == []
