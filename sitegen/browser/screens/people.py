"""The mailing list: find someone, put someone on it, see all that is held on one person, let them go."""

from __future__ import annotations

from typing import Any
from urllib.parse import quote, urlencode

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from sitegen.browser.deeds import Deed, Values, form
from sitegen.browser.desk import at, leaf, page
from sitegen.browser.forms import HIDDEN, Own, picks
from sitegen.browser.screens import incoming, signing
from sitegen.jobs import people as jobs
from sitegen.jobs.people import CAUTION, OnePerson, PickPeople
from sitegen.studio.fault import Fault
from sitegen.studio.person import Consent, Interest, address_key
from sitegen.studio.whole import Studio

# Lines of the ledger.
A_PAGE = 100
_ONE = "/people/one?address="


def _new(studio: Studio, values: Values) -> Own:
    return {
        "source": {"kind": "pick", "choices": picks(map(str, Consent)), "help": ""},
        "interests": {
            "kind": "ticks", "choices": picks(map(str, Interest)),
            "help": "None of them means all, if they agreed in so many words.",
        },
        "evidence": {"help": "Like “form on the site, 4 October” or “sheet QDF27-1 row 7”."},
        "asked_again": {"help": ""},
        "joined": {"help": "Today, if you leave it empty."},
    }  # fmt: skip


def _rows(studio: Studio, values: Values) -> Any:
    """Return what the list says of a person: what a form about them was shown for."""
    key = address_key(values.get("address", ""))
    return [
        repr((person.email, person.name, person.left, person.evidence))
        for person in studio.people
        if person.key == key
    ]


DEEDS = {
    "people.add": Deed(
        "Put one person on the list", "Put them on the list", "people", own=_new, back="/people",
        sure="Take it as it is written", caution=CAUTION,
    ),
    "people.leave": Deed(
        "They ask to leave", "They have left", "people", "They get no more letters, from now on.",
        own=lambda *_: dict.fromkeys(("address", "tokens", "noted"), HIDDEN), state=_rows,
    ),
    "people.erase": Deed(
        "Forget someone for good", "Forget them for good", "people",
        "They are erased from the list and from the letters kept here. Only a mark stays, from which nobody "
        "can read the address, so that they aren't put on the list again. This can't be taken back.",
        state=_rows, back="/people", undo=False,
    ),
}  # fmt: skip


def people(request: Request) -> Response:
    """Show the ledger of people, a hundred a page."""
    desk, asked = at(request), request.query_params.get("find", "").strip()
    found = jobs.pick(desk.folder, PickPeople(find=asked), desk.today)
    number, pages = leaf(request, len(found.people), A_PAGE)
    first = (number - 1) * A_PAGE
    return page(
        request, "people.html", screen="people", found=found, asked=asked, number=number, pages=pages,
        first=first + 1, shown=found.people[first : first + A_PAGE], one=_one, turned=_turned(asked),
    )  # fmt: skip


def _one(address: str) -> str:
    return _ONE + quote(address, safe="@")


def _turned(asked: str) -> Any:
    rest = {"find": asked} if asked else {}
    return lambda number: "/people?" + urlencode({**rest, "page": number})


def one(request: Request) -> Response:
    """Show all that is held on one person, and what can be done for them."""
    desk, address = at(request), request.query_params.get("address", "").strip()
    if not address:
        raise Fault("say whose address; find them on the list first")
    held = jobs.held_on(desk.folder, OnePerson(address=address), desk.today).as_answer()
    studio, back = desk.read(), _one(address)
    here = any(not row["left"] for row in held["rows"])
    leave = form(desk, "people.leave", studio, address=address, back=back) if here else None
    forget = "/do/people.erase?" + urlencode({"address": address})
    return page(
        request, "person.html", screen="people", address=address, held=held, leave=leave, forget=forget,
    )  # fmt: skip


ROUTES = [Route("/people", people), Route("/people/one", one), *signing.ROUTES, *incoming.ROUTES]
