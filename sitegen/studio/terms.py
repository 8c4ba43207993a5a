"""The written terms: filled from the settings, kept as versions, and compared with what was kept or planned.

A page of terms is Markdown with places like `{deposit}`; `numbers` says what stands there, from the same
settings that `plan` and the queue work with, so text and arithmetic can't part ways. A version is
the filled text as it was on a day; the places are gone from it, so no later change of a setting can reach it.

Whether a plan is the one that printed terms speak of is known in two ways. Where they are today's terms, the
settings say it exactly. Beyond that their words are read: a percentage beside the word deposit, a number
before the word instalments. Words that say it otherwise aren't understood; then nothing is claimed.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from sitegen.studio import money
from sitegen.studio.commission import Commissions
from sitegen.studio.delivery import DAYS_IF_NONE_STATED, DAYS_OF_SILENCE
from sitegen.studio.order_lines import AcceptedTerms, in_order
from sitegen.studio.plan import CallingOff, PaymentPlan, Plan, Weekend, deposit_percent, make
from sitegen.studio.settings import Settings
from sitegen.studio.whole import KeptTerms, Page, Studio

# The pages that are kept as versions, both under one name each time.
PAGES = ("commission-terms", "payment-terms")
# A backslash makes a brace an ordinary one, as everywhere in Markdown.
_PLACE = re.compile(r"(?<!\\)\{([^{}]*)\}")
_LINK = re.compile(r"\]\((?:\./)?(commission|payment)-terms(?:\.md|/)?(#[^)\s]*)?\)")


Fact = tuple[str, str | int]
"""What is agreed on beside the price, by its name (height, materials …); a number is millimetres."""


@dataclass(frozen=True)
class Agreed:
    """One agreement, with one client's details and nobody else's."""

    code: str
    work: str
    commission: bool  # False for a finished piece that is paid for in parts
    plan: Plan
    terms: tuple[KeptTerms, ...]
    accepted: AcceptedTerms | None = None  # None while nobody has accepted; the terms are then those in force
    client: str = field(default="", repr=False)
    ready_by: date | None = None
    facts: tuple[Fact, ...] = ()
    own_plan: bool = False  # True where deposit or instalments aren't those of the terms


def fill(text: str, values: Mapping[str, str]) -> str:
    """Put the numbers into a text; a place that nothing is known of stays as it is."""
    return _PLACE.sub(lambda place: values.get(_named(place[1]), place[0]), text)


def places(text: str) -> list[tuple[int, str]]:
    """List the places of a text with their lines, counted from 1."""
    return [(text.count("\n", 0, place.start()) + 1, _named(place[1])) for place in _PLACE.finditer(text)]


def _named(written: str) -> str:
    return " ".join(written.lower().split())


def filled(studio: Studio) -> tuple[Page, ...]:
    """Return the artist's pages, those of the terms with their numbers."""
    return tuple(
        replace(page, text=fill(page.text, studio.numbers)) if page.name in PAGES else page
        for page in studio.pages
    )


def versions(studio: Studio) -> tuple[str, ...]:
    """Name the kept versions, oldest first."""
    return in_order({kept.version for kept in studio.kept_terms})


def of_version(studio: Studio, version: str) -> tuple[KeptTerms, ...]:
    """Return the texts of one version, the commission's before the payment's."""
    found = {kept.name: kept for kept in studio.kept_terms if kept.version == version}
    return tuple(found[name] for name in PAGES if name in found)


def changed(studio: Studio) -> tuple[str, ...]:
    """Name the pages of terms whose text or numbers aren't those of the newest version."""
    newest = next(reversed(versions(studio)), None)
    now = {page.name: _words(page.title, page.text) for page in filled(studio) if page.name in PAGES}
    if newest is None:
        return tuple(name for name in PAGES if name in now)
    kept = {page.name: _words(page.title, page.text) for page in of_version(studio, newest)}
    return tuple(name for name in PAGES if now.get(name) != kept.get(name))


def current(studio: Studio) -> str | None:
    """Name the version that is in force; None if none is kept, or the text or a number changed since."""
    return None if changed(studio) else next(reversed(versions(studio)), None)


def _words(title: str, text: str) -> list[str]:
    """Compare by words: how lines are broken changes nothing that was agreed on."""
    return f"{title}\n{text}".split()


def linked_within(text: str, version: str) -> str:
    """Let one kept text lead to the other one of the same version, not to today's."""
    return _LINK.sub(lambda link: f"](terms/{link[1]}/{version}{link[2] or ''})", text)


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


def differs(studio: Studio, plan: Plan, printed: Iterable[KeptTerms], current: str | None) -> bool:
    """Tell whether a plan's deposit or instalments aren't those of the terms that are printed with it.

    `current` is the version that today's terms are (`terms.current`).
    """
    kept = tuple(printed)
    todays = any(page.version == current for page in kept)
    unlike = todays and _unlike_settings(studio, plan)
    return unlike or _unlike_words(" ".join(page.text for page in kept), plan)


