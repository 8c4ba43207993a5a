"""The pieces, an index card each; a new one from its photos; one piece with all that can be said of it."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from sitegen.browser import uploads
from sitegen.browser.deeds import DEEDS as ALL
from sitegen.browser.deeds import Assent, Deed, Values, attempt, check_mark, form, lead_on, wish_of
from sitegen.browser.desk import Workplace, at, handed_out, leaf, page, tongue_of
from sitegen.browser.fields import as_called, asks
from sitegen.browser.forms import HIDDEN, Ask, Own, filled_in, picks, texts
from sitegen.browser.guard import MOST_OF_WORDS
from sitegen.browser.sheets import FileForm, entries, sheet_form
from sitegen.jobs import answers, clock, edits, photos
from sitegen.jobs import register as numbers
from sitegen.jobs.compiling import page_of
from sitegen.studio.fault import Fault
from sitegen.studio.piece import Piece, Status, Stream
from sitegen.studio.stay import StayKind
from sitegen.studio.whole import Studio

_PER_PAGE = 48
# Pixels of the longer side: on a card, and beside the fields of a photo.
_SIDES = {"card": 420, "large": 900}
_STANDINGS = tuple(map(str, Status))
_ALL = picks(_STANDINGS)


def piece_named(studio: Studio, values: Values) -> Piece:
    """Find the piece that a form or a page is about. Raises Fault."""
    found = studio.piece(values.get("slug", ""))
    if found is None:
        raise Fault("there is no such piece on the desk; it may have been renamed")
    return found


def _file(desk: Workplace, values: Values) -> str:
    """Return the path of a piece's file below the studio."""
    studio = desk.read()
    there = Path(studio.photo_folders[piece_named(studio, values).slug]) / "piece.yaml"
    return there.resolve().relative_to(desk.folder.resolve()).as_posix()


def _new(studio: Studio, _: Values) -> Own:
    settings = studio.settings
    series = picks((one.name for one in settings.series), empty="none")
    return {
        "photos": {
            "help": "From the camera or the phone; the first is the one that is shown.",
            "needed": True,
        },
        "title": {"needed": True, "help": ""},
        "price": {"unit": settings.currency, "help": "Digits and a point only; it can wait."},
        "status": {"kind": "pick", "choices": _ALL, "value": str(Status.AVAILABLE), "help": ""},
        "series": {"kind": "pick" if settings.series else "hidden", "choices": series, "help": ""},
        "finished": {"help": "Left open: today, unless it is still in progress."},
        "height_mm": {"help": ""},
        "alts": {"help": "For those who can't see it: a line a photo, in their order."},
        "slug": HIDDEN,
    }


def _standing(studio: Studio, values: Values) -> Own:
    piece = piece_named(studio, values)
    asked = f"If it was sold; {piece.price} was asked for." if piece.price is not None else ""
    streams = picks(map(str, Stream), empty="as it was made")
    return {
        "slug": HIDDEN,
        "publish": HIDDEN,
        "status": {"kind": "pick", "label": "It is now", "choices": _ALL, "value": str(piece.status)},
        "price": {"unit": studio.settings.currency, "label": "Sold for", "help": asked},
        "stream": {"kind": "pick", "choices": streams, "help": "", "label": "Sold through"},
        "to": {"label": "Sold to"},
        "fee": {"label": "What a gallery kept of it"},
        "usual": {"label": "It was sold at its asking price, today", "help": "Where nothing is said above."},
    }


def _back(studio: Studio, _: Values) -> Own:
    return {
        "slug": HIDDEN,
        "status": {"kind": "pick", "choices": _ALL, "label": "It is now"},
        "refund": {"kind": "amount", "unit": studio.settings.currency, "label": "Sent back"},
    }


