"""Any list, and anything that may have happened to it: who may not be written to gets no letter."""

from __future__ import annotations

import tempfile
from collections import Counter
from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from sitegen.disk import pen
from sitegen.sources.people import COLUMNS, read_people
from sitegen.sources.people_import import Agreement, plan_import, read_table
from sitegen.sources.people_rows import forget, forgotten_in, set_confirmed, set_left
from sitegen.sources.text import Notebook
from sitegen.studio.mailing import choose
from sitegen.studio.person import Consent, Interest, Left, Person, Why

START = date(2025, 6, 1)
# One mailbox each, in the spellings that a list collects.
SPELLINGS = {
    "ada@example.com": ["ada@example.com", "ADA@Example.COM", " ada@example.com"],
    "bo@xn--bcher-kva.example": ["bo@bücher.example", "Bo@BÜCHER.example", "bo@bu\u0308cher.example", "bo@xn--bcher-kva.example"],
    "cy@example.org": ["cy@example.org", "Cy@example.org"],
}  # fmt: skip
YES = {Consent.WEB, Consent.SHOW_SHEET, Consent.IN_PERSON, Consent.CONFIRMED}
KEYS = st.sampled_from(sorted(SPELLINGS))


@dataclass
class Told:
    """What we know of one mailbox without looking at the program's own file."""

    yes: list[date] = field(default_factory=list)
    """Days of a plain yes."""
    typed: list[date] = field(default_factory=list)
    """Days of a plain yes that the artist typed in as a row of its own, for every subject."""
    unproven: list[date] = field(default_factory=list)
    """Days of a signature that was never confirmed."""
    bought: list[date] = field(default_factory=list)
    exits: list[date] = field(default_factory=list)
    forgotten: bool = False

    def may(self, today: date) -> bool:
        """Say whether a letter may go there, at the very most: the rules in their plainest form."""
        if self.forgotten:
            return False
        last = max(self.exits, default=date.min)
        if any(day > last for day in self.yes):
            return True
        return not self.exits and any(
            day >= date(today.year - 2, today.month, today.day) for day in self.bought
        )

    def must(self) -> bool:
        """Say that a letter has to go there: a plain yes in a row of its own, later than every exit."""
        return not self.forgotten and any(day > max(self.exits, default=date.min) for day in self.typed)


STEP = st.one_of(
    st.tuples(st.just("import"), KEYS, st.integers(0, 3), st.sampled_from(sorted(Consent))),
    st.tuples(st.just("confirm"), KEYS),
    st.tuples(st.just("exit"), KEYS, st.sampled_from(sorted(Why))),
    st.tuples(st.just("forget"), KEYS, st.integers(0, 3)),
    st.tuples(
        st.just("edit"),
        KEYS,
        st.integers(0, 3),
        st.sampled_from(sorted(Consent)),
        st.sampled_from([0, 60, 400]),
    ),
)
STEPS = st.lists(STEP, max_size=14)


def people_in(file: Path) -> tuple[Person, ...]:
    notes = Notebook("people.csv")
    people = read_people(file.read_bytes().decode(), notes)
    assert [complaint for complaint in notes.complaints if complaint.level == "error"] == []
    return people


def step(  # noqa: C901 (a table of what can happen)
    folder: Path, what: tuple[object, ...], day: date, told: dict[str, Told]
) -> None:
    """Let one thing happen, and note it in our own book."""
    file = folder / "people.csv"
    match what:
        case ("import", str(key), int(spelling), Consent() as consent):
            address = SPELLINGS[key][spelling % len(SPELLINGS[key])]
            table = read_table(f"email\n{address}\n".encode(), Agreement(consent, "sheet", day))
            plan = plan_import(people_in(file), table, day, forgotten_in(folder))
            plan.write(file)
        case ("edit", str(key), int(spelling), Consent() as consent, int(ago)):
            # The artist types a row in by hand, from a sheet of today or an old one.
            day -= timedelta(days=ago)
            address = SPELLINGS[key][spelling % len(SPELLINGS[key])]
            with file.open("a", encoding="utf-8", newline="") as stream:
                stream.write(f"{address},,{'; '.join(Interest)},{day},{consent},typed,\r\n")
        case ("confirm", str(key)):
            set_confirmed(file, {key: day})
            told[key].yes += told[key].unproven
            return
        case ("exit", str(key), Why() as why):
            if set_left(file, {key: Left(day, why)}):
                told[key].exits.append(day)
            return
        case ("forget", str(key), int(spelling)):
            forget(folder, SPELLINGS[key][spelling % len(SPELLINGS[key])])
            told[key].forgotten = True
            return
        case _:
            raise AssertionError(what)
    if consent in YES:
        told[key].yes.append(day)
        if what[0] == "edit":
            told[key].typed.append(day)
    elif consent is Consent.NOT_CONFIRMED:
        told[key].unproven.append(day)
    elif consent is Consent.PURCHASE:
        told[key].bought.append(day)


def lived_through(
    steps: list[tuple[object, ...]], interest: Interest
) -> tuple[list[str], dict[str, Told], date]:
    """Let it all happen to a list; return who is written to then, what we know ourselves, and the day."""
    told = {key: Told() for key in SPELLINGS}
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "people.csv").write_bytes((",".join(COLUMNS) + "\r\n").encode())
        for number, what in enumerate(steps):
            with pen(folder):
                step(folder, what, START + timedelta(days=90 * number), told)
        today = START + timedelta(days=90 * len(steps))
        chosen = choose(people_in(folder / "people.csv"), interest, today, forgotten_in(folder)).chosen
    return [reader.key for reader in chosen], told, today


@settings(max_examples=80, deadline=None)
@given(STEPS, st.sampled_from(Interest))
def test_whatever_happened_the_right_people_are_written_to_and_nobody_else(
    steps: list[tuple[object, ...]], interest: Interest
) -> None:
    """Recipients and (left, bounced, complained, forgotten, never agreed) have nobody in common; none stands twice;
    and whoever said yes after every exit is among them."""
    keys, told, today = lived_through(steps, interest)

    assert len(keys) == len(set(keys))
    assert {key for key, book in told.items() if book.must()} <= set(keys)
    assert set(keys) <= {key for key, book in told.items() if book.may(today)}


def test_the_histories_that_are_made_up_hold_people_of_both_kinds() -> None:
    """The property above would mean little if nobody had to be, or nobody might not be, written to."""
    met: Counter[str] = Counter()

    @settings(max_examples=60, deadline=None, derandomize=True, database=None)
    @given(st.lists(STEP, min_size=8, max_size=14), st.sampled_from(Interest))
    def look(steps: list[tuple[object, ...]], interest: Interest) -> None:
        _, told, today = lived_through(steps, interest)
        met["must"] += any(book.must() for book in told.values())
        met["again"] += any(book.must() and book.exits for book in told.values())
        met["may not"] += any(book.yes and not book.may(today) for book in told.values())
        met["forgotten"] += any(book.yes and book.forgotten for book in told.values())

    look()

    assert min(met["must"], met["may not"], met["forgotten"]) >= 5
    assert met["again"] >= 1
