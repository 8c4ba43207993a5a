r"""What a form changes in the studio's files, where a person with an editor would open them.

`stands` gives a form what it shows, with a digest of each that it hands back as `seen`. `file` is
`studio.yaml`, `commissions.yaml`, `pieces/NAME/piece.yaml` or `shows/NAME.yaml`. A path has points between
its parts, `photos.2.alt`, entries of lists counted from 0; a point within a name is `\.` (`joined` writes
one); the path "" is the whole file. A value is a text as typed, a list of texts or a dict of such; None, or
an empty one, takes it out. All of a wish is one edit and one line of `sitegen undo`. If something else stands
there than was seen, ChangedMeanwhile has it as `now`, by path, and nothing is written. Nor is it if the
reader then has a complaint that it hadn't before: StudioFault holds those.
"""

from __future__ import annotations

import difflib
import re
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path
from types import MappingProxyType
from typing import Any

from sitegen.desk.find import one_line
from sitegen.disk import put, take_away
from sitegen.jobs.pieces import check_photos, shown_file
from sitegen.jobs.reading import fresh_reading, reading_of
from sitegen.jobs.where import writes
from sitegen.sources import Complaint, StudioFault, forms
from sitegen.sources.changes import photo_names
from sitegen.sources.cross_check import PHOTO_ENDINGS
from sitegen.sources.edit import move as moved
from sitegen.sources.forms import joined as joined  # noqa: PLC0414 (for who writes a path)
from sitegen.sources.forms import seen_of as seen_of  # noqa: PLC0414
from sitegen.sources.gathered import Instead
from sitegen.sources.text import Notebook, read_page, rewrite
from sitegen.sources.yaml_script import Value
from sitegen.studio.asked import ChangedMeanwhile, Fault, Said, ask, wish
from sitegen.studio.text import quoted
from sitegen.studio.text import slug as slug_of

_NOTHING: Mapping[str, Any] = MappingProxyType({})


@dataclass(frozen=True)
class FieldStanding:
    value: Any = field(repr=False)  # a text, a list or a dict; None for nothing
    seen: str  # the digest by which it's known again


def stands(folder: Path, file: str, *paths: str) -> dict[str, FieldStanding]:
    """Tell what stands at each path of a file. Raises StudioFault."""
    text = forms.text_in(folder, file)
    found = {path: forms.standing(text, file, path) for path in paths}
    return {path: FieldStanding(value, seen_of(value)) for path, value in found.items()}


def file_stands(folder: Path, file: str) -> FieldStanding:
    """Tell what a whole file says, even one that nobody can read as it stands. Raises StudioFault."""
    text = forms.text_in(folder, file)
    return FieldStanding(text, seen_of(text))


def paths_of(folder: Path, file: str) -> Callable[[int], str]:
    """Return what tells the path of what stands on a line of a file; nothing where that can't be told."""
    try:
        text = forms.text_in(folder, file)
        forms.path_at(text, file, 1)  # a file that nobody can read has no paths
    except StudioFault:
        return lambda _: ""
    return partial(forms.path_at, text, file)


@dataclass(frozen=True)
class PageStanding:
    title: str
    text: str  # Markdown, without the title
    seen: str  # the digest of the whole; empty where there's no such page


def page_stands(folder: Path, name: str) -> PageStanding:
    """Tell what the page of a name says: nothing where there's none. Raises StudioFault."""
    file = f"pages/{name}.md"
    if not forms.file_in(folder, file).exists():
        return PageStanding("", "", "")
    text = forms.text_in(folder, file)
    page = read_page(name, text, Notebook(file))
    return PageStanding(page.title if page else "", page.text if page else text, seen_of(text))