def _out(studio: Studio, values: Values) -> Own:
    stay = next((one for one in reversed(piece_named(studio, values).away) if one.back is None), None)
    place, kind = (stay.place, str(stay.kind)) if stay else ("", "")
    unit = {"kind": "amount", "unit": studio.settings.currency}
    return {
        "slug": HIDDEN,
        "to": {"label": "Place", "help": "Its name, as the site tells it.", "value": place},
        "kind": {"label": "As what", "choices": picks(map(str, StayKind)), "value": kind},
        "share": {"label": "Their share"},
        "lowest": {**unit, "label": "Lowest price"},
    }  # fmt: skip


def _steps(studio: Studio, _: Values) -> Own:
    hours = {"kind": "number"}
    return {"slug": HIDDEN, "what": HIDDEN, "hours": hours, "step": {"help": as_called(studio)}}


def _all_hidden(*names: str) -> Any:
    return lambda _studio, _values: dict.fromkeys(names, HIDDEN)


def _piece(studio: Studio, values: Values) -> object:
    return studio.piece(values.get("slug", ""))


DEEDS = {
    "pieces.add": Deed("A new piece", "Add it", "pieces", own=_new, back="/{piece}"),
    "pieces.mark": Deed(
        "Its standing, and its sale", "Note it", "pieces", own=_standing, back="/pieces/{slug}", state=_piece,
        meanwhile={"sale": lambda usual: replace(usual, price=None, on=None, stream=None, to=None)},
        told="What isn't available is offered nowhere: no page, letter or card has its price.",
    ),
    "pieces.take_back": Deed(
        "It came back", "Note its return", "pieces", own=_back, back="/pieces/{slug}", state=_piece
    ),
    "stays.out": Deed(
        "It goes out, or rests", "Note it", "pieces", own=_out, back="/pieces/{slug}", state=_piece,
        told="The site says where to see or buy it. What rests is shown nowhere and stays in the books.",
    ),
    "stays.back": Deed(
        "It is at home again", "Note it", "pieces", own=_all_hidden("slug"), back="/pieces/{slug}",
        state=_piece,
    ),
    "clock.note_hours": Deed(
        "Hours at the bench", "Add the hours", "pieces", own=_steps, back="/pieces/{slug}"
    ),
    "edits.move": Deed(
        "The order of the photos", "Move it", "pieces", own=_all_hidden("file", "path", "to", "seen")
    ),
    "edits.take_photo_out": Deed(
        "Take a photo out", "Take it out", "pieces", own=_all_hidden("slug", "place", "seen"),
        back="/pieces/{slug}",
    ),
    "edits.add_photos": Deed("More photos", "Bring them in", "pieces", back="/pieces/{slug}"),
    "clock.start": Deed("Start the clock", "Start the clock", "pieces", own=_steps, undo=False),
    "clock.stop": Deed("Stop the clock", "Stop it and note the hours", "pieces", undo=False),
}  # fmt: skip


def _facts(studio: Studio, _: Values) -> Sequence[Ask]:
    settings = studio.settings
    return (
        Ask("title", "Title", needed=True),
        Ask("price", "Price", "amount", unit=settings.currency),
        Ask("finished", "Finished", "day"),
        Ask("series", "Series", "pick", choices=picks((one.name for one in settings.series), empty="none")),
        Ask("height_mm", "Height", "number", unit="mm"),
        Ask("size", "Size in your own words", help="Where one height doesn't say it."),
        Ask("base", "Base"),
        Ask("materials", "Materials"),
    )


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


def _story(_: Studio, __: Values) -> Sequence[Ask]:
    return (
        Ask(
            "story",
            "Story",
            "long",
            help="An empty line begins a paragraph. The page beside shows it as you write.",
        ),
    )


_KIND = "pieces/*/piece.yaml"
# What has a form of its own on the page.
_ELSEWHERE = frozenset(
    {"title", "price", "finished", "series", "height_mm", "size", "base", "materials", "status", "story"}
)


def _rest(_: Studio, __: Values) -> Sequence[Ask]:
    return asks(_KIND, leave=_ELSEWHERE)


def _supply(_: Studio, __: Values) -> Sequence[Ask]:
    return asks(_KIND, "private.supplies.*.")


