"""Names of kept terms: in order, and each new one after all others."""

from datetime import date

import pytest

from sitegen.studio.commission import Order
from sitegen.studio.order_lines import in_order, is_version, next_version


def test_versions_are_sorted_by_month_then_count() -> None:
    """The tenth version of a month comes after the second."""
    assert in_order(["2027-01", "2026-11-10", "2026-11", "2026-11-2"]) == (
        "2026-11",
        "2026-11-2",
        "2026-11-10",
        "2027-01",
    )


@pytest.mark.parametrize(
    ("there", "name"),
    [
        ([], "2026-11"),
        (["2026-09"], "2026-11"),
        (["2026-11"], "2026-11-2"),
        (["2026-11", "2026-11-9"], "2026-11-10"),
        # A clock that was wrong once: the new version still comes last.
        (["2027-02"], "2027-02-2"),
    ],
)
def test_a_new_version_comes_after_all_others(there: list[str], name: str) -> None:
    """The month it is, with a count from the second one on."""
    assert next_version(there, date(2026, 11, 25)) == name
    assert in_order([*there, name])[-1] == name


@pytest.mark.parametrize("name", ["2026-13", "2026-1", "2026-11-1", "november", "2026-11-25-1", "../x", ""])
def test_other_names_are_no_versions(name: str) -> None:
    """A name becomes part of a path and an address, so nothing else gets in."""
    assert not is_version(name)


def test_a_place_says_which_terms_were_accepted() -> None:
    """Version and day, as written in the queue."""
    order = Order.model_validate(
        {
            "code": "W27-1",
            "tier": "Small figure",
            "step": "accepted",
            "terms": {"version": "2026-11", "on": "2026-11-25"},
        }
    )

    assert order.terms is not None
    assert (order.terms.version, order.terms.on) == ("2026-11", date(2026, 11, 25))
