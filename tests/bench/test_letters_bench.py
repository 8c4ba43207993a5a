"""Speed of letters and of the list as ratios within one run; see letters_speed for the figures."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.bench.letters_speed import a_list, composing, flattening, loading
from tests.letters.studio import front

pytestmark = pytest.mark.bench


def test_composing_takes_at_most_half_of_flattening(tmp_path: Path) -> None:
    """Files included, against the standard library's `email` on the same messages."""
    house = front(tmp_path / "studio")
    composing(house, tmp_path, 50)  # templates and tables are read once

    # The best of three: every disturbance only adds.
    rounds = [composing(house, tmp_path / str(n), 1_000) for n in range(3)]

    took, letter = min(seconds for seconds, _ in rounds), rounds[0][1]
    assert took / min(flattening(letter, 1_000) for _ in range(3)) <= 0.5


def test_a_list_of_ten_thousand_loads_within_a_few_readings_of_the_file() -> None:
    """Ten times what the csv module alone takes was 0.3 s where this was written."""
    text = a_list(10_000)

    assert min(ours / bare for ours, bare in (loading(text) for _ in range(5))) <= 10
