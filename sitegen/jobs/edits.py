r"""What a form changes in the studio's files, where a person with an editor would open them.

    stands(folder, file, *paths) -> {path: FieldStanding(value, seen)}
    page_stands(folder, name)    -> PageStanding(title, text, seen)
    change(folder, ChangeFields(file=, changes=(Change(path=, value=, seen=), ...)), today)
    append(folder, AppendEntry(file=, path=, value=, seen=None), today)
    remove(folder, RemoveEntry(file=, path=, seen=), today)            the digest of the entry
    move(folder, MoveEntry(file=, path=, to=, seen=), today)           the digest of the list
    write_page(folder, WritePage(name=, title=, text=, seen=""), today)
    write_file(folder, WriteFile(file=, text=, seen=), today)          the digest of the whole text
    add_show(folder, AddShow(values={"name": ..., "from": ...}, slug=None), today)
    add_photos(folder, AddPhotos(slug=, photos=(Path, ...), names=(), alts=()), today)
    take_photo_out(folder, TakePhotoOut(slug=, place=, seen=), today)  the digest of photos.PLACE
    note_hours(folder, NotePieceHours(slug=, step=, hours=), today)

`stands` gives a form what it shows, with a digest of each that it hands back as `seen`. `file` is
`studio.yaml`, `commissions.yaml`, `pieces/NAME/piece.yaml` or `shows/NAME.yaml`. A path has points between
its parts, `photos.2.alt`, entries of lists counted from 0; a point within a name is `\.` (`joined` writes
one). A value is a text as typed, a list of texts or a dict of such; None, or an empty one, takes it out.
All of a wish is one edit and one line of `sitegen undo`. If something else stands there than was seen,
ChangedMeanwhile has it as `now`, by path, and nothing is written. Nor is it if the reader then has a
complaint that it hadn't before: StudioFault holds those. The field page's values,
`fields_page.fields_of(kind)`, say what each field is.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from sitegen.desk.find import one_line
from sitegen.jobs.edit_pieces import (
    AddPhotos,
    NotePieceHours,
    TakePhotoOut,
    add_photos,
    note_hours,
    take_photo_out,
)  # fmt: skip
from sitegen.jobs.editing import FieldStanding, refuse_unseen, stands, written
from sitegen.jobs.pen import writes
from sitegen.sources import forms
from sitegen.sources.complaints import Notebook, StudioFault
from sitegen.sources.forms import joined, seen_of
from sitegen.sources.lists import move as moved
from sitegen.sources.text import read_page
from sitegen.sources.yaml_words import Value
from sitegen.studio.fault import ChangedMeanwhile, Fault
from sitegen.studio.text import slug as slug_of
from sitegen.studio.wish import Said, ask, wish

__all__ = [
    "AddPhotos",
    "AddShow",
    "AppendEntry",
    "Change",
    "ChangeFields",
    "ChangedMeanwhile",
    "FieldStanding",
    "MoveEntry",
    "NotePieceHours",
    "PageStanding",
    "RemoveEntry",
    "TakePhotoOut",
    "WriteFile",
    "WritePage",
    "add_photos",
    "add_show",
    "append",
    "change",
    "file_stands",
    "joined",
    "move",
    "note_hours",
    "page_stands",
    "path_at",
    "remove",
    "seen_of",
    "stands",
    "take_photo_out",
    "write_file",
    "write_page",
]  # fmt: skip


@dataclass(frozen=True)
class PageStanding:
    """What a page says."""

    title: str
    text: str
    """Markdown, without the title."""
    seen: str
    """The digest of the whole; empty where there's no such page."""


def page_stands(folder: Path, name: str) -> PageStanding:
    """Tell what the page of a name says: nothing where there's none. Raises StudioFault."""
    file = f"pages/{name}.md"
    path = forms.file_in(folder, file)
    if not path.exists():
        return PageStanding("", "", "")
    text = forms.text_in(path, file)
    page = read_page(name, text, Notebook(file))
    return PageStanding(page.title if page else "", page.text if page else text, seen_of(text))


def path_at(folder: Path, file: str, line: int) -> str:
    """Return the path of what is written on a line of a file; nothing where that can't be told."""
    try:
        return forms.path_at(forms.text_in(forms.file_in(folder, file), file), file, line)
    except StudioFault:
        return ""


@wish
class Change:
    """One field of a form."""

    path: str = ask("Where.")
    value: Value | None = ask("What is to stand there; None or an empty text takes it out.")
    seen: str = ask("The digest of what stood there.")


@wish
class ChangeFields:
    """The fields of a form that say something else now."""

    file: str = ask("The file's path below the studio.")
    changes: tuple[Change, ...] = ask("What changes in it.")


@writes
def change(folder: Path, wish: ChangeFields, today: str | None) -> Said:
    """Change fields of one file, all or none."""

    def made(text: str) -> str:
        wanted = {one.path: forms.typed(one.value) for one in wish.changes}
        refuse_unseen(text, wish.file, {one.path: one.seen for one in wish.changes}, wanted)
        return forms.all_changed(text, wish.file, wanted)

    return written(folder, wish.file, made, f"{', '.join(one.path for one in wish.changes)} changed")


