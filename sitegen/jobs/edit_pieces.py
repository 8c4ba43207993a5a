"""What a form changes of a piece beside its fields: photos come and go, hours at the bench are noted."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

from sitegen.desk import find
from sitegen.desk.find import one_line, read_spent
from sitegen.disk import put, take_away
from sitegen.jobs.editing import refuse_unseen, stands, written
from sitegen.jobs.pen import writes
from sitegen.jobs.pieces import check_photos, shown_file
from sitegen.jobs.reading import PIECES, sit
from sitegen.sources import forms
from sitegen.sources.cross_check import PHOTO_ENDINGS
from sitegen.sources.forms import joined
from sitegen.sources.gathered import Instead
from sitegen.sources.pieces import photo_names
from sitegen.studio.fault import Fault
from sitegen.studio.order_lines import more_worked, write_worked
from sitegen.studio.text import bare, quoted
from sitegen.studio.wish import Said, ask, wish


@wish
class AddPhotos:
    """Photos for a piece."""

    slug: str = ask("The piece.")
    photos: tuple[Path, ...] = ask("Where the files lie.")
    names: tuple[str, ...] = ask("What they were called, if it isn't that.", default=())
    alts: tuple[str, ...] = ask("What each shows.", default=())


@writes
def add_photos(folder: Path, wish: AddPhotos, today: str | None) -> Said:
    """Copy photos into a piece's folder, never over another, and list them."""
    check_photos(wish.photos)
    file = shown_file(folder, wish.slug)
    home = (folder / file).parent
    names = photo_names(map(Path, _called(wish)), [one.name for one in home.iterdir()])

    def made(text: str) -> str:
        for at, name in enumerate(names):
            alt = one_line(wish.alts[at]) if at < len(wish.alts) else ""
            text = forms.one_more(text, file, "photos", {"file": name, **({"alt": alt} if alt else {})})
        return text

    with _copied({home / name: photo for name, photo in zip(names, wish.photos, strict=True)}) as copy:
        also: Instead = {f"{file.rpartition('/')[0]}/{name}": "" for name in names}
        said = written(folder, file, made, f"added {', '.join(names)}", also, copy)
    return replace(said, facts={**said.facts, "photos": names})


def _called(wish: AddPhotos) -> tuple[str, ...]:
    """Return what the photos were called, the last part of each; the ending tells what a photo is."""
    names = wish.names or tuple(photo.name for photo in wish.photos)
    for name in names:
        if Path(name).suffix.lower() not in PHOTO_ENDINGS:
            raise Fault(f"{quoted(name)} doesn't end like a photo; name it like front.jpg")
    return names


@contextlib.contextmanager
def _copied(photos: Mapping[Path, Path]) -> Iterator[Callable[[], None]]:
    """Give what copies photos once all is checked; what isn't listed in the end is taken away again."""
    made: list[Path] = []

    def copy() -> None:
        for target, photo in photos.items():
            made.append(target)
            put(target, photo.read_bytes())

    try:
        yield copy
    except BaseException:
        for one in made:
            one.unlink(missing_ok=True)
        raise


@wish
class TakePhotoOut:
    """A photo goes."""

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

    def made(text: str) -> str:
        refuse_unseen(text, file, {path: wish.seen})
        return forms.changed(text, file, path, None)

    said = written(folder, file, made, f"{name or path} taken out")
    shared = [one for one in listed if isinstance(one, dict) and one.get("file") == name]
    if photo.name == name and len(shared) == 1 and photo.is_file() and not photo.is_symlink():
        take_away(photo)
    return said


@wish
class NotePieceHours:
    """Hours were spent on a piece."""

    slug: str = ask("The piece.", word=True)
    step: str = ask("The step of the work.", word=True)
    hours: str = ask("How many.", word=True, like="HOURS")


@writes
def note_hours(folder: Path, wish: NotePieceHours, today: str | None) -> Said:
    """Add bench hours to a piece's step of the work."""
    desk = sit(folder, today, PIECES)
    piece = find.piece(desk.studio, wish.slug)
    step, file = one_line(wish.step), shown_file(folder, piece.slug)
    if not step:
        raise Fault("say which step of the work, like sculpting")
    spent = read_spent(wish.hours)
    noted = bare(piece.private.hours.get(step, Decimal(0)) + spent)
    worked = write_worked(more_worked(piece.private.worked, desk.today, spent))
    values = {joined(["private", "hours", step]): noted, "private.worked": worked}
    return written(
        folder, file, lambda text: forms.all_changed(text, file, values), f"{step} {noted} hours in all"
    )
