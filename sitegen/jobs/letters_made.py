"""The letters that lie in out/letters: how far each has gone out, and the drafts to clients."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sitegen.desk import words
from sitegen.desk.find import Sitting
from sitegen.jobs.letters import WritingDesk, desk_for
from sitegen.jobs.reading import look_of, once, phase_of, sit
from sitegen.letters import (
    Draft,
    Letter,
    LetterState,
    drafts_in,
    letters_in,
    open_letter,
    state_of,
    who_may,
)
from sitegen.letters.facts import refuse_if_untrue
from sitegen.studio.wish import ask, wish


@dataclass(frozen=True)
class MadeLetters:
    """Letters of the list, the latest first, and drafts to clients."""

    letters: tuple[LetterState, ...]
    drafts: tuple[Draft, ...] = ()

    def as_answer(self) -> dict[str, Any]:
        """Return the answer for machines."""
        return {
            "letters": [one.as_answer() for one in self.letters],
            "drafts": [
                {"letter": one.folder.name, "subject": one.subject, "to": one.to, "made": words.day(one.made)}
                for one in self.drafts
            ],
        }

    def lines(self) -> list[str]:
        """Write the answer for a person."""
        rows = [("letter", "made", "to", "posted", "left", "")]
        rows += [
            (one.ident, f"{one.letter.made:%Y-%m-%d}" if one.letter.made else "-", str(one.chosen),
             str(one.posted), str(one.left), "; ".join(_odd(one)))
            for one in self.letters
        ]  # fmt: skip
        drafts = [(one.folder.name, words.day(one.made), one.to) for one in self.drafts]
        return [
            *(words.table(rows, right=(2, 3, 4)) if self.letters else ["No letter is made yet."]),
            *(["", "Drafts to clients, which you post yourself:", *words.table(drafts)] if drafts else []),
        ]


def _odd(one: LetterState) -> Iterator[str]:
    if one.in_doubt:
        yield f"{len(one.in_doubt)} in doubt"
    if one.refused:
        yield f"{len(one.refused)} refused"
    if one.untrue:
        yield "no longer true"


@wish
class OneLetter:
    """Which letter, if only one."""

    ident: str | None = ask(default=None, word=True, like="[ID]")


def made(folder: Path, wish: OneLetter, today: str | None) -> MadeLetters | LetterState:
    """List the letters that were made and the drafts to clients, or say of one letter who has it."""
    if wish.ident is not None:
        return state(folder, wish.ident, today)
    return MadeLetters(states(folder, sit(folder, today)), tuple(drafts_in(letters_of(folder))))


def state(folder: Path, ident: str, today: str | None = None) -> LetterState:
    """Say how one letter stands by its record; nothing is posted. Raises Fault if there's no such letter."""
    letter = open_letter(letters_of(folder) / ident)
    return _state(desk_for(folder, sit(folder, today)), letter)


def states(folder: Path, sitting: Sitting) -> tuple[LetterState, ...]:
    """Say of every letter how it stands. Raises Fault for a damaged record."""
    letters = letters_in(letters_of(folder))
    if not letters:
        return ()  # without a letter there's no need of the key of the ways out, which would be made
    desk = desk_for(folder, sitting)
    return tuple(_state(desk, one) for one in letters)


def letters_of(folder: Path) -> Path:
    """Return where a studio's letters lie."""
    return folder / "out" / "letters"


def _state(desk: WritingDesk, letter: Letter) -> LetterState:
    files = (letter.folder / "letter.json", letter.folder / "recipients.csv", letter.folder / "eml",
             desk.room.sent / f"{letter.ident}.jsonl", desk.room.sent / "forgotten.json")  # fmt: skip
    looks, moment = tuple(map(look_of, files)), desk.front.moment

    def may() -> frozenset[str]:
        refuse_if_untrue(letter.facts, desk.front)
        about = letter.interest
        return once(
            desk.studio, ("may have", about), (moment.date(), looks[-1]),
            lambda: who_may(about, moment.date(), desk.studio.people, desk.room),
        )  # fmt: skip

    phase = phase_of(desk.studio, moment), looks
    return once(desk.studio, ("letter", letter.ident), phase, lambda: state_of(letter, desk.room, may))
