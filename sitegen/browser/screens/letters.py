"""Letters: written, looked at, tried on oneself, posted while one watches or doesn't."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from sitegen.browser.deeds import DEEDS as ALL
from sitegen.browser.deeds import Assent, Deed, Values, attempt, check_mark, form, lead_on
from sitegen.browser.desk import Workplace, at, digest, leaf, page
from sitegen.browser.forms import HIDDEN, Ask, Own, filled_in, picks
from sitegen.browser.guard import still
from sitegen.browser.screens.today import place_of
from sitegen.jobs import letters_made as made
from sitegen.jobs import today as jobs
from sitegen.jobs.letter_kinds import KINDS, LetterKind
from sitegen.jobs.letters_made import LetterState
from sitegen.jobs.posting import SendWish, send
from sitegen.studio.fault import Fault
from sitegen.studio.person import Interest
from sitegen.studio.text import counted
from sitegen.studio.whole import Studio
from sitegen.studio.wish import Said

# Lines of the ledger.
A_PAGE = 100
_PICTURES = (
    ("carried", "inside the letter"),
    ("linked", "from your site; most readers are asked first"),
    ("none", "none"),
)
# Errands that are about letters of the list; today's order says which comes first.
_ERRANDS = frozenset({"letter in doubt", "round", "letter", "invitation", "letter refused"})


def _words(_studio: Studio, _: Values) -> Own:
    return {
        "words": {
            "label": "Your own words",
            "help": "An empty line begins a paragraph; ![](moth-usher) shows a piece. It greets "
            "and signs by itself.",
        },
        "pictures": {"kind": "pick", "choices": _PICTURES, "label": "Pictures", "help": ""},
        "about": {
            "label": "To those who asked to hear of",
            "help": "",
            "choices": picks(map(str, Interest), empty="say of what"),
        },
        "subject": {"label": "Subject", "help": "One subject is one letter: nobody gets it twice."},
        "name": {
            "label": "What sets it apart",
            "help": "Only for a second letter on the same thing: a word like last-day.",
        },
    }


# What is asked, in the order in which it is decided.
_ORDER = (
    "about",
    "subject",
    "round_name",
    "slug",
    "slugs",
    "since",
    "words",
    "pictures",
    "head_start",
    "name",
)
_ONCE_MADE = "You see it before anybody gets it. Nothing is posted by this."
_KINDS = {kind.name: kind for kind in KINDS}
DEEDS = {
    **{kind.job: Deed(kind.title, "Make the letter", "letters", _ONCE_MADE, own=_words, undo=False)
       for kind in KINDS},
    "letters.throw_away": Deed(
        "Throw the letter away",
        "Throw it away",
        "letters",
        "Nobody has it yet; it can be written anew.",
        own=lambda *_: {"ident": HIDDEN},
        undo=False,
    ),
}  # fmt: skip


def letters(request: Request) -> Response:
    """Show the letters that were made, the latest first, and the one to write or post next."""
    desk = at(request)
    found, studio = made.listed(desk.folder, desk.today), desk.read()
    could = made.subjects(desk.folder, desk.today)
    lines = [(one, _about(studio, one), list(_how_far(desk, one))) for one in found.letters]
    errand = next(
        (one for one in jobs.errands(desk.folder, desk.today).errands if one.kind in _ERRANDS), None
    )
    return page(
        request, "letters.html", screen="letters", lines=lines, drafts=found.drafts,
        kinds=[kind for kind in KINDS if could.named(kind.about) != ()],
        next=(errand.sentence, errand.do, place_of(errand)) if errand else _news(could),
    )  # fmt: skip


def _news(could: made.Subjects) -> tuple[str, str, str] | None:
    """Return what could be told of pieces: a sentence, what to do, and where."""
    if not could.untold:
        return None
    few = could.untold[:6]
    told = f"No letter has told of {_listed([one.title for one in could.untold])} yet."
    return (
        told,
        "Write of them",
        f"/letters/write/pieces?{urlencode({'slugs': chr(10).join(one.slug for one in few)})}",
    )


def _listed(names: list[str]) -> str:
    shown = names if len(names) < 4 else [*names[:2], f"{len(names) - 2} more"]
    return " and ".join(filter(None, [", ".join(shown[:-1]), *shown[-1:]]))


def _about(studio: Studio, one: LetterState) -> str:
    """Say what a letter tells of, by its name."""
    known = {("round", one.slug): one.name for one in studio.commissions.rounds}
    known |= {(show.kind, show.slug): show.name for show in studio.shows}
    known |= {about: f"“{one.subject}”" for about in one.about if about[0] == "notice"}
    known |= {("piece", piece.slug): piece.title for piece in studio.pieces}
    names = [known.get(about, about[1]) for about in one.about if about[0] != "early"]
    early = any(kind == "early" for kind, _ in one.about)
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


def _kind(request: Request) -> LetterKind:
    kind = _KINDS.get(request.path_params["kind"])
    if kind is None:
        raise Fault("there is no such letter to write")
    return kind


def write(request: Request) -> Response:
    """Show the form of a letter to be written."""
    return page(
        request, "deed.html", screen="letters",
        form=_writing(at(request), _kind(request), dict(request.query_params)),
    )  # fmt: skip


def _writing(desk: Workplace, kind: LetterKind, values: dict[str, str]) -> dict[str, Any]:
    could = made.subjects(desk.folder, desk.today)
    pictures = tuple(
        f"/photo/card/{piece.slug}/{piece.photos[0].file}" if piece.photos else "" for piece in could.pieces
    )
    choices: dict[str, dict[str, Any]] = {
        "slugs": {"kind": "ticks", "choices": could.named("piece"), "label": "Pieces", "pictures": pictures},
        "since": {"label": "Finished since", "kind": "day", "help": "In place of ticks: all available ones."},
        "head_start": {"help": "For those on the waiting list. Left open: as the round says."},
    }
    if kind.asked in {"slug", "round_name"}:
        choices[kind.asked] = {
            "kind": "pick", "choices": could.named(kind.about), "label": kind.about.capitalize()
        }  # fmt: skip
    shown = form(desk, kind.job, desk.read(), **values)
    asks = [replace(one, **choices.get(one.name, {})) for one in shown["asks"]]
    asks.sort(key=lambda one: _ORDER.index(one.name))
    return shown | {"asks": asks, "action": f"/letters/write/{kind.name}"}


def bring(request: Request, values: dict[str, str]) -> Response:
    """Make the letter, and lead to it."""
    desk, kind = at(request), _kind(request)
    try:
        answer = attempt(desk, kind.job, values, Assent(""))
    except Fault as fault:
        again = _writing(desk, kind, values) | {"fault": str(fault)}
        return page(request, "deed.html", 422, screen="letters", form=again)
    idents = [one["letter"] for one in answer.as_answer()["letters"]] if answer else []
    two = " There are two: one for the waiting list, one for the rest." if len(idents) > 1 else ""
    said = Said((f"The letter is made, and not posted.{two} Look at it as its readers will.",))
    return lead_on(
        desk, said, ALL[kind.job], {"back": f"/letters/{idents[0]}" if len(idents) == 1 else "/letters"}
    )


def letter(request: Request) -> Response:
    """Show one letter with all that is to be looked at and done."""
    return _shown(request)


def _shown(request: Request, fault: str = "", values: Values | None = None) -> Response:
    desk, ident = at(request), request.path_params["ident"]
    sheet, studio = made.sheet(desk.folder, ident, desk.today), desk.read()
    state = sheet.state
    return page(
        request, "letter.html", 422 if fault else 200, screen="letters", sheet=sheet, state=state,
        about=_about(studio, state), how_far=list(_how_far(desk, state)), posting=desk.outbox.of(ident),
        running=desk.outbox.runs(ident), asks=_post_office(desk, values or {}), fault=fault,
        whom=_whom(desk, state), seen=_seen(state), again=_again(state), contact=studio.settings.contact,
    )  # fmt: skip


def _whom(desk: Workplace, state: LetterState) -> str:
    """Say to whom a letter goes that nobody has yet; the rest of them stands on a page of its own."""
    rows = () if state.posted else made.addressees(desk.folder, state.ident, desk.today)
    return _listed([address for address, *_ in rows])


def seen(request: Request) -> Response:
    """Show a letter as its readers see it; what stays on the site is shown from the site as built here."""
    desk, ident = at(request), request.path_params["ident"]
    text = made.seen(desk.folder, ident, f"/out/letters/{ident}/", desk.today, desk.preview)
    return HTMLResponse(text, headers={"content-security-policy": still(desk.frames)})


def _seen(state: LetterState) -> str:
    """Tell one standing of a letter from another: what the form to post it was shown for."""
    return digest(state.ident, state.letter.made, state.letter.largest, state.chosen, state.left)


def _again(state: LetterState) -> str:
    """Return where a letter is made again with other words; nothing once somebody has it."""
    if state.posted or state.in_doubt or state.refused:
        return ""
    if not state.about:
        return "/letters/write/confirm"
    (about, name), letter = state.about[0], state.letter
    kind = next(one for one in KINDS if one.about == ("round" if about == "early" else about))
    asked = {"words": letter.note, "name": letter.second, kind.asked: name}
    if kind.about in {"piece", "notice"}:
        asked |= {"slugs": "\n".join(slug for of, slug in state.about if of == "piece")}
    if kind.about == "notice":
        asked |= {"subject": letter.subject, "about": str(letter.interest)}
    return f"/letters/write/{kind.name}?{urlencode({key: value for key, value in asked.items() if value})}"


def _post_office(desk: Workplace, values: Values) -> tuple[Ask, ...]:
    known = desk.outbox.known()
    ways = (
        ("tls", "private from the start (TLS)"), ("starttls", "goes private first (STARTTLS)"),
        ("none", "open, for a server on this machine only"),
    )  # fmt: skip
    asks = (
        Ask("host", "Server", needed=True, help="Your mail provider has it under “SMTP” or “outgoing mail”."),
        Ask("port", "Port", "number", help="Left open: the usual one."),
        Ask("security", "The way there", "pick", choices=ways),
        Ask("user", "User name"),
        Ask("password", "Password", "password", help="Asked for each time; it is kept nowhere."),
        Ask("limit", "At most so many people this time", "number", help="Left open: all who haven’t got it."),
        Ask("pace", "Letters a minute", "number", help="More than 20 may look like junk to your provider.",
            value="20"),
    )  # fmt: skip
    typed = {**known, **{name: value for name, value in values.items() if name != "password"}}
    return tuple(ask.filled(typed[ask.name]) if typed.get(ask.name) else ask for ask in asks)


def post(request: Request, values: dict[str, str]) -> Response:
    """Post the trial copy, or begin to post the letter."""
    desk, ident = at(request), request.path_params["ident"]
    check_mark(desk, values)
    try:
        settings = desk.outbox.settings(values)
        if values.get("do") == "trial":
            wish = SendWish(ident=ident, to_me=True)
            said = send(desk.folder, wish, desk.today, lambda _: settings, lambda *_: None)
            return _back(desk, ident, *said.lines())
        return _begun(desk, ident, values, settings)
    except Fault as fault:
        return _shown(request, str(fault), values)


_RUNS = "It is going out already, from another window. Nothing was begun twice."


def _begun(desk: Workplace, ident: str, values: Values, settings: Mapping[str, str]) -> Response:
    state = made.state(desk.folder, ident, desk.today)
    wish = SendWish(ident=ident, limit=_number(values, "limit", 1), pace=_number(values, "pace", 0) or 0)
    if desk.outbox.runs(ident):
        return _back(desk, ident, _RUNS)
    if values.get("seen") != _seen(state):
        raise Fault(
            "The letter was made anew or posted further meanwhile. Look at it as it is now, then post it."
        )
    if not desk.outbox.post(wish, state.left, settings):
        return _back(desk, ident, _RUNS)
    return RedirectResponse(f"/letters/{ident}", 303)


def _number(values: Values, name: str, least: int) -> int | None:
    text = values.get(name, "").strip()
    if text and (not text.isdecimal() or len(text) > 6 or int(text) < least):
        raise Fault(f"--{name}: write a whole number, {least} or more")
    return int(text) if text else None


def _back(desk: Workplace, ident: str, *lines: str) -> Response:
    word = desk.speak(Said(lines))
    return RedirectResponse(f"/letters/{ident}?said={word}#said", 303)


def stop(request: Request, values: dict[str, str]) -> Response:
    """Ask the posting to stop after the letter in hand."""
    desk, ident = at(request), request.path_params["ident"]
    check_mark(desk, values)
    desk.outbox.stop(ident)
    return RedirectResponse(f"/letters/{ident}", 303)


def settle(request: Request, values: dict[str, str]) -> Response:
    """Note whether somebody in doubt has the letter."""
    desk, ident, address = at(request), request.path_params["ident"], values.get("address", "")
    check_mark(desk, values)
    has = values.get("has") == "yes"
    wish = SendWish(ident=ident, has=address) if has else SendWish(ident=ident, has_not=address)
    send(desk.folder, wish, desk.today, lambda _: {}, lambda *_: None)
    noted = "has it" if has else "hasn’t got it; the next posting brings it"
    return _back(desk, ident, f"Noted: {address} {noted}.")


def now(request: Request) -> Response:
    """Say how far a posting is, for a page that is open."""
    found = at(request).outbox.of(request.path_params["ident"])
    if found is None or found.ended:
        return JSONResponse({"ended": True})
    return JSONResponse({"ended": False, "done": found.done, "total": found.total, "waits": found.waits})


def addressees(request: Request) -> Response:
    """Show who gets a letter, or who doesn't and why, a hundred a page."""
    desk, ident, asked = at(request), request.path_params["ident"], request.query_params
    out, find = asked.get("out") == "yes", asked.get("find", "").strip()
    state = made.state(desk.folder, ident, desk.today)
    rows = made.addressees(desk.folder, ident, desk.today, left_out=out)
    found = [row for row in rows if find.casefold() in "\n".join(row).casefold()]
    number, pages = leaf(request, len(found), A_PAGE)
    rest = {"out": "yes"} if out else {}
    return page(
        request, "addressees.html", screen="letters", state=state, out=out, find=find, count=len(found),
        rows=found[(number - 1) * A_PAGE : number * A_PAGE], number=number, pages=pages,
        turned=lambda to: f"?{urlencode({**rest, 'find': find, 'page': to})}",
    )  # fmt: skip


ROUTES = [
    Route("/letters", letters),
    Route("/letters/write/{kind}", write),
    Route("/letters/write/{kind}", filled_in(bring, max_fields=2000), methods=["POST"]),
    Route("/letters/{ident}", letter),
    Route("/letters/{ident}/people", addressees),
    Route("/letters/{ident}/now", now),
    Route("/letters/{ident}/seen", seen),
    Route("/letters/{ident}/post", filled_in(post), methods=["POST"]),
    Route("/letters/{ident}/stop", filled_in(stop), methods=["POST"]),
    Route("/letters/{ident}/settle", filled_in(settle), methods=["POST"]),
]
