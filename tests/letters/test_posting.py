"""send: to each person once, or not, and nothing in between that isn't said."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sitegen.letters.folder import Letter, open_letter
from sitegen.letters.office import Handover
from sitegen.letters.posting import Manner, RunResult, send, settle, still_allowed
from sitegen.letters.record import opened
from sitegen.studio.asked import LetterFault
from sitegen.studio.person import Left, Why
from tests.letters.office import CROWD, EVERYBODY, FakeClock, ScriptedOffice, everybody, letter
from tests.letters.studio import MOMENT, front, room

P0, P1, P2, P3, P4, P5 = (person.email for person in CROWD)
FAST = Manner(pace=0)


def posted(folder: Path, office: ScriptedOffice, **how: object) -> RunResult:
    one = open_letter(folder / "out" / "letters" / "commissions-winter-2027")
    return send(one, room(folder), office, everybody, **{"manner": FAST, "clock": FakeClock(), **how})  # type: ignore[arg-type]


def lines(folder: Path) -> list[dict[str, str]]:
    file = folder / "sent" / "commissions-winter-2027.jsonl"
    return [json.loads(line) for line in file.read_text(encoding="utf-8").splitlines()]


def test_everyone_gets_one_and_a_second_run_posts_nothing(tmp_path: Path) -> None:
    """Once is enough."""
    letter(tmp_path)
    office = ScriptedOffice()

    first = posted(tmp_path, office)
    second = posted(tmp_path, office)

    assert first.posted == [P0, P1, P2, P3, P4, P5] == office.taken
    assert second == RunResult(already=[P0, P1, P2, P3, P4, P5])


def test_a_line_stands_before_and_after_each_posting(tmp_path: Path) -> None:
    """The record names nobody by address, and says each step."""
    letter(tmp_path)

    posted(tmp_path, ScriptedOffice())

    events = [line["event"] for line in lines(tmp_path)]
    assert events == ["handing over", "posted"] * 6
    assert "@" not in (tmp_path / "sent" / "commissions-winter-2027.jsonl").read_text()
    assert len({line["person"] for line in lines(tmp_path)}) == 6


def test_later_is_tried_again_and_waits_longer_each_time(tmp_path: Path) -> None:
    """4xx: others go on meanwhile; the waits grow."""
    letter(tmp_path)
    office = ScriptedOffice({P1: ["450 busy", "451 busy", "ok"]})
    clock = FakeClock()

    result = posted(tmp_path, office, clock=clock)

    assert result.posted == [P0, P2, P3, P4, P5, P1]
    assert clock.waits == [30.0, 60.0]


def test_who_is_never_taken_is_left_for_another_run(tmp_path: Path) -> None:
    """After five tries the run ends; the next run tries again."""
    letter(tmp_path)
    office = ScriptedOffice({P1: ["450 busy"] * 5})

    first = posted(tmp_path, office)
    second = posted(tmp_path, office)

    assert first.later == [(P1, "450 busy")]
    assert second.posted == [P1]
    assert sorted(office.taken) == [P0, P1, P2, P3, P4, P5]


def test_refused_for_good_is_recorded_and_not_tried_again(tmp_path: Path) -> None:
    """5xx: one try, ever."""
    letter(tmp_path)
    office = ScriptedOffice({P1: ["550 no such mailbox"]})

    first = posted(tmp_path, office)
    second = posted(tmp_path, office)

    assert first.refused == [(P1, "550 no such mailbox")]
    assert second.refused == [(P1, "refused in an earlier run")]
    assert second.posted == []
    assert P1 not in office.taken


def test_doubt_is_reported_and_never_guessed(tmp_path: Path) -> None:
    """No answer after the text: they may have it; no run posts it again by itself."""
    one = letter(tmp_path)
    office = ScriptedOffice({P1: ["unsure"], P2: ["unsure"]})

    first = posted(tmp_path, office)
    second = posted(tmp_path, office)
    settle(one, room(tmp_path), P1, has_it=True)
    settle(one, room(tmp_path), P2.upper(), has_it=False)
    third = posted(tmp_path, office)

    assert first.in_doubt == second.in_doubt == [P1, P2]
    assert second.posted == []
    assert third.posted == [P2]
    assert third.in_doubt == []
    with pytest.raises(LetterFault, match=f"^'{P1}' isn't in doubt"):
        settle(one, room(tmp_path), P1, has_it=False)


def test_a_line_cut_while_the_text_went_out_is_no_doubt(tmp_path: Path) -> None:
    """Without the closing dot it wasn't taken: it's tried again."""
    letter(tmp_path)
    office = ScriptedOffice({P1: ["hangup"]})

    result = posted(tmp_path, office)

    assert sorted(result.posted) == [P0, P1, P2, P3, P4, P5]
    assert office.taken.count(P1) == 1


def test_an_office_that_stays_shut_ends_the_run(tmp_path: Path) -> None:
    """Five times in a row; nothing is lost, the next run goes on."""
    letter(tmp_path)
    office = ScriptedOffice(
        {P1: ["shut"] * 5, P2: ["shut"] * 9, P3: ["shut"] * 9, P4: ["shut"] * 9, P5: ["shut"] * 9}
    )

    result = posted(tmp_path, office)

    assert result.posted == [P0]
    assert result.stopped == "the post office can't be reached or hangs up: nobody there"
    assert result.left_over == 5


def test_a_fault_of_the_account_ends_the_run_and_says_what_was_done(tmp_path: Path) -> None:
    """A wrong password isn't tried again and again."""
    letter(tmp_path)

    result = posted(tmp_path, ScriptedOffice({P2: ["fault"]}))

    assert result.posted == [P0, P1]
    assert result.stopped == "wrong password"
    assert result.left_over == 4


