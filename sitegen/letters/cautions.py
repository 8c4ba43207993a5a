"""What should be checked before posting: what the rules ask, what the letter points at, what it promises."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import date, timedelta
from decimal import Decimal
from html import unescape
from pathlib import Path
from urllib.parse import unquote, urlsplit

from sitegen.studio.asked import LetterFault
from sitegen.studio.mailing import Choice
from sitegen.studio.money import plain
from sitegen.studio.person import Consent
from sitegen.studio.public import FrontOfHouse, RoundState
from sitegen.studio.text import counted

# Canada asks for 60 days (s. 6(3), 11(2)), the US for 30 (15 U.S.C. 7704(a)(3)(A)(ii)): the longer holds.
REACHABLE_DAYS = 60
# 15 U.S.C. 7704(a)(4)(A) and S.C. 2010 c. 23 s. 11(3).
LEAVING_BUSINESS_DAYS = 10

PROOF = "you must be able to show how each agreed (GDPR Art. 7(1); Canada s. 13)"
PURCHASE = (
    "write about your own similar work, and only if they could refuse when they bought (Directive 2002/58/EC "
    "Art. 13(2)); it ends after two years (Canada)"
)

# Words that promise nothing.
_FILLERS = {"another", "others"}

NOT_ADVICE = (
    "This is a checklist, not legal advice; the rules where you and your readers live may ask for more."
)


def cautions(subject: str, text: str, choice: Choice, contact: str, today: date) -> tuple[str, ...]:
    """Say what only the artist can check, with the figures at hand."""
    keep_until = today + timedelta(days=REACHABLE_DAYS)
    latest = business_days_after(today, LEAVING_BUSINESS_DAYS)
    said = set(_telling_words(text))
    missing = ", ".join(word for word in dict.fromkeys(_telling_words(subject)) if word not in said)
    asked = [f"The subject says {missing}, but the letter doesn't. Is that right?"] if missing else []
    if bare := [reader.person.line for reader in choice.chosen if not reader.person.evidence.strip()]:
        people = counted(len(bare), "person has", "people have")
        asked.append(f"{people} no evidence noted: {PROOF}. The first: line {bare[0]} of people.csv.")
    if bought := sum(reader.person.consent is Consent.PURCHASE for reader in choice.chosen):
        people = counted(bought, "person has", "people have")
        asked.append(f"{people} only a purchase as consent: {PURCHASE}.")
    return (
        *asked,
        "Subject and letter say the same (US, Canada); only you can judge that.",
        f"You will read {contact} until {keep_until} at least (Canada: {REACHABLE_DAYS} days; US: 30).",
        f"Whoever asks to leave gets no letter {LEAVING_BUSINESS_DAYS} business days later (US, Canada): for "
        f"a request made today that is {latest}, holidays not counted. At once is better.",
    )


def kept(choice: Choice, contact: str, *, asks: bool = False) -> tuple[str, ...]:
    """Say what of the rules a letter keeps by itself; one that `asks` goes to who never confirmed."""
    count = len(choice.chosen)
    shows = "a row that says where their address comes from" if asks else "a row that says how they agreed"
    out = "complained or was asked since they signed" if asks else "complained or never confirmed"
    return (
        f"Sender and replies: your own name and {contact} (US: 15 U.S.C. 7704(a)(1)).",
        "Your postal address stands in each letter (US, Canada).",
        "Each letter says why its reader gets it, and has a way out that works by one reply and costs "
        "nothing (US, Canada, EU).",
        f"{'The one recipient has' if count == 1 else f'All {count} recipients have'} {shows}; "
        f"nobody who left, bounced, {out} is among them (EU, Canada).",
    )


def business_days_after(day: date, count: int) -> date:
    """Count Monday to Friday onwards from `day`, which isn't counted itself; holidays aren't known."""
    while count:
        day += timedelta(days=1)
        count -= day.weekday() < 5
    return day


def _telling_words(text: str) -> list[str]:
    """Pick out what a reader would hold the writer to: numbers, and words longer than a filler."""
    words = re.findall(r"\w+", text.casefold())
    return [word for word in words if word.isdigit() or (len(word) > 4 and word not in _FILLERS)]


_LINK = re.compile(r"""\s(?:href|src)\s*=\s*(["'])(.*?)\1""", re.IGNORECASE)


def own_links(letter: Path, site: str, built: Path) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the addresses below `site` in a letter.html, and those for which the built site has no file."""
    found = (unescape(link) for _, link in _LINK.findall(letter.read_text(encoding="utf-8")))
    ours = tuple(link for link in dict.fromkeys(found) if link.startswith(site))
    below = {link: unquote(urlsplit(link).path.removeprefix(urlsplit(site).path)) for link in ours}
    missing = (
        link
        for link, path in below.items()
        if not (built / (path if path and not path.endswith("/") else f"{path}index.html")).is_file()
    )
    return ours, tuple(missing)


GONE = "no longer there"


def fact(front: FrontOfHouse, thing: str) -> str:
    """Say how a thing stands that a letter promises, by its kind and name: `piece moth-usher`."""
    kind, _, name = thing.partition(" ")
    return _NOW[kind](front, name)


def _piece(front: FrontOfHouse, slug: str) -> str:
    piece = front.piece(slug)
    price = piece and piece.price is not None and f", {plain(piece.price, front.card.digits)}"
    return f"{piece.status}{price or ''}" if piece else GONE


def _round(front: FrontOfHouse, slug: str) -> str:
    held = front.round_called(slug)
    if held is None or held.state is RoundState.CLOSED:
        return "closed" if held else GONE
    tiers = "; ".join(f"{tier.name} from {plain(tier.from_price, front.card.digits)}" for tier in held.tiers)
    closes = f", closes {held.closes.isoformat()}" if held.closes else ""
    return f"opens {held.opens.isoformat()}{closes}, {held.slots} slots, {held.way}, {tiers}"


def _early(front: FrontOfHouse, slug: str) -> str:
    """Say whether a head start still means anything."""
    held = front.round_called(slug)
    return "not yet open to all" if held and held.state is RoundState.COMING else "open to all, or over"


def _show(front: FrontOfHouse, slug: str) -> str:
    show = front.show(slug)
    if show is None:
        return GONE
    if not show.coming or not show.open:
        return str(show.attendance) if show.coming else "over"
    there = f"table {show.table}"
    if show.is_class:
        fee = "none" if show.fee is None else plain(show.fee, front.card.digits)
        there = f"fee {fee}, {show.places} places, {show.includes}"
    return f"{show.first_day} to {show.last_day}, {show.hours}, {show.venue}, {there}"


_NOW: dict[str, Callable[[FrontOfHouse, str], str]] = {
    "notice": lambda *_: "her own words", "piece": _piece, "round": _round, "early": _early, "show": _show,
    "class": _show,
}  # fmt: skip


def told_prices(facts: Mapping[str, str], tiers: Iterable[str]) -> Iterator[tuple[str, Decimal]]:
    """Yield what a letter told prices of: a piece's folder, or a tier's name, and the price."""
    for thing, said in facts.items():
        kind, _, name = thing.partition(" ")
        told = {"piece": {name: ", "}, "round": {tier: f"[,;] {re.escape(tier)} from " for tier in tiers}}
        for of, before in told.get(kind, {}).items():
            if found := re.search(rf"{before}([0-9]+(?:\.[0-9]+)?)(?:;|$)", said):
                yield of, Decimal(found[1])


def refuse_if_untrue(facts: Mapping[str, str], front: FrontOfHouse) -> None:
    """Stop a letter whose promises no longer hold: a piece sold since, a round moved.

    Raises LetterFault with every difference.
    """
    changed = [
        f"{thing} was '{was}' when the letter was made and is now '{now}'"
        for thing, was in facts.items()
        if (now := fact(front, thing)) != was
    ]
    if changed:
        raise LetterFault(f"{'; '.join(changed)}. Make the letter again before posting it")
