"""What one piece takes, against SciPy's unbiased statistics, the standard library's, and sums worked by hand."""

from __future__ import annotations

import math
import statistics

import pytest
from hypothesis import given
from hypothesis import strategies as some
from scipy import stats

from sitegen.studio.capacity.hours import (
    HALF_HOURS,
    Basis,
    Distribution,
    Hours,
    ThreePoint,
    borrowed,
    from_estimate,
    from_records,
    hours_by_tier,
)

RECORDS = some.lists(some.integers(2, 120).map(float), min_size=3, max_size=20)
# Putting a value between two half hours splits it, which adds at most a quarter of a step squared.
GRID = 0.2501


def moments(spread: Distribution) -> tuple[float, float]:
    """Return mean and variance in half hours, summed from the weights."""
    weights = [float(weight) for weight in spread.weights]
    places = [spread.start + n for n in range(len(weights))]
    mean = sum(p * w for p, w in zip(places, weights, strict=True)) / sum(weights)
    return mean, sum((p - mean) ** 2 * w for p, w in zip(places, weights, strict=True)) / sum(weights)


@given(hours=RECORDS)
def test_records_have_the_unbiased_moments(hours: list[float]) -> None:
    """Mean and variance: `statistics`; third moment of the mean: SciPy's k-statistic of order 3, over n squared."""
    steps = [hours * HALF_HOURS for hours in hours]
    found = from_records(hours, "Small")
    mean, variance = moments(found.spread)

    if min(steps) > statistics.mean(steps) / 3:  # nothing had to be cut at zero
        assert mean == pytest.approx(statistics.mean(steps), abs=1e-6)
        assert 0 <= variance - statistics.variance(steps) <= GRID
    assert found.mean_variance == pytest.approx(statistics.variance(steps) / len(steps))
    assert found.mean_third == pytest.approx(float(stats.kstat(steps, 3)) / len(steps) ** 2, abs=1e-6)
    assert (found.count, found.freedom, found.basis) == (len(hours), len(hours) - 1, Basis.RECORDS)
    assert found.records == tuple(sorted(hours))


def test_two_records_have_no_third_moment() -> None:
    """Half of (12 - 8) squared is 8 hours squared, 32 in half hours; halved again for the mean of two."""
    found = from_records([12.0, 8.0], "Small")

    assert (found.mean_third, found.mean_variance) == pytest.approx((0.0, 16.0))
    assert "middle half 9 to 11 h" in found.rests_on


def test_a_few_records_borrow_the_spread_of_all_by_hand() -> None:
    """Own mean 12 h, 24 steps. The others: 8 9 10 11 17, mean 11; ratios -3 -2 -1 0 6 elevenths, stretched by sqrt(5/4).

    Sum of squares of the gaps: 24^2 x (9 + 4 + 1 + 0 + 36) / 121 x 1.25 = 297.5207; over five 59.5041; of the
    mean of two 29.7521. Third: sum of cubes 24^3 x (-27 - 8 - 1 + 216) / 1331 x 1.25^1.5 = 2612.71; k3 = that x 5 / 12
    = 1088.63; over 2^2 272.16.
    """
    found = borrowed([10.0, 14.0], "Large", [[8.0, 9.0, 10.0, 11.0, 17.0], [5.0], [0.0, 0.0]])

    assert found is not None
    mean, variance = moments(found.spread)
    assert mean == pytest.approx(24.0, abs=1e-6)
    assert 59.5041 <= variance <= 59.5041 + GRID
    assert found.mean_variance == pytest.approx(29.7521, abs=1e-4)
    assert found.mean_third == pytest.approx(272.16, abs=0.01)
    assert (found.count, found.freedom, found.records) == (2, 4, (10.0, 14.0))


@pytest.mark.parametrize(
    ("own", "said"),
    [
        ([10.0], "1 piece, records of this tier, their spread taken from all pieces; it took 10 h"),
        (
            [10.0, 14.0],
            "2 pieces, records of this tier, their spread taken from all pieces; middle half 11 to 13 h",
        ),
    ],
)
def test_a_few_records_are_said_to_be_few(own: list[float], said: str) -> None:
    hours = borrowed(own, "Large", [[8.0, 9.0, 10.0, 11.0, 17.0]])

    assert hours is not None
    assert hours.rests_on == f"Large: {said}"


