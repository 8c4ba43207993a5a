"""What can be done at the desk: each deed is one job with a form made out of its wish.

A deed whose job asks before it writes takes two steps here: first the answer is shown and nothing written;
what was agreed to is then compared with what the job is about to write, so nobody agrees to something else.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from contextlib import nullcontext
from dataclasses import dataclass, field, replace
from typing import Any

from starlette.responses import JSONResponse, Response

from sitegen.browser.desk import LongJob, Workplace, digest
from sitegen.browser.forms import HIDDEN, Ask, Own, asks_of, row_of, rows, said_of, typed, wish_from
from sitegen.browser.frame import SCREENS, Shown, Visit, led_on, screen, screen_of
from sitegen.jobs import call, wish_of
from sitegen.jobs.people import meant
from sitegen.jobs.where import named, pen, wrote
from sitegen.studio.asked import Answer, ChangedMeanwhile, Doubt, Fault
from sitegen.studio.whole import Studio

Values = Mapping[str, str]
Agree = Callable[[Answer], bool]


@dataclass(frozen=True)
class Form:
    """What a form is called, and where it leads."""

    title: str
    button: str
    back: str  # where the page leads afterwards, with fields in braces
    told: str = ""  # what it does, in a sentence or two
    caution: str = field(default="", kw_only=True)
    undo: str = field(default="yes", kw_only=True)  # whether what it did can be taken back

    @property
    def screen(self) -> str:
        """The screen that it belongs to."""
        return screen_of(self.back)


@dataclass(frozen=True, kw_only=True)
class Deed(Form):
    """One job as a form."""

    hidden: str = ""  # the names of fields that the page fills in
    state: str = ""  # what the form was shown for, by its name in STATES
    sure: str = ""  # the words of agreement, for a job that shows first what it would write


Known = Callable[[Studio, Values], Own]
DEEDS = {name: Deed(**row_of(name)) for name in rows("") if "." in name}
KNOWN: dict[str, Known] = {}
"""What a page knows better about the fields of a job's form, or of all of a module's."""
STATES: dict[str, Callable[[Studio, Values], object]] = {}


def form(desk: Workplace, path: str, /, **values: str) -> dict[str, Any]:
    """Return what a template needs to show a deed's form, filled with what is known already."""
    deed, kind, studio = DEEDS[path], wish_of(path), desk.read()
    known = {field: how for name in (path.partition(".")[0], path) if name in KNOWN
             for field, how in KNOWN[name](studio, values).items()}  # fmt: skip
    asked = asks_of(kind, said_of(path, known), studio, values) if kind else ()
    about = {"seen": _seen(deed, studio, values), "back": values.get("back", "")}
    return sheet_of(desk, f"/do/{path}", path, deed, asked) | about


def sheet_of(desk: Workplace, action: str, path: str, about: Form, asked: Sequence[Ask]) -> dict[str, Any]:
    """Return what a template needs to show a form that was never sent: where to, about what, its fields."""
    return {
        "action": action, "path": path, "deed": about, "asks": asked, "mark": desk.mark,
        "seen": "", "back": "", "fault": "", "shown": (), "agreed": "", "better": "", "sure": "",
    }  # fmt: skip


def _seen(deed: Deed, studio: Studio, values: Values) -> str:
    return digest(STATES[deed.state](studio, values)) if deed.state else ""


def _deed(path: str) -> Deed:
    if path not in DEEDS:
        raise Fault("there is no such thing to do here")
    return DEEDS[path]


@screen("/do/{job}")
def _show(desk: Workplace, asked: Visit) -> Shown:
    path = asked.pop("job")
    return {"screen": _deed(path).screen, "form": form(desk, path, **asked)}


@screen("/do/{job}", sent=True)
def _do(desk: Workplace, asked: Visit) -> Shown:
    """Do a deed, and lead back to where it was asked for; show its form again if it can't be done so."""
    path, fault, stale = asked.pop("job"), "", False
    deed, seen, sure = _deed(path), list[Answer](), asked.pop("sure", "")
    if better := asked.pop("better", ""):
        asked["address"] = better
    shown = {"sure": "", "better": ""}

    def agree(answer: Answer) -> bool:
        """Agree to what was shown before, and to nothing else."""
        seen.append(answer)
        return asked.get("agreed") == digest(answer.lines())

    try:
        if (answer := _tried(desk, path, asked, agree, sure)) is not None:
            return lead_on(desk, answer, deed, asked)
    except Doubt as doubt:
        fault = f"{doubt.seen}." if doubt.seen[-1].isalnum() else doubt.seen
        address, _, odd = doubt.seen.partition(": ")
        shown = {"sure": f"{sure} {digest(doubt.seen)}", "better": meant(address, odd)}
    except Fault as wrong:
        fault, stale = str(wrong), isinstance(wrong, ChangedMeanwhile)
    again = form(desk, path, **asked) | {"fault": fault} | shown
    if not fault and seen:
        lines = seen[-1].lines()
        hidden = tuple(replace(ask_, **HIDDEN) for ask_ in again["asks"])
        again |= {"shown": lines, "agreed": digest(lines), "asks": hidden}
    elif not stale and asked.get("seen"):
        again["seen"] = asked["seen"]
    return {"screen": deed.screen, "form": again, "fault": fault}


def _tried(desk: Workplace, path: str, values: Mapping[str, Any], agree: Agree, sure: str) -> Any:
    """Attempt a deed; a doubt that was shown, in these very words, is none any more. Raises Doubt."""
    try:
        return attempt(desk, path, values, agree)
    except Doubt as doubt:
        if digest(doubt.seen) not in sure.split():
            raise
        return _tried(desk, path, {**values, doubt.sure: "yes"}, agree, sure)


def attempt(desk: Workplace, path: str, values: Mapping[str, Any], agree: Agree = lambda _: False) -> Any:
    """Call a deed's job with what was filled in; None if what it would write is to be looked at first.

    The pen is in hand if the form was shown for something that may be gone. Raises Fault for a form that is
    out of date, or whatever the job refuses.
    """
    deed = _deed(path)
    named(deed.title.lower())
    shown = values.get("seen") if deed.state else ""
    with pen(desk.folder) if shown else nullcontext():
        if shown and _seen(deed, desk.read(), values) != shown:
            raise ChangedMeanwhile(
                "This was changed meanwhile, in another window or in the file. Below is how it stands now; "
                "look at it, then do it again if it still holds. Nothing was changed by this form.",
                {},
            )
        kind = wish_of(path)
        wish = wish_from(kind, typed(values, desk.read)) if kind else None
        given = {"folder": desk.folder, "wish": wish, "today": desk.today}
        work = desk.working = LongJob()

        def keeps(address: str, odd: str) -> bool:
            if values.get(f"keep {address}") != "yes":
                raise Doubt(f"{address}: {odd}", f"keep {address}", "it is written so")
            return True

        return call(path, given, {"agree": agree, "keeps": keeps, "progress": work.count})


@screen("/far")
def _far(desk: Workplace, _: Visit) -> Shown:
    return JSONResponse(desk.working.now())


def lead_on(desk: Workplace, answer: Answer, deed: Form, values: Mapping[str, Any]) -> Response:
    """Lead to where a form goes on, with what was answered."""
    word = desk.speak(answer, wrote() if deed.undo == "yes" else 0)
    # What an answer gives names to, and fields; one may have been left open.
    known = defaultdict(str, {**values, **answer.as_answer()})
    back = values.get("back") or deed.back.format_map(known)
    inside = back.startswith("/") and not back.startswith(("//", "/\\"))
    return led_on(back if inside else SCREENS[deed.screen][0], word)
