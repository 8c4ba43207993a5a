"""A drift is read from the order of days; within one day there is no order."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date, timedelta
from fractions import Fraction

import pytest
from scipy import stats

from sitegen.studio.capacity.bench import Bench, Finished, Pace, pace

MONDAY = date(2026, 1, 5)
HOURS = [14.0, 31.0, 18.5, 22.0, 27.0, 16.0, 20.0, 25.5, 19.0, 30.0, 17.0, 23.0]


def learned(days: list[int]) -> Pace:
    """Learn from pieces finished so many days after a Monday."""
    made = [
        Finished(MONDAY + timedelta(days=day), one, "Small") for day, one in zip(days, HOURS, strict=True)
    ]
    return pace(made, Bench(Fraction(20), date(2026, 11, 25)))


def test_pieces_noted_on_one_day_show_no_drift() -> None:
    assert learned([0] * 12).growth == 0.0


@pytest.mark.parametrize(
    "together", [range(12), [n // 2 for n in range(12)], [n // 4 for n in range(12)], [0, 1, 1, 1, 2, 3, 3, 4, 4, 4, 4, 5]]
)  # fmt: skip
def test_a_drift_is_the_line_through_the_logarithms_with_mean_numbers_for_one_day(
    together: Sequence[int],
) -> None:
    """Source: SciPy's ranks (ties share their mean) and its least-squares line with the slope's error."""
    days = [28 * place for place in together]
    line = stats.linregress(stats.rankdata(days), [math.log(one) for one in HOURS])

    found = learned(days)

    assert found.growth == pytest.approx(line.slope)
    assert found.growth_variance == pytest.approx(line.stderr**2)
    assert found.growth_freedom == 10
    # Mean of a lognormal number, exp(mu + sigma^2 / 2), ten pieces on.
    assert found.larger(10) == pytest.approx(math.exp(10 * line.slope + 50 * line.stderr**2))
