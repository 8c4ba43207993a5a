"""Any list and any waiting list: who is posted which letter, from the choice to the post office's door."""

from __future__ import annotations

import tempfile
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sitegen.letters.announce import Announcement, Writing
from sitegen.letters.folder import Room, open_letter
from sitegen.letters.kinds import announce_head_start
from sitegen.letters.posting import Manner, send, still_allowed
from sitegen.studio.asked import LetterFault
from sitegen.studio.person import Consent, Interest, Left, Person, Why
from sitegen.studio.public import FrontOfHouse
from tests.letters.office import ScriptedOffice
from tests.letters.studio import ADA, MOMENT, room
from tests.letters.test_head_start import first_come

TODAY = MOMENT.date()
# Each kind of row, and whether a letter about commissions may go to it: the rules in their plainest form.
KINDS: dict[str, tuple[Person, bool]] = {
    "agreed": (ADA, True),
    "to everything": (replace(ADA, interests=frozenset(), consent=Consent.SHOW_SHEET), True),
    "bought last year": (replace(ADA, consent=Consent.PURCHASE), True),
    "bought long ago": (replace(ADA, consent=Consent.PURCHASE, joined=TODAY.replace(year=2024)), False),
    "to shows only": (replace(ADA, interests=frozenset({Interest.SHOWS})), False),
    "never confirmed": (replace(ADA, consent=Consent.NOT_CONFIRMED), False),
    "left": (replace(ADA, left=Left(TODAY, Why.ASKED)), False),
}
LISTS = st.lists(st.tuples(st.sampled_from(sorted(KINDS)), st.booleans()), min_size=1, max_size=6)


def posted(made: Announcement, front: FrontOfHouse, people: list[Person], there: Room) -> list[str]:
    """Post a letter to an office that takes everything; return whom it was handed in for."""
    letter, office = open_letter(made.folder), ScriptedOffice()
    send(letter, there, office, lambda: still_allowed(letter, front, people, there), Manner(pace=0))
    return office.taken


@settings(max_examples=25, deadline=None)
@given(LISTS, st.booleans())
def test_whoever_waits_is_posted_the_early_letter_and_everybody_else_the_other(
    rows: list[tuple[str, bool]], stranger: bool
) -> None:
    """Exactly those who agreed, each one letter and the right one; a letter to nobody would be a mistake as well."""
    people = [
        replace(KINDS[kind][0], email=f"p{number}@example.com", line=number + 2)
        for number, (kind, _) in enumerate(rows)
    ]
    wanted = [(one.email, waits) for one, (kind, waits) in zip(people, rows, strict=True) if KINDS[kind][1]]
    early = (24, frozenset(f"p{number}@example.com" for number, (_, waits) in enumerate(rows) if waits)
                      | ({"stranger@example.org"} if stranger else set()))  # fmt: skip
    with tempfile.TemporaryDirectory() as name:
        front, there = first_come(Path(name) / "studio"), room(Path(name))
        if not wanted:
            with pytest.raises(LetterFault, match=r"nobody in people\.csv"):
                announce_head_start(Writing(front, people, there), *early)
            return
        first, rest = announce_head_start(Writing(front, people, there), *early)

        got = [posted(made, front, people, there) if made else [] for made in (first, rest)]
        assert got[0] == [email for email, waits in wanted if waits]
        assert got[1] == [email for email, waits in wanted if not waits]
