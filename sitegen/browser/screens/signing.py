"""A sign-up sheet typed in: the rows of the paper, each saved as soon as it's left."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from sitegen.browser.deeds import check_mark
from sitegen.browser.desk import Spoken, at, page
from sitegen.browser.forms import filled_in
from sitegen.browser.words import told
from sitegen.jobs import sheets as jobs
from sitegen.jobs.pen import named, wrote
from sitegen.jobs.sheets import TypedSheet, TypeRows
from sitegen.studio.person import Interest

_BOXES = tuple((str(place), str(one)) for place, one in enumerate(Interest, start=1))


# A row as the page shows it: `before` is the address it has on the list, `better` the one likely meant.
_BLANK = {"name": "", "address": "", "boxes": frozenset[str](), "unreadable": False, "before": "",
          "state": "", "done": False, "better": ""}  # fmt: skip


def sheets(request: Request) -> Response:
    """List the sheets of shows that have been."""
    desk = at(request)
    return page(request, "sheets.html", screen="people", sheets=jobs.typed_sheets(desk.folder, desk.today))


def sheet(request: Request) -> Response:
    """Show one page of a show's sheets, ready to be typed in."""
    desk, code = at(request), request.path_params["code"]
    wish = TypeRows(sheet=code, on=request.query_params.get("on") or None, a_page=_each(request.query_params))
    return _shown(request, code, jobs.type_rows(desk.folder, wish, desk.today, lambda *_: True), {})


def _each(given: Mapping[str, str]) -> int | None:
    each = given.get("a_page", "")
    return min(max(int(each), 1), 99) if each.isdecimal() and len(each) < 5 else None


def _shown(request: Request, code: str, found: TypedSheet, typed: Mapping[str, str]) -> Response:
    paper = found.sheet
    tail = code.partition("-")[2]
    number = int(tail) if tail.isdecimal() and len(tail) < 4 else paper.page(paper.next)
    number = max(number, 1)
    first = (number - 1) * paper.a_page + 1
    rows = [_row(found, one, typed) for one in range(first, first + paper.a_page)]
    return page(
        request, "sheet.html", 200 if found.is_well else 422, screen="people", found=found, paper=paper,
        number=number, rows=rows, boxes=_BOXES, on=found.day.isoformat(), fault=not found.is_well,
    )  # fmt: skip


def _row(found: TypedSheet, number: int, typed: Mapping[str, str]) -> dict[str, Any]:
    """Show a row as it was just typed if something is wrong with it, else as it stands."""
    row = {**_BLANK, "number": number}
    state, here = found.sheet.rows.get(number), found.here.get(number)
    if (wrong := found.again(number)) is not None:
        row |= {part: typed.get(f"{part}-{number}", "") for part in ("name", "address", "before")}
        boxes = frozenset(typed.get(f"boxes-{number}", "").split("\n"))
        return row | {"boxes": boxes, "state": wrong.said, "better": wrong.better}
    said = next((outcome.said for outcome in found.outcomes if outcome.number == number), str(state or ""))
    if here is None:
        return row | {"unreadable": said == "can't be read", "state": said, "done": state is not None}
    boxes = frozenset(place for place, one in _BOXES if one in here.interests)
    row |= {"name": here.name, "address": here.email, "before": here.email, "boxes": boxes}
    return row | {"state": said or "on the list", "done": True}


def save(request: Request, values: dict[str, str]) -> Response:
    """Save what was typed: all rows of a page, or the one that was just left."""
    desk, code = at(request), request.path_params["code"]
    check_mark(desk, values)
    numbers = [name.removeprefix("address-") for name in values if name.startswith("address-")]
    for number in numbers:
        if better := values.get(f"better-{number}"):
            values[f"address-{number}"] = better
    kept = {values[f"address-{number}"].strip() for number in numbers if values.get(f"keep-{number}")}
    wish = TypeRows(
        sheet=code, rows=tuple(text for number in numbers if (text := _text(number, values))),
        on=values.get("on") or None, a_page=_each(values), dry_run=values.get("look") == "yes",
    )  # fmt: skip
    named("type in a sheet")
    found = jobs.type_rows(desk.folder, wish, desk.today, lambda address, _: address in kept)
    if "application/json" in request.headers.get("accept", ""):
        answer = found.as_answer()
        rows = [one | {"said": told(one["said"]).striptags()} for one in answer["rows"]]
        return JSONResponse({**answer, "rows": rows, "counted": found.sheet.counted()})
    if not found.is_well:
        return _shown(request, code, found, values)
    word = desk.remember(Spoken((found.sheet.counted(),), undoes=wrote()))
    tail = f"?on={found.day}&a_page={found.sheet.a_page}&said={word}#said"
    return RedirectResponse(f"/people/sheets/{code}{tail}", 303)


def _text(number: str, values: Mapping[str, str]) -> str:
    """Write a row as the job takes it; nothing for an empty one."""

    def typed(name: str) -> str:
        return values.get(f"{name}-{number}", "").replace("|", " ").strip()

    before = typed("before")
    if typed("unreadable") or typed("name") == "?":
        return f"{number} | ? | {typed('address')} | | {before}"
    cells = [typed("name"), typed("address"), typed("boxes").replace("\n", " ")]
    return " | ".join([number, *cells, before]) if any((*cells[:2], before)) else ""


# What the rows of a page may bring: no file, and no more than a megabyte in a field.
_ROWS = {"max_files": 0, "max_fields": 2000, "max_part_size": 1 << 20}
ROUTES = [
    Route("/people/sheets", sheets),
    Route("/people/sheets/{code}", sheet, methods=["GET"]),
    Route("/people/sheets/{code}", filled_in(save, **_ROWS), methods=["POST"]),
]
