"""Whether a plan of payments is the one that the terms printed with it speak of.

What the terms say is known in two ways. Where they are today's terms, the settings they were filled from say
it exactly. Beyond that their words are read: a percentage beside the word deposit, a number before the word
instalments. Words that say it otherwise aren't understood; then nothing is claimed.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from decimal import Decimal

from sitegen.studio import money
from sitegen.studio.payment_terms import plan_terms
from sitegen.studio.plan import PartKind, Plan, make
from sitegen.studio.whole import KeptTerms, Studio

_SENTENCE = re.compile(r"(?<=[.!?:;])\s+|\n\s*\n|\n\s*[-*]\s")
_DEPOSIT = re.compile(r"\bdeposit|\bAnzahlung", re.IGNORECASE)
_PERCENT = re.compile(r"([0-9]{1,3}(?:[.,][0-9]{1,4})?)\s*(?:%|per ?cent\b|Prozent\b)", re.IGNORECASE)
_NUMBERS = {
    word: number
    for words in (
        "one two three four five six seven eight nine ten eleven twelve",
        "einer zwei drei vier fünf sechs sieben acht neun zehn elf zwölf",
    )
    for number, word in enumerate(words.split(), start=1)
}
_INSTALMENTS = re.compile(
    rf"(at most |up to |no more than |höchstens |bis zu |maximal )?\b([0-9]{{1,2}}|{'|'.join(_NUMBERS)}) "
    r"(?:monthly |equal |further |gleich(?:e|en) |monatliche[nr]? |weitere[nr]? )*(?:instal+ments?|Raten?)\b",
    re.IGNORECASE,
)
# The bands as the settings are filled in: "2 for a price up to €300, 3 up to €600, 4 above that".
_BANDS = re.compile(
    r"\b([0-9]{1,2})(?= (?:for a price )?up to | above that|, whatever the price| (?:bei einem Preis )?bis "
    r"| darüber|, gleich bei welchem Preis)"
)


def instalments_of(plan: Plan) -> int:
    """Count the parts after the deposit."""
    return sum(1 for part in plan.parts if part.kind is PartKind.INSTALMENT)


def differs(studio: Studio, plan: Plan, printed: Iterable[KeptTerms], current: str | None) -> bool:
    """Tell whether a plan's deposit or instalments aren't those of the terms that are printed with it.

    `current` is the version that today's terms are (`terms.current`).
    """
    kept = tuple(printed)
    text = " ".join(one.text for one in kept)
    todays = any(one.version == current for one in kept)
    return (todays and _unlike_settings(studio, plan)) or _unlike_words(text, plan)


def _unlike_settings(studio: Studio, plan: Plan) -> bool:
    digits = studio.settings.digits
    try:
        usual = make(
            plan.price, plan.parts[0].anchor, digits, plan_terms(studio.settings.payment_plan, digits)
        )
    except ValueError:
        return True  # by the terms alone there would be no plan for this price
    return (usual.deposit, instalments_of(usual)) != (plan.deposit, instalments_of(plan))


def _unlike_words(text: str, plan: Plan) -> bool:
    shares = [
        share
        for sentence in _SENTENCE.split(text)
        if _DEPOSIT.search(sentence)
        for share in _shares(sentence)
    ]
    if shares and all(money.share(plan.price, share, plan.digits) != plan.deposit for share in shares):
        return True
    count = instalments_of(plan)
    bands = [int(number) for number in _BANDS.findall(text)]
    if bands and count not in bands:
        return True
    said = [(bool(found[1]), _number(found[2])) for found in _INSTALMENTS.finditer(" ".join(text.split()))]
    return any(at_most and count > number for at_most, number in said) or (
        bool(said) and not any(at_most or number in {count, 1} for at_most, number in said)
    )


def _shares(sentence: str) -> Iterator[Decimal]:
    for found in _PERCENT.finditer(sentence):
        share = Decimal(found[1].replace(",", "."))
        if share <= 100:
            yield share


def _number(word: str) -> int:
    return int(word) if word.isdigit() else _NUMBERS[word.lower()]
