"""The mailing list: find someone, put someone on it, type in a sheet, see what is held, let go; what comes in
from elsewhere: a table of people, looked at first, and the replies that came back."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any
from urllib.parse import quote, urlencode

from starlette.responses import JSONResponse, RedirectResponse

from sitegen.browser.deeds import DEEDS, KNOWN, STATES, Values, form
from sitegen.browser.desk import LongJob, Workplace, digest, keep, server_of
from sitegen.browser.forms import Ask, Own, asks_of, let_go, picks, said_of, server_asks, wish_from
from sitegen.browser.frame import ListLeaf, Shown, Visit, led_on, screen
from sitegen.browser.words import told
from sitegen.jobs import people as jobs
from sitegen.jobs import posting
from sitegen.jobs.people import CAUTION, ImportPeople, OnePerson, PickPeople
from sitegen.jobs.posting import RepliesWish
from sitegen.jobs.sheets import TypedSheet, TypeRows, type_rows, typed_sheets
from sitegen.jobs.where import named, pen, wrote
from sitegen.studio.asked import Fault, Said
from sitegen.studio.person import Consent, Interest, address_key
from sitegen.studio.whole import Studio

_CHOICES: Own = {
    "source": {"kind": "pick", "choices": picks(map(str, Consent))},
    "interests": {"kind": "ticks", "choices": picks(map(str, Interest))},
}


def _rows(studio: Studio, values: Values) -> Any:
    """Return what the list says of a person: what a form about them was shown for."""
    key = address_key(values.get("address", ""))
    rows = (person for person in studio.people if person.key == key)
    return [repr((person.email, person.name, person.left, person.evidence)) for person in rows]


STATES["rows"] = _rows
KNOWN["people.add"] = lambda *_: _CHOICES
DEEDS["people.add"] = replace(DEEDS["people.add"], caution=CAUTION)


@screen("/people", "people")
def _people(desk: Workplace, asked: Visit) -> Shown:
    find = asked.get("find", "").strip()
    found = jobs.pick(desk.folder, PickPeople(find=find), desk.today)
    persons = len({person.key for person in found.people})  # a few stand on it twice
    shown = ListLeaf(asked, found.people)
    return {"standing": found.standing, "people": shown, "count": persons, "find": find, "one": _at}


def _at(address: str) -> str:
    return "/people/one?address=" + quote(address, safe="@")


@screen("/people/one", "person")
def _one(desk: Workplace, asked: Visit) -> Shown:
    address = asked.get("address", "").strip()
    if not address:
        raise Fault("say whose address; find them on the list first")
    held = jobs.held_on(desk.folder, OnePerson(address=address), desk.today).as_answer()
    here = any(not row["left"] for row in held["rows"])
    leave = form(desk, "people.leave", address=address, back=_at(address)) if here else None
    forget = "/do/people.erase?" + urlencode({"address": address})
    return {"address": address, "held": held, "leave": leave, "forget": forget}


_BOXES = tuple((str(place), str(interest)) for place, interest in enumerate(Interest, start=1))
# A row as the page shows it: `before` is the address it has on the list, `better` the one likely meant.
_BLANK = {"name": "", "address": "", "boxes": frozenset[str](), "unreadable": False, "before": "",
          "state": "", "done": False, "better": ""}  # fmt: skip


@screen("/people/sheets", "sheets")
def _sheets(desk: Workplace, _: Visit) -> Shown:
    return {"sheets": typed_sheets(desk.folder, desk.today)}


@screen("/people/sheets/{code}", "sheet")
def _sheet(desk: Workplace, asked: Visit) -> Shown:
    wish = TypeRows(sheet=asked["code"], on=asked.get("on") or None, a_page=_each(asked))
    return _rows_of(asked["code"], type_rows(desk.folder, wish, desk.today, lambda *_: True), {})


def _each(given: Mapping[str, str]) -> int | None:
    each = given.get("a_page", "")
    return min(max(int(each), 1), 99) if each.isdecimal() and len(each) < 5 else None


def _rows_of(code: str, found: TypedSheet, typed: Values) -> Shown:
    paper, tail = found.sheet, code.partition("-")[2]
    number = max(int(tail) if tail.isdecimal() and len(tail) < 4 else paper.page(paper.next), 1)
    first = (number - 1) * paper.a_page + 1
    return {
        "found": found, "paper": paper, "number": number, "boxes": _BOXES, "on": found.day.isoformat(),
        "rows": [_row(found, row, typed) for row in range(first, first + paper.a_page)],
        "fault": not found.is_well,
    }  # fmt: skip


def _row(found: TypedSheet, number: int, typed: Values) -> dict[str, Any]:
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
    boxes = frozenset(place for place, box in _BOXES if box in here.interests)
    row |= {"name": here.name, "address": here.email, "before": here.email, "boxes": boxes}
    return row | {"state": said or "on the list", "done": True}


@screen("/people/sheets/{code}", "sheet", sent=True)
def _save(desk: Workplace, values: Visit) -> Shown:
    numbers = [name.removeprefix("address-") for name in values if name.startswith("address-")]
    for number in numbers:
        if better := values.get(f"better-{number}"):
            values[f"address-{number}"] = better
    kept = {values[f"address-{number}"].strip() for number in numbers if values.get(f"keep-{number}")}
    wish = TypeRows(
        sheet=values["code"], rows=tuple(text for number in numbers if (text := _text(number, values))),
        on=values.get("on") or None, a_page=_each(values), dry_run=values.get("look") == "yes",
    )  # fmt: skip
    named("type in a sheet")
    found = type_rows(desk.folder, wish, desk.today, lambda address, _: address in kept)
    if values.by_script:
        answer = found.as_answer()
        rows = [row | {"said": told(row["said"]).striptags()} for row in answer["rows"]]
        return JSONResponse({**answer, "rows": rows, "counted": found.sheet.counted()})
    if not found.is_well:
        return _rows_of(values["code"], found, values)
    word = desk.speak(Said((found.sheet.counted(),)), wrote())
    return led_on(f"/people/sheets/{values['code']}?on={found.day}&a_page={found.sheet.a_page}", word)


def _text(number: str, values: Values) -> str:
    """Write a row as the job takes it; nothing for an empty one."""
    names = ("name", "address", "boxes", "before")
    typed = [
        values.get(f"{name}-{number}", "").replace("|", " ").replace("\n", " ").strip() for name in names
    ]
    name, address, _, before = typed
    if values.get(f"unreadable-{number}") or name == "?":
        return f"{number} | ? | {address} | | {before}"
    return " | ".join([number, *typed]) if name or address or before else ""


# Lines shown of each kind; the rest is counted.
_SHOWN = 200


@screen("/people/table", "table")
def _table(desk: Workplace, asked: Visit, **more: Any) -> dict[str, Any]:
    asks = asks_of(ImportPeople, said_of("people.take_over", _CHOICES), desk.read(), asked)
    shown = {"look": None, "seen": "", "kept": "", "changed": False, "caution": CAUTION, "most": _SHOWN}
    return shown | {"asks": [field for field in asks if field.name not in {"table", "dry_run"}]} | more


@screen("/people/table", "table", sent=True, files="table")
def _take_over(desk: Workplace, asked: Visit) -> Shown:
    seen, kept = asked.get("seen", ""), asked["kept"]
    as_written = set(asked.get("keep", "").split("\n"))
    if not asked.files:
        return _table(desk, asked, fault="Choose the table first; it is a file, like people.csv.")
    try:
        wish = wish_from(ImportPeople, {**asked, "table": asked.files[-1].read_bytes()})
        with pen(desk.folder):
            look = jobs.take_over(desk.folder, replace(wish, dry_run=True), desk.today, lambda *_: False)
            now = digest(look.lines())
            if seen == now:
                named("take over a table")
                done = jobs.take_over(desk.folder, wish, desk.today, lambda address, _: address in as_written)
                let_go(desk.folder, kept)
                told = "{added:,} added, {changed:,} changed, {already_there:,} on the list already, "
                said = f"{told}{{refused:,}} left out.".format_map(done.counts)
                return led_on("/people", desk.speak(Said((said,)), wrote()))
    except Fault as fault:
        return _table(desk, asked, fault=str(fault), kept=kept)
    return _table(
        desk, asked, look=look, seen=now, kept=kept, changed=bool(seen), status=422 if seen else 200
    )


_HEARINGS: OrderedDict[str, LongJob] = OrderedDict()
_LATEST = 20
_BOX = (
    *(
        replace(field, needed=field.name in {"host", "user", "password"})
        for field in server_asks("“IMAP” or “incoming mail”")
    ),
    Ask("folder", "Folder", value="INBOX"),
    Ask("days", "How many days back", "number", value="60"),
)
# Seconds: most mailboxes are read in that, and nobody needs to see how far it is.
_AT_ONCE = 1.0


@screen("/people/replies", "replies")
def _replies(_: Workplace, asked: Visit, fault: str = "") -> dict[str, Any]:
    known = {**asked, "password": ""}
    return {"asks": [replace(one, value=known.get(one.name) or one.value) for one in _BOX], "fault": fault}


@screen("/people/replies", "replies", sent=True, files="letters", again=_replies)
def _hear(desk: Workplace, asked: Visit) -> Shown:
    token, files = asked["kept"], asked.files
    if not files and not asked.get("host", "").strip():
        raise Fault("Choose the file with the messages, or name the server of your mailbox.")
    server, work = server_of("IMAP", asked), LongJob()
    asked.pop("password", "")
    try:
        given = {"post_bag": _bag(files)} if files else {**asked, "imap": "yes"}
        wish = wish_from(RepliesWish, given)
    except Fault:
        let_go(desk.folder, token)
        raise
    keep(_HEARINGS, token, work, _LATEST)

    def read() -> tuple[Said, int]:
        try:
            answer = posting.hear(desk.folder, wish, desk.today, lambda _: server, work.count)
            return Said(tuple(line.strip() for line in answer.lines())), wrote()
        finally:
            let_go(desk.folder, token)

    work.begin("bring replies in", read).join(_AT_ONCE)
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
    return led_on("/people", desk.speak(*work.answer))
