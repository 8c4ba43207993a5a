"""How far a letter has gone out: what is told without posting is what posting then does."""

from __future__ import annotations

import shutil
from collections.abc import Iterable
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sitegen.letters.folder import Letter, letters_in, make_token
from sitegen.letters.posting import Manner, send
from sitegen.letters.record import DOUBTFUL, HAVE, PostingEvent, Record, state_of
from tests.letters.office import CROWD, EVERYBODY, FakeClock, ScriptedOffice, everybody, letter
from tests.letters.studio import SECRET, room

EVENTS = [None, *PostingEvent]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Letter, Path]:
    """One letter to six people, made once."""
    folder = tmp_path_factory.mktemp("letter")
    return letter(folder), folder


def recorded(folder: Path, ident: str, events: Iterable[PostingEvent | None]) -> None:
    sent = folder / "sent"
    shutil.rmtree(sent, ignore_errors=True)
    sent.mkdir()
    with closing(Record(sent / f"{ident}.jsonl")) as record:
        for person, event in zip(CROWD, events, strict=True):
            if event is not None:
                record.note(make_token(SECRET, person.key), event, datetime.now(UTC), "550 no")


@settings(max_examples=40)  # each note is brought to the disk
@given(
    st.lists(st.sampled_from(EVENTS), min_size=6, max_size=6),
    st.frozensets(st.sampled_from(sorted(EVERYBODY))),
)
def test_what_is_left_is_what_the_next_run_posts(
    made: tuple[Letter, Path], events: list[PostingEvent | None], may: frozenset[str]
) -> None:
    one, folder = made
    recorded(folder, one.ident, events)
    where, office = room(folder), ScriptedOffice()

    before = state_of(one, where, may)
    result = send(one, where, office, lambda: may, Manner(pace=0), FakeClock())
    after = state_of(one, where, may)

    assert before.left == len(office.taken)
    assert before.posted == len(result.already) == sum(event in HAVE for event in events)
    assert list(before.in_doubt) == result.in_doubt
    assert len(before.in_doubt) == sum(event in DOUBTFUL for event in events)
    assert [address for address, _ in before.refused] == [address for address, _ in result.refused]
    assert before.withheld == len(result.withheld)
    assert after.posted == before.posted + before.left
    for state in (before, after):
        told = state.posted + state.left + state.withheld + len(state.in_doubt) + len(state.refused)
        assert told == state.chosen == len(CROWD)


def test_a_letter_that_is_no_longer_true_says_so_and_counts_as_before(made: tuple[Letter, Path]) -> None:
    one, folder = made
    recorded(folder, one.ident, [None] * 6)

    state = state_of(one, room(folder), None, "the round moved")

    assert (state.untrue, state.left) == ("the round moved", 6)
    assert state.lines()[-1] == "It can't be posted as it is: the round moved"


def test_a_message_taken_out_by_hand_is_to_nobody(tmp_path: Path) -> None:
    one = letter(tmp_path)
    (one.folder / "eml" / "0002.eml").unlink()
    (one.folder / "eml" / "notes.eml").write_text("mine")

    assert state_of(one, room(tmp_path), everybody()).left == 5


def test_an_address_that_a_spreadsheet_would_run_is_told_as_it_is(tmp_path: Path) -> None:
    """In the list it's guarded by an apostrophe; on the envelope it isn't."""
    odd = replace(CROWD[0], email="=sum@example.com")
    one = letter(tmp_path, [odd])

    state = state_of(one, room(tmp_path), frozenset({odd.key}))

    assert (state.left, state.withheld) == (1, 0)


def test_a_letter_of_an_earlier_program_has_no_day(tmp_path: Path) -> None:
    one = letter(tmp_path)
    file = one.folder / "letter.json"
    lines = [
        line for line in file.read_text().splitlines() if '"largest"' not in line and '"made"' not in line
    ]
    file.write_text("\n".join(lines))

    (found,) = letters_in(one.folder.parent)

    assert (found.ident, found.made, found.largest) == (one.ident, None, 0)
