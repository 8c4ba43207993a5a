"""A sheet is a form over fields of one of the studio's files: what stands there, what is to stand there.

Only what was changed is written, all of it in one edit; what somebody else wrote meanwhile is shown, not
written over.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from sitegen.browser.deeds import Deed, Values, check_mark, lead_on, sheet_of
from sitegen.browser.desk import Workplace, at, page
from sitegen.browser.fields import nested
from sitegen.browser.forms import Ask, filled_in
from sitegen.jobs import edits
from sitegen.jobs.pen import named
from sitegen.studio.fault import Fault
from sitegen.studio.fields import is_placeholder, placeholders
from sitegen.studio.whole import Studio
from sitegen.studio.wish import Answer

# Kinds of field whose value is a list of texts, and what stands between them.
LISTS = {"lines": "\n", "ticks": "\n", "focus": ","}


@dataclass(frozen=True)
class FileForm:
    """Fields of a file as a form."""

    title: str
    button: str
    screen: str
    file: Callable[[Workplace, Values], str]
    """The file, of what the address says; nothing for a new show's. Raises Fault."""
    asks: Callable[[Studio, Values], Sequence[Ask]]
    """The fields; each one's name is its path in the file."""
    back: str = ""
    into: Callable[[Values], str] | None = None
    """Where the list stands that gets one more entry; None for fields that are there."""
    told: str = ""
    caution: str = ""


SHEETS: dict[str, FileForm] = {}


def sheet_form(desk: Workplace, name: str, studio: Studio, /, **values: str) -> dict[str, Any]:
    """Return what a template needs to show a sheet, filled with what stands in the file."""
    sheet = SHEETS[name]
    asked, file = sheet.asks(studio, values), sheet.file(desk, values)
    if sheet.into is not None or not file:
        return _form(desk, name, asked, values)
    standing = edits.stands(desk.folder, file, *(question.name for question in asked))
    shown = [_shown(one, _as_text(one, standing[one.name].value)) for one in asked]
    seen = {f"seen:{path}": found.seen for path, found in standing.items()}
    return _form(desk, name, shown, {**seen, **values})


def entries(desk: Workplace, file: str, paths: Iterable[str], back: str) -> list[dict[str, str]]:
    """Return for each entry of a list what its button sends that takes it out."""
    paths = list(paths)
    standing = edits.stands(desk.folder, file, *paths)
    return [{"file": file, "path": path, "seen": standing[path].seen, "back": back} for path in paths]


def _form(
    desk: Workplace, name: str, asked: Sequence[Ask], hidden: Mapping[str, str], fault: str = ""
) -> dict[str, Any]:
    carried = [Ask(key, kind="hidden", value=value) for key, value in hidden.items()]
    shown = sheet_of(desk, f"/sheet/{name}", name, SHEETS[name], [*asked, *carried])
    return shown | {"fault": fault}


def _shown(ask: Ask, text: str) -> Ask:
    """Fill a field; the starter's place to fill in is its hint.

    A moment that no clock field shows, such as a time without its day, stays a text."""
    if is_placeholder(text) and not _is_filled(text):
        return replace(ask, hint=text, needed=False)
    if ask.kind != "moment" or not text:
        return replace(ask, value=text)
    plain = re.fullmatch(r"([0-9]{4}-[0-9]{2}-[0-9]{2}) ([0-9]{2}:[0-9]{2})", text)
    return replace(ask, value=f"{plain[1]}T{plain[2]}") if plain else replace(ask, kind="text", value=text)


def _is_filled(text: str) -> bool:
    """Tell whether a text says anything beside places to fill in."""
    for place in placeholders(text):
        text = text.replace(place, "")
    return bool(text.strip())


def _as_text(ask: Ask, value: Any) -> str:
    """Write what stands in a file as it is typed."""
    if ask.kind == "ticks" and isinstance(value, str):
        value = [part.strip() for part in value.split(",")]
    if isinstance(value, list):
        return {"\n": "\n", ",": ", "}[LISTS.get(ask.kind, ",")].join(map(str, value))
    if isinstance(value, dict):
        return "\n".join(f"{name}: {said}" for name, said in value.items())
    return "" if value is None else str(value)