SHEETS = {
    "rest": FileForm("All else of it", "Save it", "pieces", _file, _rest, "/pieces/{slug}"),
    "supply": FileForm(
        "Bought for it", "Add it", "pieces", _file, _supply, "/pieces/{slug}",
        into=lambda _: "private.supplies",
    ),
    "piece": FileForm("What it is", "Save it", "pieces", _file, _facts, "/pieces/{slug}"),
    "story": FileForm("Its story", "Save the story", "pieces", _file, _story, "/pieces/{slug}#story"),
    "photo": FileForm("A photo", "Save it", "pieces", _file, _photo, "/pieces/{slug}#photos"),
}  # fmt: skip


def pieces(request: Request) -> Response:
    """Show the cards of the pieces that are looked for, the latest first."""
    desk, asked = at(request), request.query_params
    studio = desk.read()
    wanted, standing = asked.get("find", "").strip().casefold(), asked.get("standing", "")
    found = [one for one in studio.pieces if standing in ("", one.status) and wanted in _said(one)]
    found.sort(key=lambda one: (one.number or "", one.slug), reverse=True)
    number, pages = leaf(request, len(found), _PER_PAGE)
    return page(
        request, "pieces.html", screen="pieces", pieces=found[(number - 1) * _PER_PAGE : number * _PER_PAGE],
        count=len(found), of_all=len(studio.pieces), find=asked.get("find", ""), standing=standing,
        standings=_STANDINGS, number=number, last=pages, tongue=tongue_of(studio), day=desk.day,
    )  # fmt: skip


def _said(piece: Piece) -> str:
    """Return what a piece is looked for by."""
    of = piece.private
    words = (piece.title, piece.slug, piece.number or "", piece.series or "", piece.materials, of.order)
    return " ".join(words).casefold()


def new(request: Request) -> Response:
    """Show the form of a new piece."""
    desk = at(request)
    shown = form(desk, "pieces.add", desk.read()) | {"action": "/pieces/new/photos"}
    return page(request, "piece_new.html", screen="pieces", form=shown, kept="", names=())


async def bring(request: Request) -> Response:
    """Put a new piece in, or photos to one; they stay here while something else is still wrong."""
    desk = at(request)
    async with request.form(max_files=60, max_part_size=MOST_OF_WORDS) as given:
        values = texts(given)
        check_mark(desk, values)
        token, files = await uploads.keep(desk.folder, given, "photos")
    slug = request.path_params.get("slug", "")
    return await run_in_threadpool(_brought, request, values | ({"slug": slug} if slug else {}), token, files)


def _brought(request: Request, values: dict[str, str], token: str, files: tuple[Path, ...]) -> Response:
    desk = at(request)
    path = "edits.add_photos" if "/new/" not in request.url.path else "pieces.add"
    try:
        answer = attempt(desk, path, {**values, "photos": files}, Assent(""))
        assert answer is not None  # noqa: S101 (these jobs don't ask)
    except Fault as fault:
        again = form(desk, path, desk.read(), **values)
        again |= {"fault": str(fault), "action": request.url.path}
        names = [file.name for file in files]
        return page(request, "piece_new.html", 422, screen="pieces", form=again, kept=token, names=names)
    uploads.let_go(desk.folder, token)
    return lead_on(desk, answer, ALL[path], values)


def piece(request: Request) -> Response:
    """Show one piece with all that can be said of it."""
    desk, slug = at(request), request.path_params["slug"]
    studio = desk.read()
    found = piece_named(studio, {"slug": slug})
    slug = found.slug
    worth = None
    with suppress(Fault):
        worth = answers.worth(desk.folder, wish_of("answers.worth")(slug=slug), desk.today)
    about = {"slug": slug}
    return page(
        request, "piece.html", screen="pieces", piece=found, worth=worth, tongue=tongue_of(studio),
        stay=found.stay(desk.day), late=found.overdue(desk.day),
        supplies=_supplies(desk, found),
        sheets={name: sheet_form(desk, name, studio, **about) for name in SHEETS if name != "photo"},
        photos=[_photo_of(desk, studio, found, number) for number in range(len(found.photos))],
        more=form(desk, "edits.add_photos", studio, **about) | {"action": f"/pieces/{slug}/photos"},
        forms=_forms(desk, studio, found), clock=clock.running(desk.folder), preview=desk.preview,
    )  # fmt: skip


