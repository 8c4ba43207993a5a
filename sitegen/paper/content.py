"""What a paper is handed to set, and where its words were written, for the sentence that refuses some."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Mapping, Sequence

from sitegen.studio.asked import Fault

Content = Mapping[str, "Plain"]
"""Its key `from`, if there, says where its words were written (see `written`)."""
Plain = str | int | float | bool | None | Sequence["Plain"] | Mapping[str, "Plain"]

# Marks above or below one letter. The letters of Viet Nam have two; more would run into the line above.
MOST_MARKS = 2
_STACK = re.compile("[\\u0300-\\u036f\\u1ab0-\\u1aff\\u1dc0-\\u1dff\\u20d0-\\u20ff]+")


def settable(text: str) -> str:
    """Make a typed text ready to be set: no control characters, apostrophes as printers write them."""
    kept = "".join(c for c in text if c == "\n" or unicodedata.category(c) not in {"Cc", "Cs"})
    one_form = unicodedata.normalize("NFC", kept)
    if "@" in one_form or "://" in one_form:
        return one_form
    return re.sub(r"(?<=\w)'", "’", one_form)


def ready(value: Plain) -> Plain:
    """Return a content with all its texts ready to be set."""
    if isinstance(value, str):
        return settable(value)
    if isinstance(value, Mapping):
        return {key: ready(part) for key, part in value.items()}
    return [ready(part) for part in value] if isinstance(value, Sequence) else value


def written(file: str, *fields: str, **renamed: str) -> dict[str, str]:
    """Say which field of a file holds the words of a mapping's keys; `show="name"`: key show, field name."""
    names = {**dict.fromkeys(fields), **renamed}
    return {key: f"{file}: {field or key}" for key, field in names.items()}


_STUDIO = written(
    "studio.yaml", "studio", "maker", "tagline", "contact", "postal_address", "consent", "privacy_note",
    "care",
)  # fmt: skip


def check_marks(content: Content) -> None:
    """Raise Fault for a letter that carries more marks than a line has room for."""
    for text, _ in _places(content):
        most = max(map(len, _STACK.findall(unicodedata.normalize("NFC", text))), default=0)
        if most > MOST_MARKS:
            raise Fault(
                f"{_about(content, text)} has {most} marks on one letter, which would run into the lines "
                f"around it; write that letter with {MOST_MARKS} at most"
            )


def not_shown(content: Content, letters: set[str]) -> Fault:
    """Say of which words the fonts lack a letter."""
    text = next((text for text, _ in _places(content) if letters & set(settable(text))), "")
    lacking = "".join(sorted(letters & set(settable(text)) or letters))
    return Fault(
        f"{_about(content, text)} can't be printed: no font on this computer has “{lacking}”; write it "
        "otherwise, or put the file of a font that has it into the theme's folder paper/fonts"
    )


def too_long(content: Content, words: str, most: int) -> Fault:
    """Say which words don't fit, and how many letters would; none means that a single letter is too wide."""
    about = _about(content, words)
    if not most:
        return Fault(f"{about} has a letter wider than its line on this paper; write it otherwise")
    return Fault(f"{about} has {len(words)} letters, more than fit on this paper; write at most {most} there")


def _about(content: Content, words: str) -> str:
    """Name words by where they were written, as far as that's known, and by how they begin."""
    known = [(text, settable(text), place) for text, place in _places(content) if place]
    whole = (place for text, put, place in known if words in (text, *put.split()))
    place = next(whole, "") or next((place for _, put, place in known if words in put), "")
    short = words if len(words) <= 40 else f"{words[:40]}…"
    return f"{place}: “{short}”" if place else f"“{short}”"


def _places(value: Plain, place: str = "", known: Mapping[str, Plain] = _STUDIO) -> Iterator[tuple[str, str]]:
    """Yield every text of a content with the place where it was written, or without one."""
    if isinstance(value, str):
        yield value, place
    elif isinstance(value, Mapping):
        own = value.get("from")
        known = {**known, **own} if isinstance(own, Mapping) else known
        for key, part in value.items():
            if key != "from":
                yield from _places(part, str(known.get(key, place)), known)
    elif isinstance(value, Sequence):
        for part in value:
            yield from _places(part, place, known)
