"""A letter to many takes no more memory than a letter to few, but for the list itself."""

from __future__ import annotations

import tracemalloc
from pathlib import Path

from sitegen.letters.announce import Writing
from sitegen.letters.kinds import announce_commissions
from sitegen.studio.person import Person
from tests.letters.studio import ADA, front, room


def peak(folder: Path, count: int) -> int:
    """Return the most octets held at once while a letter to so many people is made."""
    house = front(folder / "studio")
    people = [
        Person(f"p{n}@example.com", "", ADA.interests, ADA.joined, ADA.consent, "form") for n in range(count)
    ]
    tracemalloc.start()
    announce_commissions(Writing(house, people, room(folder)))
    _, highest = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    return highest


def test_messages_are_made_one_at_a_time(tmp_path: Path) -> None:
    """A message has some 8 KB; each further person may cost a tenth of that, for their place in the lists."""
    announce_commissions(Writing(front(tmp_path / "warm"), [ADA], room(tmp_path / "warm")))
    few, many = peak(tmp_path / "few", 50), peak(tmp_path / "many", 450)

    assert (many - few) / 400 < 1500
