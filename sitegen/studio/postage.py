"""What sending a commission costs its client: an amount on top of the price, or nothing more."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from pydantic import ValidationInfo

from sitegen.studio import money
from sitegen.studio.fields import USUAL_DIGITS, Entry

INCLUDED = "included"


class Postage(Entry):
    """Postage as agreed on with one client. No part of the price, and so of no payment plan."""

    extra: Decimal | None = None
    """On top of the price; None where the price includes it."""


def read_postage(text: Any, info: ValidationInfo) -> Any:
    """Read an amount, or `included`. Raises ValueError with a sentence."""
    if not isinstance(text, str):
        return text
    bare = text.strip().casefold()
    if not bare:
        return None
    if bare == INCLUDED:
        return Postage()
    try:
        return Postage(extra=money.read_amount(text, (info.context or {}).get("digits", USUAL_DIGITS)))
    except ValueError as fault:
        raise ValueError(f"{fault}; postage is an amount, or the word {INCLUDED}") from None


def write_postage(postage: Postage, digits: int) -> str:
    """Write postage as `read_postage` reads it."""
    return INCLUDED if postage.extra is None else money.plain(postage.extra, digits)