def written(  # noqa: PLR0913, PLR0917 (what is changed, in what, and what must be so before)
    folder: Path, file: str, change: Callable[[str], str], what: str, seen: Mapping[str, str] = _NOTHING,
    wanted: Mapping[str, Any] = _NOTHING, also: Instead = _NOTHING, first: Callable[[], None] = lambda: None,
) -> Said:  # fmt: skip
    """Change a file's text if what was seen still stands there, and the studio then has no new error.

    `also` are other files as they'll be, written by `first`. Raises StudioFault with what the reader says.
    """
    path = forms.file_in(folder, file)
    forms.text_in(folder, file)  # which says what is wrong with it

    def checked(text: str) -> str:
        now = {place: forms.standing(text, file, place) for place in seen}
        other = {
            place: value
            for place, value in now.items()
            if seen_of(value) != seen[place] and not (place in wanted and wanted[place] == value)
        }
        if other:  # neither what was seen stands there nor what is wanted
            said = [f"{place} is {quoted(value) if value else 'empty'}" for place, value in other.items()]
            changed = f"{file} was changed meanwhile, so nothing was written"
            raise ChangedMeanwhile(f"{changed}: {', '.join(said)}", other)
        made = change(text)
        if made != text:
            _refuse_new_errors(folder, file, text, made, also)
            path.parent.mkdir(exist_ok=True)
            first()
        return made

    done = rewrite(path, checked, private=file == "commissions.yaml")
    said = f"{file}: {what}" if done else f"{file} says so already"
    return Said((said,), {"file": file, "changed": done})


def put_fields(
    folder: Path, file: str, values: Mapping[str, Any], what: str, seen: Mapping[str, str] = _NOTHING, *,
    wanted: Mapping[str, Any] = _NOTHING,
) -> Said:  # fmt: skip
    """Change fields of a file by their paths, as `written` does; None takes one out."""
    return written(folder, file, partial(forms.all_changed, shown=file, values=values), what, seen, wanted)


def _refuse_new_errors(folder: Path, file: str, text: str, made: str, also: Instead) -> None:
    """Raise StudioFault with each error that a reading of the changed text has more."""

    def known_by(complaint: Complaint) -> tuple[str, str]:  # when lines have moved
        return complaint.file, re.sub(r"line [0-9]+", "line", complaint.message)

    errors = fresh_reading(folder, instead={file: made, **also}).errors
    if not errors:
        return
    had = Counter(map(known_by, reading_of(folder).errors))
    left, new = had - Counter(map(known_by, errors)), []
    for error in errors:
        if not had[known_by(error)]:
            new.append(error)
        had[known_by(error)] -= 1
    if left:  # what was mended may have hidden others: only what is written now counts
        had_lines, lines = text.splitlines(), made.splitlines()
        same = difflib.SequenceMatcher(None, had_lines, lines, autojunk=False).get_matching_blocks()
        kept = {block.b + line for block in same for line in range(1, block.size + 1)}  # 0 is the whole file
        changed = {*range(len(lines) + 1)} - kept
        new = [error for error in new if error.file == file and error.line in changed]
    if new:
        raise StudioFault("\n".join(map(str, new)), new)


@wish
class AtPlace:
    file: str = ask("The file's path below the studio.")
    path: str = ask("Where it stands, like photos.2.")


@writes
def change(folder: Path, file: str, values: Mapping[str, Value | None], seen: Mapping[str, str]) -> Said:
    """Change fields of one file by their paths, all or none; `seen` has the digests of what stood there."""
    wanted = {path: forms.typed(value) for path, value in values.items()}
    return put_fields(folder, file, wanted, f"{', '.join(wanted)} changed", seen, wanted=wanted)


@writes
def append(folder: Path, file: str, path: str, value: Value) -> Said:
    made = partial(forms.one_more, shown=file, path=path, value=value)
    return written(folder, file, made, f"one more of {path}")


@wish
class RemoveEntry(AtPlace):
    seen: str = ask("The digest of the entry.")


@writes
def remove(folder: Path, wish: RemoveEntry, today: str | None) -> Said:
    said = f"{wish.path} taken out"
    return put_fields(folder, wish.file, {wish.path: None}, said, {wish.path: wish.seen})


@wish
class MoveEntry(AtPlace):
    to: int = ask("Its new place, from 0.", least=0)
    seen: str = ask("The digest of the list.")


@writes
def move(folder: Path, wish: MoveEntry, today: str | None) -> Said:
    """Move an entry of a list to another place."""

    def made(text: str) -> str:
        return moved(text, wish.file, forms.place_in(text, wish.file, wish.path), wish.to)

    whole = joined(forms.parts_of(wish.path)[:-1])
    return written(folder, wish.file, made, f"{wish.path} moved", {whole: wish.seen})


@wish
class WritePage:
    name: str = ask("Its file's name in pages/, without .md.")
    title: str = ask("Its title.")
    text: str = ask("Markdown, without the title.")
    seen: str = ask("The digest of the whole page; nothing for a new one.", default="")


