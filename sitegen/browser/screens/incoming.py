"""What is brought in from elsewhere: a table of people, looked at first; and the replies that came back."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import replace
from pathlib import Path
from typing import Any

from starlette.responses import JSONResponse, RedirectResponse, Response

from sitegen.browser import uploads
from sitegen.browser.desk import Spoken, Workplace, digest, keep
from sitegen.browser.forms import Own, asks_of, picks, wish_from
from sitegen.browser.frame import Shown, Visit, led_on, screen
from sitegen.browser.posting import LongJob
from sitegen.jobs import people as jobs
from sitegen.jobs import posting
from sitegen.jobs.people import CAUTION, ImportPeople
from sitegen.jobs.posting import RepliesWish
from sitegen.jobs.where import named, pen, wrote
from sitegen.studio.fault import Fault
from sitegen.studio.person import Consent, Interest

# Lines shown of each kind; the rest is counted.
_SHOWN = 200
_FIELDS: Own = {
    "source": {"kind": "pick", "choices": picks(map(str, Consent)), "help": ""},
    "evidence": {"help": "Like “sheet QDF27-1”, or “the old address book, 2024”."},
    "interests": {
        "kind": "ticks", "choices": picks(map(str, Interest)), "help": "Where the table doesn't say.",
    },
}  # fmt: skip


@screen("/people/table", "table")
def _table(desk: Workplace, asked: Visit, **more: Any) -> dict[str, Any]:
    """Ask for a table, or show what it would bring."""
    asks = asks_of(ImportPeople, _FIELDS, desk.read(), asked)
    shown = {"look": None, "seen": "", "kept": "", "changed": False, "caution": CAUTION, "most": _SHOWN}
    return shown | {"asks": [one for one in asks if one.name not in {"table", "dry_run"}]} | more


@screen("/people/table", "table", sent=True, files="table")
def _bring(desk: Workplace, asked: Visit) -> Shown:
    """Take a table, show what would happen, and do that once it's agreed to."""
    seen, kept = asked.get("seen", ""), asked["kept"]
    if not asked.files:
        return _table(desk, asked, fault="Choose the table first; it is a file, like people.csv.")
    try:
        wish = wish_from(ImportPeople, {**asked, "table": asked.files[-1].read_bytes()})
        with pen(desk.folder):
            look = jobs.take_over(desk.folder, replace(wish, dry_run=True), desk.today, lambda *_: False)
            now = digest(look.lines())
            if seen == now:
                return _taken(desk, wish, asked)
    except Fault as fault:
        return _table(desk, asked, fault=str(fault), kept=kept)
    return _table(
        desk, asked, look=look, seen=now, kept=kept, changed=bool(seen), status=422 if seen else 200
    )


def _taken(desk: Workplace, wish: ImportPeople, asked: Visit) -> Response:
    named("take over a table")
    as_written = set(asked.get("keep", "").split("\n"))
    done = jobs.take_over(desk.folder, wish, desk.today, lambda address, _: address in as_written)
    uploads.let_go(desk.folder, asked["kept"])
    told = (
        "{added:,} added, {changed:,} changed, {already_there:,} on the list already, {refused:,} left out."
    )
    said = told.format_map(done.counts)
    return led_on("/people", desk.remember(Spoken((said,), undoes=wrote())))


_HEARINGS: OrderedDict[str, LongJob] = OrderedDict()
_LATEST = 20
_SERVER = ("host", "port", "user", "security")
# Seconds: most mailboxes are read in that, and nobody needs to see how far it is.
_AT_ONCE = 1.0


@screen("/people/replies", "replies")
def _replies(_: Workplace, asked: Visit, fault: str = "") -> dict[str, Any]:
    given = {name: asked.get(name, "") for name in (*_SERVER, "folder", "days")}
    return {"given": given, "fault": fault}


@screen("/people/replies", "replies", sent=True, files="letters")
def _hear(desk: Workplace, asked: Visit) -> Shown:
    """Begin to read messages that were brought, or those in a mailbox on its server."""
    token, files = asked["kept"], asked.files
    if not files and not asked.get("host", "").strip():
        fault = "Choose the file with the messages, or name the server of your mailbox."
        return _replies(desk, asked, fault)
    server = {f"SITEGEN_IMAP_{name.upper()}": asked.get(name, "").strip() for name in _SERVER}
    server["SITEGEN_IMAP_PASSWORD"] = asked.pop("password", "")
    try:
        wish = (
            RepliesWish(post_bag=_bag(files)) if files else wish_from(RepliesWish, {**asked, "imap": "yes"})
        )
    except Fault as fault:
        uploads.let_go(desk.folder, token)
        return _replies(desk, asked, str(fault))
    work = LongJob()
    keep(_HEARINGS, token, work, _LATEST)

    def read() -> Spoken:
        try:
            answer = posting.hear(desk.folder, wish, desk.today, lambda _: server, work.count)
            return Spoken(tuple(line.strip() for line in answer.lines()), undoes=wrote())
        finally:
            uploads.let_go(desk.folder, token)

    work.begin("bring replies in", read)
    if work.thread is not None:
        work.thread.join(_AT_ONCE)
    return RedirectResponse(f"/people/replies/{token}", 303)


def _bag(files: tuple[Path, ...]) -> Path:
    """Return one file as it is, several as a folder of messages."""
    if len(files) == 1:
        return files[0]
    bag = files[0].parent.parent / "bag"
    (bag / "cur").mkdir(parents=True, exist_ok=True)
    for number, file in enumerate(files):
        file.rename(bag / "cur" / f"{number:04}.eml")
    return bag


@screen("/people/replies/{token}", "replies_read")
def _progress(desk: Workplace, asked: Visit) -> Shown:
    """Show how far the reading is, and what came of it."""
    work = _HEARINGS.get(asked["token"])
    if work is None:
        raise Fault("these messages aren't being read any more; bring them in again if need be")
    if "count" in asked:
        return JSONResponse(work.now())
    if not work.ended:
        return {"work": work}
    del _HEARINGS[asked["token"]]
    if work.answer is None:
        return {"template": "replies", **_replies(desk, Visit(), work.fault)}
    return led_on("/people", desk.remember(work.answer))