def _as_value(ask: Ask, text: str) -> Any:
    text = text.replace("\r\n", "\n")
    if ask.kind in LISTS:
        return [part.strip() for part in text.split(LISTS[ask.kind]) if part.strip()] or None
    if ask.kind == "pairs":
        pairs = (line.partition(":") for line in text.split("\n") if line.strip())
        return {name.strip(): said.strip() for name, _, said in pairs} or None
    text = re.sub(r"(?<=[0-9])T(?=[0-9])", " ", text) if ask.kind == "moment" else text
    return text if ask.kind == "long" else text.strip()


def changed(request: Request, values: dict[str, str]) -> Response:
    """Write what was filled in, in one edit; show the sheet again if something is wrong or changed."""
    desk, name = at(request), request.path_params["sheet"]
    if name not in SHEETS:
        raise Fault("there is no such form here")
    sheet = SHEETS[name]
    check_mark(desk, values)
    asked, file = sheet.asks(desk.read(), values), sheet.file(desk, values)
    named(sheet.title.lower())
    try:
        if sheet.into is not None or not file:
            answer = _added(desk, sheet, file, asked, values)
        else:
            answer = _changed(desk, file, asked, values)
    except Fault as fault:
        again = _again(desk, name, asked, values, fault)
        return page(request, "deed.html", 422, screen=sheet.screen, form=again)
    return lead_on(desk, answer, Deed(sheet.title, sheet.button, sheet.screen, back=sheet.back), values)


change = filled_in(changed, max_fields=2000)


def _added(desk: Workplace, sheet: FileForm, file: str, asked: Sequence[Ask], values: Values) -> Answer:
    """Write one more entry of a list, or a new show's file."""
    entry = nested(
        [(question.name, _as_value(question, values.get(question.name, ""))) for question in asked]
    )
    if sheet.into is None:
        return edits.add_show(desk.folder, edits.AddShow(values=entry), desk.today)
    more = edits.AppendEntry(file=file, path=sheet.into(values), value=entry)
    return edits.append(desk.folder, more, desk.today)


def _changed(desk: Workplace, file: str, asked: Sequence[Ask], values: Values) -> Answer:
    """Write the fields that say something else than they were shown with."""
    standing = edits.stands(desk.folder, file, *(question.name for question in asked))
    changes, labels = [], []
    for one in asked:
        text, there, seen = values.get(one.name, ""), standing[one.name], values.get(f"seen:{one.name}", "")
        value = _as_value(one, text)
        if edits.seen_of(value or None) != seen and not (
            there.seen == seen and _left(one, text, there.value)
        ):
            changes.append(edits.Change(path=one.name, value=value, seen=seen))
            labels.append(one.label)
    done = edits.change(desk.folder, edits.ChangeFields(file=file, changes=tuple(changes)), desk.today)
    return replace(done, said=(f"Saved: {', '.join(labels)}." if labels else "Nothing was to change.",))


def _left(ask: Ask, text: str, value: Any) -> bool:
    """Tell whether a field was left as it was shown: a place to fill in empty, no tick more or less."""
    if ask.kind == "ticks":
        return set(text.splitlines()) == set(_as_text(ask, value).splitlines())
    return not text and isinstance(value, str) and is_placeholder(value)


def _again(desk: Workplace, name: str, asked: Sequence[Ask], values: Values, fault: Fault) -> dict[str, Any]:
    """Return the sheet with what was typed; of what was changed meanwhile, with what it says now."""
    now: Mapping[str, Any] = getattr(fault, "now", {})
    shown = [
        replace(question, value=values.get(question.name, ""), help=_beside(question, now))
        for question in asked
    ]
    names = {one.name for one in asked}
    hidden = {key: value for key, value in values.items() if key not in names and key != "mark"}
    hidden |= {f"seen:{path}": edits.seen_of(value) for path, value in now.items()}
    return _form(desk, name, shown, hidden, _said(fault, now))


def _said(fault: Fault, now: Mapping[str, Any]) -> str:
    if not now:
        return str(fault)
    return (
        "This was changed meanwhile, in another window or in the file, so nothing was written. What "
        "stands there now is said beside each field; what you typed is still here. Send it again to put "
        "yours in its place."
    )


def _beside(ask: Ask, now: Mapping[str, Any]) -> str:
    return f"It says now: {_as_text(ask, now[ask.name]) or 'nothing'}" if ask.name in now else ask.help
