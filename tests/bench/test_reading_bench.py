"""A page on files that haven't changed costs a look at them, not a reading."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

import pytest

from sitegen.jobs.reading import kept_reading, reading_of
from tests import makers

pytestmark = pytest.mark.bench


def best(work: Callable[[], object]) -> float:
    found = []
    for _ in range(5):
        begun = time.perf_counter()
        work()
        found.append(time.perf_counter() - begun)
    return min(found)


def test_a_kept_reading_costs_a_tenth_of_a_reading(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = makers.studio(tmp_path / "s", {f"piece-{n}": makers.piece_yaml() for n in range(60)})
    rows = "".join(f"p{n}@mail.example,Person,shows,2026-02-01,web,form,\r\n" for n in range(3000))
    with (folder / "people.csv").open("a", newline="") as people:
        people.write(rows)
    (folder / "out").mkdir()
    now = time.time_ns()
    monkeypatch.setattr(time, "time_ns", lambda: now + 3600 * 10**9)
    from_nothing = best(lambda: reading_of(folder))

    with kept_reading():
        kept = best(lambda: reading_of(folder))

    assert kept < from_nothing / 10
