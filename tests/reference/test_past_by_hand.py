"""The sum of pieces and what dated pieces add to it, by hand: each term with a number of its own."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction

import pytest
from scipy import stats

from sitegen.studio.capacity.answer import Total, student_errors
from sitegen.studio.capacity.bench import UNKNOWN, Bench, Finished, Pace, pace
from sitegen.studio.capacity.hours import ThreePoint, from_estimate, from_records

MONDAY = date(2026, 1, 5)
BENCH = Bench(Fraction(20), date(2026, 11, 25))  # 4 h, eight half hours, a working day
TEN = from_records([10.0] * 5, "Small")  # twenty half hours, for certain
DRIFT = Pace(growth=0.1, counted=3)


def test_a_queue_grows_from_the_middle_of_the_records_and_no_further_than_they_reach() -> None:
    """Of three records the middle is the second: the next piece lies (3 + 1) / 2 = 2 beyond it."""
    assert [DRIFT.ahead(place) for place in range(6)] == [2, 3, 4, 5, 5, 5]


def test_a_certain_drift_moves_the_sum() -> None:
    """20 (e^0.2 + e^0.3) half hours = 24.43 + 27.00 = 51.43, so the 52nd half hour is the first that holds."""
    total = Total(pace=DRIFT).plus(TEN).plus(TEN)

    assert total.shift == pytest.approx(20 * (math.exp(0.2) + math.exp(0.3)) - 40)
    assert [total.chance(51), total.chance(52)] == [0, 1]


def test_pieces_that_get_quicker_come_sooner() -> None:
    """20 (e^-0.2 + e^-0.3) half hours = 16.37 + 14.82 = 31.19, so the 32nd is the first that holds at any confidence."""
    total = Total(pace=replace(DRIFT, growth=-0.1)).plus(TEN).plus(TEN)

    assert [total.quantile(share) for share in (0.01, 0.5, 0.99)] == [32, 32, 32]


@pytest.mark.parametrize("growth", [-0.05, 0.0, 0.05])
def test_a_quantile_is_the_first_half_hour_whose_chance_reaches_it(growth: float) -> None:
    """Source: looking at each half hour from the first one on."""
    small = from_records([8.0, 9.0, 9.5, 10.0, 10.5, 11.0, 16.0], "Small")
    total = Total(pace=replace(DRIFT, growth=growth, growth_variance=1e-4, growth_freedom=9.0)).plus(small).plus(small)  # fmt: skip

    for share in (0.05, 0.5, 0.8, 0.95):
        assert total.quantile(share) == next(n for n in range(1000) if total.chance(n) >= share)


def test_what_is_unknown_of_two_sizes_follows_student_with_welchs_degrees_and_the_skewness_of_both() -> None:
    """Source: SciPy's Welch test for the degrees of freedom, its k-statistics for the third moments.

    Twice the first size and once the second: the unknown part is 2 a + b, of the means a and b.
    """
    first, second = [8.0, 9.0, 12.0, 20.0, 11.0], [30.0, 34.0, 31.0, 50.0, 36.0, 33.0, 29.0]
    total = (
        Total().plus(from_records(first, "a")).plus(from_records(second, "b")).plus(from_records(first, "a"))
    )
    doubled, halves = [4 * one for one in first], [2 * one for one in second]  # in half hours
    welch = stats.ttest_ind(doubled, halves, equal_var=False)
    scale = math.hypot(stats.sem(doubled), stats.sem(halves))
    third = stats.kstat(doubled, 3) / len(first) ** 2 + stats.kstat(halves, 3) / len(second) ** 2
    wanted = student_errors(scale, welch.df, third / scale**3)

    assert [one for pair in total._errors for one in pair] == pytest.approx(
        [one for pair in wanted for one in pair]
    )


def test_an_uncertain_growth_widens_by_its_lever() -> None:
    """Two pieces of 20 half hours, two and three places ahead: the slope's error moves them by 40 + 60.

    A slope of 0 +- 0.01 makes a standard error of 1 half hour but for the lognormal's small part.
    """
    sure = Pace(growth_variance=1e-4, growth_freedom=1e6, counted=3)
    total = Total(pace=sure).plus(TEN).plus(TEN)
    larger = [math.exp(1e-4 * ahead**2 / 2) for ahead in (2, 3)]

    assert total.lever == pytest.approx(20 * (2 * larger[0] + 3 * larger[1]))
    # Half of the normal's chance lies within 0.6745 standard errors, and 0.9772 below two.
    assert total.chance(42) == pytest.approx(stats.norm.cdf(2), abs=0.02)


def test_work_that_is_surely_over_before_a_day_adds_nothing_unknown() -> None:
    """A queue of 24.43 half hours is over by the hundredth; it can't drift what begins after."""
    owed = Total(pace=DRIFT).plus(TEN)
    late, early = owed.not_before(100), owed.not_before(5)

    assert (late.mean, late.shift, late.lever) == (0, 0, 0)
    assert (early.mean, early.shift, early.lever) == (owed.mean, owed.shift, owed.lever)
    assert [late.chance(99), late.chance(100)] == [0, 1]


