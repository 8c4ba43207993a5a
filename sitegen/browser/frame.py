"""The frame of every page: a screen is an address, a template, and a view that says what fills it."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from functools import cache
from pathlib import Path
from typing import Any, TypeVar
from urllib.parse import urlencode

from jinja2 import Environment
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Route

from sitegen.browser.desk import Workplace, away, dated, days, far
from sitegen.browser.forms import bring_in, texts
from sitegen.browser.guard import MOST_OF_WORDS
from sitegen.browser.words import laid, told, told_all, without_files
from sitegen.jobs.guide import GuidePage
from sitegen.jobs.guide import page as guide_page
from sitegen.studio.asked import Fault
from sitegen.studio.text import without_unfit
from sitegen.voice import prose
from sitegen.voice.templates import open_templates

HERE = Path(__file__).parent
# The screens, in the order in which a week meets them, each with the guide's page on it.
SCREENS = {
    "today": ("/", "Today", "first-hour"),
    "pieces": ("/pieces", "Pieces", "site"),
    "orders": ("/orders", "Orders", "orders"),
    "rounds": ("/rounds", "Rounds", "orders"),
    "letters": ("/letters", "Letters", "letters"),
    "people": ("/people", "People", "people"),
    "shows": ("/shows", "Shows", "paper"),
    "money": ("/money", "Money", "money"),
    "site": ("/site", "Site", "site"),
    "settings": ("/settings", "Settings", "files"),
}
# Pages that belong to another screen than their address says.
_PART_OF = {"": "today", "undo": "today", "weeks": "today", "register": "pieces"}
# What a form may bring; a sheet from a table has many rows.
_BOUNDS = {"max_files": 200, "max_fields": 2000, "max_part_size": MOST_OF_WORDS}


class Visit(dict[str, str]):
    """What an address says or a form brought, by name; a part of the path counts first."""

    path = ""
    query: Mapping[str, str] = {}
    files: tuple[Path, ...] = ()
    by_script = False


Shown = Mapping[str, Any] | Response
View = Callable[[Workplace, Visit], Shown]
AnyView = TypeVar("AnyView", bound=Callable[..., Shown])
ROUTES: list[Route] = []


def screen(
    address: str, template: str = "deed", *, sent: bool = False, files: str = "",
    again: Callable[..., Shown] | None = None, routes: list[Route] = ROUTES,
) -> Callable[[AnyView], AnyView]:  # fmt: skip
    """Put a view at an address: what it returns fills the template, unless it is an answer itself.

    `sent` for what takes a form that was sent, with its mark looked at; `files` names the field whose files
    are kept until the form is done. What is wrong is `fault` in what it returns, or is told to the view that
    shows the form `again`.
    """

    def put(view: AnyView) -> AnyView:
        def shows(request: Request) -> Response:
            return _answered(request, view, template, Visit(request.query_params), again)

        async def takes(request: Request) -> Response:
            desk: Workplace = request.app.state.desk
            async with request.form(**_BOUNDS) as given:
                asked = Visit(texts(given))
                if asked.get("mark") != desk.mark:
                    raise Fault("this form doesn't belong to the desk that is open now; nothing was changed")
                if files:
                    asked["kept"], asked.files = await bring_in(desk.folder, given, files)
            return await run_in_threadpool(_answered, request, view, template, asked, again)

        endpoint = takes if sent else shows
        routes.append(Route(address, endpoint, methods=["POST" if sent else "GET"]))
        return view

    return put


def _answered(
    request: Request, view: View, template: str, asked: Visit, again: Callable[..., Shown] | None
) -> Response:
    asked.update({name: str(part) for name, part in request.path_params.items()})
    asked.path, asked.query = request.url.path, request.query_params
    asked.by_script = "application/json" in request.headers.get("accept", "")
    desk: Workplace = request.app.state.desk
    try:
        found = view(desk, asked)
    except Fault as fault:
        if again is None:
            raise
        found = again(desk, asked, str(fault))
    if isinstance(found, Response):
        return found
    shown = {"template": template, "status": 422 if found.get("fault") else 200, **found}
    return page(request, **shown)


def page(request: Request, template: str, status: int = 200, **values: Any) -> Response:
    """Make a page out of a template of the desk; one that sets no title is a whole page by itself."""
    desk: Workplace = request.app.state.desk
    about: dict[str, Any] = {
        "screen": screen_of(request.url.path), "fault": "", "desk": desk, "status": status, **values
    }  # fmt: skip
    rest = [item for item in request.query_params.multi_items() if item[0] not in {"said", "guide"}]
    about["here"] = f"{request.url.path}?{urlencode(rest)}" if rest else request.url.path  # said once only
    about["said"] = desk.spoken.get(request.query_params.get("said", ""))
    inner = _templates().get_template(f"{template}.html").make_module(about)
    text = str(inner)
    if hasattr(inner, "title"):
        about |= {"screens": SCREENS, "guide": _guide(about["screen"], request), "inner": inner}
        text = _templates().get_template("base.html").render(about)
    return HTMLResponse(_STRAIGHT.sub(lambda found: found[0] if found[0][0] == "<" else "’", text), status)


# What is typed or shown as a file has it, a tag, and else an apostrophe within a word of English.
_STRAIGHT = re.compile(
    r"(?s)<(textarea|pre|option)\b.*?</\1>|<[^>]*>|(?<=\w)(?:'|&#39;)(?=(?:[sdtm]|re|ve|ll)\b)"
)


def screen_of(address: str) -> str:
    """Name the screen that an address belongs to."""
    first = address.split("/")[1]
    return _PART_OF.get(first, first)


def led_on(address: str, word: str) -> Response:
    """Lead to a page that shows what was said last, by its word."""
    address = address.partition("#")[0]
    return RedirectResponse(f"{address}{'&' if '?' in address else '?'}said={word}#said", 303)


def handed_out(content: str | bytes, name: str) -> Response:
    """Hand out a file: a table (CSV, RFC 4180) of an answer, or bytes as they are."""
    kinds = {".csv": "text/csv", ".ics": "text/calendar"}
    whole = without_unfit(content).encode() if isinstance(content, str) else content
    kept = {"content-disposition": f'attachment; filename="{name}"'}
    return Response(whole, media_type=kinds[Path(name).suffix], headers=kept)


class ListLeaf:
    """One page of a long list: the one that is asked for, the first where that makes no sense."""

    def __init__(self, asked: Visit, found: Sequence[Any], each: int = 100) -> None:
        text, self.count = asked.get("page", ""), len(found)
        self.last = max(1, -(-self.count // each))
        self.number = min(max(int(text), 1), self.last) if text.isdecimal() and len(text) < 9 else 1
        self.first = (self.number - 1) * each + 1
        self.rows, self._asked = found[self.first - 1 : self.first - 1 + each], asked

    def turned(self, by: int) -> str:
        """Return the address of a page further on, or back."""
        query = self._asked.query
        rest = {name: query[name] for name in ("find", "standing", "all", "out") if name in query}
        return f"{self._asked.path}?{urlencode({**rest, 'page': self.number + by})}"


def _guide(name: str, request: Request) -> GuidePage | None:
    """Return the guide's page beside a screen, where it's asked for; nothing for one that there isn't.

    Also the page that says what is wrong is made with it, so it's no reason to say so.
    """
    asked = request.query_params.get("guide")
    topic = SCREENS.get(name, ("", "", "first-hour"))[2] if asked == "1" else asked
    with suppress(Fault):
        return guide_page(topic) if topic else None
    return None


@cache
def _templates() -> Environment:
    made = open_templates([HERE / "templates"], "desk")
    made.filters |= {
        "told": told, "told_all": told_all, "laid": laid, "without_files": without_files,
        "prose": lambda text: prose.html(text, "“”‘’", str),
        "day": days().day, "full_day": days().full_day,
        "away": away, "far": far, "dated": dated,
    }  # fmt: skip
    made.globals["version"] = _version
    parts = made.get_template("parts.html").module
    made.globals |= {name: part for name, part in vars(parts).items() if not name.startswith("_")}
    return made


@cache
def _version(name: str) -> str:
    """Return a digest of a static file, so that a browser keeps it for as long as it's the same."""
    return hashlib.sha256((HERE / "static" / name).read_bytes()).hexdigest()[:12]
