"""Count money exactly: minor units, rounding, splitting and reading an amount.

Amounts are `Decimal`; binary floats never enter (2.675 as a float rounds to 2.67).
`digits` is always the number of digits after the point in the currency at hand.
"""

import re
from collections.abc import Iterable
from decimal import ROUND_HALF_UP, Context, Decimal

from sitegen.studio.text import short

# ISO 4217 list of active codes published 2026-01-01, as carried by the iso4217 package 1.16.20260101.
# ISO, not CLDR: thirteen currencies differ there (RSD has 2 digits in ISO, 0 in CLDR). Codes without a
# minor unit (gold, test codes, XXX) are left out, because nothing can be priced in them.
_CODES_BY_DIGITS = {
    0: "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF",
    2: (
        "AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BMD BND BOB BOV BRL BSD BTN BWP BYN BZD CAD CDF "
        "CHE CHF CHW CNY COP COU CRC CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD "
        "GTQ GYD HKD HNL HTG HUF IDR ILS INR IRR JMD KES KGS KHR KPW KYD KZT LAK LBP LKR LRD LSL MAD MDL "
        "MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MXV MYR MZN NAD NGN NIO NOK NPR NZD PAB PEN PGK PHP PKR "
        "PLN QAR RON RSD RUB SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT TOP "
        "TRY TTD TWD TZS UAH USD USN UYU UZS VED VES WST XAD XCD XCG YER ZAR ZMW ZWG"
    ),
    3: "BHD IQD JOD KWD LYD OMR TND",
    4: "CLF UYW",
}
MINOR_DIGITS = {code: digits for digits, codes in _CODES_BY_DIGITS.items() for code in codes.split()}

NOTHING = Decimal(0)

# Wide enough for any amount `read_amount` lets in times any percentage; the default of 28 digits is not
# ours to rely on, since a caller may have changed it.
_EXACT = Context(prec=80, rounding=ROUND_HALF_UP)

# Marks that no reader takes for another thing: both, the later before the coins; or a comma not before three.
_COMMA_LAST = re.compile(r"[1-9][0-9]{0,2}(\.[0-9]{3})+,[0-9]+|[0-9]+,([0-9]{1,2}|[0-9]{4,})|0,[0-9]+")
_POINT_LAST = re.compile(r"[1-9][0-9]{0,2}(,[0-9]{3})+\.[0-9]+")
_AMOUNT = re.compile(r"[0-9]+(?:\.[0-9]+)?")
# What a text that is no amount most likely meant, in the order it's asked.
_SLIPS = [
    (r"%$", "is a percentage; an amount of money is wanted, as {example}"),
    (r"^[-−–(].*[0-9]", "is below zero; write the amount without a minus sign, as {example}"),
    (r"[$€£¥₩₹₽₺₴₫₦₱₪₸₡₲₵₭₮฿¢]", "has a currency sign; write the number alone, as {cure}"),
    (
        r"^[A-Za-z]{3}\s*[0-9]|^[0-9].*[0-9]\s*[A-Za-z]{3}$",
        "has a currency name; write the number alone, as {cure}",
    ),
    (
        r"^[0-9]{1,3}([\s'’.][0-9]{3})+(\.[0-9]*)?$",
        "has a thousands mark; write the digits without a gap, as {cure}",
    ),
]
# No doll costs a million million; a longer number is a telephone number or a slipped key.
_LONGEST_WHOLE = 12
_LONGEST_WRITTEN = 60


def minor_digits(code: str) -> int:
    """Return how many digits stand after the point in the currency `code` (ISO 4217).

    Raises ValueError for a code that isn't on the list.
    """
    if code in MINOR_DIGITS:
        return MINOR_DIGITS[code]
    capitals = code.strip().upper()
    hint = f" (did you mean {capitals}?)" if capitals in MINOR_DIGITS else ""
    raise ValueError(
        f'"{short(code)}" is no currency code; write the three capitals of ISO 4217, as EUR or USD{hint}'
    )


def total(amounts: Iterable[Decimal]) -> Decimal:
    """Add up."""
    return sum(amounts, NOTHING)


def unit(digits: int) -> Decimal:
    """Return the smallest amount of a currency with so many `digits`: 0.01 for 2, 1 for 0."""
    return Decimal(1).scaleb(-digits)


def round_half_up(amount: Decimal, digits: int) -> Decimal:
    """Round to the minor unit, a half away from zero: 0.125 becomes 0.13 and -0.125 becomes -0.13."""
    return amount.quantize(unit(digits), context=_EXACT)


def share(amount: Decimal, percent: Decimal, digits: int) -> Decimal:
    """Return `percent` per cent of `amount`, a half rounded up."""
    product = _EXACT.multiply(amount, percent)
    return round_half_up(_EXACT.scaleb(product, -2), digits)


def in_units(amount: Decimal, digits: int) -> int:
    """Count an amount in minor units: 4.50 with 2 digits is 450.

    Raises ValueError if the amount is finer than the minor unit.
    """
    scaled = _EXACT.scaleb(amount, digits)
    if scaled != scaled.to_integral_value():
        raise ValueError(f"{amount} is finer than the smallest coin of this currency, {unit(digits)}")
    return int(scaled)