@wish
class AppendEntry:
    """One more entry of a list."""

    file: str = ask("The file's path below the studio.")
    path: str = ask("Where the list stands.")
    value: Value = ask("The entry.")
    seen: str | None = ask("The digest of the list; without it, whatever stands there.", default=None)


@writes
def append(folder: Path, wish: AppendEntry, today: str | None) -> Said:
    """Put an entry at the end of a list."""

    def made(text: str) -> str:
        refuse_unseen(text, wish.file, {wish.path: wish.seen} if wish.seen is not None else {})
        return forms.one_more(text, wish.file, wish.path, wish.value)

    return written(folder, wish.file, made, f"one more of {wish.path}")


@wish
class RemoveEntry:
    """An entry of a list goes."""

    file: str = ask("The file's path below the studio.")
    path: str = ask("Where it stands, like rounds.0.")
    seen: str = ask("The digest of the entry.")


@writes
def remove(folder: Path, wish: RemoveEntry, today: str | None) -> Said:
    """Take an entry out of a list."""

    def made(text: str) -> str:
        refuse_unseen(text, wish.file, {wish.path: wish.seen})
        return forms.changed(text, wish.file, wish.path, None)

    return written(folder, wish.file, made, f"{wish.path} taken out")


@wish
class MoveEntry:
    """An entry of a list moves."""

    file: str = ask("The file's path below the studio.")
    path: str = ask("Where it stands, like photos.2.")
    to: int = ask("Its new place, from 0.", least=0)
    seen: str = ask("The digest of the list.")


@writes
def move(folder: Path, wish: MoveEntry, today: str | None) -> Said:
    """Move an entry of a list to another place."""

    def made(text: str) -> str:
        place = forms.place_in(text, wish.file, wish.path)
        refuse_unseen(text, wish.file, {joined(place[:-1]): wish.seen})
        return moved(text, wish.file, place, wish.to)

    return written(folder, wish.file, made, f"{wish.path} moved")


@wish
class WritePage:
    """A page of the site as it is to be, or a new one."""

    name: str = ask("Its file's name in pages/, without .md.")
    title: str = ask("Its title.")
    text: str = ask("Markdown, without the title.")
    seen: str = ask("The digest of the whole page; nothing for a new one.", default="")


@writes
def write_page(folder: Path, wish: WritePage, today: str | None) -> Said:
    """Write a page of the site."""
    file, now = f"pages/{wish.name}.md", page_stands(folder, wish.name)
    if not now.seen and slug_of(wish.name) != wish.name:
        raise Fault(f"'{wish.name}' can't be a page's name; write a-z, 0-9 and single hyphens only")
    title, text = one_line(wish.title), (forms.typed(wish.text) or "").strip() + "\n"
    page = read_page(wish.name, f"# {title}\n\n{text}", Notebook(file))
    if page is None or (page.title, page.text) != (title, text):
        raise Fault("the page needs a title of a few words, without # at its end")
    if wish.seen != now.seen and (now.title, now.text) != (title, text):
        said = {"title": now.title, "text": now.text}
        raise ChangedMeanwhile(f"{file} says something else by now, so nothing was written", said)

    def made(had: str) -> str:
        return f"# {title}\n\n{text}".replace("\n", "\r\n" if "\r\n" in had else "\n")

    return written(folder, file, made, "written")


def file_stands(folder: Path, file: str) -> FieldStanding:
    """Tell what a whole file says, even one that nobody can read as it stands. Raises StudioFault."""
    text = forms.text_in(forms.file_in(folder, file), file)
    return FieldStanding(text, seen_of(text))


@wish
class WriteFile:
    """A whole file as it is to be."""

    file: str = ask("The file's path below the studio.")
    text: str = ask("All of it.")
    seen: str = ask("The digest of all that stood there.")


@writes
def write_file(folder: Path, wish: WriteFile, today: str | None) -> Said:
    """Write a whole file, to mend what keeps it from being read."""

    def made(had: str) -> str:
        if seen_of(had) != wish.seen:
            raise ChangedMeanwhile(f"{wish.file} says something else by now, so nothing was written", {})
        text = wish.text.replace("\r\n", "\n").rstrip("\n") + "\n"
        return text.replace("\n", "\r\n") if "\r\n" in had else text

    return written(folder, wish.file, made, "written")


@wish
class AddShow:
    """A new show."""

    values: Mapping[str, Value] = ask("What is known of it, by its field: name and from at least.")
    slug: str | None = ask("The file's name, if not made from the show's name.", default=None)


@writes
def add_show(folder: Path, wish: AddShow, today: str | None) -> Said:
    """Put a new show into shows/."""
    own = wish.slug or slug_of(str(wish.values.get("name", "")))
    if not own or slug_of(own) != own:
        raise Fault("the show needs a name with letters from a to z or digits")
    file = f"shows/{own}.yaml"
    if forms.file_in(folder, file).exists():
        raise Fault(f"{file} exists already; give the show another name, or the file with --slug")

    values = {joined([name]): value for name, value in wish.values.items()}
    done = written(folder, file, lambda text: forms.all_changed(text, file, values), "added")
    return replace(done, facts={"file": file, "show": own})
