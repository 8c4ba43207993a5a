"""What is asked of a job, what it answers, and what is at fault: a wish, an answer, one family of faults.

Both faces ask for a wish's fields in the same words: the terminal as options, the desk as a form.

A fault ends in a sentence for the artist and exit code 1. A class of its own has only what somebody catches
apart: StudioFault holds every complaint, LinkFault its link, ChoiceFault its line of studio.yaml,
ChangedMeanwhile what stands there now, Doubt the field that says yes; LetterFault is one letter's, NoStudio
may be no fault, WishFault is wrong usage. OfferFault is the arithmetic's, like any ValueError.
"""

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import MISSING, dataclass, field, fields
from inspect import formatannotation
from pathlib import Path
from typing import Any, Protocol, TypeVar, dataclass_transform

Progress = Callable[[int, int], None]
"""Told how many of a long job's things are done, and of how many."""


def silent(done: int, total: int) -> None:
    """Tell nobody how many are done, of how many."""


class Fault(Exception):
    """The studio's files, or what was asked, are at fault; `str()` says why and what to write instead."""


class LetterFault(Fault):
    """A letter can't be made or posted as asked; `str()` is the sentence to show."""


class ChangedMeanwhile(Fault):
    """What a form showed says something else by now; nothing was written."""

    def __init__(self, message: str, now: Mapping[str, Any]) -> None:
        super().__init__(message)
        self.now = dict(now)
        """What stands there now, by the path it was asked for."""


@contextmanager
def told(where: str = "") -> Iterator[None]:
    """Turn the arithmetic's ValueError into the artist's sentence, with the place in front."""
    try:
        yield
    except ValueError as fault:
        raise Fault(f"{where}: {fault}" if where else str(fault)) from fault


class Doubt(Fault):
    """What was asked for may be a slip; it is done once its wish says so in the field `sure`."""

    def __init__(self, seen: str, sure: str, holds_if: str) -> None:
        super().__init__(f"{seen}; add --{sure.replace('_', '-')} if {holds_if}")
        self.seen, self.sure = seen, sure


Class = TypeVar("Class", bound=type)


class WishFault(Fault):
    """What was asked for doesn't go together; nothing was read or written."""


def ask(meaning: str = "", *, default: Any = MISSING, **how: Any) -> Any:
    """Declare a field of a wish, with what it means.

    `how`: `word=True` where it is typed without a name, `name` where the name typed isn't the field's, `like`
    (what a value looks like), `choices`, `least`, `most`, `there=True` for a file that must exist,
    `must=True` for what a person is asked for until it's there.
    """
    return field(default=default, metadata={"meaning": meaning, **how})


@dataclass_transform(kw_only_default=True, frozen_default=True, field_specifiers=(ask,))
def wish(kind: Class) -> Class:
    """Make a class a wish: frozen, its fields given by name; `__post_init__` checks what goes together.

    A wish may hold names and sums, so it doesn't print what it holds. The types of its fields are text.
    """
    made: Class = dataclass(frozen=True, kw_only=True, repr=False)(kind)  # type: ignore[assignment]
    for part in fields(made):
        part.type = part.type if isinstance(part.type, str) else formatannotation(part.type)
    return made


class Answer(Protocol):
    """What a job answers.

    It may have `asides` too, sentences that stand beside it, and `opens` and `is_well` as `Said` has them.
    """

    def as_answer(self) -> Mapping[str, Any]:
        """Return the answer for machines."""

    def lines(self) -> list[str]:
        """Write the answer for a person."""


@dataclass(frozen=True)
class Said:
    """An answer of a few sentences."""

    said: tuple[str, ...]
    facts: Mapping[str, Any] = field(default_factory=dict)  # what machines are told instead
    asides: tuple[str, ...] = ()  # sentences beside the answer
    opens: tuple[Path, ...] = ()  # files that a person may want to look at
    is_well: bool = True  # False where something is left to be mended or done

    def as_answer(self) -> Mapping[str, Any]:
        """Return the answer for machines."""
        return self.facts or {"notes": list(self.said)}

    def lines(self) -> list[str]:
        """Write the answer for a person."""
        return list(self.said)