@writes
def write_page(folder: Path, wish: WritePage, today: str | None) -> Said:
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
    return written(folder, file, lambda had: _ended_as(had, f"# {title}\n\n{text}"), "written")


@wish
class WriteFile:
    file: str = ask("The file's path below the studio.")
    text: str = ask("All of it.")
    seen: str = ask("The digest of all that stood there.")


@writes
def write_file(folder: Path, wish: WriteFile, today: str | None) -> Said:
    """Write a whole file, to mend what keeps it from being read."""
    if file_stands(folder, wish.file).seen != wish.seen:
        raise ChangedMeanwhile(f"{wish.file} says something else by now, so nothing was written", {})
    text = wish.text.replace("\r\n", "\n").rstrip("\n") + "\n"
    return written(folder, wish.file, lambda had: _ended_as(had, text), "written")


def _ended_as(had: str, text: str) -> str:
    return text.replace("\n", "\r\n") if "\r\n" in had else text


@writes
def add_show(folder: Path, values: Mapping[str, Value]) -> Said:
    """Put a new show into shows/, with what is known of it by its field: name and from at least."""
    own = slug_of(str(values.get("name", "")))
    if not own:
        raise Fault("the show needs a name with letters from a to z or digits")
    file, known = f"shows/{own}.yaml", {joined([name]): value for name, value in values.items()}
    if forms.file_in(folder, file).exists():
        raise Fault(f"{file} exists already; give the show another name")
    return replace(put_fields(folder, file, known, "added"), facts={"file": file, "show": own})


@wish
class AddPhotos:
    slug: str = ask("The piece.")
    photos: tuple[Path, ...] = ask("Where the files lie.")
    names: tuple[str, ...] = ask("What they were called, if it isn't that.", default=())
    alts: tuple[str, ...] = ask("What each shows.", default=())


@writes
def add_photos(folder: Path, wish: AddPhotos, today: str | None) -> Said:
    """Copy photos into a piece's folder, never over another, and list them."""
    check_photos(wish.photos)
    file = shown_file(folder, wish.slug)
    home, called = (folder / file).parent, [*map(Path, wish.names or [photo.name for photo in wish.photos])]
    for name in called:
        if name.suffix.lower() not in PHOTO_ENDINGS:
            raise Fault(f"{quoted(str(name))} doesn't end like a photo; name it like front.jpg")
    names = photo_names(called, [path.name for path in home.iterdir()])
    copied: list[Path] = []

    def listed(text: str) -> str:
        for at, name in enumerate(names):
            alt = one_line(wish.alts[at]) if at < len(wish.alts) else ""
            text = forms.one_more(text, file, "photos", {"file": name, "alt": alt})
        return text

    def copy() -> None:
        for name, photo in zip(names, wish.photos, strict=True):
            copied.append(home / name)
            put(copied[-1], photo.read_bytes())

    also = {f"{file.rpartition('/')[0]}/{name}": "" for name in names}
    try:
        said = written(folder, file, listed, f"added {', '.join(names)}", also=also, first=copy)
    except BaseException:  # what isn't listed in the end is taken away again
        for path in copied:
            path.unlink(missing_ok=True)
        raise
    return replace(said, facts={**said.facts, "photos": names})


@wish
class TakePhotoOut:
    slug: str = ask("The piece.")
    place: int = ask("Which of its photos, from 0.", least=0)
    seen: str = ask("The digest of photos.PLACE.")


@writes
def take_photo_out(folder: Path, wish: TakePhotoOut, today: str | None) -> Said:
    """Take a photo off a piece's list, and its file away; `undo` brings both back."""
    file, path = shown_file(folder, wish.slug), f"photos.{wish.place}"
    now = stands(folder, file, "photos", path)
    entry, listed = now[path].value, now["photos"].value or []
    name = str(entry.get("file", "")) if isinstance(entry, dict) else ""
    photo = (folder / file).with_name(Path(name).name or "piece.yaml")
    said = put_fields(folder, file, {path: None}, f"{name or path} taken out", {path: wish.seen})
    shared = [photo for photo in listed if isinstance(photo, dict) and photo.get("file") == name]
    if photo.name == name and len(shared) == 1 and photo.is_file() and not photo.is_symlink():
        take_away(photo)
    return said
