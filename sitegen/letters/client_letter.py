"""What one letter to one client says: its facts as values, then the theme's sentences, filled in."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from enum import StrEnum
from typing import Any

from sitegen.letters.headers import clean
from sitegen.letters.personal import is_name
from sitegen.studio.fault import LetterFault
from sitegen.studio.public import PublicStudio
from sitegen.studio.text import slug
from sitegen.voice.theme_files import ThemeFiles
from sitegen.voice.voice import open_voice
from sitegen.voice.words import read_tree


class Matter(StrEnum):
    """What a letter to a client is about; the theme has a block of sentences for each."""

    OFFER = "offer"
    CONFIRMATION = "confirmation"
    """Straight after the yes: everything agreed on, and how to pay."""
    LAPSED = "lapsed"
    DECLINED = "declined"
    AHEAD = "payment ahead"
    """A part that will be due soon; nobody is reminded of anything."""
    DUE = "payment due"
    """A part that is due and still within the days of grace."""
    REMINDER = "reminder"
    """A part that is late."""
    FINISHED = "finished"
    CALLED_OFF = "called off"
    DELAY = "delay"
    """A new day that stands if the client says nothing (16 CFR 435.2(b)(1)(ii))."""
    LONG_DELAY = "long delay"
    """A new day that needs the client's yes, or none at all (16 CFR 435.2(b)(1)(iii))."""
    RENEWED_DELAY = "renewed delay"
    """Put off again: any further day needs a yes (16 CFR 435.2(b)(2))."""


# What may hold of an order, by the names that a theme's `when:` uses.
CIRCUMSTANCES = frozenset({
    "by_client", "by_maker", "by_nobody", "due", "due_today", "kept_all", "kept_none", "kept_part", "late",
    "no_day", "nothing_typed", "overdue", "owed_in_part", "owed_in_whole", "plan_floats", "postage_extra",
    "postage_included", "sent_in_part", "sent_in_whole", "timely", "typed", "unpaid", "paid",
})  # fmt: skip


@dataclass(frozen=True, slots=True)
class Due:
    """One part of a payment plan."""

    day: date
    amount: Decimal
    standing: str
    """paid, to come, due or late; the theme says it in its own words."""


@dataclass(frozen=True, slots=True)
class LetterClient:
    """Who the letter is for."""

    code: str
    tier: str
    name: str = field(repr=False)
    email: str = field(repr=False)


@dataclass(frozen=True, slots=True)
class ClientLetter:
    """What one letter to one client says."""

    matter: Matter
    client: LetterClient
    days: Mapping[str, date] = field(default_factory=dict)
    """Days named in the sentences, by place; each can be named as a month too, as {promised_month}."""
    sums: Mapping[str, Decimal] = field(default_factory=dict)
    """Amounts named in the sentences, by place: price, postage, owed, balance, paid, kept, …"""
    texts: Mapping[str, str] = field(default_factory=dict)
    """The artist's words and facts named in the sentences: why, brief, includes, how_to_pay, …"""
    holds: frozenset[str] = frozenset()
    """Which of the CIRCUMSTANCES hold."""
    parts: tuple[Due, ...] = ()
    note: str = ""
    """The artist's own words, in Markdown."""
    remarks: tuple[str, ...] = ()
    """What the artist should know before posting it."""
    lengths: Mapping[str, int] = field(default_factory=dict)
    """Lengths named in the sentences, in millimetres: height."""


_PLACE = re.compile(r"\{([a-z_]+)\}")
# What not every order has: a paragraph or fact that names it is left out where it's missing.
_NOT_ALWAYS = frozenset({
    "accepted", "brief", "claimed", "deposit", "first_promise", "height", "how_to_pay",
    "includes", "new_day", "paid", "postage", "price", "promised", "promised_month", "sent", "terms",
    "terms_address", "terms_on", "until", "why",
})  # fmt: skip