def from_units(count: int, digits: int) -> Decimal:
    """Turn a number of minor units back into an amount: 450 with 2 digits is 4.50."""
    return Decimal(count).scaleb(-digits, context=_EXACT)


def split(amount: Decimal, parts: int, digits: int) -> tuple[Decimal, ...]:
    """Split an amount into equal shares that sum to it exactly; the first shares get the odd units.

    That the first get more is common practice, no source; no two shares differ by more than one unit.
    Raises ValueError for fewer than one part, an amount below zero or one finer than the minor unit.
    """
    if parts < 1:
        raise ValueError(f"an amount can't be split into {parts} parts; the smallest number is 1")
    if amount < 0:
        raise ValueError(f"{amount} is below zero and can't be split into shares")
    each, left = divmod(in_units(amount, digits), parts)
    return tuple(from_units(each + (place < left), digits) for place in range(parts))


def plain(amount: Decimal, digits: int) -> str:
    """Write an amount for machines: digits and a point, rounded to the minor unit, no sign of currency."""
    rounded = round_half_up(amount, digits)
    return format(rounded if rounded else unit(digits) * 0, "f")


def read_amount(text: str, digits: int) -> Decimal:
    """Read an amount typed by a person: digits, and a point or comma before the smaller coin.

    Nothing is guessed: `1,200` means two things to two readers; `480,50` and `1.200,50` mean one.
    Raises ValueError with a sentence that quotes the text and says what to write instead.
    """
    written = pointed(text.strip())
    if len(written) > _LONGEST_WRITTEN:
        raise ValueError(f'"{short(written)}" is too long to be an amount; write digits and a point')
    if not _AMOUNT.fullmatch(written):
        raise ValueError(_fault(short(written), digits))
    whole, _, decimals = written.partition(".")
    if len(whole.lstrip("0")) > _LONGEST_WHOLE:
        raise ValueError(f'"{written}" is too large to be a price; it has more than {_LONGEST_WHOLE} digits')
    if len(decimals) > digits:
        raise ValueError(_too_fine(whole, decimals, digits))
    return round_half_up(Decimal(written), digits)


def pointed(written: str) -> str:
    """Return an amount with marks that mean one thing only as digits and a point; any other text as it is."""
    if _COMMA_LAST.fullmatch(written):
        return written.replace(".", "").replace(",", ".")
    return written.replace(",", "") if _POINT_LAST.fullmatch(written) else written


def _example(digits: int) -> str:
    return plain(Decimal(480), digits)


def _fault(written: str, digits: int) -> str:
    """Name what keeps a text from being an amount, the likeliest slip first."""
    if not written:
        return f"no amount is written; write digits and a point, as {_example(digits)}"
    if "," in written and re.fullmatch(r"[0-9.,\s]+", written):
        return _comma_fault(written, digits)
    for pattern, sentence in _SLIPS:
        if re.search(pattern, written):
            return f'"{written}" {sentence.format(example=_example(digits), cure=_cure(written, digits))}'
    return f'"{written}" is no amount; write digits and a point, as {_example(digits)}'


def _comma_fault(written: str, digits: int) -> str:
    """Offer both readings of a comma when both are possible."""
    if re.fullmatch(r"[0-9]{1,3}(?:,[0-9]{3})+", written):
        both = digits >= 3 and written.count(",") == 1
        either = f", or {written.replace(',', '.')} if the comma is a decimal point" if both else ""
        return f'"{written}" has a comma; write {written.replace(",", "")} without a thousands mark{either}'
    return f'"{written}" has a comma; a point goes before the smaller coin, as {_cure(written, digits)}'


def _cure(written: str, digits: int) -> str:
    """Suggest the number inside a faulty text, or an example if none can be made out safely."""
    bare = pointed(re.sub(r"[^0-9.,]", "", written).strip(".,"))
    bare = bare.replace(",", "") if re.fullmatch(r"[0-9]{1,3}(?:,[0-9]{3})+", bare) else bare
    fits = _AMOUNT.fullmatch(bare) and len(bare.partition(".")[2]) <= digits
    return bare if fits else _example(digits)


def _too_fine(whole: str, decimals: str, digits: int) -> str:
    """Say that a number has more digits after the point than the currency has coins for."""
    written = f'"{whole}.{decimals}"'
    rounded = plain(Decimal(f"{whole}.{decimals}"), digits)
    allowed = {0: "none", 1: "one"}.get(digits, str(digits))
    count = "one digit" if len(decimals) == 1 else f"{len(decimals)} digits"
    thousands = f", or {whole}{decimals} if the point is a thousands mark" if len(decimals) == 3 else ""
    return f"{written} has {count} after the point, this currency has {allowed}; write {rounded}{thousands}"


def in_currency(value: Decimal, currency: str, digits: int) -> str:
    """Write an amount with its currency's ISO 4217 letters, to the last coin: `1,000.01 EUR`."""
    whole, point, coins = plain(value, digits).partition(".")
    return f"{re.sub(r'(?<=[0-9])(?=(?:[0-9]{3})+$)', ',', whole)}{point}{coins} {currency}"
