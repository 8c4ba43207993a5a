"""The rooms of pieces, and the page of each: gallery, years, series, what is available."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sized
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import partial

from markupsafe import Markup

from sitegen.site import addresses
from sitegen.site.content import Later, Leaf, Told, finished_of
from sitegen.site.house import House
from sitegen.site.shown import Exhibit
from sitegen.studio import plan
from sitegen.studio.settings import plan_terms

_NEIGHBOURS = 3


@dataclass(frozen=True, slots=True)
class ShownPayment:
    """One part of a payment plan: how long after the order, and when that is in the example."""

    months: int
    """After the order; 0 is at once."""
    due: date
    """In the example, which starts on the first of the next month."""
    amount: Decimal
    deposit: bool


def pieces(house: House) -> Iterator[Later]:
    """Yield the page of each piece."""
    titles = Counter(one.piece.title for one in house.every)
    for one in house.every:
        near, twin = neighbours(house, one), titles[one.piece.title] > 1
        start = house.front.plan_start if one.piece.offered else None
        preview = one.first or house.face
        yield Later(
            path=one.path,
            inputs=(one, near, twin, start, preview),
            write=partial(_leaf, house, one, near, twin),
            changed=finished_of([one]),
            listed=not one.piece.rests,
        )


def _leaf(house: House, one: Exhibit, near: tuple[Exhibit, ...], twin: bool) -> Leaf:
    """Write the page of one piece; `twin` says that another has the same title."""
    piece = one.piece
    title = house.typographic(piece.title)
    # What is bought elsewhere is paid for there.
    paid = payments(house, None if piece.bought_there else piece.price)
    return Leaf(
        path=one.path,
        template="piece.html",
        title=f"{title} ({piece.number or piece.slug})" if twin else title,
        description=_description(house, one),
        parts={
            "exhibit": one,
            "piece": piece,
            "neighbours": near,
            "scale": draw(piece.height_mm) if piece.height_mm else None,
            "payments": paid,
            "plan_start": house.front.plan_start if paid else None,
        },
        shot=one.first,
        facts=(Told("artwork", one),),
        listed=not piece.rests,
        kind="article",
    )


def payments(house: House, price: Decimal | None) -> tuple[ShownPayment, ...]:
    """Lay out the studio's usual payment plan for a price; nothing where there is no plan or no price."""
    front = house.front
    usual, digits, start = front.card.payment_plan, front.card.digits, front.plan_start
    if usual is None or not price:
        return ()
    try:
        parts = plan.make(price, start, digits, plan_terms(usual, digits)).parts
    except ValueError:
        # A price that the artist's bands don't reach, or too small to split: no plan is offered for it.
        return ()
    return tuple(
        ShownPayment(_months(start, part.anchor), part.due, part.amount, part.kind is plan.PartKind.DEPOSIT)
        for part in parts
    )


def neighbours(house: House, one: Exhibit) -> tuple[Exhibit, ...]:
    """Return the next pieces of the same series, going round at its end."""
    if one.piece.series is None or one.piece.rests:
        return ()
    room = house.of_series[one.piece.series.slug]
    place = next(at for at, other in enumerate(room) if other is one)
    return (*room[place + 1 :], *room[:place])[:_NEIGHBOURS]


def _months(start: date, day: date) -> int:
    return (day.year - start.year) * 12 + day.month - start.month


def _description(house: House, one: Exhibit) -> str:
    piece = one.piece
    facts = [house.say("piece.by", title=piece.title)]
    if piece.materials:
        facts.append(piece.materials.rstrip(".") + ".")
    if height := house.voice.height(piece.size, piece.height_mm):
        facts.append(height.rstrip(".") + ".")
    return " ".join(house.typographic(fact) for fact in facts)


# A tea cup of usual size, handle included (common practice, no source).
CUP_HEIGHT = 80
CUP_WIDTH = 110
# Widest part of the stand-in figure over its height: about that of a standing person with a coat.
_GIRTH = 0.36


@dataclass(frozen=True, slots=True)
class Tick:
    """One mark of the ruler."""

    y: float
    label: str
    """Centimetres, or nothing at a small mark."""


@dataclass(frozen=True, slots=True)
class Scale:
    """Everything in millimetres, the table's surface at y = height, y growing downwards."""

    height: int
    """Of the piece."""
    tall: int
    """Of the drawing: the taller of piece and cup."""
    wide: int
    """Of the drawing."""
    figure_x: float
    """Middle of the figure."""
    girth: float
    cup_x: float
    """Left side of the cup."""
    letter: float
    """Height of the ruler's figures."""
    ticks: tuple[Tick, ...]


def draw(height: int) -> Scale:
    """Lay out the drawing for a piece of `height` mm."""
    tall = max(height, CUP_HEIGHT)
    ruler, gap = tall * 0.16, tall * 0.1
    girth = height * _GIRTH
    cup_x = ruler + girth + gap
    return Scale(
        height=height,
        tall=tall,
        wide=round(cup_x + CUP_WIDTH + gap / 2),
        figure_x=round(ruler + girth / 2, 1),
        girth=round(girth, 1),
        cup_x=round(cup_x, 1),
        letter=round(tall * 0.055, 1),
        ticks=_ticks(tall, height),
    )


def _ticks(tall: int, height: int) -> tuple[Tick, ...]:
    step = next(step for step in (10, 50, 100, 500, 1000, 5000, 10**9) if tall / step <= 12)
    labelled = step * 2 if tall / step > 6 else step
    marks = range(0, height + 1, step)
    return tuple(Tick(tall - at, f"{at // 10}" if at % labelled == 0 else "") for at in marks)


