"""Greet, and say why somebody gets a letter."""

from __future__ import annotations

import re

from sitegen.letters.headers import clean
from sitegen.studio.person import Consent, Person
from sitegen.voice.voice import Voice

_LONGEST_EVIDENCE = 160


def is_name(name: str) -> bool:
    """Tell whether somebody can be greeted by this; an address, a number or a mark is no name."""
    words = clean(name)
    return bool(words) and len(words) <= 60 and not re.search(r"[@/\\<>{}\[\]|=\d]", words)


def greeting(name: str, voice: Voice) -> str:
    """Greet by name; without one, or with something that is no name, greet all the same."""
    say = voice.words.plain
    return say("mail.greeting", name=clean(name)) if is_name(name) else say("mail.hello")


_BECAUSE = {
    Consent.WEB: "web",
    Consent.SHOW_SHEET: "show_sheet",
    Consent.IN_PERSON: "in_person",
    Consent.PURCHASE: "purchase",
}


def because(person: Person, voice: Voice) -> str:
    """Tell a person how they came to get this letter, from their own row of the list."""
    how = _BECAUSE.get(person.consent, "listed") if person.consent else "listed"
    noted = clean(person.evidence)[:_LONGEST_EVIDENCE].rstrip(" .;,")
    since = voice.tongue.full_day(person.joined) if person.joined else ""
    details = "; ".join(part for part in (noted, since) if part)
    return voice.words.plain(f"mail.because.{how}", details=f" ({details})" if details else "")
