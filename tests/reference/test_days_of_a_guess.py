"""Days and chances of guessed pieces against SciPy's beta distribution, at half an hour each working day."""

from __future__ import annotations

from datetime import date, timedelta
from fractions import Fraction
from itertools import count

import numpy as np
import pytest
from scipy import stats

from sitegen.studio.capacity.answer import Job, Question, Shift, answer, running_totals
from sitegen.studio.capacity.bench import Bench
from sitegen.studio.capacity.hours import ThreePoint, from_estimate, from_records

MONDAY = date(2027, 1, 4)
# The n-th working day ends the n-th half hour.
BENCH = Bench(Fraction(5, 2), MONDAY)
GUESS = ThreePoint(10, 20, 60)
# PERT: mean 25, deviation 50 / 6; the shapes of the beta distribution from 10 to 60 with these.
SHARE = (GUESS.mean - GUESS.low) / 50
BOTH = SHARE * (1 - SHARE) * 36 - 1
BETA = stats.beta(SHARE * BOTH, (1 - SHARE) * BOTH, loc=2 * GUESS.low, scale=100)


def day(half_hours: float) -> date:
    found: date = np.busday_offset(MONDAY, round(half_hours) - 1).astype(object)
    return found


def ask(*promised: date, confidence: float = 0.8, window: int = 400) -> Question:
    queue = tuple(Job(f"Q-{n}", "Small", promised=one) for n, one in enumerate(promised))
    hours = {"Small": from_estimate(GUESS, "Small")}
    return Question(queue, hours, BENCH, (MONDAY, day(window)), "Small", confidence)


def test_the_days_are_those_of_the_distributions_points() -> None:
    (dates,) = answer(ask(day(60), confidence=0.65)).queue

    for found, share in ((dates.p50, 0.5), (dates.sure, 0.65), (dates.p80, 0.8), (dates.p90, 0.9)):
        assert found is not None
        assert abs(np.busday_count(found, day(BETA.ppf(share)))) <= 1


@pytest.mark.parametrize("share", [0.3, 0.6, 0.75, 0.85])
def test_a_promise_holds_with_the_distributions_chance(share: float) -> None:
    """It's broken, and doesn't count as kept, at any greater confidence."""
    promised = day(BETA.ppf(share))
    (dates,) = answer(ask(promised)).queue

    assert dates.kept == pytest.approx(share, abs=0.03)
    for confidence in (0.25, 0.5, 0.7, 0.8, 0.9):
        assert dates.breaks(confidence) is (confidence > share)
        assert ask(promised, confidence=confidence).promises_kept == (confidence < share)


def test_a_promise_is_kept_by_the_half_hours_that_its_evening_really_has() -> None:
    """Two thirds of a half hour a day: after three days there were two, and the tenth piece of an hour isn't done in 28.

    Ten pieces of one hour are 20 half hours, which the 30th evening has; the 29th has 19 and a third.
    """
    bench = Bench(Fraction(5, 3), MONDAY)
    hours = {"Hour": from_estimate(ThreePoint(1, 1, 1), "Hour")}
    for days, kept in ((29, 0), (30, 1)):
        queue = (*(Job(f"Q-{n}", "Hour") for n in range(9)), Job("Q-9", "Hour", promised=day(days)))
        question = Question(queue, hours, bench, (MONDAY, day(50)), "Hour")
        assert question.promises_kept == kept
        assert len(answer(question).broken) == 1 - kept


def test_knowing_the_average_for_certain_leaves_how_pieces_vary() -> None:
    """Half an hour a day: as many days earlier as the 80 % point of the bare convolution lies below."""
    hours = from_records([8.0, 9.0, 12.0, 20.0, 11.0], "Small")
    queue = tuple(Job(f"Q-{n}", "Small") for n in range(4))
    question = Question(queue, {"Small": hours}, BENCH, (MONDAY, day(50)), "Small")
    total = running_totals([hours] * 4)[-1]
    bare = next(place for place in count() if total.spread.chance(place) >= 0.8)
    earlier = (day(total.quantile(0.8)) - day(bare)).days

    assert earlier > 5
    assert (
        Shift("knowing the average hours for certain, from many more records", -earlier)
        in answer(question).changes
    )


def test_slots_open_while_their_chance_reaches_the_confidence() -> None:
    """The window ends where the chance of one piece is 70 %, of two next to nothing."""
    until = round(BETA.ppf(0.7))

    assert [answer(ask(confidence=share, window=until)).slots for share in (0.6, 0.8)] == [1, 0]


def test_nobody_is_promised_a_day_more_than_twenty_years_ahead() -> None:
    """Twenty times 366 days are 1,045 weeks and Monday to Friday, at half an hour a working day."""
    last = MONDAY + timedelta(days=20 * 366 - 1)

    assert [BENCH.done_on(half_hours) for half_hours in (5230, 5231, 5230)] == [last, None, last]


def test_no_work_is_done_on_the_first_day() -> None:
    assert BENCH.done_on(0) == MONDAY
