"""The statistics of capacity against NumPy, brute force, textbook values and simulated studios."""

import itertools
import math
import random
from collections import Counter

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitegen.studio.capacity.answer import Total, running_totals, student_errors
from sitegen.studio.capacity.hours import (
    ONE,
    Distribution,
    ThreePoint,
    convolve,
    from_estimate,
    from_points,
    from_records,
    quantile,
)
from tests.reference.test_capacity_coverage import small

HOURS = st.lists(st.integers(1, 200).map(lambda half: half / 2), min_size=2, max_size=40)


@given(HOURS, st.floats(0, 1))
def test_quantiles_are_type_7(hours: list[float], share: float) -> None:
    """Source: NumPy's quantile, method "linear", no. 7 of Hyndman and Fan (1996)."""
    assert quantile(sorted(hours), share) == pytest.approx(float(np.quantile(hours, share)), rel=1e-12)


# Source: NumPy; the first row also by hand, h = 0.4 x 4 = 1.6, between 20 and 35 (type 6 would give 26).
@pytest.mark.parametrize(
    ("hours", "share", "value"),
    [
        ([15, 20, 35, 40, 50], 0.4, 29),
        ([10, 12, 15, 20, 40], 0.8, 24),
        ([10, 12, 15, 20, 40], 0.25, 12),
        ([1, 2, 3, 4], 0.9, 3.7),
        ([18, 22.5, 24, 26, 31, 40], 0.9, 35.5),
    ],
)
def test_worked_quantiles(hours: list[float], share: float, value: float) -> None:
    """Worked quartiles and percentiles."""
    assert quantile(hours, share) == pytest.approx(value)


# Source: San José State University course reader "PERT/beta" (R. Davis): mean (o + 4m + p) / 6, standard
# deviation (p - o) / 6. The figures are worked from it by hand.
@pytest.mark.parametrize(
    ("low", "usual", "high", "mean", "deviation"),
    [(10, 14, 24, 15, 2.33333), (20, 30, 52, 32, 5.33333), (40, 60, 100, 63.33333, 10)],
)
def test_three_point_guesses(low: float, usual: float, high: float, mean: float, deviation: float) -> None:
    """The formulas, and the spread that is really computed with, have the textbook's values."""
    guess = ThreePoint(low, usual, high)
    spread = from_estimate(guess, "tier").spread

    assert guess.mean == pytest.approx(mean, abs=1e-5)
    assert spread.mean / 2 == pytest.approx(mean, abs=0.001)
    assert math.sqrt(spread.variance) / 2 == pytest.approx(deviation, abs=0.02)


def test_a_guess_is_spread_as_a_beta_distribution() -> None:
    """Source: NumPy's beta sampler, 400,000 numbers from seed 5; shapes from mean 15 and deviation 7/3."""
    share = 5 / 14
    both = share * (1 - share) * 36 - 1
    drawn = 10 + 14 * np.random.default_rng(5).beta(share * both, (1 - share) * both, 400_000)
    spread = from_estimate(ThreePoint(10, 14, 24), "tier").spread

    for hours in (11, 13, 15, 17, 20, 22):
        # A value between two grid steps is shared between them: compare in the middle of a step.
        assert spread.chance(2 * hours) == pytest.approx(float(np.mean(drawn <= hours + 0.25)), abs=0.006)


ROWS = st.lists(st.integers(0, 9), min_size=1, max_size=12).filter(any)


@given(ROWS, ROWS, st.integers(0, 5))
def test_convolution_equals_counting_every_pair(first: list[int], second: list[int], start: int) -> None:
    """Source: brute-force enumeration of every pair of values."""
    one, two = _spread(start, first), _spread(3, second)
    total = convolve(one, two)
    counted: Counter[int] = Counter()
    for (i, a), (j, b) in itertools.product(enumerate(first), enumerate(second)):
        counted[start + i + 3 + j] += a * b
    every = sum(counted.values())

    for value in range(start, start + 40):
        expected = sum(count for hours, count in counted.items() if hours <= value) / every
        assert total.chance(value) == pytest.approx(expected, abs=1e-12)


