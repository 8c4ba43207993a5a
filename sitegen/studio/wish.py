"""What is asked of a job and what it answers: one frozen wish, checked once, and one answer.

Both faces ask for a wish's fields in the same words: the terminal as options, the desk as a form.
"""

from collections.abc import Mapping
from dataclasses import MISSING, dataclass, field, fields
from inspect import formatannotation
from pathlib import Path
from typing import Any, Protocol, TypeVar, dataclass_transform

from sitegen.studio.fault import Fault

Class = TypeVar("Class", bound=type)


class WishFault(Fault):
    """What was asked for doesn't go together; nothing was read or written."""


def ask(meaning: str = "", *, default: Any = MISSING, **how: Any) -> Any:
    """Declare a field of a wish, with what it means.

    `how`: `word=True` where it is typed without a name, `name` where the name typed isn't the field's, `like`
    (what a value looks like), `choices`, `least`, `most`, `there=True` for a file that must exist.
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
