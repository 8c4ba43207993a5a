"""The written terms: filled from the settings, kept as versions, compared with what was kept.

A page of terms is Markdown with places like `{deposit}`; `numbers` says what stands there. The same settings
are what `plan`, `payments` and the queue work with, so text and arithmetic can't part ways. A version is the
filled text as it was on a day; the places are gone from it, so no later change of a setting can reach it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING

from sitegen.studio import term_sentences as sentences
from sitegen.studio.commission import Commissions
from sitegen.studio.delivery import DAYS_IF_NONE_STATED, DAYS_OF_SILENCE
from sitegen.studio.payment_terms import cancellation_terms, plan_terms
from sitegen.studio.plan import PlanTerms
from sitegen.studio.settings import PaymentPlan, Settings
from sitegen.studio.term_versions import in_order
from sitegen.studio.whole import KeptTerms, Page, Studio

if TYPE_CHECKING:
    from babel import Locale

# The pages that are kept as versions, both under one name each time.
PAGES = ("commission-terms", "payment-terms")
# A backslash makes a brace an ordinary one, as everywhere in Markdown.
_PLACE = re.compile(r"(?<!\\)\{([^{}]*)\}")
# Places that a whole sentence stands in, or words of the language.
SENTENCES = frozenset({"instalments", "weekend rule", "odd coins", "calling off"})
_MARKDOWN = re.compile(r"([\\`*\[\]<>{}]|(?<!\w)_|_(?!\w))")
_LINK = re.compile(r"\]\((?:\./)?(commission|payment)-terms(?:\.md|/)?(#[^)\s]*)?\)")


def numbers(settings: Settings, commissions: Commissions) -> dict[str, str]:
    """Say what each place stands for, by its name. Sentences come in English where there are none."""
    written = settings.payment_plan or PaymentPlan(deposit="30%")
    terms = plan_terms(settings.payment_plan, settings.digits)
    own = sentences.BY_LANGUAGE.get(_language(settings), sentences.ENGLISH)
    bands = [(band.instalments, _limit(band.up_to, settings)) for band in terms.bands]
    return {
        "deposit": _deposit(terms, settings),
        "most instalments": str(max(band.instalments for band in terms.bands)),
        "smallest part": _money(terms.smallest_part, settings),
        "grace days": str(terms.grace_days),
        "end days": str(written.end_days),
        "refund days": str(written.refund_days),
        "free days": str(written.calling_off.free_days),
        "offer days": str(commissions.offer_days),
        "days without a date": str(DAYS_IF_NONE_STATED),
        "days of silence": str(DAYS_OF_SILENCE),
        "currency": settings.currency,
        **{name: _escaped(str(getattr(settings, name))) for name in ("maker", "studio", "contact")},
        "instalments": sentences.instalments(own, bands),
        "weekend rule": sentences.weekend_rule(own, terms),
        "odd coins": sentences.odd_coins(own, terms),
        "calling off": sentences.calling_off(own, cancellation_terms(settings.payment_plan)),
    }


def sentences_missing(settings: Settings) -> bool:
    """Tell whether the studio's language has no sentences, so that English ones stand in for them."""
    return _language(settings) not in sentences.BY_LANGUAGE


def _language(settings: Settings) -> str:
    return settings.language.replace("_", "-").split("-")[0].lower()


def _deposit(terms: PlanTerms, settings: Settings) -> str:
    from babel.numbers import format_percent  # noqa: PLC0415 (slow to load, and most commands need none)

    if terms.deposit.percent is None:
        return _money(terms.deposit.amount, settings)
    share = terms.deposit.percent / 100
    return str(format_percent(share, locale=_locale(settings), decimal_quantization=False))


def _limit(up_to: Decimal | None, settings: Settings) -> str | None:
    return None if up_to is None else _money(up_to, settings)


def _money(amount: Decimal, settings: Settings) -> str:
    from sitegen.studio import wording  # noqa: PLC0415 (see above)

    return wording.price(amount, settings.currency, settings.digits, _locale(settings))


def _locale(settings: Settings) -> Locale:
    from sitegen.studio import wording  # noqa: PLC0415 (see above)

    return wording.locale_of(settings.language) or wording.NEUTRAL


def _escaped(text: str) -> str:
    """Let a name from the settings stand in Markdown as it is written."""
    return _MARKDOWN.sub(r"\\\1", text)


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
    if not any(page.name in PAGES for page in studio.pages):
        return studio.pages
    values = numbers(studio.settings, studio.commissions)
    return tuple(
        replace(page, text=fill(page.text, values)) if page.name in PAGES else page for page in studio.pages
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
    kept = {one.name: _words(one.title, one.text) for one in of_version(studio, newest)}
    return tuple(name for name in PAGES if now.get(name) != kept.get(name))


def current(studio: Studio) -> str | None:
    """Name the version that is in force; None if none is kept, or the text or a number changed since."""
    return None if changed(studio) else next(reversed(versions(studio)), None)


def _words(title: str, text: str) -> list[str]:
    """Compare by words: how lines are broken changes nothing that was agreed on."""
    return f"{title}\n{text}".split()


def as_kept(page: Page) -> str:
    """Write a filled page as its kept file holds it."""
    return f"# {page.title}\n\n{page.text}"


def linked_within(text: str, version: str) -> str:
    """Let one kept text lead to the other one of the same version, not to today's."""
    return _LINK.sub(lambda link: f"](terms/{link[1]}/{version}{link[2] or ''})", text)
