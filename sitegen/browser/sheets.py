"""A sheet is a form over fields of one of the studio's files: what stands there, what is to stand there.

Its fields are made from what the models say of them. Only what was changed is written, all of it in one edit;
what somebody else wrote meanwhile is shown, not written over.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from sitegen.browser.deeds import Form, Values, lead_on, sheet_of
from sitegen.browser.desk import Workplace
from sitegen.browser.forms import Ask, Own, label, picks, plainly, row_of, unit_of
from sitegen.browser.frame import Shown, Visit, screen
from sitegen.jobs import edits
from sitegen.jobs.fields_page import FormField, fields_of
from sitegen.jobs.where import named
from sitegen.studio.asked import Answer, Fault
from sitegen.studio.fields import is_placeholder, placeholders
from sitegen.studio.settings import Settings
from sitegen.studio.whole import Studio

# How a field of a file is asked for; a text where nothing is said.
_KINDS = {
    "long text": "long", "amount": "amount", "percentage": "number", "number": "number",
    "whole number": "number", "date": "day", "choice": "pick", "yes or no": "pick", "list": "lines",
    "names": "pairs", "date and time": "moment",
}  # fmt: skip
# Kinds of field whose value is a list of texts, and what stands between them.
_LISTS = {"lines": "\n", "ticks": "\n", "focus": ","}


@dataclass(frozen=True, kw_only=True)
class FileForm(Form):
    """Fields of a file as a form."""

    file: str | Callable[[Workplace, Values], str]
    """The file, by what the address says where that matters; nothing for a new show's. Raises Fault."""
    asks: Callable[[Studio, Values], Sequence[Ask]]
    """The fields; each one's name is its path in the file."""
    into: Callable[[Values], str] | None = None
    """Where the list stands that gets one more entry; None for fields that are there."""

    def opened(self, desk: Workplace, values: Values) -> tuple[list[Ask], str]:
        """Return its fields, and the file's path below the studio. Raises Fault."""
        studio = desk.read()
        asked = [replace(field, unit=unit_of(field, studio)) for field in self.asks(studio, values)]
        return asked, self.file if isinstance(self.file, str) else self.file(desk, values)


SHEETS: dict[str, FileForm] = {}


def put_sheet(name: str, **how: Any) -> None:
    """Put up a sheet: its words stand in `forms.ini`, what it asks of which file is `how`."""
    SHEETS[name] = FileForm(**row_of(f"sheet {name}"), **how)


def asks(kind: str, within: str = "", entry: str = "", own: Own | None = None, leave: str = "") -> list[Ask]:
    """Return the fields of a kind of file that stand within a path, as a form asks for them.

    `within` is a path as the models have it, `entry` the same in a file: `series.*.` and `series.0.`; `own`
    is what a page knows better, `leave` what it leaves out. Lists of blocks, and what is below another list,
    aren't among them. A block that may be left out isn't asked for; half of one is refused when it's read.
    """
    found: list[Ask] = []
    free = [f"{field.path}." for field in fields_of(kind) if field.kind == "block" and not field.needed]
    for one in fields_of(kind):
        rest = one.path.removeprefix(within)
        blocks = "block" in (one.kind, one.each if one.kind == "list" else "")
        if one.path.startswith(within) and "*" not in rest and rest not in leave.split() and not blocks:
            in_free = any(one.path.startswith(block) and "*" not in one.path[len(block) :] for block in free)
            made = _ask_of(one, f"{entry}{rest}", needed=one.needed and not in_free)
            found.append(replace(made, **{"label": _label(rest), **(own or {}).get(rest, {})}))
    return found


def _ask_of(field: FormField, name: str, *, needed: bool) -> Ask:
    kind = _KINDS.get(field.kind, "text")
    usual = f"usually {field.usual}" if field.usual else "left open"
    words = ("yes", "no") if field.kind == "yes or no" else tuple(map(str, field.choices))
    choices = picks(words, empty=None if needed else usual) if kind == "pick" else ()
    such = f"Like {field.example}." if field.example and kind not in {"long", "day", "moment"} else ""
    line = {"lines": "A line each.", "pairs": "A line each, like “sculpting: 12”."}.get(kind, "")
    help_ = " ".join(filter(None, (field.meaning.replace("`", ""), line or such)))
    return Ask(name, kind=kind, help=help_, needed=needed, choices=choices)


