"""Lines through points against SciPy: theilslopes (Theil 1950, Sen 1968) and median_abs_deviation."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import median_abs_deviation, theilslopes

from sitegen.studio.prices import FEWEST, odd, trend

# Of few values there are many ties; that's where such a line is easily wrong.
PLACES = st.one_of(st.integers(0, 12), st.integers(0, 5_000).map(lambda tenths: tenths / 10))
POINTS = st.lists(st.tuples(PLACES, PLACES), min_size=FEWEST, max_size=25).filter(
    lambda points: len({x for x, _ in points}) > 2
)


@settings(max_examples=60, deadline=None)
@given(POINTS)
def test_the_line_is_that_of_scipy(points: list[tuple[float, float]]) -> None:
    """Where nearly all are tied, SciPy has no bounds: it takes the root of less than nothing."""
    found = trend(points)
    with np.errstate(invalid="ignore"):
        theirs = theilslopes([y for _, y in points], [x for x, _ in points], alpha=0.95)

    assert found is not None
    assert (found.slope, found.start) == pytest.approx((theirs[0], theirs[1]), rel=1e-9, abs=1e-9)
    if not np.isnan(theirs[2]):
        assert (found.low, found.high) == pytest.approx((theirs[2], theirs[3]), rel=1e-9, abs=1e-9)


def test_the_bounds_are_those_of_scipy() -> None:
    """Twenty prices with a wide scatter: both bounds, and they hold the slope between them."""
    points = [(float(n), 30.0 * n + (n * 37 % 23) * 9) for n in range(20)]
    found, theirs = trend(points), theilslopes([y for _, y in points], [x for x, _ in points], alpha=0.95)

    assert found is not None
    assert (found.low, found.high) == pytest.approx((theirs[2], theirs[3]))
    assert found.low < found.slope < found.high


def test_too_few_or_too_alike_is_no_line() -> None:
    assert trend([(1, 1), (2, 2), (3, 3), (4, 4)]) is None
    assert trend([(1, 1), (1, 2), (2, 3), (2, 4), (2, 5)]) is None


def test_one_wild_price_moves_nothing() -> None:
    """Ten points on y = 40 x, one of them lifted a thousandfold: the slope stays, and it alone is odd."""
    points = [(float(x), 40.0 * x) for x in range(10, 20)]
    wild = [*points[:-1], (19.0, 760_000.0)]

    found = trend(wild)
    assert found is not None
    assert found.slope == pytest.approx(40)
    assert odd(y - 40 * x + x % 3 for x, y in wild) == [False] * 9 + [True]


@settings(max_examples=80, deadline=None)
@given(st.lists(st.floats(-1e6, 1e6), min_size=FEWEST, max_size=30))
def test_what_is_odd_is_odd_by_the_handbook(distances: list[float]) -> None:
    """NIST/SEMATECH e-Handbook, section 1.3.5.17: 0.6745 (x - median) / MAD above 3.5."""
    middle, spread = float(np.median(distances)), float(median_abs_deviation(distances))
    wanted = [spread > 0 and abs(0.6745 * (distance - middle)) > 3.5 * spread for distance in distances]

    assert odd(distances) == wanted
