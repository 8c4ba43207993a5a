"""What can be done at the desk: each deed is one job with a form made out of its wish.

A deed whose job asks before it writes takes two steps here: first the answer is shown and nothing written;
what was agreed to is then compared with what the job is about to write, so nobody agrees to something else.
"""

from __future__ import annotations

import inspect
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from importlib import import_module
from operator import attrgetter
from types import SimpleNamespace
from typing import Any

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from sitegen.browser.desk import Workplace, at, digest, page
from sitegen.browser.forms import HIDDEN, Ask, Own, asks_of, filled_in, wish_from
from sitegen.jobs.pen import named, pen
from sitegen.jobs.people import meant
from sitegen.studio.fault import ChangedMeanwhile, Fault
from sitegen.studio.whole import Studio
from sitegen.studio.wish import Answer, Said

Values = Mapping[str, str]


@dataclass(frozen=True)
class Deed:
    """One job as a form: what it's called, what the page knows better about its fields."""

    title: str
    button: str
    screen: str
    told: str = ""
    """What it does, in a sentence or two."""
    back: str = ""
    """Where the page leads afterwards, with fields in braces; the screen without it."""
    own: Callable[[Studio, Values], Own] = lambda _studio, _values: {}
    """What the page knows better about the fields, out of the studio and what the address says."""
    state: Callable[[Studio, Values], object] | None = None
    """What the form was shown for: if that is something else by now, the form is shown anew."""
    sure: str = ""
    """The words of agreement, for a job that shows what it would write first."""
    meanwhile: Mapping[str, Any] = field(default_factory=dict)
    """Handed to the job as it is."""
    undo: bool = True
    """Whether the job's change can be taken back."""
    caution: str = ""


DEEDS: dict[str, Deed] = {}


class Doubtful(Fault):
    """Something is likely misspelt; it is asked about before anything is written."""


def job_of(path: str) -> Callable[..., Any]:
    """Find a job by the module and the name that the terminal calls it by too."""
    module, _, name = path.rpartition(".")
    found: Callable[..., Any] = getattr(import_module(f"sitegen.jobs.{module}"), name)
    return found


def wish_of(path: str) -> Any:
    """Return the class of a job's wish; None for a job that is only told to go."""
    job = inspect.unwrap(job_of(path))
    written = job.__annotations__.get("wish")
    return attrgetter(written)(SimpleNamespace(**job.__globals__)) if written else None


def asks(path: str, deed: Deed, studio: Studio, values: Values) -> tuple[Ask, ...]:
    """Return the fields of a deed's form, filled with what is known already."""
    kind = wish_of(path)
    found = asks_of(kind, deed.own(studio, values)) if kind else ()
    return tuple(one.filled(values[one.name]) if one.name in values else one for one in found)


def form(desk: Workplace, path: str, studio: Studio, /, **values: str) -> dict[str, Any]:
    """Return what a template needs to show a deed's form on a page."""
    deed = DEEDS[path]
    about = {"seen": _seen(deed, studio, values), "back": values.get("back", "")}
    return sheet_of(desk, f"/do/{path}", path, deed, asks(path, deed, studio, values)) | about


def sheet_of(desk: Workplace, action: str, path: str, about: object, asked: Sequence[Ask]) -> dict[str, Any]:
    """Return what a template needs to show a form that was never sent: where to, about what, its fields."""
    return {
        "action": action, "path": path, "deed": about, "asks": asked, "mark": desk.mark,
        "seen": "", "back": "", "fault": "", "shown": (), "agreed": "", "better": "",
    }  # fmt: skip


def _seen(deed: Deed, studio: Studio, values: Values) -> str:
    return digest(deed.state(studio, values)) if deed.state else ""


def show(request: Request) -> Response:
    """Show a deed's form on a page of its own."""
    path = request.path_params["job"]
    values = dict(request.query_params)
    desk = at(request)
    return page(request, "deed.html", screen=_deed(path).screen, form=form(desk, path, desk.read(), **values))


def _deed(path: str) -> Deed:
    if path not in DEEDS:
        raise Fault("there is no such thing to do here")
    return DEEDS[path]


def answer_to(request: Request, values: dict[str, str]) -> Response:
    """Do a deed with what was filled in, and lead back to where it was asked for.

    If it can't be done, its form is shown again with what is wrong.
    """
    path = request.path_params["job"]
    desk, deed = at(request), _deed(path)
    if better := values.pop("better", ""):
        values["address"] = better
    seen = Assent(values.get("agreed", ""))
    try:
        answer = attempt(desk, path, values, seen)
    except Doubtful:
        answer = None
    except Fault as fault:
        return _again(request, path, values, str(fault), stale=isinstance(fault, ChangedMeanwhile))
    if answer is None:
        return _again(request, path, values, "", shown=seen)
    return lead_on(desk, answer, deed, values)


