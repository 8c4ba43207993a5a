"""The letters that lie in out/letters: how far each has gone out, and the drafts to clients."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from sitegen.desk import words
from sitegen.desk.find import Sitting
from sitegen.jobs.letters import NOT_BUILT, WritingDesk, desk_with, letters_of
from sitegen.jobs.reading import look_of, once, sit
from sitegen.letters import cautions
from sitegen.letters.cautions import NOT_ADVICE, own_links, refuse_if_untrue
from sitegen.letters.client import Draft, drafts_in
from sitegen.letters.folder import Letter, letters_in, open_letter, read_table
from sitegen.letters.note import BUDGET
from sitegen.letters.posting import who_may
from sitegen.letters.record import HAVE, Record, state_of
from sitegen.letters.record import LetterState as LetterState  # noqa: PLC0414 (the pages that show one)
from sitegen.studio.asked import LetterFault, ask, wish
from sitegen.studio.commission import Round
from sitegen.studio.front import front_of_house
from sitegen.studio.person import Consent
from sitegen.studio.piece import Piece
from sitegen.studio.prices import Quote
from sitegen.studio.show import Attendance, Show, ShowKind
from sitegen.studio.text import counted
from sitegen.studio.whole import Studio


@dataclass(frozen=True)
class MadeLetters:
    """Letters of the list, the latest first, and drafts to clients."""

    letters: tuple[LetterState, ...]
    drafts: tuple[Draft, ...] = ()

    def as_answer(self) -> dict[str, Any]:
        drafts = [
            {"letter": draft.folder.name, "subject": draft.subject, "to": draft.to,
             "made": words.day(draft.made)}
            for draft in self.drafts
        ]  # fmt: skip
        return {"letters": [letter.as_answer() for letter in self.letters], "drafts": drafts}

    def lines(self) -> list[str]:
        rows = [("letter", "made", "to", "posted", "left", "")]
        rows += [
            (state.ident, f"{state.letter.made:%Y-%m-%d}" if state.letter.made else "-", str(state.chosen),
             str(state.posted), str(state.left), "; ".join(_odd(state)))
            for state in self.letters
        ]  # fmt: skip
        drafts = [(draft.folder.name, words.day(draft.made), draft.to) for draft in self.drafts]
        return [
            *(words.table(rows) if self.letters else ["No letter is made yet."]),
            *(["", "Drafts to clients, which you post yourself:", *words.table(drafts)] if drafts else []),
        ]


def _odd(letter: LetterState) -> Iterator[str]:
    if letter.in_doubt:
        yield f"{len(letter.in_doubt)} in doubt"
    if letter.refused:
        yield f"{len(letter.refused)} refused"
    if letter.untrue:
        yield "no longer true"


@wish
class OneLetter:
    ident: str | None = ask(default=None, word=True, like="[ID]")


def made(folder: Path, wish: OneLetter, today: str | None) -> MadeLetters | LetterState:
    """List the letters that were made and the drafts to clients, or say of one letter who has it."""
    return listed(folder, today) if wish.ident is None else state(folder, wish.ident, today)


def listed(folder: Path, today: str | None) -> MadeLetters:
    """List the letters that were made, the latest first, and the drafts to clients."""
    return MadeLetters(states(folder, sit(folder, today)), tuple(drafts_in(letters_of(folder))))


def state(folder: Path, ident: str, today: str | None = None) -> LetterState:
    """Say how one letter stands by its record; nothing is posted. Raises Fault if there's no such letter."""
    letter = open_letter(letters_of(folder) / ident)
    return _states(folder, sit(folder, today), [letter])[0]


@dataclass(frozen=True)
class LetterSheet:
    """One letter as it's looked at before it's posted."""

    state: LetterState
    text: str = field(repr=False)
    cautions: tuple[str, ...]  # what only the artist can check, what it links to and the site lacks first
    caution: str = NOT_ADVICE
    linked: bool = False  # whether pictures of it stay on the site
    limit: int = BUDGET  # octets beyond which mail readers cut a letter short


def sheet(folder: Path, ident: str, today: str | None) -> LetterSheet:
    """Return all that is to be looked at of a letter. Raises Fault if there's no such letter."""
    found, site = state(folder, ident, today), sit(folder, today).studio.settings.address
    there = found.letter.folder
    _, missing = own_links(there / "letter.html", site, folder / "out" / "site")
    lacks = [f"{link} isn't in the site as it was built; {NOT_BUILT}" for link in missing]
    text = (there / "letter.txt").read_text("utf-8")
    linked = f'src="{site}' in (there / "letter.html").read_text("utf-8")
    return LetterSheet(found, text, (*lacks, *found.letter.cautions), linked=linked)


def seen(folder: Path, ident: str, beside: str, today: str | None, site: str) -> str:
    """Return a letter's page; what it carries lies `beside`, `site` replaces the own. Raises Fault."""
    text = (open_letter(letters_of(folder) / ident).folder / "letter.html").read_text("utf-8")
    address = sit(folder, today).studio.settings.address
    return text.replace('src="with/', f'src="{beside}with/').replace(
        f'src="{address}', f'src="{site or address}'
    )


