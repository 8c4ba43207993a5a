"""What stands in the places of the written terms: the settings, in the words of the studio's language."""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import Decimal
from typing import TYPE_CHECKING

from sitegen.studio.commission import Commissions
from sitegen.studio.delivery import DAYS_IF_NONE_STATED, DAYS_OF_SILENCE
from sitegen.studio.payment_terms import cancellation_terms, plan_terms
from sitegen.studio.payments import CancellationTerms
from sitegen.studio.plan import PlanTerms, Weekend
from sitegen.studio.settings import PaymentPlan, Settings

if TYPE_CHECKING:
    from babel import Locale

Say = Callable[..., str]
"""Says a sentence of the words by its key, its places filled in; a `count` picks the plural form."""

_MARKDOWN = re.compile(r"([\\`*\[\]<>{}]|(?<!\w)_|_(?!\w))")


def numbers(settings: Settings, commissions: Commissions, say: Say) -> dict[str, str]:
    """Say what each place stands for, by its name. Raises what `say` raises."""
    written = settings.payment_plan or PaymentPlan(deposit="30%")
    terms = plan_terms(settings.payment_plan, settings.digits)
    odd, weekend = (
        "last" if terms.largest_last else "first",
        "moves" if terms.weekend is Weekend.NEXT_WEEKDAY else "stays",
    )
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
        "instalments": _instalments(terms, settings, say),
        "weekend rule": say(f"terms.weekend_{weekend}"),
        "odd coins": say(f"terms.odd_{odd}"),
        "calling off": _calling_off(cancellation_terms(settings.payment_plan), say),
    }


def _deposit(terms: PlanTerms, settings: Settings) -> str:
    from babel.numbers import format_percent  # noqa: PLC0415 (slow to load, and most commands need none)

    if terms.deposit.percent is None:
        return _money(terms.deposit.amount, settings)
    share = terms.deposit.percent / 100
    return str(format_percent(share, locale=_locale(settings), decimal_quantization=False))


def _money(amount: Decimal, settings: Settings) -> str:
    from sitegen.studio import wording  # noqa: PLC0415 (see above)

    return wording.price(amount, settings.currency, settings.digits, _locale(settings))


def _locale(settings: Settings) -> Locale:
    from sitegen.studio import wording  # noqa: PLC0415 (see above)

    return wording.locale_of(settings.language) or wording.NEUTRAL


def _escaped(text: str) -> str:
    """Let a name from the settings stand in Markdown as it is written."""
    return _MARKDOWN.sub(r"\\\1", text)


def _instalments(terms: PlanTerms, settings: Settings, say: Say) -> str:
    """Say how many instalments a price gets; the first band says what the number is of."""
    said = []
    for place, band in enumerate(terms.bands):
        if band.up_to is None:
            said.append(say("terms.band_last" if place else "terms.band_only", count=band.instalments))
        else:
            key, limit = "terms.band" if place else "terms.band_first", _money(band.up_to, settings)
            said.append(say(key, count=band.instalments, limit=limit))
    return say("terms.band_join").join(said)


def _calling_off(terms: CancellationTerms, say: Say) -> str:
    """Say what is kept and returned when the client calls off, as `payments.call_off` works it out."""
    said = [say("terms.free", count=terms.free_days), say("terms.after_free")] if terms.free_days else []
    if not (terms.keep_deposit or terms.charge_work):
        return say("terms.kept_nothing")
    if not terms.charge_work:
        said.append(say("terms.kept_deposit"))
    else:
        said.append(say("terms.kept_larger" if terms.keep_deposit else "terms.kept_work"))
        said.append(say("terms.claimed" if terms.claim_missing else "terms.not_claimed"))
    return " ".join(said)
