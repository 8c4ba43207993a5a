"""Posting from a process that stays: stopped from another thread, asked how far it is, against a real server."""

from __future__ import annotations

import json
import threading
from collections.abc import Mapping
from pathlib import Path

import pytest

from sitegen.jobs import letters_made, posting
from sitegen.jobs.letters import AnnounceCommissions, commissions
from sitegen.jobs.posting import SendWish
from sitegen.letters.gate import ServerKind
from sitegen.letters.posting import WallClock
from sitegen.studio.asked import LetterFault, Said
from tests import makers
from tests.cli.runner import run
from tests.letters.office import Desk, serving

DAY = "2026-12-01"
IDENT = "commissions-winter-2027"
PEOPLE = [f"p{n}@mail.example" for n in range(4)]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A studio with a letter to four people."""
    made = makers.studio(tmp_path / "s")
    rows = "".join(f"{one},Reader,commissions,2026-02-01,web,form,\r\n" for one in PEOPLE)
    (made / "people.csv").write_text(
        f"email,name,interests,joined,consent,evidence,left\r\n{rows}", newline=""
    )
    commissions(made, AnnounceCommissions(), DAY)
    return made


def posted(
    folder: Path, desk: Desk, clock: WallClock, wish: SendWish | None = None, stop_after: int = 99
) -> Said:
    """Post in a thread of its own, as a browser's desk does, and stop after so many."""
    found: list[object] = []
    with serving(desk) as way_in:
        settings = {
            "SITEGEN_SMTP_HOST": way_in.host,
            "SITEGEN_SMTP_PORT": str(way_in.port),
            "SITEGEN_SMTP_SECURITY": "none",
        }

        def given(_kind: ServerKind) -> Mapping[str, str]:
            return settings

        def progress(done: int, _total: int) -> None:
            if done == stop_after:
                clock.stop()

        def work() -> None:
            found.append(
                posting.send(folder, wish or SendWish(ident=IDENT, pace=0), DAY, given, progress, clock)
            )

        thread = threading.Thread(target=work, daemon=True)
        thread.start()
        thread.join(timeout=60)
    assert not thread.is_alive()
    (answer,) = found
    assert isinstance(answer, Said)
    return answer


def test_a_stop_between_two_letters_ends_like_a_limit(folder: Path) -> None:
    desk = Desk()

    stopped = posted(folder, desk, WallClock(), stop_after=2).as_answer()
    state = letters_made.state(folder, IDENT, DAY)
    rest = posted(folder, desk, WallClock()).as_answer()

    assert (stopped["posted"], stopped["left"], stopped["stopped"]) == (2, 2, "")
    assert (state.chosen, state.posted, state.left) == (4, 2, 2)
    assert (rest["already"], rest["posted"], rest["left"]) == (2, 2, 0)
    assert sorted(address for address, _ in desk.taken) == PEOPLE


def test_the_same_answer_as_a_limit_gives(tmp_path: Path) -> None:
    answers = []
    for name, wish, stop_after in (
        ("limit", SendWish(ident=IDENT, pace=0, limit=1), 99),
        ("stop", SendWish(ident=IDENT, pace=0), 1),
    ):
        made = makers.studio(tmp_path / name)
        rows = "".join(f"{one},Reader,commissions,2026-02-01,web,form,\r\n" for one in PEOPLE)
        (made / "people.csv").write_text(
            f"email,name,interests,joined,consent,evidence,left\r\n{rows}", newline=""
        )
        commissions(made, AnnounceCommissions(), DAY)
        answers.append(posted(made, Desk(), WallClock(), wish, stop_after).as_answer())

    assert answers[0] == answers[1]


def test_a_stop_is_heard_while_the_pace_makes_it_wait(folder: Path) -> None:
    """A letter a minute: the stop comes in the first wait, and nobody waits a minute for it."""
    answer = posted(folder, Desk(), WallClock(), SendWish(ident=IDENT, pace=1), stop_after=1)

    assert answer.facts["posted"] == 1
    assert answer.facts["left"] == 3


