"""The pieces, an index card each; a new one from its photos; one piece with all that can be said of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import Any

from starlette.responses import JSONResponse, Response

from sitegen.browser.deeds import DEEDS, KNOWN, STATES, Values, attempt, form, lead_on
from sitegen.browser.desk import TRIED, Workplace, keep
from sitegen.browser.forms import HIDDEN, Ask, Own, kept_under, let_go, picks, said_of
from sitegen.browser.frame import ListLeaf, Shown, Visit, screen
from sitegen.browser.screens.money import latest_first
from sitegen.browser.sheets import asks, entries, put_sheet, sheet_form, step_asked
from sitegen.jobs import answers, diary, edits, photos, wish_of
from sitegen.jobs.compiling import page_of
from sitegen.studio.asked import Fault
from sitegen.studio.piece import Piece, Status, StayKind, Stream
from sitegen.studio.whole import Studio

# Pixels of the longer side: on a card, and beside the fields of a photo.
_SIDES = {"card": 420, "large": 900}
_STANDINGS = tuple(map(str, Status))
_ALL = picks(_STANDINGS)
_IS_NOW = {"kind": "pick", "choices": _ALL}


def _named(studio: Studio, values: Values) -> Piece:
    found = studio.piece(values.get("slug", ""))
    if found is None:
        raise Fault("there is no such piece on the desk; it may have been renamed")
    return found


def _file(desk: Workplace, values: Values) -> str:
    studio = desk.read()
    there = Path(studio.photo_folders[_named(studio, values).slug]) / "piece.yaml"
    return there.resolve().relative_to(desk.folder.resolve()).as_posix()


def _series(studio: Studio) -> dict[str, Any]:
    names = picks((series.name for series in studio.settings.series), empty="none")
    return {"kind": "pick", "choices": names, "help": ""}


def _new(studio: Studio, _: Values) -> Own:
    return {
        "photos": {"needed": True}, "title": {"needed": True},
        "status": {"kind": "pick", "choices": _ALL, "value": str(Status.AVAILABLE)},
        "series": _series(studio) if studio.settings.series else HIDDEN,
    }  # fmt: skip


def _standing(studio: Studio, values: Values) -> Own:
    piece = _named(studio, values)
    price = piece.price
    asked = f"If it was sold; {studio.settings.said(price)} was asked for." if price is not None else ""
    streams = picks(map(str, Stream), empty="as it was made")
    return {
        "status": {**_IS_NOW, "value": str(piece.status)},
        "price": {"help": asked},
        "stream": {"kind": "pick", "choices": streams},
    }


def _out(studio: Studio, values: Values) -> Own:
    stay = next((stay for stay in reversed(_named(studio, values).away) if stay.back is None), None)
    place, kind = (stay.place, str(stay.kind)) if stay else ("", "")
    return {"to": {"value": place}, "kind": {"choices": picks(map(str, StayKind)), "value": kind}}


STATES["piece"] = lambda studio, values: studio.piece(values.get("slug", ""))
KNOWN |= {
    "pieces.add": _new, "pieces.mark": _standing, "pieces.take_back": lambda *_: {"status": _IS_NOW},
    "diary.out": _out, "diary.note_hours": step_asked, "diary.start": step_asked,
}  # fmt: skip

_KIND = "pieces/*/piece.yaml"
# What stands in the form of facts; with the standing and the story, which have forms of their own.
_FACTS = "title price finished series height_mm size base materials"


def _facts(studio: Studio, _: Values) -> Sequence[Ask]:
    own = said_of("sheet piece", {"series": _series(studio), "height_mm": {"unit": "mm"}})
    found = {ask.name: replace(ask, help="") for ask in asks(_KIND)}
    return [replace(found[name], **own.get(name, {})) for name in _FACTS.split()]


def _photo(_: Studio, values: Values) -> Sequence[Ask]:
    number = values.get("number", "")
    if not number.isdecimal():
        raise Fault("there is no such photo")
    place = f"photos.{number}"
    look = "Across and down, from 0 to 1, like 0.5, 0.3; or press the spot on the picture."
    return (
        Ask(f"{place}.alt", "What it shows", "long", help="For those who can't see it."),
        Ask(f"{place}.focus", "Where to look", "focus", help=look),
        Ask(f"{place}.detail", "A detail, which may be cropped", "yes", help="A whole figure never is."),
    )


_STORY = Ask(
    "story", "Story", "long", help="An empty line begins a paragraph. The page beside shows it as you write."
)
put_sheet("rest", file=_file, asks=lambda *_: asks(_KIND, leave=f"{_FACTS} status story"))
put_sheet(
    "supply", file=_file, asks=lambda *_: asks(_KIND, "private.supplies.*."),
    into=lambda _: "private.supplies",
)  # fmt: skip
put_sheet("piece", file=_file, asks=_facts)
put_sheet("story", file=_file, asks=lambda *_: [_STORY])
put_sheet("photo", file=_file, asks=_photo)


@screen("/pieces", "pieces")
def _pieces(desk: Workplace, asked: Visit) -> Shown:
    studio, find, standing = desk.read(), asked.get("find", ""), asked.get("standing", "")
    wanted = find.strip().casefold()

    def said(one: Piece) -> str:
        words = one.title, one.slug, one.number or "", one.series or "", one.materials, one.private.order
        return " ".join(words).casefold()

    found = [piece for piece in studio.pieces if standing in ("", piece.status) and wanted in said(piece)]
    return {
        "pieces": ListLeaf(asked, latest_first(found), 48), "of_all": len(studio.pieces), "find": find,
        "standing": standing, "standings": _STANDINGS,
    }  # fmt: skip


@screen("/register", "register")
def _register(desk: Workplace, _: Visit) -> Shown:
    return {"register": answers.register(desk.folder, desk.today)}


@screen("/pieces/new", "piece_new")
def _new_piece(desk: Workplace, asked: Visit, fault: str = "") -> Shown:
    """Ask for a new piece; or show again what photos were brought to, with those that lie here already."""
    kept = asked.get("kept", "")
    names = [file.name for file in kept_under(desk.folder, kept)]
    action = asked.path if asked.path.endswith("/photos") else f"{asked.path}/photos"
    shown = form(desk, _brought_to(action), **asked) | {"fault": fault, "action": action}
    return {"form": shown, "kept": kept, "names": names, "fault": fault}


def _brought_to(address: str) -> str:
    return "pieces.add" if address == "/pieces/new/photos" else "edits.add_photos"


@screen("/pieces/{slug}/photos", "piece_new", sent=True, files="photos", again=_new_piece)
@screen("/pieces/new/photos", "piece_new", sent=True, files="photos", again=_new_piece)
def _bring(desk: Workplace, asked: Visit) -> Shown:
    """Put a new piece in, or photos to one; they stay here while something else is still wrong."""
    path = _brought_to(asked.path)
    answer = attempt(desk, path, {**asked, "photos": asked.files})
    let_go(desk.folder, asked["kept"])
    return lead_on(desk, answer, DEEDS[path], asked)


@screen("/pieces/{slug}", "piece")
def _one(desk: Workplace, asked: Visit) -> Shown:
    studio = desk.read()
    found = _named(studio, asked)
    slug, worth = found.slug, None
    with suppress(Fault):
        worth = answers.worth(desk.folder, wish_of("answers.worth")(slug=slug), desk.today)
    file, back = _file(desk, {"slug": slug}), f"/pieces/{slug}"
    supplies = (f"private.supplies.{number}" for number in range(len(found.private.supplies)))
    return {
        "piece": found, "worth": worth, "clock": diary.running(desk.folder),
        "stay": found.stay(desk.day), "late": found.overdue(desk.day), "preview": desk.preview,
        "supplies": entries(desk, file, supplies, back),
        "sheets": {name: sheet_form(desk, name, slug=slug) for name in _OWN_SHEETS},
        "photos": [_photo_of(desk, studio, found, file, number) for number in range(len(found.photos))],
        "more": f"{back}/photos",
        "forms": [
            form(desk, path, slug=slug, what=slug, back=back)
            for path in (
                "pieces.mark", "diary.note_hours", "diary.start",
                *(["pieces.take_back", "papers.packing_slip"] if found.private.sold else []),
                *(["diary.back"] if found.stay(desk.day) else []), "diary.out", "papers.certificate",
            )
        ],
    }  # fmt: skip


_OWN_SHEETS = ("rest", "supply", "piece", "story")


def _photo_of(desk: Workplace, studio: Studio, found: Piece, file: str, number: int) -> Mapping[str, Any]:
    """Return what the page shows of one photo: its fields, and its ways to another place or out."""
    slug, last, back = found.slug, len(found.photos) - 1, f"/pieces/{found.slug}#photos"
    standing = edits.stands(desk.folder, file, "photos", f"photos.{number}")
    entry = {"file": file, "path": f"photos.{number}", "seen": standing["photos"].seen, "back": back}
    moves = [(said, to) for said, to in (("Earlier", number - 1), ("Later", number + 1)) if 0 <= to <= last]
    return {
        "file": found.photos[number].file,
        "sheet": sheet_form(desk, "photo", slug=slug, number=str(number)),
        "moves": [(said, entry | {"to": to}) for said, to in moves],
        "out": {"slug": slug, "place": number, "seen": standing[f"photos.{number}"].seen, "back": back},
    }  # fmt: skip


@screen("/pieces/{slug}/as-written", sent=True)
def _as_written(desk: Workplace, asked: Visit) -> Shown:
    slug = _named(desk.read(), asked).slug
    try:
        path, content = page_of(desk.folder, desk.today, slug, asked.get("story", "").replace("\r\n", "\n"))
    except Fault as fault:
        return JSONResponse({"wrong": str(fault)})
    keep(desk.trials, path, content, TRIED)
    return JSONResponse({"seen": f"{desk.frames}/-/now/{path}"})


@screen("/photo/{side}/{slug}/{file}")
def _small(desk: Workplace, asked: Visit) -> Shown:
    studio = desk.read()
    found = _named(studio, asked)
    if asked["file"] not in {photo.file for photo in found.photos} or asked["side"] not in _SIDES:
        raise Fault("there is no such photo")
    content = photos.small(Path(studio.photo_folders[found.slug]) / asked["file"], _SIDES[asked["side"]])
    return Response(content, media_type="image/jpeg")