def addressees(folder: Path, ident: str, today: str | None, *, left_out: bool = False) -> list[list[str]]:
    """Return who gets a letter, or who is left out: address, name and why. Raises Fault if there's none."""
    there = open_letter(letters_of(folder) / ident).folder
    file = there / ("skipped.csv" if left_out else "recipients.csv")
    people = sit(folder, today).studio.people
    return once(people, ("rows", ident, left_out), look_of(file), lambda: read_table(file)[1:])


@dataclass(frozen=True)
class Subjects:
    """What a letter could be about today."""

    rounds: tuple[Round, ...]  # open or coming
    shows: tuple[Show, ...]  # shows and classes to come that people can still come to
    pieces: tuple[Piece, ...]  # available, the latest first
    untold: tuple[Piece, ...]  # of those, the ones that no letter has told of
    unconfirmed: bool  # whether someone on the list hasn't confirmed yet

    def named(self, about: str) -> tuple[tuple[str, str], ...] | None:
        """Return address and name of all that a kind of letter could be about; None where it's about none."""
        if about in set(ShowKind):
            return tuple((show.slug, show.name) for show in self.shows if show.kind == about)
        known = {"round": [(held.slug, held.name) for held in self.rounds],
                 "piece": [(piece.slug, piece.title) for piece in self.pieces]}  # fmt: skip
        if about == "confirm" and not self.unconfirmed:
            return ()
        return tuple(known[about]) if about in known else None


def subjects(folder: Path, today: str | None) -> Subjects:
    """Return what a letter could be about today."""
    sitting = sit(folder, today)
    studio, moment = sitting.studio, sitting.moment
    told = {fact for letter in letters_in(letters_of(folder)) for fact in letter.facts}
    offered = [piece for piece in studio.pieces if piece.status.offered]
    pieces = sorted(offered, key=lambda piece: (piece.number or "", piece.slug), reverse=True)
    day, rounds = moment.date(), studio.commissions.rounds
    return Subjects(
        tuple(held for held in rounds if not held.is_over(moment)),
        tuple(show for show in studio.shows if show.ends >= day and show.attendance is Attendance.OPEN),
        tuple(pieces),
        tuple(piece for piece in pieces if f"piece {piece.slug}" not in told),
        any(person.consent is Consent.NOT_CONFIRMED and person.left is None for person in studio.people),
    )


def states(folder: Path, sitting: Sitting) -> tuple[LetterState, ...]:
    """Say of every letter how it stands. Raises Fault for a damaged record."""
    letters = letters_in(letters_of(folder))
    # Without a letter there's no need of the key of the ways out, which would be made.
    return _states(folder, sitting, letters) if letters else ()


def _states(folder: Path, sitting: Sitting, letters: Sequence[Letter]) -> tuple[LetterState, ...]:
    """Look at letters; of the pieces only those count that a letter shows."""
    studio, moment = sitting.studio, sitting.moment
    shown = {name.removeprefix("piece ") for letter in letters for name in letter.facts}
    pieces = tuple(piece for piece in studio.pieces if piece.slug in shown)
    desk = desk_with(folder, studio, front_of_house(replace(studio, pieces=pieces), moment))
    return tuple(_state(desk, letter) for letter in letters)


def _state(desk: WritingDesk, letter: Letter) -> LetterState:
    sent = desk.room.sent
    files = (letter.folder / "letter.json", letter.folder / "recipients.csv", letter.folder / "eml",
             sent / f"{letter.ident}.jsonl", sent / "forgotten.json")  # fmt: skip
    looks, day, people = tuple(map(look_of, files)), desk.front.moment.date(), desk.studio.people
    untrue = ""
    try:
        refuse_if_untrue(letter.facts, desk.front)
    except LetterFault as fault:
        untrue = str(fault)
    others = () if letter.interest else tuple(map(look_of, sorted(sent.glob("confirm-*.jsonl"))))

    may = None if untrue else once(
        people, ("may have", letter.interest or letter.ident), (day, looks[-1], others),
        lambda: who_may(letter, day, people, desk.room),
    )  # fmt: skip
    state = day, looks, others, untrue
    return once(people, ("letter", letter.ident), state, lambda: state_of(letter, desk.room, may, untrue))


def told_prices(folder: Path, studio: Studio) -> Iterator[Quote]:
    """Yield the prices that letters told, and how many people have them by the record."""
    tiers = [tier.name for tier in studio.commissions.tiers]
    for letter in letters_in(letters_of(folder)):
        last = Record(folder / "sent" / f"{letter.ident}.jsonl").last.values()
        if have := sum(event in HAVE for event in last):
            why = f"told to {counted(have, 'person', 'people')} by the letter {letter.ident}"
            for name, price in cautions.told_prices(letter.facts, tiers):
                yield Quote(name, "", price, why)
