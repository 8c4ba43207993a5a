"""What is brought in from elsewhere: a table of people, looked at first; and the replies that came back."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from sitegen.browser import uploads
from sitegen.browser.deeds import check_mark
from sitegen.browser.desk import Spoken, Workplace, at, digest, page
from sitegen.browser.forms import asks_of, picks, texts, wish_from
from sitegen.browser.guard import MOST_OF_WORDS
from sitegen.jobs import people as jobs
from sitegen.jobs import replies as jobs_of_replies
from sitegen.jobs.pen import named, pen, wrote
from sitegen.jobs.people import CAUTION, ImportPeople, TakenTable
from sitegen.jobs.replies import RepliesWish
from sitegen.jobs.report import report
from sitegen.studio.fault import Fault
from sitegen.studio.person import Consent, Interest

# Lines shown of each kind; the rest is counted.
_SHOWN = 200
_FIELDS: Mapping[str, Mapping[str, Any]] = {
    "source": {"kind": "pick", "choices": picks(map(str, Consent)), "help": ""},
    "evidence": {"help": "Like “sheet QDF27-1”, or “the old address book, 2024”."},
    "interests": {
        "kind": "ticks", "choices": picks(map(str, Interest)), "help": "Where the table doesn't say.",
    },
}  # fmt: skip


def table(request: Request) -> Response:
    """Ask for a table."""
    return _table(request, {})


def _table(request: Request, values: Mapping[str, str], status: int = 200, **more: Any) -> Response:
    asks = [
        one.filled(values.get(one.name, one.value))
        for one in asks_of(ImportPeople, _FIELDS)
        if one.name not in {"table", "dry_run"}
    ]
    shown = {"fault": "", "look": None, "seen": "", "kept": "", "changed": False} | more
    shown |= {"asks": asks, "caution": CAUTION, "most": _SHOWN}
    return page(request, "table.html", status, screen="people", **shown)


async def bring(request: Request) -> Response:
    """Take a table, show what would happen, and do that once it's agreed to."""
    async with request.form(max_files=1, max_fields=2000, max_part_size=MOST_OF_WORDS) as given:
        values = texts(given)
        check_mark(at(request), values)
        token, files = await uploads.keep(at(request).folder, given, "table")
        return await run_in_threadpool(_brought, request, values, token, files)


def _brought(request: Request, values: dict[str, str], token: str, files: tuple[Path, ...]) -> Response:
    desk, seen = at(request), values.get("seen", "")
    if not files:
        return _table(request, values, 422, fault="Choose the table first; it is a file, like people.csv.")
    try:
        wish = wish_from(ImportPeople, {**values, "table": files[-1].read_bytes()})
        with pen(desk.folder):
            look = jobs.take_over(desk.folder, replace(wish, dry_run=True), desk.today, lambda *_: False)
            now = digest(look.lines())
            if seen == now:
                return _taken(desk, wish, values, token)
    except Fault as fault:
        return _table(request, values, 422, fault=str(fault), kept=token)
    return _table(request, values, 422 if seen else 200, look=look, seen=now, kept=token, changed=bool(seen))


def _taken(desk: Workplace, wish: ImportPeople, values: Mapping[str, str], token: str) -> Response:
    named("take over a table")
    as_written = set(values.get("keep", "").split("\n"))
    done = jobs.take_over(desk.folder, wish, desk.today, lambda address, _: address in as_written)
    uploads.let_go(desk.folder, token)
    word = desk.remember(Spoken((said(done),), undoes=wrote()))
    return RedirectResponse(f"/people?said={word}#said", 303)


def said(found: TakenTable) -> str:
    """Count what a table brings in a sentence."""
    told = (
        "{added:,} added, {changed:,} changed, {already_there:,} on the list already, {refused:,} left out."
    )
    return told.format_map(found.counts)


@dataclass
class Hearing:
    """Messages that are being read."""

    done: int = 0
    total: int = 0
    said: Spoken | None = None
    fault: str = ""

    def count(self, done: int, total: int) -> None:
        """Note how far it is."""
        self.done, self.total = done, total

    @property
    def ended(self) -> bool:
        """Whether there is something to say."""
        return self.said is not None or bool(self.fault)