do = filled_in(answer_to, max_files=60, max_fields=2000)


def attempt(desk: Workplace, path: str, values: Mapping[str, Any], seen: Assent) -> Answer | None:
    """Call a deed's job with what was filled in; None if what it would write is to be looked at first.

    Raises Fault for a form of another session, one that is out of date, or whatever the job refuses.
    """
    deed = _deed(path)
    check_mark(desk, values)
    named(deed.title.lower())
    return _done(desk, path, deed, values, seen)


def check_mark(desk: Workplace, values: Mapping[str, Any]) -> None:
    """Raise Fault unless a form was shown by this desk."""
    if values.get("mark") != desk.mark:
        raise Fault("this form doesn't belong to the desk that is open now; nothing was changed")


def lead_on(desk: Workplace, answer: Answer, deed: Deed, values: Mapping[str, Any]) -> Response:
    """Lead to where a deed goes on, with what was answered."""
    word = desk.speak(answer, can_undo=deed.undo)
    known = defaultdict(str, {**values, **_named(answer)})  # a field may have been left open
    back = values.get("back") or deed.back.format_map(known)
    return RedirectResponse(_with(_own(back) or f"/{deed.screen}", word), 303)


def _own(address: str) -> str:
    """Return an address of the desk itself; nothing for any other."""
    return address if address.startswith("/") and not address.startswith(("//", "/\\")) else ""


def _with(address: str, word: str) -> str:
    address = address.partition("#")[0]
    return f"{address}{'&' if '?' in address else '?'}said={word}#said"


def _named(answer: Answer) -> dict[str, str]:
    """Return what an answer gives names to, for the address to go on to."""
    return {name: value for name, value in answer.as_answer().items() if isinstance(value, str)}


class Assent:
    """Agrees to what was shown before, and to nothing else."""

    def __init__(self, agreed: str) -> None:
        self.agreed = agreed
        self.answer: Answer | None = None
        self.better = ""
        """The address that was likely meant."""

    def __call__(self, answer: Answer) -> bool:
        self.answer = answer
        return self.agreed == digest(answer.lines())

    def keeps(self, address: str, odd: str) -> bool:
        """Take a doubtful address as it stands if that was agreed to. Raises Doubtful."""
        if not self(Said((f"{address}: {odd}",))):
            self.better = meant(address, odd)
            raise Doubtful(odd)
        self.answer = None
        return True


def _done(desk: Workplace, path: str, deed: Deed, values: Mapping[str, Any], seen: Assent) -> Answer | None:
    """Call the job, with the pen in hand if the form was shown for something that may be gone."""
    if deed.state is None or not values.get("seen"):
        return _called(desk, path, deed, values, seen)
    with pen(desk.folder):
        if _seen(deed, desk.read(), values) != values["seen"]:
            raise ChangedMeanwhile(
                "This was changed meanwhile, in another window or in the file. Below is how it stands now; "
                "look at it, then do it again if it still holds. Nothing was changed by this form.",
                {},
            )
        return _called(desk, path, deed, values, seen)


def _called(desk: Workplace, path: str, deed: Deed, values: Mapping[str, Any], seen: Assent) -> Answer | None:
    job, kind = job_of(path), wish_of(path)
    takes = inspect.signature(job).parameters
    wish = wish_from(kind, values) if kind else None
    rest = {"folder": desk.folder, "wish": wish, "today": desk.today}
    asked = {name: ask for name, ask in (("agree", seen), ("keeps", seen.keeps)) if name in takes}
    extra = dict(deed.meanwhile) | asked
    done: Answer | None = job(*(value for name, value in rest.items() if name in takes), **extra)
    return done


def _again(
    request: Request,
    path: str,
    values: dict[str, str],
    fault: str,
    *,
    stale: bool = False,
    shown: Assent | None = None,
) -> Response:
    """Show the form again with all that was filled in: with what is wrong, or what would be written."""
    desk = at(request)
    again = form(desk, path, desk.read(), **values) | {"fault": fault}
    if shown is not None and shown.answer is not None:
        lines = shown.answer.lines()
        hidden = tuple(replace(one, **HIDDEN) for one in again["asks"])
        again |= {"shown": lines, "agreed": digest(lines), "asks": hidden, "better": shown.better}
    elif not stale and values.get("seen"):
        again["seen"] = values["seen"]
    return page(
        request, "deed.html", 200 if shown is not None else 422, screen=_deed(path).screen, form=again
    )
