"""The one door to Typst: content in, PDF bytes out.

Content goes through `sys.inputs` as JSON and is never pasted into a template, so a title that looks like
Typst stays a title. Only the fonts inside Typst and inside the theme are used, so every machine makes the
same bytes; the machine's own fonts are asked only for letters that those lack. Words that don't fit and
letters that nothing can show are refused: a paper that's handed over is whole.
"""

from __future__ import annotations

import ast
import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import typst

from sitegen.paper.content import Content, Plain, check_marks, not_shown, settable, too_long
from sitegen.studio.fault import Fault
from sitegen.voice.theme_files import ThemeFiles
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


def one_line(address: str) -> str:
    """Write a postal address on one line."""
    return ", ".join(line.strip(" ,") for line in address.splitlines())


# ISO 216 and ANSI/ASME Y14.1 size A, by the names that Typst gives them.
PAPERS = {"a4": "a4", "letter": "us-letter"}

_ROOM, _FONTS, _MAIN = "paper", "fonts/", "main.typ"

# How Typst begins what a template says by `assert(…, message: say.…)`.
_REFUSED = "assertion failed: "
_UNSHOWN = re.compile(r"the text `(\"(?:[^\"\\]|\\.)+\")` could not be displayed")
_PLACE = re.compile(r"┌─ (.+?):(\d+):\d+\s*$", re.MULTILINE)
# What `no-room` of tools.typ stops with: the words that don't fit, and how many letters would.
_NO_ROOM = re.compile(r"panicked with: no room, (\d+), (.*)", re.DOTALL)


def paper_name(paper: str) -> str:
    """Return Typst's name of a paper size. Raises Fault for one that isn't known."""
    if paper.lower() not in PAPERS:
        raise Fault(f"'{paper}' is not a paper size; use a4 or letter")
    return PAPERS[paper.lower()]


def press(theme: ThemeFiles, template: str, content: Content) -> bytes:
    """Set `content` in the theme's template, as PDF/UA-1.

    Raises Fault if the theme has no such template, the template is faulty, words don't fit, or a letter can't
    be shown. It names the words' place by the mapping's `from` (see `written`), else quotes them.
    """
    form = Form(theme, theme.file(f"{_ROOM}/{template}.typ"))
    check_marks(content)
    text = _handed(content)
    try:
        return _compile(form, text, own_fonts=False)
    except typst.TypstError as error:
        if not _UNSHOWN.search(error.diagnostic):
            raise _fault(form, content, error) from error
    try:
        return _compile(form, text, own_fonts=True)
    except typst.TypstError as error:
        raise _fault(form, content, error) from error


def count_in(theme: ThemeFiles, template: str, content: Content, label: str) -> int | None:
    """Return a number that a template notes under a label, as `#metadata(17) <rows>`; None if it notes none.

    Raises Fault.
    """
    form = Form(theme, theme.file(f"{_ROOM}/{template}.typ"))
    source: Any = form.files()
    text = _handed(content)
    try:
        found: str = typst.query(
            source, f"<{label}>", field="value", font_paths=form.fonts(), ignore_system_fonts=True,
            sys_inputs={"content": text},
        )  # fmt: skip
    except typst.TypstError as error:
        raise _fault(form, content, error) from error
    noted = json.loads(found)
    return int(noted[0]) if noted else None


def _handed(content: Content) -> str:
    return json.dumps(_settable(content), sort_keys=True, ensure_ascii=False)


@dataclass(frozen=True, slots=True)
class Form:
    """A template with all that it may take in."""

    theme: ThemeFiles
    source: Path

    def files(self) -> dict[str, bytes]:
        """Return the files by the names that templates know them by; the template itself is `main.typ`."""
        found = {
            name: file.read_bytes()
            for name, file in self.theme.all_below(_ROOM).items()
            if not name.startswith(_FONTS)
        }
        return {**found, _MAIN: self.source.read_bytes()}

    def fonts(self) -> list[Path]:
        """Return the folders with fonts of the theme's own."""
        return list(self.theme.below(f"{_ROOM}/{_FONTS.rstrip('/')}"))


def _settable(value: Plain) -> Plain:
    if isinstance(value, str):
        return settable(value)
    if isinstance(value, Mapping):
        return {key: _settable(one) for key, one in value.items()}
    if isinstance(value, Sequence):
        return [_settable(one) for one in value]
    return value


def _compile(form: Form, text: str, *, own_fonts: bool) -> bytes:
    # A mapping of names to bytes is taken as well, though the library's types don't say so.
    source: Any = form.files()
    printed: bytes = typst.compile(
        source,
        font_paths=form.fonts(),
        ignore_system_fonts=not own_fonts,
        format="pdf",
        sys_inputs={"content": text},
        pdf_standards=["ua-1"],
        timestamp=0,  # a PDF that carried the hour of printing would differ each time
    )
    return printed


def _unshown(diagnostic: str) -> set[str]:
    """Collect the letters that Typst says it can't show, undoing its `\\u{1f600}` notation."""
    quoted = (re.sub(r"\\u\{([0-9a-f]+)\}", _python_escape, one) for one in _UNSHOWN.findall(diagnostic))
    return {letter for text in quoted for letter in str(ast.literal_eval(text))}


def _python_escape(match: re.Match[str]) -> str:
    return f"\\U{int(match[1], 16):08x}"


def _fault(form: Form, content: Content, error: typst.TypstError) -> Fault:
    """Say which words didn't fit or can't be shown, else which file and line of the theme is faulty."""
    if error.message.startswith(_REFUSED):
        return Fault(error.message.removeprefix(_REFUSED).rstrip("."))
    if room := _NO_ROOM.fullmatch(error.message):
        return too_long(content, room[2], int(room[1]))
    if unshown := _unshown(error.diagnostic):
        return not_shown(content, unshown)
    place = _PLACE.search(error.diagnostic)
    hints = "".join(f"; {hint}" for hint in error.hints)
    found = form.theme.find(f"{_ROOM}/{place[1]}") if place and place[1] != _MAIN else None
    line = f", line {place[2]}" if place else ""
    return Fault(f"{form.theme.shown(found or form.source)}{line}: {error.message}{hints}")
