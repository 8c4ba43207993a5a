"""What a paper says: the theme's sentences in the studio's language, filled in for the template to set."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping

from sitegen.voice.voice import Voice

# Filled in by the template: only it knows the page that it is on, and which code stands for which address.
_LEFT_OPEN = {name: f"{{{name}}}" for name in ("page", "pages", "address", "name")}


def said(voice: Voice, *rooms: str, **values: str) -> Mapping[str, str]:
    """Return the sentences of all papers and those of `rooms` (sheet, fact …) by the last word of their keys.

    Raises Fault for a sentence that is missing or asks for what isn't there.
    """
    found = voice.words.below("paper")
    own = {key: name for key in found for name in (key, *_within(key, rooms)) if "." not in name}
    return {name: voice.words.plain(f"paper.{key}", **_LEFT_OPEN, **values) for key, name in own.items()}


def _within(key: str, rooms: tuple[str, ...]) -> list[str]:
    room, _, name = key.partition(".")
    return [name] if room in rooms else []


def tongue(voice: Voice) -> dict[str, str | None]:
    """Return what a PDF needs of a language: `pt-BR` is language pt, region BR."""
    return {"language": voice.tongue.locale.language, "region": voice.tongue.locale.territory}


def settable(text: str) -> str:
    """Make a typed text ready to be set: no control characters, apostrophes as printers write them."""
    kept = "".join(c for c in text if c == "\n" or unicodedata.category(c) not in {"Cc", "Cs"})
    one_form = unicodedata.normalize("NFC", kept)
    if "@" in one_form or "://" in one_form:
        return one_form
    return re.sub(r"(?<=\w)'", "’", one_form)


def one_line(address: str) -> str:
    """Write a postal address on one line."""
    return ", ".join(line.strip(" ,") for line in address.splitlines())