class ClientWords:
    """What a letter says, in the theme's words."""

    def __init__(self, theme: ThemeFiles, card: PublicStudio, letter: ClientLetter) -> None:
        self._letter = letter
        self._shown, tree = read_tree(theme, card.language)
        said = tree.get("client")
        if not isinstance(said, Mapping):
            raise LetterFault(
                f"{self._shown} has no block `client:` with the words for letters about an order"
            )
        self._said: Mapping[str, Any] = said
        self.voice = open_voice(theme, card)
        tongue = self.voice.tongue
        self._places = {
            "code": letter.client.code, "tier": clean(letter.client.tier), "maker": clean(card.maker),
            "studio": clean(card.studio), "name": clean(letter.client.name),
            **{name: clean(text) for name, text in letter.texts.items()},
            **{name: tongue.full_day(day) for name, day in letter.days.items()},
            **{f"{name}_month": tongue.month(day) for name, day in letter.days.items()},
            **{name: tongue.money(amount) for name, amount in letter.sums.items()},
            **{name: tongue.priced(amount) for name, amount in letter.sums.items() if name == "price"},
            **{name: tongue.length(millimetres) for name, millimetres in letter.lengths.items()},
        }  # fmt: skip

    def greeting(self) -> str:
        """Greet by name; without one, or with something that is no name, greet all the same."""
        return self._say(self._one("greeting" if is_name(self._letter.client.name) else "hello"))

    def because(self) -> str:
        """Say why this client gets this letter."""
        return self._say(self._one("because"))

    def values(self) -> dict[str, Any]:
        """Return what the template holds."""
        block = self._block(slug(self._letter.matter).replace("-", "_"))
        opening, closing = (self._paragraphs(block.get(name, {})) for name in ("opening", "closing"))
        subject = self._say(str(block.get("subject", "")))
        facts_title = str(block.get("facts_title", ""))
        return {
            "letter_subject": subject,
            "letter_preheader": opening[0] if opening else subject,
            "opening": opening,
            "facts_title": facts_title,
            "facts": self._facts() if facts_title else [],
            "plan_title": self._one("plan") if self._letter.parts else "",
            "parts": [
                (part.day, part.amount, self._one(f"standing_{slug(part.standing).replace('-', '_')}"))
                for part in self._letter.parts
            ],
            "closing": closing,
        }

    def _facts(self) -> list[tuple[str, str]]:
        """Fill in what was offered or agreed on, as label and text."""
        found = []
        for fact in self._block("facts").values():
            if not isinstance(fact, Mapping) or not {"label", "say"} <= fact.keys():
                raise LetterFault(
                    f"{self._shown}: each fact under 'client.facts' has a `label:` and a `say:`"
                )
            found += [(str(fact["label"]), text) for text in self._paragraphs([fact])]
        return found

    def _paragraphs(self, written: Any) -> list[str]:
        """Fill in what holds of this order; what names a thing that not every order has may be left out."""
        listed: Iterable[Any] = written.values() if isinstance(written, Mapping) else written
        missing = {name for name in _NOT_ALWAYS if not self._places.get(name)}
        said = [text for listing in listed if (text := self._when(listing))]
        return [self._say(text) for text in said if missing.isdisjoint(_PLACE.findall(text))]

    def _when(self, written: Any) -> str:
        """Return a paragraph's text; nothing where its `when:` doesn't hold of this order."""
        if not isinstance(written, Mapping):
            return str(written)
        when = str(written.get("when", "")).split()
        if unknown := [name for name in when if name not in CIRCUMSTANCES]:
            known = ", ".join(sorted(CIRCUMSTANCES))
            raise LetterFault(f"{self._shown}: `when: {unknown[0]}` is none of {known}")
        return str(written.get("say", "")) if self._letter.holds.issuperset(when) else ""

    def _say(self, sentence: str) -> str:
        return _PLACE.sub(lambda place: self._place(place[1]), sentence)

    def _place(self, name: str) -> str:
        if name not in self._places:
            known = ", ".join("{" + place + "}" for place in sorted(self._places))
            raise LetterFault(
                f"{self._shown}: the letter '{self._letter.matter}' asks for {{{name}}}; there is {known}"
            )
        return self._places[name]

    def _one(self, key: str) -> str:
        found = self._said.get(key)
        if not isinstance(found, str):
            raise LetterFault(f"{self._shown}: the words for 'client.{key}' are missing; add a line for them")
        return found

    def _block(self, key: str) -> Mapping[str, Any]:
        found = self._said.get(key)
        if not isinstance(found, Mapping):
            raise LetterFault(
                f"{self._shown}: the words for 'client.{key}' are missing; add a block for them"
            )
        return found
