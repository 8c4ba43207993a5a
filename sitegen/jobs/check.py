"""Read everything, report every complaint, write nothing."""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime
from functools import lru_cache
from pathlib import Path
from typing import Any

from sitegen.jobs.answers import complaints as of_the_books
from sitegen.jobs.begin import IGNORE_FILE, IGNORED, age_if_due
from sitegen.jobs.reading import fresh_reading, look_of, once, phase_of, state_of
from sitegen.jobs.where import is_ours, moment_in
from sitegen.sources import Complaint, StudioFault, line_in, placed, read
from sitegen.sources.kept import REGISTER, read_register
from sitegen.sources.text import Level
from sitegen.studio.asked import Fault, ask, wish
from sitegen.studio.front import front_of_house
from sitegen.studio.piece import Piece
from sitegen.studio.register import reused
from sitegen.studio.text import counted, slug
from sitegen.studio.whole import Studio
from sitegen.voice.theme_files import find_theme
from sitegen.voice.words import faulty_words


@dataclass(frozen=True)
class Checked:
    """Every complaint about a studio's files."""

    complaints: tuple[Complaint, ...]

    @property
    def errors(self) -> list[Complaint]:
        """The complaints that stop a build."""
        return [found for found in self.complaints if found.level == "error"]

    @property
    def is_well(self) -> bool:
        return not self.errors

    def as_answer(self) -> dict[str, Any]:
        return {"complaints": [found.as_answer() for found in self.complaints]}

    def lines(self) -> list[str]:
        errors = self.errors
        warnings = [f"{found} (worth a look)" for found in self.complaints if found.level == "warning"]
        gap = [""] if errors and warnings else []
        end = counted(len(errors), "thing to mend", "things to mend") if errors else "Nothing to mend."
        return [*map(str, errors), *gap, *warnings, end]


@wish
class CheckWish:
    live: bool = ask("Also fetch the site from its address, and follow its links to others.", default=False)


def checked(folder: Path, wish: CheckWish, today: str | None) -> Checked:
    """Read everything, and look at what visitors get if that's wished. Nothing is written."""
    found = check(folder, today)
    if not wish.live or found.errors:
        return found
    from sitegen.publishing import live

    own = read(folder, only=frozenset()).sound().settings
    moment = moment_in(own.time_zone, today)
    site = folder / "out" / "site"
    if live.is_nobodys(own.address) or not site.is_dir():
        raise Fault(f"there's nothing to look at: {own.address} is no address of yours, or no site is built")
    web = (Complaint("the web", 0, said, Level.WARNING) for said in live.look(own.address, site, moment))
    return Checked((*found.complaints, *web))


def check(folder: Path, today: str | None = None) -> Checked:
    """Read everything; whatever would stop a build is among the complaints. Nothing is written."""
    name = os.fspath(folder)
    looked = once(
        None, ("looked", name), state_of(folder), lambda: fresh_reading(folder, look=_looker(folder))
    )
    if (studio := looked.studio) is None:
        return Checked(looked.complaints)
    moment = moment_in(studio.settings.time_zone, today)
    reminders = (duty.reminder(moment.date()) for duty in studio.settings.private.checklist)
    more = once(
        looked, ("complaints", name), phase_of(studio, moment),
        lambda: {
            *_of_a_build(folder, studio, moment),
            *of_the_books(folder, studio, moment.date()),
            *(_warning(f"checklist: {told} there") for told in reminders if told),
            *_of_the_pieces(folder, studio, moment.date()),
        },
    )  # fmt: skip
    return Checked(tuple(sorted({*looked.complaints, *more, *_of_the_place(folder, moment)})))


def _looker(folder: Path) -> Callable[[Path], str | None]:
    """Return what looks into a photo: all of it, unless a build found it sound as it is."""
    from sitegen import pictures

    known = pictures.known_in(folder / "out" / ".pictures")
    return lambda path: None if known(path) else _looked_into(path, look_of(os.fspath(path)))


@lru_cache(maxsize=20_000)
def _looked_into(path: Path, _: tuple[int, ...]) -> str | None:
    """Look into a photo, once for as long as it looks the same from outside."""
    from sitegen import pictures

    fault = pictures.examine(path)
    return fault.message if fault else None


def _of_a_build(folder: Path, studio: Studio, moment: datetime) -> Iterator[Complaint]:
    """Yield what is wrong with the theme or its words, else what would stop a build."""
    from sitegen import site

    settings, wrong = studio.settings, list[Fault]()
    try:
        theme = find_theme(folder, settings.theme)
        site.examine_theme(theme, settings.accent, settings.theme_options)
        wrong += faulty_words(theme, settings.language)
    except Fault as fault:
        wrong.append(fault)
    if wrong:
        yield from (placed(folder, fault) for fault in wrong)
    else:
        for found in site.rehearse(front_of_house(studio, moment), theme):
            yield _at_its_line(folder, studio, found)


