"""Write what a form changes in a file, if what it showed still stands there and the reader agrees."""

from __future__ import annotations

import difflib
import re
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import Any

from sitegen.jobs.reading import fresh_reading, reading_of
from sitegen.sources import Complaint, StudioFault, forms
from sitegen.sources.forms import seen_of
from sitegen.sources.gathered import Instead
from sitegen.sources.text import rewrite
from sitegen.studio.fault import ChangedMeanwhile
from sitegen.studio.text import quoted
from sitegen.studio.wish import Said


@dataclass(frozen=True)
class FieldStanding:
    """What stands at a place of a file."""

    value: Any = field(repr=False)
    """A text, a list or a dict; None for nothing."""
    seen: str
    """The digest by which it's known again."""


def stands(folder: Path, file: str, *paths: str) -> dict[str, FieldStanding]:
    """Tell what stands at each path of a file; the path "" is all of it. Raises StudioFault."""
    text = forms.text_in(forms.file_in(folder, file), file)
    found = {path: forms.standing(text, file, path) for path in paths}
    return {path: FieldStanding(value, seen_of(value)) for path, value in found.items()}


def refuse_unseen(
    text: str, file: str, seen: Mapping[str, str], wanted: Mapping[str, Any] = MappingProxyType({})
) -> None:
    """Raise ChangedMeanwhile for each path where neither what was seen stands nor what is wanted."""
    now = {path: forms.standing(text, file, path) for path in seen}
    changed = {
        path: value
        for path, value in now.items()
        if seen_of(value) != seen[path] and not (path in wanted and wanted[path] == value)
    }
    if changed:
        said = ", ".join(
            f"{path} is {quoted(value) if value else 'empty'}" for path, value in changed.items()
        )
        raise ChangedMeanwhile(f"{file} was changed meanwhile, so nothing was written: {said}", changed)


def written(
    folder: Path,
    file: str,
    change: Callable[[str], str],
    what: str,
    also: Instead = MappingProxyType({}),
    first: Callable[[], None] = lambda: None,
) -> Said:
    """Change a file's text if the studio then has no error that it didn't have before.

    `also` are other files as they'll be, written by `first`. Raises StudioFault with what the reader says.
    """
    path = forms.file_in(folder, file)
    forms.text_in(path, file)

    def checked(text: str) -> str:
        made = change(text)
        if made != text:
            _refuse_new_errors(folder, file, text, made, also)
            path.parent.mkdir(exist_ok=True)
            first()
        return made

    done = rewrite(path, checked, private=file == "commissions.yaml")
    return Said((f"{file}: {what}" if done else f"{file} says so already",), {"file": file, "changed": done})


def _refuse_new_errors(folder: Path, file: str, text: str, made: str, also: Instead) -> None:
    after = fresh_reading(folder, instead={file: made, **also})
    if not after.errors:
        return
    had = Counter(map(_known_by, reading_of(folder).errors))
    left = had - Counter(map(_known_by, after.errors))
    new = []
    for error in after.errors:
        if not had[_known_by(error)]:
            new.append(error)
        had[_known_by(error)] -= 1
    if left:  # what was mended may have hidden others: only what is written now counts
        lines = _changed_lines(text, made)
        new = [one for one in new if one.file == file and one.line in lines]
    if new:
        raise StudioFault("\n".join(map(str, new)), new)


def _known_by(one: Complaint) -> tuple[str, str]:
    """Return by what a complaint is known again when lines have moved."""
    return one.file, re.sub(r"line [0-9]+", "line", one.message)


def _changed_lines(text: str, made: str) -> set[int]:
    """Return the numbers of the lines that weren't there before, and 0 for the whole file."""
    had, has = text.splitlines(), made.splitlines()
    found = difflib.SequenceMatcher(None, had, has, autojunk=False).get_matching_blocks()
    return {*range(len(has) + 1)} - {one.b + line for one in found for line in range(1, one.size + 1)}