def _forms(desk: Workplace, studio: Studio, found: Piece) -> list[dict[str, Any]]:
    paths = ["pieces.mark", "clock.note_hours", "clock.start"]
    paths += ["pieces.take_back", "papers.packing_slip"] if found.private.sold else []
    paths += ["stays.back"] if found.stay(desk.day) else []
    paths += ["stays.out", "papers.certificate"]
    return [
        form(desk, path, studio, slug=found.slug, what=found.slug, back=f"/pieces/{found.slug}")
        for path in paths
    ]


def _supplies(desk: Workplace, found: Piece) -> list[dict[str, str]]:
    """Return for each thing bought what takes it off the list."""
    paths = (f"private.supplies.{number}" for number in range(len(found.private.supplies)))
    return entries(desk, _file(desk, {"slug": found.slug}), paths, f"/pieces/{found.slug}")


def _photo_of(desk: Workplace, studio: Studio, found: Piece, number: int) -> dict[str, Any]:
    """Return what the page shows of one photo: its fields, and its ways to another place or out."""
    slug, last = found.slug, len(found.photos) - 1
    file, back = _file(desk, {"slug": slug}), f"/pieces/{slug}#photos"
    standing = edits.stands(desk.folder, file, "photos", f"photos.{number}")
    entry = {"file": file, "path": f"photos.{number}", "seen": standing["photos"].seen, "back": back}
    moves = [(said, to) for said, to in (("Earlier", number - 1), ("Later", number + 1)) if 0 <= to <= last]
    return {
        "file": found.photos[number].file,
        "sheet": sheet_form(desk, "photo", studio, slug=slug, number=str(number)),
        "moves": [(said, entry | {"to": to}) for said, to in moves],
        "out": {"slug": slug, "place": number, "seen": standing[f"photos.{number}"].seen, "back": back},
    }  # fmt: skip


def photo(request: Request) -> Response:
    """Hand out a small picture of one of a piece's photos."""
    desk, asked = at(request), request.path_params
    studio = desk.read()
    found = piece_named(studio, asked)
    if asked["file"] not in {one.file for one in found.photos} or asked["side"] not in _SIDES:
        raise Fault("there is no such photo")
    content = photos.small(Path(studio.photo_folders[found.slug]) / asked["file"], _SIDES[asked["side"]])
    return Response(content, media_type="image/jpeg")


def as_written(request: Request, values: dict[str, str]) -> Response:
    """Make the real page of a piece with a story that isn't saved yet; say where it's seen."""
    desk, slug = at(request), request.path_params["slug"]
    check_mark(desk, values)
    piece_named(desk.read(), {"slug": slug})
    try:
        path, content = page_of(desk.folder, desk.today, slug, values.get("story", "").replace("\r\n", "\n"))
    except Fault as fault:
        return JSONResponse({"wrong": str(fault)})
    desk.try_out(path, content)
    return JSONResponse({"seen": f"{desk.frames}/-/now/{path}"})


def register(request: Request) -> Response:
    """Show the register of studio numbers; as CSV where that is asked for."""
    desk = at(request)
    found = numbers.register(desk.folder, desk.today)
    if request.url.path.endswith(".csv"):
        return handed_out(found.table(), "register.csv")
    return page(request, "register.html", screen="pieces", register=found)


ROUTES = [
    Route("/pieces", pieces),
    Route("/register", register),
    Route("/register.csv", register),
    Route("/pieces/new", new),
    Route("/pieces/new/photos", bring, methods=["POST"]),
    Route("/pieces/{slug}", piece),
    Route("/pieces/{slug}/photos", bring, methods=["POST"]),
    Route("/pieces/{slug}/as-written", filled_in(as_written), methods=["POST"]),
    Route("/photo/{side}/{slug}/{file}", photo),
]