def _of_the_pieces(folder: Path, studio: Studio, day: date) -> Iterator[Complaint]:
    try:
        twice = tuple(reused(studio, read_register(folder)))
    except StudioFault as fault:
        yield Complaint(REGISTER, 0, str(fault).removeprefix(f"{REGISTER} "), Level.WARNING)
        twice = ()
    for piece, had in twice:
        yield _of_a_piece(
            folder, studio, piece, ["number"], f"number {piece.number} was given to {had.piece} before "
            f"(“{had.title}”); if that is this piece, write `was: {had.piece}` here, else give this one the "
            "next number that is free",
        )  # fmt: skip
    for piece in studio.pieces:
        if stay := piece.overdue(day):
            yield _of_a_piece(
                folder, studio, piece, ["away", piece.away.index(stay), "until"],
                f"{stay.overdue}; `sitegen piece back {piece.slug}` notes that it came, `sitegen piece out "
                f"{piece.slug} --until DATE` a new day",
            )  # fmt: skip


def _of_a_piece(folder: Path, studio: Studio, piece: Piece, place: list[str | int], said: str) -> Complaint:
    file = Path(studio.photo_folders[piece.slug]) / "piece.yaml"
    return Complaint(file.relative_to(folder).as_posix(), line_in(file, place), said, Level.WARNING)


def _at_its_line(folder: Path, studio: Studio, fault: Fault) -> Complaint:
    named, _, sentence = str(fault).partition(": ")
    target = getattr(fault, "target", None)
    if target is None and named.startswith("pages/"):  # its address may be spelt otherwise in the file's name
        files = (file.name for file in (folder / "pages").glob("*.md"))
        own = (f"pages/{name}" for name in files if f"pages/{slug(name[:-3])}.md" == named)
        return Complaint(next(own, named), 1, sentence)
    if target is None:
        return placed(folder, fault)
    if piece := re.fullmatch(r"pieces/(.+)/piece\.yaml", named):
        files_of = [Path(studio.photo_folders[piece[1]]) / "piece.yaml"]
    else:
        pattern = "pages/**/*.md" if named.startswith("pages/") else named
        files_of = sorted(folder.glob("shows/*.yaml" if named == "shows" else pattern))
    for file in files_of:
        text = file.read_text(encoding="utf-8-sig")
        if target in text:
            line = text.count("\n", 0, text.index(target)) + 1
            return Complaint(file.relative_to(folder).as_posix(), line, sentence)
    return Complaint(named, 0, sentence)


# Folders that web servers and file shares hand out, by the names they usually have.
_PUBLIC = frozenset({"public_html", "public", "htdocs", "httpdocs", "www", "wwwroot", "webroot"})
_HISTORIES = (".git", ".hg", ".svn", ".bzr")


def _of_the_place(folder: Path, moment: datetime) -> Iterator[Complaint]:
    """Say what is wrong about the place of a studio. The program's own studios are nobody's."""
    if is_ours(folder):
        return
    whole = folder.resolve()
    if shared := next((part for part in whole.parts if part.lower() in _PUBLIC), None):
        yield _warning(
            f"the studio lies in a folder called {shared}, which others may be able to read: it holds names, "
            "addresses and prices. Move it, and publish only out/site"
        )
    if not _left_out(whole):
        yield _warning(
            "the studio is under version control, and nothing keeps people.csv, the order book and sent/ out "
            f"of it; write a file {IGNORE_FILE} with the lines {', '.join(IGNORED.splitlines()[1:])}"
        )
    days = age_if_due(folder, moment)
    if days == 0:
        yield _warning(
            "there's no backup of this studio yet; `sitegen backup DIR` makes one, on another disk"
        )
    elif days is not None:
        yield _warning(f"the last backup is {days} days old; `sitegen backup DIR` makes a new one")


def _warning(sentence: str) -> Complaint:
    return Complaint("studio.yaml", 0, sentence, Level.WARNING)


def _left_out(whole: Path) -> bool:
    """Tell whether people stay out of the history that the studio is part of, if it's part of one."""
    above = (whole, *whole.parents)
    root = next((path for path in above if any((path / name).exists() for name in _HISTORIES)), None)
    if root is None:
        return True
    lines = {
        line.strip().strip("/")
        for file in (path / IGNORE_FILE for path in above if path.is_relative_to(root))
        if file.is_file() and os.access(file, os.R_OK)
        for line in file.read_text("utf-8", errors="replace").splitlines()
    }
    return not lines.isdisjoint({"people.csv", "*.csv", whole.name, whole.relative_to(root).as_posix()})