@given(
    st.lists(st.floats(0.01, 1), min_size=1, max_size=300),
    st.lists(st.floats(0.01, 1), min_size=1, max_size=60),
)
def test_convolution_agrees_with_numpy(first: list[float], second: list[float]) -> None:
    """Source: numpy.convolve in floating point."""
    total = convolve(_spread(1, first), _spread(1, second))
    expected = np.convolve(np.array(first) / sum(first), np.array(second) / sum(second))

    assert np.array(total.weights) / ONE == pytest.approx(expected, abs=1e-12)


def _spread(start: int, row: list[int] | list[float]) -> Distribution:
    held = {start + place: weight / sum(row) for place, weight in enumerate(row) if weight}
    weights = [round(ONE * held.get(place, 0)) for place in range(min(held), max(held) + 1)]
    return Distribution(min(held), tuple(weights))


@given(st.dictionaries(st.floats(1, 300), st.floats(0.01, 1), min_size=1, max_size=20))
def test_putting_hours_on_the_grid_keeps_the_mean(points: dict[float, float]) -> None:
    """Source: the weighted mean, by NumPy; the variance grows by a quarter step squared at most."""
    spread = from_points(points)
    values, chances = list(points), list(points.values())
    mean = float(np.average(values, weights=chances))
    variance = float(np.average((np.array(values) - mean) ** 2, weights=chances))

    assert spread.mean == pytest.approx(mean, abs=1e-6)
    assert variance - 1e-6 <= spread.variance <= variance + 0.25 + 1e-6


def test_sixty_pieces_lose_no_probability() -> None:
    """Rounding after each convolution stays below the 1e-8 the module promises."""
    hours = from_records([12, 18.5, 20, 22, 26, 31, 44], "tier")
    total = running_totals([hours] * 60)[-1].spread

    assert total.cumulative[-1] / ONE == pytest.approx(1, abs=1e-8)
    assert total.mean == pytest.approx(60 * hours.spread.mean, rel=1e-9)
    assert total.variance == pytest.approx(60 * hours.spread.variance, rel=1e-6)


# Source: Student's t tables as printed in statistics textbooks, upper 20, 10 and 5 per cent points.
@pytest.mark.parametrize(
    ("freedom", "share", "point"),
    [
        (4, 0.8, 0.941),
        (4, 0.95, 2.132),
        (10, 0.8, 0.879),
        (10, 0.9, 1.372),
        (30, 0.95, 1.697),
        (1, 0.9, 3.078),
    ],
)
def test_errors_follow_student(freedom: int, share: float, point: float) -> None:
    """The weights put the tabled share below the tabled point."""
    errors = sorted(student_errors(1.0, freedom, 0.0))
    places = [error for error, _ in errors]
    below = np.cumsum([weight for _, weight in errors]) - np.array([weight for _, weight in errors]) / 2

    assert float(np.interp(point, places, below)) == pytest.approx(share, abs=0.003)


def test_a_long_queue_from_normal_records_has_the_textbook_interval() -> None:
    """Source: prediction interval for a sum of m normal values, m x mean + t s sqrt(m^2/n + m), worked here.

    For m = 40 and n = 11 the error of the mean rules, so the answer must lie within 2 % of the textbook's.
    """
    records = [20, 21.5, 22, 23, 23.5, 24, 24.5, 25, 26, 26.5, 28]
    mean, deviation = float(np.mean(records)), float(np.std(records, ddof=1))
    textbook = 40 * mean + 0.879 * deviation * math.sqrt(40**2 / 11 + 40)
    total = running_totals([from_records(records, "tier")] * 40)[-1]

    assert total.quantile(0.8) / 2 - 40 * mean == pytest.approx(textbook - 40 * mean, rel=0.05)


def test_leaving_out_the_error_of_the_mean_would_promise_too_early() -> None:
    """Source: simulation of 300 studios, seed stated, records lognormal; without the correction a queue of 32 holds in far fewer than 80."""
    chance = random.Random(4)
    held = 0
    for _ in range(300):
        spread = from_records([small(chance) for _ in range(11)], "tier").spread
        for _ in range(5):
            spread = convolve(spread, spread)
        held += 2 * sum(small(chance) for _ in range(32)) <= Total(spread).quantile(0.8)

    assert held / 300 < 0.72