def _label(path: str) -> str:
    *within, last = path.split(".")
    said = label({"to": "until"}.get(last, last))
    within = [label(part).lower() for part in within if part != "private"]
    return f"{said} ({', '.join(within)})" if within else said


def steps_of(studio: Studio) -> list[str]:
    """Name the steps of the work as the artist calls them."""
    return sorted({step for piece in studio.pieces for step in piece.private.hours})


def step_asked(studio: Studio, _: Values) -> Own:
    """Ask for a step of the work, as steps were called so far."""
    steps = steps_of(studio)
    help_ = f"As you call it: {', '.join(steps)}." if steps else ""
    return {"step": {"label": "Step of the work", "help": help_}}


def sheet_form(desk: Workplace, name: str, /, **values: str) -> dict[str, Any]:
    """Return what a template needs to show a sheet, filled with what stands in the file."""
    sheet = SHEETS[name]
    asked, file = sheet.opened(desk, values)
    if sheet.into is not None or not file:
        return _form(desk, name, asked, values)
    standing = edits.stands(desk.folder, file, *(question.name for question in asked))
    shown = [_shown(field, _as_text(field, standing[field.name].value)) for field in asked]
    seen = {f"seen:{path}": found.seen for path, found in standing.items()}
    return _form(desk, name, shown, {**seen, **values})


def entries(desk: Workplace, file: str, paths: Iterable[str], back: str) -> list[dict[str, str]]:
    """Return for each entry of a list what its button sends that takes it out."""
    paths = list(paths)
    standing = edits.stands(desk.folder, file, *paths)
    return [{"file": file, "path": path, "seen": standing[path].seen, "back": back} for path in paths]


def _form(
    desk: Workplace, name: str, asked: Sequence[Ask], hidden: Values, fault: str = ""
) -> dict[str, Any]:
    carried = [Ask(key, kind="hidden", value=value) for key, value in hidden.items()]
    shown = sheet_of(desk, f"/sheet/{name}", name, SHEETS[name], [*asked, *carried])
    return shown | {"fault": fault}


def _shown(ask: Ask, text: str) -> Ask:
    """Fill a field; text with nothing beside the starter's places to fill in is its hint.

    A moment that no clock field shows, such as a time without its day, stays a text."""
    filled = text
    for place in placeholders(text):
        filled = filled.replace(place, "")
    if is_placeholder(text) and not filled.strip():
        return replace(ask, hint=text, needed=False)
    if ask.kind != "moment" or not text:
        return replace(ask, value=text)
    plain = re.fullmatch(r"([0-9]{4}-[0-9]{2}-[0-9]{2}) ([0-9]{2}:[0-9]{2})", text)
    return replace(ask, value=f"{plain[1]}T{plain[2]}") if plain else replace(ask, kind="text", value=text)


def _as_text(ask: Ask, value: Any) -> str:
    if ask.kind == "ticks" and isinstance(value, str):
        value = [part.strip() for part in value.split(",")]
    if isinstance(value, list):
        return {"\n": "\n", ",": ", "}[_LISTS.get(ask.kind, ",")].join(map(str, value))
    if isinstance(value, dict):
        return "\n".join(f"{name}: {said}" for name, said in value.items())
    return "" if value is None else str(value)