def test_what_is_unknown_of_work_before_a_day_counts_by_the_chance_that_it_lasts_so_long() -> None:
    """What is unknown of two pieces alike goes with their number, so their number goes with the chance."""
    one = from_records([8.0, 12.0], "Small")
    total = Total(pace=DRIFT).plus(one).plus(one)
    busy = 1 - total.chance(45)
    after = total.not_before(45)

    assert 0.05 < busy < 0.95
    assert after.pieces["Small"][1] == pytest.approx(2 * busy)
    assert after.wider == pytest.approx(total.wider * busy)
    assert after.shift == pytest.approx(total.shift * busy)


def test_a_larger_piece_varies_by_the_square() -> None:
    """e^0.2 times as large has e^0.4 times the variance, and the upper points are wider for it.

    Eleven records, and a growth as from very many, so that the widening doesn't come with fewer degrees.
    """
    small = from_records([15.0 + step for step in range(11)], "Small")
    total = Total(pace=replace(DRIFT, growth_freedom=1e6)).plus(small)

    assert total.wider == pytest.approx(small.spread.variance * (math.exp(0.4) - 1))
    assert total.quantile(0.95) > replace(total, wider=0.0).quantile(0.95)


def test_a_drift_moves_uncertain_hours_as_it_moves_certain_ones() -> None:
    """The middle of a symmetric sum moves by the shift: here by 20 (e^0.2 - 1) = 4.4 half hours."""
    small = from_records([8.0, 9.0, 9.5, 10.0, 10.5, 11.0, 12.0], "Small")
    still = Total().plus(small).quantile(0.5)

    assert Total(pace=DRIFT).plus(small).quantile(0.5) - still in (4, 5)


def test_a_guess_is_of_today_and_does_not_drift() -> None:
    guess = from_estimate(ThreePoint(8, 10, 14), "Large")

    assert Total(pace=DRIFT).plus(guess).quantile(0.8) == Total().plus(guess).quantile(0.8)


def test_the_swing_of_weeks_runs_from_single_to_block_and_the_mean_week_is_unknown_too() -> None:
    """near 1, far 3, from 10 to 30 half hours; the mean of 100 half hours on record adds 3 h / 100 an hour.

    At 10: 10 (1 + 0.3) = 13; halfway, at 20: 20 (2 + 0.6) = 52; at 60, past the block: 60 (3 + 1.8) = 288.
    """
    known = Pace(near=1, far=3, single=10, block=30, seen=100)

    assert [known.week_variance(one) for one in (10, 20, 60)] == pytest.approx([13, 52, 288])


def test_a_bent_t_is_johnsons() -> None:
    """Johnson 1978: t + g (1 + 2 t^2) / 6; its mean over Student's t with n degrees, where E t^2 = n / (n - 2).

    For 12 degrees and g = 0.1: 0.1 (1 + 2 * 1.2) / 6 = 0.05667; a scale of 3 makes 0.17.
    """
    mean = sum(error * weight for error, weight in student_errors(3.0, 12.0, 0.1))

    assert mean == pytest.approx(0.17, rel=0.01)


def weekly(hours: list[float], first: date = MONDAY) -> list[Finished]:
    """Finish a piece each Monday."""
    return [Finished(first + timedelta(days=7 * week), hours, "Small") for week, hours in enumerate(hours)]


def test_the_swing_of_alternating_weeks() -> None:
    """Ten pieces, a week of 40 half hours between each two: nine stretches, 30 and 50 half hours in turn.

    Noted: five of 50 and four of 30 make 370; share 370 / 360. A stretch strays by 41.11 - 50 = -8.89 or by
    41.11 - 30 = 11.11; the finishing day's own part is (8 * 370 / 360)^2 / 6 = 11.27. So near is the mean of
    5 times (79.01 - 11.27) / (50 (1 - 50 / 370)) = 1.566 and 4 times (123.46 - 11.27) / (30 (1 - 30 / 370)) = 4.069:
    (5 * 1.566 + 4 * 4.069) / 9 = 2.679. Blocks of three, four of 130 and three of 110, mostly even out:
    strays 3 * 41.11 - 130 = -6.67 and 13.33, so 4 (44.44 - 11.27) / (130 (1 - 130 / 370)) and
    3 (177.78 - 11.27) / (110 (1 - 110 / 370)): (4 * 0.3935 + 3 * 2.154) / 7 = 1.148.
    """  # fmt: skip
    found = pace(weekly([20.0, *([25.0, 15.0] * 5)[:9]]), BENCH)

    assert (found.dated, found.seen) == (9, 370)
    assert found.block == pytest.approx(370 / 3)
    assert found.share == pytest.approx(Fraction(370, 360), abs=1e-3)
    assert found.near == pytest.approx(2.679, abs=0.002)
    assert found.far == pytest.approx(1.148, abs=0.002)
    assert found.freedom == 1.5 * 9 / 3 - 1


def test_time_before_a_piece_without_hours_is_not_idle() -> None:
    """One piece in the middle has no hours: its week is left out, and the rest has 20 h a week."""
    made = weekly([20.0] * 12)
    made[5] = replace(made[5], hours=0.0)

    found = pace(made, BENCH)

    assert found.dated == 10
    assert found.share == 1


def test_what_cannot_have_been_worked_tells_nothing() -> None:
    """31 h in weeks of 20 h are more than half as much again; 30 h are just possible."""
    assert pace(weekly([31.0] * 10), BENCH) == UNKNOWN
    assert pace(weekly([30.0] * 10), BENCH).share == Fraction(3, 2)