_HEARINGS: OrderedDict[str, Hearing] = OrderedDict()
_LATEST = 20


def replies(request: Request) -> Response:
    """Ask for the messages that came back."""
    return _replies(request, {})


def _replies(request: Request, values: Mapping[str, str], status: int = 200, fault: str = "") -> Response:
    shown = {name: values.get(name, "") for name in ("host", "port", "user", "folder", "days", "security")}
    return page(request, "replies.html", status, screen="people", given=shown, fault=fault)


async def hear(request: Request) -> Response:
    """Begin to read messages that were brought, or those in a mailbox on its server."""
    desk = at(request)
    async with request.form(max_files=200, max_fields=20, max_part_size=MOST_OF_WORDS) as given:
        values = texts(given)
        check_mark(desk, values)
        token, files = await uploads.keep(desk.folder, given, "letters")
    if not files and not values.get("host", "").strip():
        fault = "Choose the file with the messages, or name the server of your mailbox."
        return _replies(request, values, 422, fault)
    return await run_in_threadpool(_begun, request, values, token, files)


def _begun(request: Request, values: dict[str, str], token: str, files: tuple[Path, ...]) -> Response:
    desk = at(request)
    server = {f"SITEGEN_IMAP_{name.upper()}": values.get(name, "").strip() for name in _SERVER}
    server["SITEGEN_IMAP_PASSWORD"] = values.pop("password", "")
    try:
        asked = {**values, "imap": "yes"}
        wish: RepliesWish = RepliesWish(post_bag=_bag(files)) if files else wish_from(RepliesWish, asked)
    except Fault as fault:
        uploads.let_go(desk.folder, token)
        return _replies(request, values, 422, str(fault))
    reading = _HEARINGS[token] = Hearing()
    while len(_HEARINGS) > _LATEST:
        _HEARINGS.popitem(last=False)

    def read() -> None:
        named("bring replies in")
        try:
            answer = jobs_of_replies.hear(desk.folder, wish, desk.today, lambda _: server, reading.count)
            reading.said = Spoken(tuple(line.strip() for line in answer.lines()), undoes=wrote())
        except Fault as fault:
            reading.fault = str(fault)
        except Exception as fault:  # noqa: BLE001 (nobody else would say it)
            reading.fault = report(fault)
        finally:
            uploads.let_go(desk.folder, token)

    thread = threading.Thread(target=read, daemon=True)
    thread.start()
    thread.join(_AT_ONCE)
    return RedirectResponse(f"/people/replies/{token}", 303)


_SERVER = ("host", "port", "user", "security")
# Seconds: most mailboxes are read in that, and nobody needs to see how far it is.
_AT_ONCE = 1.0


def _bag(files: tuple[Path, ...]) -> Path:
    """Return one file as it is, several as a folder of messages."""
    if len(files) == 1:
        return files[0]
    bag = files[0].parent.parent / "bag"
    (bag / "cur").mkdir(parents=True, exist_ok=True)
    for number, file in enumerate(files):
        file.rename(bag / "cur" / f"{number:04}.eml")
    return bag


def progress(request: Request) -> Response:
    """Show how far the reading is, and what came of it."""
    token = request.path_params["token"]
    reading = _HEARINGS.get(token)
    if reading is None:
        raise Fault("these messages aren't being read any more; bring them in again if need be")
    if "count" in request.query_params:
        return JSONResponse({"done": reading.done, "total": reading.total, "ended": reading.ended})
    if not reading.ended:
        return page(request, "replies_read.html", screen="people", reading=reading)
    del _HEARINGS[token]
    if reading.said is None:
        return _replies(request, {}, 422, reading.fault)
    return RedirectResponse(f"/people?said={at(request).remember(reading.said)}#said", 303)


ROUTES = [
    Route("/people/table", table, methods=["GET"]),
    Route("/people/table", bring, methods=["POST"]),
    Route("/people/replies", replies, methods=["GET"]),
    Route("/people/replies", hear, methods=["POST"]),
    Route("/people/replies/{token}", progress),
]
