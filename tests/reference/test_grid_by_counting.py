"""The grid of half hours against plain counting with exact fractions."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as some

from sitegen.studio.capacity.hours import ONE, Distribution, convolve, from_points, trimmed

ROWS = some.lists(some.integers(0, 9), min_size=1, max_size=12).filter(any)
STARTS = some.integers(0, 30)


def listed(distribution: Distribution) -> list[tuple[int, int]]:
    return [(distribution.start + n, weight) for n, weight in enumerate(distribution.weights)]


@given(row=ROWS, start=STARTS, at=some.floats(-2, 50))
def test_chance_counts_what_is_no_longer(row: list[int], start: int, at: float) -> None:
    one = Distribution(start, tuple(row))
    counted = sum(weight for place, weight in listed(one) if place <= at)

    assert one.chance(at) == pytest.approx(counted / sum(row))


@given(row=ROWS, start=STARTS)
def test_mean_and_variance_are_the_counted_ones(row: list[int], start: int) -> None:
    one = Distribution(start, tuple(row))
    mean = Fraction(sum(p * w for p, w in listed(one)), sum(row))
    variance = sum((p - mean) ** 2 * w for p, w in listed(one)) / sum(row)

    assert one.mean == pytest.approx(float(mean))
    assert one.variance == pytest.approx(float(variance), abs=1e-9)


@given(row=ROWS, start=STARTS, floor=some.integers(-5, 60))
def test_lifting_moves_what_is_below_onto_the_floor(row: list[int], start: int, floor: int) -> None:
    before = trimmed(start, row)
    lifted = before.at_least(floor)
    wanted: dict[int, int] = {}
    for place, weight in listed(before):
        wanted[max(place, floor)] = wanted.get(max(place, floor), 0) + weight

    assert {p: w for p, w in listed(lifted) if w} == {p: w for p, w in wanted.items() if w}


@given(
    points=some.dictionaries(
        some.integers(0, 80).map(lambda n: n / 4), some.integers(1, 9), min_size=1, max_size=8
    )
)
def test_points_land_on_their_neighbours_by_their_distance(points: dict[float, int]) -> None:
    """A value between two grid points is shared between them; less than one half hour counts as one."""
    total, wanted = sum(points.values()), dict[int, Fraction]()
    for value, chance in points.items():
        at = max(Fraction(value), Fraction(1))
        low, part = int(at), at - int(at)
        for place, share in ((low, 1 - part), (low + 1, part)):
            wanted[place] = wanted.get(place, Fraction(0)) + Fraction(chance, total) * share
    found = from_points({value: float(chance) for value, chance in points.items()})

    for place, weight in listed(found):
        assert abs(Fraction(weight, ONE) - wanted.get(place, 0)) < Fraction(1, 10**12)
    assert found.weights[0]
    assert found.weights[-1]


@given(first=ROWS, second=ROWS, starts=some.tuples(STARTS, STARTS))
def test_adding_starts_and_scales(first: list[int], second: list[int], starts: tuple[int, int]) -> None:
    """Two rows that sum to one: each sum of products, rounded to the nearest unit."""
    one, other = (
        Distribution(start, tuple(ONE * weight // sum(row) for weight in row))
        for start, row in zip(starts, (first, second), strict=True)
    )
    found = dict(listed(convolve(one, other)))
    exact: dict[int, int] = {}
    for place, weight in listed(one):
        for further, share in listed(other):
            exact[place + further] = exact.get(place + further, 0) + weight * share

    assert found.keys() <= exact.keys()
    for place, product in exact.items():
        assert abs(found.get(place, 0) * ONE - product) <= ONE // 2