_PAGE = Markup("""<!doctype html>
<html lang="{language}">
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="robots" content="noindex">
<meta http-equiv="refresh" content="0; url={link}">
<link rel="canonical" href="{address}">
<title>{title}</title>
<p>{words} <a href="{link}">{title}</a></p>
</html>
""")


def moved(house: House) -> Iterator[tuple[str, bytes]]:
    """Yield path and page of each earlier address that no piece has now."""
    taken = {one.piece.slug for one in house.every}
    for one in house.every:
        for earlier in one.piece.was:
            if earlier in taken:
                continue
            taken.add(earlier)
            path = addresses.piece(earlier)
            page = _PAGE.format(
                language=str(house.tongue.locale).replace("_", "-"),
                link=addresses.relative(path, one.path),
                address=house.address(one.path),
                title=house.typographic(one.piece.title),
                words=house.say("piece.moved"),
            )
            yield path, page.encode("utf-8")


# So many pieces that are gone hang in the room of all pieces; the older ones hang by year.
_MANY = 60
# A wall of more is hung closer.
_ROOMY = 24


@dataclass(frozen=True, slots=True)
class Door:
    """A way from one room of the gallery to another."""

    name: str
    path: str
    count: int | None
    """How many pieces are behind it; None where it isn't said."""


@dataclass(frozen=True, slots=True)
class Doors:
    """All ways through the gallery."""

    main: tuple[Door, ...]
    series: tuple[Door, ...]
    years: tuple[Door, ...]


@dataclass(frozen=True, slots=True)
class Wall:
    """Pieces that hang together; a wall may go without a heading."""

    heading: str
    hung: tuple[Exhibit, ...]
    older: int = 0
    """How many more belong here but hang in the rooms by year only."""
    gone: bool = False
    """Whether nothing on it can be had any more."""

    @property
    def close(self) -> bool:
        """Whether the pieces hang close: many of them, or looked at for what was."""
        return self.gone or len(self.hung) > _ROOMY

    @property
    def count(self) -> int:
        """How many pieces belong here."""
        return len(self.hung) + self.older


def gallery(house: House) -> Iterator[Leaf]:
    """Yield the gallery's pages: all, available, by series, by year."""
    yield _everything(house, _doors(house, counted=True))
    # A room that said how many hang in each other room would be another page with each new piece.
    doors = _doors(house, counted=False)
    yield _available(house, doors)
    for series in house.series:
        hung = house.of_series[series.slug]
        title = house.typographic(series.name)
        about = " ".join(series.about.split()) or house.say("gallery.series_about", name=series.name)
        yield _room(
            house, doors, addresses.series(series.slug), title, about, series.about, (Wall("", hung),)
        )
    for year, hung in house.of_year.items():
        title = house.say("gallery.year", year=year)
        about = house.say("gallery.year_about", year=year)
        yield _room(house, doors, addresses.year(year), title, about, "", (Wall("", hung),))


def _doors(house: House, *, counted: bool) -> Doors:
    say = house.say

    def count(hung: Sized) -> int | None:
        return len(hung) if counted else None

    if len(house.exhibits) < 2:
        return Doors((), (), ())  # nothing to choose from
    # What is available changes with every sale, and is counted over its wall.
    return Doors(
        main=(
            Door(say("gallery.all"), addresses.GALLERY, count(house.exhibits)),
            Door(say("gallery.available"), addresses.AVAILABLE, None),
        ),
        series=tuple(
            Door(house.typographic(one.name), addresses.series(one.slug), count(house.of_series[one.slug]))
            for one in house.series
        ),
        years=tuple(
            Door(str(year), addresses.year(year), count(hung)) for year, hung in house.of_year.items()
        ),
    )


def _everything(house: House, doors: Doors) -> Leaf:
    say = house.say
    walls = (
        Wall(say("gallery.available_now"), house.available),
        _newest(say("gallery.the_rest"), house.elsewhere),
    )
    about = say("gallery.all_about")
    return _room(house, doors, addresses.GALLERY, say("gallery.title"), about, "", walls)


def _newest(heading: str, belonging: tuple[Exhibit, ...]) -> Wall:
    """Hang the newest; what a room by year has anyway may be left out, so that the page stays light."""
    dated = [one for one in belonging if one.piece.year]
    older = {one.piece.slug for one in dated[_MANY:]}
    return Wall(
        heading, tuple(one for one in belonging if one.piece.slug not in older), len(older), gone=True
    )


def _available(house: House, doors: Doors) -> Leaf:
    say = house.say
    about = say("gallery.available_about")
    walls = (Wall("", house.available),)
    return _room(house, doors, addresses.AVAILABLE, say("gallery.available_title"), about, "", walls)


def _room(  # noqa: PLR0913, PLR0917 (each is said once, by the four kinds of room above)
    house: House, doors: Doors, path: str, title: str, about: str, intro: str, walls: tuple[Wall, ...]
) -> Leaf:
    full = tuple(wall for wall in walls if wall.hung)
    first = next((one.first for wall in full for one in wall.hung if one.shots), None)
    parts = {
        "doors": doors,
        "walls": full,
        "count": sum(wall.count for wall in full),
        "intro": intro,
        "first_piece": full[0].hung[0].piece.slug if full else "",
    }
    # What was sold has left the room of what is available, so that room is as old as the whole gallery.
    hung = house.exhibits if path == addresses.AVAILABLE else [one for wall in full for one in wall.hung]
    changed = finished_of(hung)
    return Leaf(path, "gallery.html", title, about, parts, shot=first, changed=changed)
