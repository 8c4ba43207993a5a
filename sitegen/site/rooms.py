"""Every page before it is set: home, the rooms of pieces, the page of each, those of which there is one."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sized
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from sitegen.site import addresses
from sitegen.site.house import Exhibit, House, Leaf, Shot
from sitegen.studio.asked import Fault
from sitegen.studio.person import Interest
from sitegen.studio.piece import Status
from sitegen.studio.public import PublicTerms, RoundState
from sitegen.studio.settings import host
from sitegen.studio.show import ShowKind
from sitegen.studio.whole import Page
from sitegen.voice.prose import read, said

_STRIP, _NEIGHBOURS, _EXAMPLES = 6, 3, 3
# So many pieces that are gone hang in the room of all pieces; the older ones hang by year.
_MANY = 60
# A wall of more is hung closer.
_ROOMY = 24


def leaves(house: House) -> Iterator[Leaf]:
    """Yield every page, as the sitemap lists them. Raises Fault if an artist's has the name of the site's."""
    yield _home(house)
    yield from _gallery(house)
    yield from _pieces(house)
    yield _commissions(house)
    yield _shows(house)
    yield _letters(house)
    for page in house.front.pages:
        if page.name in addresses.TAKEN:
            raise name_taken(page)
        yield _page(house, page)
    yield from (_page(house, Page(kept.name, kept.title, kept.text), kept) for kept in house.front.terms)
    yield Leaf(addresses.LOST, "lost.html", house.say("lost.title"), listed=False)


def _home(house: House) -> Leaf:
    front, newest = house.front, house.newest
    others = (exhibit for exhibit in house.exhibits if exhibit.shots and exhibit is not newest)
    opened = [show for show in front.shows if show.open]
    soonest = {str(kind): next((show for show in opened if show.kind == kind), None) for kind in ShowKind}
    return Leaf(
        path=addresses.HOME,
        template="home.html",
        title=house.say("home.title"),
        description=front.card.tagline or house.say("home.about"),
        parts={
            "exhibit": newest,
            "available": house.available,
            # Those on the bench only where there is room left.
            "strip": sorted(others, key=lambda exhibit: exhibit.piece.status is Status.IN_PROGRESS)[:_STRIP],
            "round": front.round,
            "lead": front.lead_time,
            **soonest,
        },
        shot=house.face,
        facts=(("website", None), ("person", None), *((("artwork", newest),) if newest else ())),
    )


def _pieces(house: House) -> Iterator[Leaf]:
    titles = Counter(exhibit.piece.title for exhibit in house.every)
    for exhibit in house.every:
        piece, title = exhibit.piece, house.voice.typographic(exhibit.piece.title)
        twin = titles[piece.title] > 1
        yield Leaf(
            path=exhibit.path,
            template="piece.html",
            title=f"{title} ({piece.number or piece.slug})" if twin else title,
            parts={
                "exhibit": exhibit,
                "neighbours": _neighbours(house, exhibit),
                "plan_start": house.front.plan_start if piece.offered else None,
            },
            shot=exhibit.first,
            facts=(("artwork", exhibit),),
            listed=not piece.rests,
            kind="article",
            changed=_finished([exhibit]),
        )


def _neighbours(house: House, exhibit: Exhibit) -> tuple[Exhibit, ...]:
    """Return the next pieces of the same series, going round at its end."""
    if exhibit.piece.series is None or exhibit.piece.rests:
        return ()
    room = house.of_series[exhibit.piece.series.slug]
    place = next(at for at, other in enumerate(room) if other is exhibit)
    return (*room[place + 1 :], *room[:place])[:_NEIGHBOURS]


# The ways to the rooms of the gallery: name, path, and how many pieces are behind it (None where not said).
Doors = Mapping[str, tuple[Mapping[str, str | int | None], ...]]


@dataclass(frozen=True, slots=True)
class Wall:
    """Pieces that hang together; a wall may go without a heading."""

    heading: str
    hung: tuple[Exhibit, ...]
    older: int = 0  # how many more belong here but hang in the rooms by year only
    gone: bool = False  # whether nothing on it can be had any more

    @property
    def close(self) -> bool:
        """Whether the pieces hang close: many of them, or looked at for what was."""
        return self.gone or len(self.hung) > _ROOMY

    @property
    def count(self) -> int:
        """How many pieces belong here."""
        return len(self.hung) + self.older


def _gallery(house: House) -> Iterator[Leaf]:
    say = house.say
    # What a room by year has anyway may be left out, so that the page stays light.
    gone = [exhibit for exhibit in house.exhibits if not exhibit.piece.offered]
    older = {exhibit.piece.slug for exhibit in [exhibit for exhibit in gone if exhibit.piece.year][_MANY:]}
    newest = tuple(exhibit for exhibit in gone if exhibit.piece.slug not in older)
    walls = (
        Wall(say("gallery.available_now"), house.available),
        Wall(say("gallery.the_rest"), newest, len(older), gone=True),
    )
    about = say("gallery.all_about")
    yield _room(_doors(house, counted=True), addresses.GALLERY, say("gallery.title"), about, *walls)
    # A room that said how many hang in each other room would be another page with each new piece.
    doors, title = _doors(house, counted=False), say("gallery.available_title")
    about, wall = say("gallery.available_about"), Wall("", house.available)
    # What was sold has left the room of what is available, so that room is as old as the whole gallery.
    yield _room(doors, addresses.AVAILABLE, title, about, wall, changed_with=house.exhibits)
    for series in house.series:
        wall, title = Wall("", house.of_series[series.slug]), house.voice.typographic(series.name)
        about = said(series.about, house.voice.quotes) or say("gallery.series_about", name=series.name)
        yield _room(doors, addresses.series(series.slug), title, about, wall, intro=series.about)
    for year, hung in house.of_year.items():
        title, about = say("gallery.year", year=year), say("gallery.year_about", year=year)
        yield _room(doors, addresses.year(year), title, about, Wall("", hung))


def _doors(house: House, *, counted: bool) -> Doors:
    def door(name: str, path: str, hung: Sized | None = None) -> Mapping[str, str | int | None]:
        return {"name": name, "path": path, "count": len(hung) if counted and hung is not None else None}

    if len(house.exhibits) < 2:
        return {"main": (), "series": (), "years": ()}  # nothing to choose from
    return {
        "main": (
            door(house.say("gallery.all"), addresses.GALLERY, house.exhibits),
            # What is available changes with every sale, and is counted over its wall.
            door(house.say("gallery.available"), addresses.AVAILABLE),
        ),
        "series": tuple(
            door(house.voice.typographic(kin.name), addresses.series(kin.slug), house.of_series[kin.slug])
            for kin in house.series
        ),
        "years": tuple(door(str(year), addresses.year(year), hung) for year, hung in house.of_year.items()),
    }


def _room(
    doors: Doors, path: str, title: str, about: str, *walls: Wall, intro: str = "",
    changed_with: tuple[Exhibit, ...] = (),
) -> Leaf:  # fmt: skip
    full = tuple(wall for wall in walls if wall.hung)
    hung = [exhibit for wall in full for exhibit in wall.hung]
    parts = {"doors": doors, "walls": full, "intro": intro}
    first = next((exhibit.first for exhibit in hung if exhibit.shots), None)
    return Leaf(
        path, "gallery.html", title, about, parts, shot=first, changed=_finished(changed_with or hung)
    )


def _commissions(house: House) -> Leaf:
    front = house.front
    made = [shown for shown in house.exhibits if shown.piece.status is Status.COMMISSIONED and shown.shots]
    coming = tuple(held for held in front.rounds if held.state is not RoundState.CLOSED)
    parts = {
        "round": front.round,
        "later": tuple(held for held in coming if held is not front.round),
        "past": tuple(held for held in reversed(front.rounds) if held.state is RoundState.CLOSED),
        "tiers": front.round.tiers if front.round and front.round.tiers else front.tiers,
        "lead": front.lead_time,
        "queue": front.queue,
        "waiting": 0 if any(held.state is RoundState.OPEN for held in coming) else front.waiting,
        "examples": made[:_EXAMPLES],
        "terms": house.pages("commission-terms", "payment-terms"),
    }
    return _one(house, "commissions", parts, shot=made[0].first if made else None)


def _shows(house: House) -> Leaf:
    shows = house.front.shows
    coming = tuple(show for show in shows if show.coming)
    classes = tuple(show for show in coming if show.is_class)
    parts = {
        "coming": tuple(show for show in coming if not show.is_class),
        "classes": classes,
        "past": tuple(show for show in reversed(shows) if not show.coming),
    }
    facts, words = tuple(("event", show) for show in coming), "shows.with_classes" if classes else "shows"
    # The last show became a past one on the day after it; no day while another is announced.
    passed = None if coming else max((show.last_day + timedelta(days=1) for show in shows), default=None)
    return _one(house, "shows", parts, words=words, facts=facts, changed=passed)


def _letters(house: House) -> Leaf:
    card = house.front.card
    parts = {
        "consent": card.consent or house.say("letters.consent"),
        "interests": tuple(map(str, Interest)),
        "receiver": host(card.sign_up) if card.sign_up else "",
    }
    return _one(house, "letters", parts, posts_to=card.sign_up)


def _one(house: House, name: str, parts: Mapping[str, Any], *, words: str = "", **more: Any) -> Leaf:
    """Make the page of which there is one; its template, address and words go by its name."""
    title, about = (house.say(f"{words or name}.{part}") for part in ("title", "about"))
    return Leaf(addresses.page(name), f"{name}.html", title, about, parts, **more)


def name_taken(page: Page) -> Fault:
    """Return the fault of a page that has the name of a room of the site."""
    return Fault(
        f"pages/{page.name}.md: the site has a page '{page.name}' of its own; give this file another name"
    )


def _shots(house: House, text: str) -> dict[str, Shot]:
    """Return the photographs that a page shows, by what its words call them."""
    if "![" not in text:
        return {}  # no build reads all pages' Markdown to find out that none shows any
    named = (image.get("src") or "" for image in read(text, house.voice.quotes).iter("img"))
    return {name: shot for name in named if (shot := house.shot(name))}


def _page(house: House, page: Page, kept: PublicTerms | None = None) -> Leaf:
    """Make a page of the artist's own words, or of a version of terms, which stays as it was agreed on."""
    front, title = house.front, page.title
    if kept:
        title = house.say("page.of_version", title=title, version=kept.version)
    return Leaf(
        path=addresses.terms(kept.name, kept.version) if kept else addresses.page(page.name),
        template="page.html",
        title=house.voice.typographic(title),
        description=house.say("page.about", title=title),
        parts={
            "page": page,
            "shots": {} if kept else _shots(house, page.text),
            "plan": front.card.payment_plan if page.name == "payment-terms" and not kept else None,
            "tiers": front.tiers if page.name == "commission-terms" and not kept else (),
            "kept": kept,
            "versions": tuple(one for one in front.terms if one.name == page.name and one is not kept),
        },
        facts=(("person", None),) if page.name == "about" and not kept else (),
        listed=not kept,
    )


# These standings are what a piece has from the day it's finished.
_AS_FINISHED = frozenset({Status.AVAILABLE, Status.COMMISSIONED, Status.NOT_FOR_SALE})


def _finished(shown: Iterable[Exhibit]) -> date | None:
    """Return the day when the last of the pieces was finished; None if anything may have changed since."""
    days = []
    for piece in (exhibit.piece for exhibit in shown):
        if piece.finished is None or piece.status not in _AS_FINISHED or piece.away is not None:
            return None
        days.append(piece.finished)
    return max(days, default=None)
