"""Letters: written, looked at, tried on oneself, posted while one watches or doesn't."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any
from urllib.parse import urlencode

from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from sitegen.browser.deeds import DEEDS, KNOWN, Deed, attempt, form, lead_on
from sitegen.browser.desk import Workplace, digest
from sitegen.browser.forms import Ask, picks, row_of, server_asks, wish_from
from sitegen.browser.frame import ListLeaf, Shown, Visit, led_on, screen
from sitegen.browser.guard import still
from sitegen.browser.screens.today import place_of
from sitegen.jobs import letters_made as made
from sitegen.jobs import today as jobs
from sitegen.jobs.letters import KINDS, LetterKind
from sitegen.jobs.letters_made import LetterState
from sitegen.jobs.posting import SendWish, send
from sitegen.studio.asked import Fault, Said
from sitegen.studio.person import Interest
from sitegen.studio.text import counted
from sitegen.studio.whole import Studio

_PICTURES = (
    ("carried", "inside the letter"), ("linked", "from your site; most readers are asked first"),
    ("none", "none"),
)  # fmt: skip
# Errands that are about letters of the list; today's order says which comes first.
_ERRANDS = frozenset({"letter in doubt", "round", "letter", "invitation", "letter refused"})
# What is asked, in the order in which it is decided.
_ORDER = ("about", "subject", "round_name", "slug", "slugs", "since", "words", "pictures", "head_start",
          "name")  # fmt: skip
_KINDS = {kind.name: kind for kind in KINDS}
DEEDS |= {kind.job: Deed(**row_of(kind.job) | {"title": kind.title}) for kind in KINDS}
KNOWN["letters"] = lambda *_: {
    "pictures": {"kind": "pick", "choices": _PICTURES},
    "about": {"choices": picks(map(str, Interest), empty="say of what")},
}


@screen("/letters", "letters")
def _letters(desk: Workplace, _: Visit) -> Shown:
    found, studio = made.listed(desk.folder, desk.today), desk.read()
    could = made.subjects(desk.folder, desk.today)
    errands = (errand for errand in jobs.errands(desk.folder, desk.today).errands if errand.kind in _ERRANDS)
    errand = next(errands, None)
    return {
        "lines": [(letter, _about(studio, letter), list(_how_far(desk, letter))) for letter in found.letters],
        "drafts": found.drafts, "kinds": [kind for kind in KINDS if could.named(kind.about) != ()],
        "next": (errand.sentence, errand.do, place_of(errand)) if errand else _news(could),
    }  # fmt: skip


def _news(could: made.Subjects) -> tuple[str, str, str] | None:
    if not could.untold:
        return None
    few = urlencode({"slugs": "\n".join(piece.slug for piece in could.untold[:6])})
    told = f"No letter has told of {_listed([piece.title for piece in could.untold])} yet."
    return told, "Write of them", f"/letters/write/pieces?{few}"


def _listed(names: list[str]) -> str:
    shown = names if len(names) < 4 else [*names[:2], f"{len(names) - 2} more"]
    return " and ".join(filter(None, [", ".join(shown[:-1]), *shown[-1:]]))


def _about(studio: Studio, letter: LetterState) -> str:
    known = {("round", held.slug): held.name for held in studio.commissions.rounds}
    known |= {(show.kind, show.slug): show.name for show in studio.shows}
    known |= {about: f"“{letter.subject}”" for about in letter.about if about[0] == "notice"}
    known |= {("piece", piece.slug): piece.title for piece in studio.pieces}
    names = [known.get(about, about[1]) for about in letter.about if about[0] != "early"]
    early = any(kind == "early" for kind, _ in letter.about)
    return f"{_listed(names)}, for the waiting list" if early else _listed(names)


def _how_far(desk: Workplace, one: LetterState) -> Iterator[tuple[str, bool]]:
    """Say how far a letter has gone out, a sentence each, and whether it wants a look."""
    running = desk.outbox.of(one.ident)
    if running is not None and not running.ended:
        yield f"Going out now: {running.done} of {running.total}.", False
    elif one.left and not one.posted:
        yield f"Not posted yet. {counted(one.left, 'person gets', 'people get')} it.", False
    elif one.left:
        yield f"{one.posted} of {one.chosen} have it; {one.left} to go.", False
    elif one.posted:
        yield (f"All {one.posted} have it." if one.posted == one.chosen else f"{one.posted} have it."), False
    if one.in_doubt:
        yield f"Whether {counted(len(one.in_doubt), 'person', 'people')} got it, nobody knows.", True
    if one.refused:
        yield f"{counted(len(one.refused), 'person was', 'people were')} refused by their post office.", True
    if one.withheld:
        yield f"{counted(one.withheld, 'person', 'people')} may no longer be written to.", False
    if one.untrue and one.left + one.withheld:
        yield "It can't be posted as it is: what it says is no longer true.", True


@screen("/letters/write/{kind}")
def _write(desk: Workplace, asked: Visit, fault: str = "") -> Shown:
    kind, could = _kind(asked), made.subjects(desk.folder, desk.today)
    first = ((piece.slug, piece.photos[0].file if piece.photos else "") for piece in could.pieces)
    pictures = tuple(f"/photo/card/{slug}/{file}" if file else "" for slug, file in first)
    choices: dict[str, dict[str, Any]] = {
        "slugs": {"kind": "ticks", "choices": could.named("piece"), "label": "Pieces", "pictures": pictures}
    }
    if kind.asked in {"slug", "round_name"}:
        subjects = could.named(kind.about)
        choices[kind.asked] = {"kind": "pick", "choices": subjects, "label": kind.about.capitalize()}
    shown = form(desk, kind.job, **asked)
    asks = [replace(field, **choices.get(field.name, {})) for field in shown["asks"]]
    asks.sort(key=lambda ask: _ORDER.index(ask.name))
    action = f"/letters/write/{kind.name}"
    return {"form": shown | {"asks": asks, "action": action, "fault": fault}, "fault": fault}


def _kind(asked: Visit) -> LetterKind:
    if asked["kind"] not in _KINDS:
        raise Fault("there is no such letter to write")
    return _KINDS[asked["kind"]]


@screen("/letters/write/{kind}", sent=True, again=_write)
def _bring(desk: Workplace, asked: Visit) -> Shown:
    kind = _kind(asked)
    answer = attempt(desk, kind.job, asked)
    idents = [letter["letter"] for letter in answer.as_answer()["letters"]] if answer else []
    two = " There are two: one for the waiting list, one for the rest." if len(idents) > 1 else ""
    said = Said((f"The letter is made, and not posted.{two} Look at it as its readers will.",))
    back = f"/letters/{idents[0]}" if len(idents) == 1 else "/letters"
    return lead_on(desk, said, DEEDS[kind.job], {"back": back})


@screen("/letters/{ident}", "letter")
def _letter(desk: Workplace, asked: Visit, fault: str = "") -> Shown:
    ident, studio = asked["ident"], desk.read()
    sheet = made.sheet(desk.folder, ident, desk.today)
    state, outbox = sheet.state, desk.outbox
    known = {**outbox.known(), **asked, "password": ""}
    # To whom it goes that nobody has yet; the rest of them stands on a page of its own.
    rows = () if state.posted else made.addressees(desk.folder, ident, desk.today)
    return {
        "sheet": sheet, "state": state, "about": _about(studio, state), "fault": fault,
        "how_far": list(_how_far(desk, state)), "posting": outbox.of(ident), "running": outbox.runs(ident),
        "asks": [replace(field, value=known.get(field.name) or field.value) for field in _OFFICE],
        "whom": _listed([address for address, *_ in rows]),
        "seen": _standing(state), "again": _again(state), "contact": studio.settings.contact,
    }  # fmt: skip


@screen("/letters/{ident}/seen")
def _seen(desk: Workplace, asked: Visit) -> Shown:
    """Show a letter as its readers see it; what stays on the site is shown from the site as built here."""
    ident = asked["ident"]
    text = made.seen(desk.folder, ident, f"/out/letters/{ident}/", desk.today, desk.preview)
    return HTMLResponse(text, headers={"content-security-policy": still(desk.frames)})


def _standing(state: LetterState) -> str:
    """Tell one standing of a letter from another: what the form to post it was shown for."""
    return digest(state.ident, state.letter.made, state.letter.largest, state.chosen, state.left)


def _again(state: LetterState) -> str:
    """Return where a letter is made again with other words; nothing once somebody has it."""
    if state.posted or state.in_doubt or state.refused:
        return ""
    if not state.about:
        return "/letters/write/confirm"
    (about, name), letter = state.about[0], state.letter
    kind = next(kind_of for kind_of in KINDS if kind_of.about == ("round" if about == "early" else about))
    asked = {"words": letter.note, "name": letter.second, kind.asked: name}
    if kind.about in {"piece", "notice"}:
        asked |= {"slugs": "\n".join(slug for of, slug in state.about if of == "piece")}
    if kind.about == "notice":
        asked |= {"subject": letter.subject, "about": str(letter.interest)}
    return f"/letters/write/{kind.name}?{urlencode({key: value for key, value in asked.items() if value})}"


_OFFICE = (
    *server_asks("“SMTP” or “outgoing mail”"),
    Ask("limit", "At most so many people this time", "number", help="Left open: all who haven’t got it."),
    Ask("pace", "Letters a minute", "number", "More than 20 may look like junk to your provider.", "20"),
)


@screen("/letters/{ident}/post", "letter", sent=True, again=_letter)
def _post(desk: Workplace, asked: Visit) -> Shown:
    ident, settings = asked["ident"], desk.outbox.settings(asked)
    if asked.get("do") == "trial":
        wish = SendWish(ident=ident, to_me=True)
        said = send(desk.folder, wish, desk.today, lambda _: settings, lambda *_: None)
        return _back(desk, ident, *said.lines())
    state = made.state(desk.folder, ident, desk.today)
    wish = wish_from(SendWish, {"ident": ident, "limit": asked.get("limit"), "pace": asked.get("pace")})
    runs = desk.outbox.runs(ident)
    if not runs and asked.get("seen") != _standing(state):
        raise Fault(
            "The letter was made anew or posted further meanwhile. Look at it as it is now, then post it."
        )
    if runs or not desk.outbox.post(wish, state.left, settings):
        return _back(desk, ident, "It is going out already, from another window. Nothing was begun twice.")
    return RedirectResponse(f"/letters/{ident}", 303)


def _back(desk: Workplace, ident: str, *lines: str) -> Response:
    return led_on(f"/letters/{ident}", desk.speak(Said(lines)))


@screen("/letters/{ident}/stop", sent=True)
def _stop(desk: Workplace, asked: Visit) -> Shown:
    if (found := desk.outbox.of(asked["ident"])) is not None:
        found.clock.stop()
    return RedirectResponse(f"/letters/{asked['ident']}", 303)


@screen("/letters/{ident}/settle", sent=True)
def _settle(desk: Workplace, asked: Visit) -> Shown:
    ident, address, has = asked["ident"], asked.get("address", ""), asked.get("has") == "yes"
    wish = SendWish(ident=ident, has=address) if has else SendWish(ident=ident, has_not=address)
    send(desk.folder, wish, desk.today, lambda _: {}, lambda *_: None)
    noted = "has it" if has else "hasn’t got it; the next posting brings it"
    return _back(desk, ident, f"Noted: {address} {noted}.")


@screen("/letters/{ident}/now")
def _now(desk: Workplace, asked: Visit) -> Shown:
    found = desk.outbox.of(asked["ident"])
    return JSONResponse({"ended": True} if found is None else found.now())


@screen("/letters/{ident}/people", "addressees")
def _addressees(desk: Workplace, asked: Visit) -> Shown:
    out, find = asked.get("out") == "yes", asked.get("find", "").strip()
    rows = made.addressees(desk.folder, asked["ident"], desk.today, left_out=out)
    found = [row for row in rows if find.casefold() in "\n".join(row).casefold()]
    state = made.state(desk.folder, asked["ident"], desk.today)
    return {"state": state, "out": out, "find": find, "people": ListLeaf(asked, found)}