def _as_value(ask: Ask, text: str, settings: Settings) -> Any:
    text = text.replace("\r\n", "\n")
    if ask.kind in _LISTS:
        return [part.strip() for part in text.split(_LISTS[ask.kind]) if part.strip()] or None
    if ask.kind == "pairs":
        pairs = (line.partition(":") for line in text.split("\n") if line.strip())
        return {name.strip(): plainly(said.strip(), settings, money=False) for name, _, said in pairs} or None
    if _holds_a_number(ask):
        text = plainly(text, settings, money=ask.kind != "number")
    text = re.sub(r"(?<=[0-9])T(?=[0-9])", " ", text) if ask.kind == "moment" else text
    return text if ask.kind == "long" else text.strip()


@screen("/sheet/{sheet}", sent=True)
def _change(desk: Workplace, values: Visit) -> Shown:
    name = values.pop("sheet")
    if name not in SHEETS:
        raise Fault("there is no such form here")
    sheet = SHEETS[name]
    asked, file = sheet.opened(desk, values)
    named(sheet.title.lower())
    try:
        put = _added if sheet.into is not None or not file else _changed
        return lead_on(desk, put(desk, sheet, file, asked, values), sheet, values)
    except Fault as fault:
        return {"screen": sheet.screen, "fault": fault, "form": _again(desk, name, asked, values, fault)}


def _added(desk: Workplace, sheet: FileForm, file: str, asked: Sequence[Ask], values: Values) -> Answer:
    """Write one more entry of a list, or a new show's file; what was left empty isn't written."""
    entry: dict[str, Any] = {}
    for field in asked:
        if value := _as_value(field, values.get(field.name, ""), desk.read().settings):
            *blocks, last = field.name.split(".")
            place = entry
            for block in blocks:
                place = place.setdefault(block, {})
            place[last] = value
    if sheet.into is None:
        return edits.add_show(desk.folder, entry)
    return edits.append(desk.folder, file, sheet.into(values), entry)


def _changed(desk: Workplace, _: FileForm, file: str, asked: Sequence[Ask], values: Values) -> Answer:
    standing = edits.stands(desk.folder, file, *(question.name for question in asked))
    wanted, shown, labels = dict[str, Any](), dict[str, str](), []
    for one in asked:
        text, there, seen = values.get(one.name, ""), standing[one.name], values.get(f"seen:{one.name}", "")
        if there.seen == seen and _left(one, text, there.value):
            continue
        value = _as_value(one, text, desk.read().settings)
        if edits.seen_of(value or None) != seen:
            wanted[one.name], shown[one.name] = value, seen
            labels.append(one.label)
    done = edits.change(desk.folder, file, wanted, shown)
    return replace(done, said=(f"Saved: {', '.join(labels)}." if labels else "Nothing was to change.",))


def _left(ask: Ask, text: str, value: Any) -> bool:
    """Tell whether a field was left as it was shown: a place to fill in empty, no tick more, the same sum."""
    if ask.kind == "ticks":
        return set(text.splitlines()) == set(_as_text(ask, value).splitlines())
    hinted = not text and isinstance(value, str) and is_placeholder(value)
    return hinted or (_holds_a_number(ask) and text == _as_text(ask, value))


def _holds_a_number(ask: Ask) -> bool:
    return ask.kind in {"amount", "number"} or ask.name.endswith("postage")


def _again(desk: Workplace, name: str, asked: Sequence[Ask], values: Values, fault: Fault) -> dict[str, Any]:
    """Return the sheet with what was typed; of what was changed meanwhile, with what it says now."""
    now: Mapping[str, Any] = getattr(fault, "now", {})

    def typed(one: Ask) -> Ask:
        says = f"It says now: {_as_text(one, now[one.name]) or 'nothing'}" if one.name in now else one.help
        return replace(one, value=values.get(one.name, ""), help=says)

    names = {"mark", *(field.name for field in asked)}
    hidden = {key: value for key, value in values.items() if key not in names}
    hidden |= {f"seen:{path}": edits.seen_of(value) for path, value in now.items()}
    said = (
        "This was changed meanwhile, in another window or in the file, so nothing was written. What "
        "stands there now is said beside each field; what you typed is still here. Send it again to put "
        "yours in its place."
    )
    return _form(desk, name, [typed(field) for field in asked], hidden, said if now else str(fault))
