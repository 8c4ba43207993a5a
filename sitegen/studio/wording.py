"""Money and lengths in the studio's language, said alike on the site, in letters and on paper.

Babel (CLDR) writes; the studio says in which currency and with how many minor digits, since CLDR and
ISO 4217 differ there.
"""

import re
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache

from babel import Locale, UnknownLocaleError
from babel.numbers import format_currency

from sitegen.studio import money

NEUTRAL = Locale("en")
"""English without a country: where CLDR would be American, day before month and 24 hours are used."""
MM_PER_INCH = Fraction(254, 10)
_QUARTERS = ("", "¼", "½", "¾")


def locale_of(language: str) -> Locale | None:
    """Find the locale of a language tag like `en`, `pt-BR` or `en_IE`; None if CLDR doesn't know it."""
    try:
        return Locale.parse(language.strip().replace("_", "-"), sep="-")
    except (ValueError, UnknownLocaleError):
        return None


def price(amount: Decimal, currency: str, digits: int, locale: Locale) -> str:
    """Write an amount with its currency; a round sum loses its empty decimals, as on any price tag."""
    round_sum = amount == amount.to_integral_value()
    return exact_price(amount, currency, 0 if round_sum else digits, locale)


@lru_cache(maxsize=4096)
def exact_price(amount: Decimal, currency: str, digits: int, locale: Locale) -> str:
    """Write an amount with its currency to so many decimals, as an agreement must."""
    usual = str(locale.currency_formats["standard"].pattern)
    pattern = re.sub(r"0(\.0+)?", "0." + "0" * digits if digits else "0", usual)
    rounded = money.round_half_up(amount, digits)
    written = str(format_currency(rounded, currency, pattern, locale=locale, currency_digits=False))
    # CLDR sets a currency's letters apart from the number; Babel leaves that out.
    return re.sub(r"(?<=[A-Za-z])(?=[0-9])", "\N{NO-BREAK SPACE}", written)


def inches(millimetres: int) -> str:
    """Write a length in inches to the nearest quarter, without the unit."""
    whole, quarter = divmod(round(millimetres / MM_PER_INCH * 4), 4)
    return (str(whole) if whole or not quarter else "") + _QUARTERS[quarter]