def test_many_refusals_in_a_row_stop_the_run(tmp_path: Path) -> None:
    """It's the letter that is refused then, not the people."""
    letter(tmp_path)
    office = ScriptedOffice({address: ["554 spam"] for address in (P0, P1, P2, P3, P4)})

    result = posted(tmp_path, office)

    assert result.stopped.startswith("5 people in a row were refused, last with '554 spam'")
    assert result.left_over == 1


def test_limit_and_pace(tmp_path: Path) -> None:
    """Two in this run, three seconds apart at twenty a minute; the rest next time."""
    letter(tmp_path)
    office, clock = ScriptedOffice(), FakeClock()
    told: list[tuple[int, int]] = []

    def progress(done: int, total: int) -> None:
        told.append((done, total))

    result = posted(tmp_path, office, manner=Manner(pace=20, limit=3, progress=progress), clock=clock)

    assert result.posted == [P0, P1, P2]
    assert result.left_over == 3
    assert clock.waits == [3.0, 3.0]
    assert told == [(1, 3), (2, 3), (3, 3)]
    assert posted(tmp_path, office).posted == [P3, P4, P5]


def test_a_wish_to_stop_is_heard_between_messages(tmp_path: Path) -> None:
    """Ctrl-C: the message in hand is finished, nothing is in doubt."""
    letter(tmp_path)
    clock = FakeClock(stop_at=6.0)

    result = posted(tmp_path, ScriptedOffice(), manner=Manner(pace=20), clock=clock)

    assert result.posted == [P0, P1]
    assert result.in_doubt == []
    assert result.left_over == 4


def test_who_left_since_is_withheld(tmp_path: Path) -> None:
    """The list is read again before posting, and again while it goes on."""
    letter(tmp_path)
    looks = iter([EVERYBODY - {P0}, EVERYBODY - {P0, P4}])
    office = ScriptedOffice()
    one = open_letter(tmp_path / "out" / "letters" / "commissions-winter-2027")

    result = send(one, room(tmp_path), office, lambda: next(looks), Manner(pace=1.5), FakeClock())

    assert result.withheld == [P0, P4]
    assert office.taken == [P1, P2, P3, P5]


