"""Pages of which there is one: home, commissions, shows, mailing list, not found; and the artist's own."""

from __future__ import annotations

from collections.abc import Iterator

from sitegen.site import addresses
from sitegen.site.content import Leaf, Told, passed_of
from sitegen.site.house import House
from sitegen.site.shown import Exhibit
from sitegen.studio.fault import Fault
from sitegen.studio.outward import host
from sitegen.studio.person import Interest
from sitegen.studio.piece import Status
from sitegen.studio.public import RoundState
from sitegen.studio.settings import PaymentPlan
from sitegen.studio.show import ShowKind
from sitegen.studio.whole import Page

_STRIP = 6


def home(house: House) -> Iterator[Leaf]:
    """Yield the home page."""
    front = house.front
    newest = house.newest
    card = front.card
    yield Leaf(
        path=addresses.HOME,
        template="home.html",
        title=house.say("home.title"),
        description=card.tagline or house.say("home.about"),
        parts={
            "exhibit": newest,
            "available": house.available,
            "strip": _strip(house),
            "round": front.round,
            "lead": front.lead_time,
            **{
                kind: next((show for show in front.shows if show.open and show.kind == kind), None)
                for kind in ShowKind
            },
        },
        shot=house.face,
        facts=(Told("website"), Told("person"), *((Told("artwork", newest),) if newest else ())),
    )


def _strip(house: House) -> tuple[Exhibit, ...]:
    """Return the next pieces to show after the newest, those on the bench only where there is room left."""
    others = (exhibit for exhibit in house.exhibits if exhibit.shots and exhibit is not house.newest)
    return tuple(sorted(others, key=lambda one: one.piece.status is Status.IN_PROGRESS))[:_STRIP]


def letters(house: House) -> Iterator[Leaf]:
    """Yield the mailing-list page."""
    card = house.front.card
    yield Leaf(
        path=addresses.LETTERS,
        template="letters.html",
        title=house.say("letters.title"),
        description=house.say("letters.about"),
        parts={
            "consent": card.consent or house.say("letters.consent"),
            "interests": tuple(str(one) for one in Interest),
            "receiver": host(card.sign_up) if card.sign_up else "",
        },
        posts_to=card.sign_up,
    )


def lost(house: House) -> Iterator[Leaf]:
    """Yield the page for addresses that lead nowhere."""
    yield Leaf(addresses.LOST, "lost.html", house.say("lost.title"), "", listed=False)


def own_pages(house: House) -> Iterator[Leaf]:
    """Yield the artist's own pages. Raises Fault if one has the name of a page of the site."""
    for page in house.front.pages:
        if page.name in addresses.TAKEN:
            raise name_taken(page)
        yield Leaf(
            path=addresses.page(page.name),
            template="page.html",
            title=house.typographic(page.title),
            description=_description(house, page),
            parts={
                "page": page,
                "plan": _plan(house, page),
                "tiers": _tiers(house, page),
                "kept": None,
                "versions": house.front.terms_of(page.name),
            },
            facts=(Told("person"),) if page.name == "about" else (),
        )


def name_taken(page: Page) -> Fault:
    """Return the fault of a page that has the name of a room of the site."""
    return Fault(
        f"pages/{page.name}.md: the site has a page '{page.name}' of its own; give this file another name"
    )


def kept_terms(house: House) -> Iterator[Leaf]:
    """Yield every kept version of the terms, so that what was agreed on can be read for good."""
    for kept in house.front.terms:
        page = Page(kept.name, kept.title, kept.text)
        title = house.say("page.of_version", title=page.title, version=kept.version)
        others = tuple(one for one in house.front.terms_of(kept.name) if one is not kept)
        yield Leaf(
            path=addresses.terms(kept.name, kept.version),
            template="page.html",
            title=house.typographic(title),
            description=_description(house, Page(kept.name, title, "")),
            parts={"page": page, "plan": None, "tiers": (), "kept": kept, "versions": others},
            listed=False,
        )


def _plan(house: House, page: Page) -> PaymentPlan | None:
    return house.front.card.payment_plan if page.name == "payment-terms" else None


def _tiers(house: House, page: Page) -> tuple[object, ...]:
    return house.front.tiers if page.name == "commission-terms" else ()


def _description(house: House, page: Page) -> str:
    return house.say("page.about", title=page.title)


def shows(house: House) -> Iterator[Leaf]:
    """Yield the shows page."""
    front = house.front
    coming = tuple(show for show in front.shows if show.coming)
    classes = tuple(one for one in coming if one.is_class)
    which = "shows.with_classes" if classes else "shows"
    yield Leaf(
        path=addresses.SHOWS,
        template="shows.html",
        title=house.say(f"{which}.title"),
        description=house.say(f"{which}.about"),
        parts={
            "coming": tuple(one for one in coming if not one.is_class),
            "classes": classes,
            "past": tuple(one for one in reversed(front.shows) if not one.coming),
        },
        facts=tuple(Told("event", one) for one in coming),
        changed=passed_of(front.shows),
    )


_EXAMPLES = 3


def commissions(house: House) -> Iterator[Leaf]:
    """Yield the commissions page."""
    front = house.front
    made = tuple(
        exhibit for exhibit in house.exhibits if exhibit.piece.status is Status.COMMISSIONED and exhibit.shots
    )
    coming = tuple(one for one in front.rounds if one.state is not RoundState.CLOSED)
    yield Leaf(
        path=addresses.COMMISSIONS,
        template="commissions.html",
        title=house.say("commissions.title"),
        description=house.say("commissions.about"),
        parts={
            "round": front.round,
            "later": tuple(one for one in coming if one is not front.round),
            "past": tuple(one for one in reversed(front.rounds) if one.state is RoundState.CLOSED),
            "tiers": front.round.tiers if front.round and front.round.tiers else front.tiers,
            "lead": front.lead_time,
            "queue": front.queue,
            "waiting": front.waiting,
            "examples": made[:_EXAMPLES],
            "terms": house.pages("commission-terms", "payment-terms"),
        },
        shot=made[0].first if made else None,
    )