def test_the_answer_and_the_state_say_who_was_refused_why_and_who_is_in_doubt(folder: Path) -> None:
    desk = Desk(
        at_recipient={PEOPLE[0]: ["550 5.7.1 not on this machine"], PEOPLE[1]: ["550 5.1.1 no such mailbox"]},
        after_data={PEOPLE[2]: ["drop after taking"]},
    )

    answer = posted(folder, desk, WallClock())
    state = letters_made.state(folder, IDENT, DAY)

    told = answer.as_answer()
    assert [one["address"] for one in told["refused"]] == PEOPLE[:2]
    assert "not on this machine" in told["refused"][0]["said"]
    assert told["in_doubt"] == [PEOPLE[2]]
    assert told["bounced"] == 1
    assert not answer.is_well
    assert state.as_answer()["refused"] == told["refused"]
    assert (state.posted, state.left, state.in_doubt) == (1, 0, (PEOPLE[2],))
    assert state.refused_still == 1, "who has no mailbox is off the list"


def test_nothing_is_posted_by_asking(folder: Path) -> None:
    before = sorted((folder / "sent").iterdir())

    letters_made.state(folder, IDENT, DAY)
    letters_made.made(folder, letters_made.OneLetter(), DAY)

    assert sorted((folder / "sent").iterdir()) == before


def test_a_letter_that_is_not_there_is_named(folder: Path) -> None:
    with pytest.raises(LetterFault, match="there's no letter 'spring'; there is commissions-winter-2027"):
        letters_made.state(folder, "spring", DAY)


def test_who_left_since_is_withheld_and_a_changed_round_is_said(folder: Path) -> None:
    run(folder, "people", "leave", PEOPLE[0])
    left = letters_made.state(folder, IDENT, DAY)
    file = folder / "commissions.yaml"
    file.write_text(file.read_text().replace("slots: 5", "slots: 6"))
    changed = letters_made.state(folder, IDENT, DAY)

    assert (left.left, left.withheld, left.untrue) == (3, 1, "")
    assert "5 slots" in changed.untrue
    assert "6 slots" in changed.untrue


def test_the_list_of_letters_says_what_was_made_for_whom_and_who_was_left_out(tmp_path: Path) -> None:
    folder = makers.studio(tmp_path / "s")
    commissions(folder, AnnounceCommissions(), DAY)

    (letter,) = json.loads(run(folder, "--today", DAY, "announce", "list", "--json").stdout)["letters"]

    assert letter | {"largest": 0} == {
        "letter": IDENT, "subject": "Commissions open on Saturday 16 January 2027", "interest": "commissions",
        "made": "2026-12-01T12:00:00+00:00", "largest": 0, "to": 1,
        "left_out": {"left": 1, "other interests": 1}, "posted": 0, "left": 1, "withheld": 0, "in_doubt": [],
        "refused": [], "untrue": "",
    }  # fmt: skip
    assert letter["largest"] == (folder / "out" / "letters" / IDENT / "eml" / "0001.eml").stat().st_size


def test_a_draft_to_a_client_is_listed_beside_them(tmp_path: Path) -> None:
    folder = makers.studio(tmp_path / "s")
    run(folder, "--today", DAY, "order", "letter", "A-1", "--confirm")

    answer = json.loads(run(folder, "--today", DAY, "announce", "list", "--json").stdout)

    assert answer["letters"] == []
    assert [(one["letter"], one["made"]) for one in answer["drafts"]] == [("order-a-1-confirmation", DAY)]
    assert "secret.client@mail.example" in answer["drafts"][0]["to"]


def test_someone_erased_is_counted_nowhere(folder: Path) -> None:
    run(folder, "people", "forget", PEOPLE[1], "--yes")

    state = letters_made.state(folder, IDENT, DAY)

    assert (state.chosen, state.left, state.withheld) == (3, 3, 0)
