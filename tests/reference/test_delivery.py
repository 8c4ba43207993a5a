"""Days of the late-delivery rule against worked dates and NumPy's business days."""

from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitegen.studio.delivery import refund_by, ship_time, working_days_after

DAYS = st.dates(date(2020, 1, 1), date(2060, 1, 1))


# Source: worked on a calendar, and with NumPy's busday_offset; 27 November 2025 is a holiday in the last.
@pytest.mark.parametrize(
    ("day", "holidays", "tenth"),
    [
        ("2025-03-03", [], "2025-03-17"),
        ("2025-03-07", [], "2025-03-21"),
        ("2025-03-08", [], "2025-03-21"),
        ("2025-11-20", [], "2025-12-04"),
        ("2025-11-20", [date(2025, 11, 27)], "2025-12-05"),
    ],
)
def test_ten_working_days(day: str, holidays: list[date], tenth: str) -> None:
    """Weekends and holidays don't count, nor does the first day."""
    assert working_days_after(date.fromisoformat(day), 10, holidays) == date.fromisoformat(tenth)


@given(DAYS, st.integers(1, 60), st.sets(st.dates(date(2020, 1, 1), date(2060, 1, 1)), max_size=5))
def test_working_days_agree_with_numpy(day: date, count: int, holidays: set[date]) -> None:
    """Source: NumPy, busday_offset from the last working day on or before."""
    expected = np.busday_offset(day, count, roll="backward", holidays=sorted(holidays))

    assert working_days_after(day, count, holidays) == expected.astype(object)


def test_the_days_of_an_order() -> None:
    """Source: 16 CFR 435.2(a)(1) and (b)(1), 435.1(b), counted on a calendar."""
    promised = ship_time(date(2027, 1, 4), date(2027, 3, 1))

    assert (promised.ship_by, promised.choose_by) == (date(2027, 3, 1), date(2027, 3, 1))
    assert promised.silence_until == date(2027, 3, 31)
    assert not promised.needs_a_yes(date(2027, 3, 31))
    assert promised.needs_a_yes(date(2027, 4, 1))
    assert promised.needs_a_yes(None)
    assert ship_time(date(2027, 1, 4)).ship_by == date(2027, 2, 3)
    assert refund_by(date(2027, 3, 1)) == date(2027, 3, 10)


def test_an_order_put_off_again_needs_a_yes_before_the_last_day() -> None:
    """Source: 16 CFR 435.2(b)(2)(ii): no consent to a further delay before the old revised date, no order."""
    ordered, promised, revised = date(2027, 1, 4), date(2027, 3, 1), date(2027, 3, 31)

    again = ship_time(ordered, promised, [revised])

    assert (again.ship_by, again.yes_by, again.first, again.put_off) == (revised, revised, promised, True)
    assert again.needs_a_yes(date(2027, 4, 1))
    # Put off from the 30 days of an order without a day, 435.2(a)(1): that is a delay like any other.
    assert ship_time(ordered, None, [date(2027, 2, 4)]).put_off
    # An earlier day is no delay; the first one from there is counted from the promise that was agreed on.
    sooner = ship_time(ordered, promised, [date(2027, 2, 1)])
    assert (sooner.ship_by, sooner.silence_until, sooner.put_off) == (date(2027, 2, 1), revised, False)
    assert ship_time(ordered, promised).yes_by == revised
    # The same day told again puts nothing off, and a piece may be sent on the day it's ordered.
    assert not ship_time(ordered, promised, [promised]).put_off
    assert ship_time(ordered, ordered).ship_by == ordered


def test_a_promise_before_the_order_is_refused() -> None:
    """A slip in the file is named, not counted from."""
    with pytest.raises(
        ValueError, match=r"^the promised day, 2027-01-03, lies before the order of 2027-01-04$"
    ):
        ship_time(date(2027, 1, 4), date(2027, 1, 3))
