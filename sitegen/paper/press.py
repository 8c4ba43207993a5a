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
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import typst

from sitegen.studio.asked import Fault
from sitegen.studio.public import FrontOfHouse, PublicStudio
from sitegen.voice.theme_files import ThemeFiles
from sitegen.voice.voice import Voice, open_voice

# ISO 216 and ANSI/ASME Y14.1 size A, by the names that Typst gives them.
PAPERS = {"a4": "a4", "letter": "us-letter"}
_ROOM, _FONTS, _MAIN = "paper", "fonts/", "main.typ"
# Filled in by the template: only it knows the page that it is on, and which code stands for which address.
_LEFT_OPEN = {name: f"{{{name}}}" for name in ("page", "pages", "address", "name")}
# How Typst begins what a template says by `assert(…, message: say.…)`.
_REFUSED = "assertion failed: "
_UNSHOWN = re.compile(r"the text `(\"(?:[^\"\\]|\\.)+\")` could not be displayed")
_PLACE = re.compile(r"┌─ (.+?):(\d+):\d+\s*$", re.MULTILINE)
# What `no-room` of tools.typ stops with: the words that don't fit, and how many letters would.
_NO_ROOM = re.compile(r"panicked with: no room, (\d+), (.*)", re.DOTALL)


Content = Mapping[str, "Plain"]
"""Its key `from`, if there, says where its words were written (see `written`)."""
Plain = str | int | float | bool | None | Sequence["Plain"] | Mapping[str, "Plain"]

# Marks above or below one letter. The letters of Viet Nam have two; more would run into the line above.
MOST_MARKS = 2
_STACK = re.compile("[\\u0300-\\u036f\\u1ab0-\\u1aff\\u1dc0-\\u1dff\\u20d0-\\u20ff]+")


@dataclass(frozen=True)
class Printer:
    """Sets papers of one studio in one theme, on one size of paper."""

    front: FrontOfHouse
    theme: ThemeFiles
    paper: str  # a4 or letter, in any case

    @cached_property
    def voice(self) -> Voice:
        """How the studio says things."""
        return open_voice(self.theme, self.front.card)

    def content(self, rooms: str, own: Content, **said: str) -> Content:
        """Gather what every paper is handed, and its `own`.

        `say` in it has the sentences of all papers and those of the `rooms` (`sheet`, `certificate fact`) by
        the last word of their keys; they may speak of the studio, its maker and what is `said` besides. Of a
        language a PDF needs two things: `pt-BR` is language pt, region BR.
        Raises Fault for a size that isn't known, a sentence that is missing or asks for what isn't there.
        """
        if self.paper.lower() not in PAPERS:
            raise Fault(f"'{self.paper}' is not a paper size; use a4 or letter")
        card, locale = self.front.card, self.voice.tongue.locale
        values = {**_LEFT_OPEN, "studio": card.studio, "maker": card.maker, **said}
        say = {}
        for key in self.voice.words.below("paper"):
            room, _, name = key.rpartition(".")
            if not room or room in rooms.split():
                say[name] = self.voice.words.plain(f"paper.{key}", **values)
        return {
            "language": locale.language,
            "region": locale.territory,
            "say": say,
            "paper": PAPERS[self.paper.lower()],
            "studio": card.studio,
            **own,
        }

    def set(self, template: str, content: Content) -> bytes:
        """Set `content` in the theme's template, as PDF/UA-1.

        Raises Fault if the theme has no such template, the template is faulty, words don't fit, or a letter
        can't be shown. It names the words' place by the mapping's `from` (see `written`), else quotes them.
        """
        check_marks(content)
        try:
            return self._compile(template, content, own_fonts=False)
        except typst.TypstError as error:
            if not _UNSHOWN.search(error.diagnostic):
                raise self._fault(template, content, error) from error
        try:
            return self._compile(template, content, own_fonts=True)
        except typst.TypstError as error:
            raise self._fault(template, content, error) from error

    def count_in(self, template: str, content: Content, label: str) -> int | None:
        """Return a number that a template notes under a label, as `#metadata(17) <rows>`; None without one.

        Raises Fault.
        """
        try:
            found: str = typst.query(
                selector=f"<{label}>",
                field="value",
                ignore_system_fonts=True,
                **self._form(template, content),
            )
        except typst.TypstError as error:
            raise self._fault(template, content, error) from error
        noted = json.loads(found)
        return int(noted[0]) if noted else None

    def _compile(self, template: str, content: Content, *, own_fonts: bool) -> bytes:
        printed: bytes = typst.compile(
            ignore_system_fonts=not own_fonts, format="pdf", pdf_standards=["ua-1"],
            timestamp=0,  # a PDF that carried the hour of printing would differ each time
            **self._form(template, content),
        )  # fmt: skip
        return printed

    def _form(self, template: str, content: Content) -> dict[str, Any]:
        """Return a template with all that it may take in, as Typst asks for it.

        The files go by the names that templates know them by; the template itself is `main.typ`. A mapping of
        names to bytes is taken, though the library's types don't say so.
        """
        files = {_MAIN: self.theme.file(f"{_ROOM}/{template}.typ").read_bytes()}
        for name, file in self.theme.all_below(_ROOM).items():
            if not name.startswith(_FONTS):
                files.setdefault(name, file.read_bytes())
        return {
            "input": files,
            "font_paths": list(self.theme.below(f"{_ROOM}/{_FONTS.rstrip('/')}")),
            "sys_inputs": {"content": json.dumps(ready(content), sort_keys=True, ensure_ascii=False)},
        }

    def _fault(self, template: str, content: Content, error: typst.TypstError) -> Fault:
        """Say which words didn't fit or can't be shown, else which file and line of the theme is faulty."""
        if error.message.startswith(_REFUSED):
            return Fault(error.message.removeprefix(_REFUSED).rstrip("."))
        if room := _NO_ROOM.fullmatch(error.message):
            return too_long(content, room[2], int(room[1]))
        if unshown := _unshown(error.diagnostic):
            return not_shown(content, unshown)
        place = _PLACE.search(error.diagnostic)
        hints = "".join(f"; {hint}" for hint in error.hints)
        found = self.theme.find(f"{_ROOM}/{place[1]}") if place and place[1] != _MAIN else None
        line = f", line {place[2]}" if place else ""
        file = found or self.theme.file(f"{_ROOM}/{template}.typ")
        return Fault(f"{self.theme.shown(file)}{line}: {error.message}{hints}")


def one_line(address: str) -> str:
    """Write a postal address on one line."""
    return ", ".join(line.strip(" ,") for line in address.splitlines())


def sender_of(card: PublicStudio) -> str:
    """Say on one line who the maker is and where mail reaches them, as far as the studio tells."""
    return ", ".join(filter(None, [card.maker, one_line(card.postal_address)]))


def _unshown(diagnostic: str) -> set[str]:
    """Collect the letters that Typst says it can't show, undoing its `\\u{1f600}` notation."""
    quoted = (
        re.sub(r"\\u\{([0-9a-f]+)\}", lambda found: f"\\U{int(found[1], 16):08x}", text)
        for text in _UNSHOWN.findall(diagnostic)
    )
    return {letter for text in quoted for letter in str(ast.literal_eval(text))}


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