def test_what_is_no_longer_true_stops_before_and_during_the_posting(tmp_path: Path) -> None:
    """A round that was moved stops the letter at the first look, and at a later one."""
    one = letter(tmp_path)
    office = ScriptedOffice()

    def moved() -> frozenset[str]:
        if office.taken:
            raise LetterFault("piece x was 'available' when the letter was made and is now 'sold'")
        return EVERYBODY

    result = send(one, room(tmp_path), office, moved, Manner(pace=0.9), FakeClock())

    assert office.taken == [P0]
    assert result.stopped == "piece x was 'available' when the letter was made and is now 'sold'"
    with pytest.raises(LetterFault, match="is now 'sold'"):
        send(one, room(tmp_path), office, moved, FAST, FakeClock())


def test_the_studio_as_it_is_now_decides(tmp_path: Path) -> None:
    """Who left since isn't allowed; a round with other times stops all."""
    one = letter(tmp_path)
    people = [replace(CROWD[0], left=Left(MOMENT.date(), Why.ASKED)), *CROWD[1:]]
    house = front(tmp_path / "studio")

    assert still_allowed(one, house, people, room(tmp_path)) == EVERYBODY - {P0}
    moved = replace(house, rounds=tuple(replace(r, slots=4) for r in house.rounds))
    with pytest.raises(
        LetterFault, match=r"round winter-2027 was 'opens .*5 slots.*' when .* and is now 'opens .*4 slots"
    ):
        still_allowed(one, moved, people, room(tmp_path))


def test_two_at_once_the_second_refuses(tmp_path: Path) -> None:
    """One posting of a letter at a time."""
    letter(tmp_path)

    with (
        opened("commissions-winter-2027", tmp_path / "sent"),
        pytest.raises(LetterFault, match=r"^'commissions-winter-2027' is just being posted"),
    ):
        posted(tmp_path, ScriptedOffice())

    assert len(posted(tmp_path, ScriptedOffice()).posted) == 6


def test_a_letter_isnt_made_anew_while_its_posting_waits_for_the_office(tmp_path: Path) -> None:
    """Nothing is on record yet, but its messages are counted: another one in a place would go to the wrong person."""
    letter(tmp_path)
    told: list[str] = []
    bodies: dict[str, str] = {}

    class Waiting(FakeClock):
        def wait(self, seconds: float) -> None:
            super().wait(seconds)
            try:
                letter(tmp_path, CROWD[::-1])
            except LetterFault as fault:
                told.append(str(fault))

    class Shut(ScriptedOffice):
        def post(self, sender: str, recipient: str, message: bytes, before: Callable[[], None]) -> Handover:
            outcome = super().post(sender, recipient, message, before)
            bodies[recipient] = message.decode()
            return outcome

    posted(tmp_path, Shut({P0: ["shut"]}), clock=Waiting())

    assert set(bodies) == EVERYBODY
    assert all(f"To: Reader {n} <p{n}@" in body for n, body in enumerate(bodies[p] for p in sorted(bodies)))
    assert told


def test_a_torn_line_counts_for_nothing(tmp_path: Path) -> None:
    """What a crash left of a line is cut off; the lines before it hold."""
    letter(tmp_path)
    posted(tmp_path, ScriptedOffice(), manner=Manner(pace=0, limit=2))
    file = tmp_path / "sent" / "commissions-winter-2027.jsonl"
    whole = file.read_bytes()
    file.write_bytes(whole + b'{"at": "2027-01-09T09:3')

    result = posted(tmp_path, ScriptedOffice())

    assert result.already == [P0, P1]
    assert file.read_bytes().startswith(whole)
    assert [line["event"] for line in lines(tmp_path)] == ["handing over", "posted"] * 6


def test_a_record_cut_anywhere_never_leads_to_a_second_letter(tmp_path: Path) -> None:
    """Whatever length of the record survives: who was posted after a kept line is had or in doubt."""
    letter(tmp_path, CROWD[:2])
    posted(tmp_path, ScriptedOffice())
    file = tmp_path / "sent" / "commissions-winter-2027.jsonl"
    whole = file.read_bytes()
    rows = whole.splitlines(keepends=True)

    ends = [len(b"".join(rows[:n])) for n in range(5)]
    lengths = {end + around for end in ends for around in (-1, 0, 1, 40)}
    for length in sorted(length for length in lengths if 0 <= length <= len(whole)):
        file.write_bytes(whole[:length])
        kept = sum(1 for n in range(1, 5) if len(b"".join(rows[:n])) <= length)
        office = ScriptedOffice()
        result = posted(tmp_path, office)
        expected = {0: ([P0, P1], []), 1: ([P1], [P0]), 2: ([P1], []), 3: ([], [P1]), 4: ([], [])}[kept]
        assert (office.taken, result.in_doubt) == expected


