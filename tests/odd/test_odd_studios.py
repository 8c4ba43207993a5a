"""Whatever is odd in a studio's files or in what the program left: a sentence, never a traceback, and `check` knows first."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from sitegen.letters.replies import Meaning, Reader
from tests.letters.studio import PEOPLE, SECRET, read_all
from tests.letters.test_odd_mail import LEAVE, ODD
from tests.letters.test_replies import complaint, mail, our_headers, report
from tests.odd.mutants import mutate_bytes
from tests.odd.studios import Tally, copies, odd_studios, run

MAILS = (
    mail("unsubscribe"),
    report("failed", "5.1.1", our_headers()),
    complaint(our_headers()),
    *ODD.values(),
)


def tallies(folder: Path, count: int) -> list[Tally]:
    found = []
    for studio in copies(folder):
        run(studio, ("build",))
        run(studio, ("announce", "commissions"))
        found.append(odd_studios(studio, count, seed=7, checking=0.08))
    return found


@pytest.mark.parametrize("count", [40, pytest.param(6_000, marks=pytest.mark.long)])
def test_odd_studios_end_in_sentences(tmp_path: Path, count: int) -> None:
    """Starter and demo, one or two files mutated; what `check` finds nothing in, `build` builds."""
    for tally in tallies(tmp_path, count):
        assert (tally.crashes, tally.missed) == ({}, {})
        assert tally.refused > count // 10


@pytest.mark.parametrize("count", [100, pytest.param(2_000, marks=pytest.mark.long)])
def test_odd_mails_stand_alone(count: int) -> None:
    """Each gets an answer, and the wish to leave behind them all is heard."""
    luck = random.Random(7)
    odd = (mutate_bytes(luck.choice(MAILS), luck) for _ in range(count))
    reader = Reader(PEOPLE, SECRET)

    assert all(isinstance(reader.read(one).meaning, Meaning) for one in odd)
    (last,) = read_all([LEAVE], PEOPLE, SECRET)
    assert last.meaning is Meaning.LEAVE