def _unlike_settings(studio: Studio, plan: Plan) -> bool:
    try:
        usual = make(plan.price, plan.parts[0].anchor, plan.digits, studio.settings.paying)
    except ValueError:
        return True  # by the terms alone there would be no plan for this price
    return (usual.deposit, usual.instalments) != (plan.deposit, plan.instalments)


def _unlike_words(text: str, plan: Plan) -> bool:
    shares = [
        share
        for sentence in _SENTENCE.split(text)
        if _DEPOSIT.search(sentence)
        for found in _PERCENT.finditer(sentence)
        if (share := Decimal(found[1].replace(",", "."))) <= 100
    ]
    if shares and all(money.share(plan.price, share, plan.digits) != plan.deposit for share in shares):
        return True
    count = plan.instalments
    bands = [int(number) for number in _BANDS.findall(text)]
    if bands and count not in bands:
        return True
    said = [
        (bool(found[1]), int(found[2]) if found[2].isdigit() else _NUMBERS[found[2].lower()])
        for found in _INSTALMENTS.finditer(" ".join(text.split()))
    ]
    return any(at_most and count > number for at_most, number in said) or (
        bool(said) and not any(at_most or number in {count, 1} for at_most, number in said)
    )


if TYPE_CHECKING:
    from babel import Locale

Say = Callable[..., str]
"""Says a sentence of the words by its key, its places filled in; a `count` picks the plural form."""

_MARKDOWN = re.compile(r"([\\`*\[\]<>{}]|(?<!\w)_|_(?!\w))")


def numbers(settings: Settings, commissions: Commissions, say: Say) -> dict[str, str]:
    """Say what each place stands for, by its name. Raises what `say` raises."""
    terms = settings.paying
    odd = "last" if terms.largest_last else "first"
    weekend = "moves" if terms.weekend is Weekend.NEXT_WEEKDAY else "stays"
    return {
        "deposit": _deposit(terms, settings),
        "most instalments": str(max(band.instalments for band in terms.steps)),
        "smallest part": _money(terms.smallest_part, settings),
        "grace days": str(terms.grace_days),
        "end days": str(terms.end_days),
        "refund days": str(terms.refund_days),
        "free days": str(terms.calling_off.free_days),
        "offer days": str(commissions.offer_days),
        "days without a date": str(DAYS_IF_NONE_STATED),
        "days of silence": str(DAYS_OF_SILENCE),
        "currency": settings.currency,
        # A name from the settings stands in Markdown as it's written.
        **{name: _MARKDOWN.sub(r"\\\1", getattr(settings, name)) for name in ("maker", "studio", "contact")},
        "instalments": _instalments(terms, settings, say),
        "weekend rule": say(f"terms.weekend_{weekend}"),
        "odd coins": say(f"terms.odd_{odd}"),
        "calling off": _calling_off(terms.calling_off, say),
    }


def _deposit(terms: PaymentPlan, settings: Settings) -> str:
    from babel.numbers import format_percent  # noqa: PLC0415 (slow to load, and most commands need none)

    percent = deposit_percent(terms.deposit)
    if percent is None:
        return _money(money.read_amount(terms.deposit, settings.digits), settings)
    return str(format_percent(percent / 100, locale=_locale(settings), decimal_quantization=False))


def _money(amount: Decimal, settings: Settings) -> str:
    from sitegen.studio import wording  # noqa: PLC0415 (see above)

    return wording.price(amount, settings.currency, settings.digits, _locale(settings))


def _locale(settings: Settings) -> Locale:
    from sitegen.studio import wording  # noqa: PLC0415 (see above)

    return wording.locale_of(settings.language) or wording.NEUTRAL


def _instalments(terms: PaymentPlan, settings: Settings, say: Say) -> str:
    """Say how many instalments a price gets; the first band says what the number is of."""
    said = []
    for place, band in enumerate(terms.steps):
        if band.up_to is None:
            said.append(say("terms.band_last" if place else "terms.band_only", count=band.instalments))
        else:
            key, limit = "terms.band" if place else "terms.band_first", _money(band.up_to, settings)
            said.append(say(key, count=band.instalments, limit=limit))
    return say("terms.band_join").join(said)


def _calling_off(terms: CallingOff, say: Say) -> str:
    """Say what is kept and returned when the client calls off, as `plan.call_off` works it out."""
    said = [say("terms.free", count=terms.free_days), say("terms.after_free")] if terms.free_days else []
    if not (terms.keep_deposit or terms.charge_work):
        return say("terms.kept_nothing")
    if not terms.charge_work:
        said.append(say("terms.kept_deposit"))
    else:
        said.append(say("terms.kept_larger" if terms.keep_deposit else "terms.kept_work"))
        said.append(say("terms.claimed" if terms.claim_missing else "terms.not_claimed"))
    return " ".join(said)