@pytest.mark.parametrize(
    "line",
    [
        "not json",
        "[]",
        '{"at": "x", "person": 1, "event": "posted"}',
        '{"at": "x", "event": "posted"}',
        '{"at": "x", "person": "p", "event": "eaten"}',
        '{"at": "x", "person": "p", "event": "posted", "said": 250}',
    ],
)
def test_a_damaged_line_stops_all(tmp_path: Path, line: str) -> None:
    """A record that can't be read may hide who has the letter."""
    letter(tmp_path)
    file = tmp_path / "sent" / "commissions-winter-2027.jsonl"
    file.parent.mkdir(exist_ok=True)
    file.write_text(f"{line}\n")

    with pytest.raises(
        LetterFault, match=r"commissions-winter-2027\.jsonl, line 1 can't be read; nothing is posted"
    ):
        posted(tmp_path, ScriptedOffice())


def test_a_record_that_cant_be_written_stops_before_the_text_goes_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No line, no letter."""
    letter(tmp_path)

    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("sitegen.letters.record.os.fsync", full)
    office = ScriptedOffice()
    result = posted(tmp_path, office)

    assert office.taken == []
    assert "can't be written" in result.stopped


def test_an_unknown_letter_is_named(tmp_path: Path) -> None:
    """The sentence lists what there is."""
    letter(tmp_path)

    with pytest.raises(LetterFault, match=r"^there's no letter 'x'; there is commissions-winter-2027$"):
        open_letter(tmp_path / "out" / "letters" / "x")


@pytest.mark.parametrize(
    "changed",
    [
        {"ident": "another"}, {"ident": None}, {"subject": 3}, {"facts": {"piece x": 3}}, {"facts": [["a", "b", "c"]]},
        {"facts": None}, {"interest": "dolls"},
    ],
)  # fmt: skip
def test_a_letter_that_isnt_as_it_was_written_is_not_posted(
    tmp_path: Path, changed: dict[str, object]
) -> None:
    """Its record is found by its name, and its facts are what posting looks at."""
    file = letter(tmp_path).folder / "letter.json"
    file.write_text(json.dumps({**json.loads(file.read_text("utf-8")), **changed}))

    with pytest.raises(LetterFault, match=r"letter\.json can't be read; make the letter again$"):
        open_letter(file.parent)


ANSWERS = st.sampled_from(["ok", "450 busy", "550 no", "shut", "unsure", "hangup"])


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Letter, Path]:
    folder = tmp_path_factory.mktemp("made")
    return letter(folder), folder


@settings(max_examples=40, deadline=None)
@given(
    st.dictionaries(st.sampled_from([P0, P1, P2, P3, P4, P5]), st.lists(ANSWERS, max_size=8)),
    st.integers(1, 6),
)
def test_whatever_the_office_answers_nobody_gets_two(
    made: tuple[Letter, Path], script: dict[str, list[str]], runs: int
) -> None:
    """Any answers, any number of runs: one letter at most, and everyone is accounted for in every run."""
    one, folder = made
    (folder / "sent" / "commissions-winter-2027.jsonl").unlink(missing_ok=True)
    office = ScriptedOffice({address: list(answers) for address, answers in script.items()})

    for _ in range(runs):
        r = send(one, room(folder), office, everybody, FAST, FakeClock())
        told = [
            *r.posted,
            *r.already,
            *(a for a, _ in r.refused),
            *(a for a, _ in r.later),
            *r.in_doubt,
            *r.withheld,
        ]
        assert len(told) == len(set(told))
        assert len(told) + r.left_over == 6
        assert set(office.taken) == {*r.posted, *r.already, *r.in_doubt}
    assert len(office.taken) == len(set(office.taken))
