"""Rounds and slots: how many can open, each round as it stands, its draw, and who waits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import Any
from urllib.parse import quote

from starlette.responses import RedirectResponse

from sitegen.browser.deeds import Values, form
from sitegen.browser.desk import Workplace
from sitegen.browser.forms import Ask, asks_of, picks, said_of
from sitegen.browser.frame import Shown, Visit, screen
from sitegen.browser.sheets import asks, entries, put_sheet, sheet_form
from sitegen.jobs import answers
from sitegen.jobs import draws as jobs
from sitegen.jobs.answers import SlotsAnswer, SlotsWish
from sitegen.studio.asked import Fault
from sitegen.studio.commission import Way
from sitegen.studio.whole import Studio

_FILE = "commissions.yaml"


def _number(values: Values) -> str:
    if not values.get("number", "").isdecimal():
        raise Fault("there is no such round")
    return values["number"]


def _sizes(studio: Studio, empty: str | None = None) -> Any:
    return picks((tier.name for tier in studio.commissions.tiers), empty=empty)


def _round(studio: Studio, values: Values) -> Sequence[Ask]:
    entry = f"rounds.{_number(values)}." if "number" in values else ""
    own = said_of("sheet round", {"tiers": {"kind": "ticks", "choices": _sizes(studio)}})
    return asks(_FILE, "rounds.*.", entry, own)


def _waits(studio: Studio, values: Values) -> Sequence[Ask]:
    """Ask for somebody who waits: one more, or one of the list by their place in the file."""
    entry = f"waiting.{_number(values)}." if "number" in values else ""
    own = said_of("sheet waits", {"tier": {"kind": "pick", "choices": _sizes(studio, "not said")}})
    found = {ask.name.removeprefix(entry): ask for ask in asks(_FILE, "waiting.*.", entry, own)}
    return [found[name] for name in own]


put_sheet("round", file=_FILE, asks=_round, into=lambda _: "rounds")
put_sheet("round_as_it_is", file=_FILE, asks=_round)
put_sheet("waits", file=_FILE, asks=_waits, into=lambda _: "waiting")
put_sheet("waits_as_it_is", file=_FILE, asks=_waits)
put_sheet(
    "source", file=_FILE, into=lambda values: f"rounds.{_number(values)}.sources",
    asks=lambda *_: asks(_FILE, "rounds.*.sources.*.", own=said_of("sheet source"), leave="numbers"),
)  # fmt: skip


# Pixels of the strip: before its weeks, above its rows, of a row, of the whole where there is room; of a week
# at least, and of a letter: of a month's name, and of the smaller ones.
_LEFT, _TOP, _ROW, _WIDE, _LEAST_WEEK, _LETTER, _SMALL = 156, 44, 30, 1120, 11.0, 7.5, 6.0
# What lies further ahead is cut off: a picture of years shows nothing.
_MOST_WEEKS = 104


def _strip(found: SlotsAnswer) -> dict[str, Any]:
    """Lay an answer's days out as on a wall calendar, in pixels: weeks from Mondays, days away, and for each
    place its days of an even chance, of 80% and of 90%."""
    answer = found.answer
    begins = answer.question.bench.first_day
    first = begins - timedelta(days=begins.weekday())
    places = (*answer.queue, *answer.new, answer.beyond)
    last = max([day for place in places for day in (place.p90, place.promised) if day], default=begins)
    weeks = min(_MOST_WEEKS, max(8, (last - first).days // 7 + 2))
    week = max(_LEAST_WEEK, (_WIDE - _LEFT) / weeks)
    width, end = _LEFT + weeks * week, first + timedelta(weeks=weeks)

    def x(day: date | None) -> float:
        return width if day is None else min(width, _LEFT + max(0, (day - first).days) * week / 7)

    def span(begin: date, until: date, name: str, letter: float) -> dict[str, Any]:
        wide, words = x(until) - x(max(first, begin)), name.split()
        while words and len(" ".join(words)) * letter > wide:
            words.pop()
        return {"x": x(begin), "width": wide, "name": " ".join(words)}

    months, day = [], first
    while day < end:
        following = (day.replace(day=1) + timedelta(days=32)).replace(day=1)
        months.append(span(day, following, f"{day:%B}", _LETTER))
        day = following
    return {
        "width": width, "height": _TOP + len(places) * _ROW + 8, "top": _TOP, "months": months,
        "weeks": [_LEFT + number * week for number in range(weeks + 1)],
        "away": [
            span(away.first_day, away.last_day + timedelta(days=1), away.why, _SMALL)
            for away in found.asked.load.bench.away if away.first_day < end
        ],
        "bars": [
            {
                "y": _TOP + row * _ROW + _ROW / 2, "days": (x(one.p50), x(one.p80), x(one.p90)),
                "name": "one too many" if one is answer.beyond else found.titles.get(one.code, one.code),
                "promised": x(one.promised) if one.promised else None,
                "kept": not one.breaks(answer.question.confidence),
            }
            for row, one in enumerate(places)
        ],
    }  # fmt: skip


@screen("/rounds", "rounds")
def _rounds(desk: Workplace, asked: Visit) -> Shown:
    if named := asked.get("round"):
        slug = jobs.one_round(desk.folder, named, desk.today).round.slug
        return RedirectResponse(f"/rounds/{quote(slug)}", 303)
    studio, found, fault = desk.read(), None, ""
    sure = (("0.5", "50%, an even chance"), ("0.8", "80%"), ("0.9", "90%"))
    own = said_of("answers.slots", {
        "confidence": {"kind": "pick", "choices": sure},
        "tier": {"kind": "pick", "choices": _sizes(studio, "most asked for")},
    })  # fmt: skip
    typed = {name: asked[name].strip() for name in own if asked.get(name, "").strip()}
    wish = replace(SlotsWish(), **typed)  # type: ignore[arg-type]
    try:
        found = answers.slots(desk.folder, wish, desk.today)
    except Fault as wrong:
        fault = str(wrong)
    known = {name: getattr(wish, name) or "" for name in own}
    line = studio.commissions.waiting
    outs = entries(desk, _FILE, (f"waiting.{number}" for number in range(len(line))), "/rounds")
    waiting = [(number, waiting, outs[number]) for number, waiting in enumerate(line)]
    return {
        "status": 200, "found": found, "strip": _strip(found) if found else None, "fault": fault,
        "asks": [replace(one, help="") for one in asks_of(SlotsWish, own, studio, known) if one.name in own],
        "rounds": jobs.rounds(desk.folder, desk.today), "waits": sheet_form(desk, "waits"),
        # Who waits longest comes first; each keeps their place in the file.
        "waiting": sorted(waiting, key=lambda each: each[1].since),
    }  # fmt: skip


@screen("/rounds/waiting/{number:int}")
def _one_waits(desk: Workplace, asked: Visit) -> Shown:
    return {"form": sheet_form(desk, "waits_as_it_is", number=asked["number"])}


@screen("/rounds/new")
def _new(desk: Workplace, _: Visit) -> Shown:
    return {"form": sheet_form(desk, "round")}


@screen("/rounds/{slug}", "round")
def _one(desk: Workplace, asked: Visit) -> Shown:
    found = jobs.one_round(desk.folder, asked["slug"], desk.today)
    name, slug, back = found.round.name, found.round.slug, f"/rounds/{quote(found.round.slug)}"
    about = {"slug": slug, "number": str(found.number)}
    draws, offers = found.round.way is Way.DRAW, found.free and found.begun
    named = found.round.sources
    outs = entries(desk, _FILE, (f"rounds.{found.number}.sources.{at}" for at in range(len(named))), back)
    return {
        "found": found, "round": found.round, "back": back,
        "facts": sheet_form(desk, "round_as_it_is", **about),
        "source": sheet_form(desk, "source", **about) if draws and not found.draw else None,
        "sources": list(zip(named, outs, strict=True)),
        "offer": form(desk, "orders.offer", round=name, back=back) if offers else None,
    }  # fmt: skip