def test_too_little_to_borrow_from_is_nothing() -> None:
    """Five pieces of one other size are enough, four aren't, nor is a size that took no time."""
    five = [8.0, 9.0, 10.0, 11.0, 17.0]

    assert borrowed([10.0], "Large", [five]) is not None
    assert borrowed([10.0], "Large", [five[:4]]) is None
    assert borrowed([10.0], "Large", [[0.0] * 5]) is None
    assert borrowed([], "Large", [five]) is None


@pytest.mark.parametrize(
    ("done", "left"),
    [(0.0, (10.0, 20.0, 30.0, 40.0)), (-1.0, (10.0, 20.0, 30.0, 40.0)), (5.0, (5.0, 15.0, 25.0, 35.0)),
     (10.0, (10.0, 20.0, 30.0)), (19.9, (0.1, 10.1, 20.1)), (20.0, (10.0, 20.0))],
)  # fmt: skip
def test_what_is_left_are_the_longer_records_less_what_is_done(done: float, left: tuple[float, ...]) -> None:
    found = from_records([30.0, 10.0, 40.0, 20.0], "Small").left(done, "owl")

    assert found.records == pytest.approx(left)
    assert found.basis is Basis.RECORDS


def test_beyond_all_but_one_record_it_is_guessed_from_nothing_to_twice_the_deviation() -> None:
    """10 20 30 40: standard deviation 12.91 h, so a guess of 0, 12.91 and 25.82, whose mean is 12.91."""
    found = from_records([30.0, 10.0, 40.0, 20.0], "Small").left(30.0, "owl")
    mean, variance = moments(found.spread)

    assert (found.basis, found.name, found.records) == (Basis.LONG, "owl", ())
    assert mean == pytest.approx(12.91 * HALF_HOURS, abs=0.02)
    assert math.sqrt(variance) == pytest.approx(2 * 12.91 / 6 * HALF_HOURS, abs=0.05)
    alike = from_records([10.0, 10.0], "Small").left(10.0, "owl")
    assert moments(alike.spread)[0] == pytest.approx(HALF_HOURS, abs=0.05)  # one hour at least


def test_what_is_left_of_a_guess_is_what_lies_beyond() -> None:
    """The conditional mean, summed here over the guess's own weights."""
    guess = from_estimate(ThreePoint(10, 20, 36), "Small")
    done, steps = 18.0, 36
    pairs = [(guess.spread.start + n - steps, float(w)) for n, w in enumerate(guess.spread.weights)]
    beyond = [(place, weight) for place, weight in pairs if place > 0]
    expected = sum(p * w for p, w in beyond) / sum(w for _, w in beyond)

    assert moments(guess.left(done, "owl").spread)[0] == pytest.approx(expected, rel=1e-6)
    assert guess.left(35.9, "owl").basis is Basis.LONG
    assert guess.left(30.0, "owl").basis is Basis.ESTIMATE


def test_what_is_unknown_of_the_mean_shrinks_with_what_is_left() -> None:
    whole = borrowed([10.0, 14.0], "Large", [[8.0, 9.0, 10.0, 11.0, 17.0]])
    assert whole is not None
    left: Hours = whole.left(10.0, "owl")
    share = moments(left.spread)[0] / moments(whole.spread)[0]

    assert 0 < share < 1
    assert left.mean_variance == pytest.approx(whole.mean_variance * share**2)
    assert left.mean_third == pytest.approx(whole.mean_third * share**3)
    assert (left.records, left.name, left.count) == ((), "owl", 2)


FIVE = [8.0, 9.0, 10.0, 11.0, 17.0]


@pytest.mark.parametrize(
    ("records", "guess", "basis"),
    [
        ({"A": FIVE}, True, Basis.RECORDS),
        ({"A": FIVE[:4], "B": FIVE}, True, Basis.ESTIMATE),
        ({"A": FIVE[:4], "B": FIVE}, False, Basis.BORROWED),
        ({"B": FIVE}, False, Basis.POOLED),
        ({"A": [8.0], "B": [9.0]}, False, Basis.POOLED),
    ],
)
def test_what_a_tier_rests_on(records: dict[str, list[float]], guess: bool, basis: Basis) -> None:
    guesses = {"A": ThreePoint(5, 10, 20)} if guess else {}

    assert hours_by_tier(records, guesses, ["A"])["A"].basis is basis
