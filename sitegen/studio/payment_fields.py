"""A deposit as it stands in a file: a percentage, or an amount in the studio's currency."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BeforeValidator, ValidationInfo

from sitegen.studio.fields import USUAL_DIGITS
from sitegen.studio.plan import read_deposit


def _read(text: Any, info: ValidationInfo) -> Any:
    if isinstance(text, str) and text.strip():
        read_deposit(text, (info.context or {}).get("digits", USUAL_DIGITS))
    return text.strip() if isinstance(text, str) else text


DepositText = Annotated[str, BeforeValidator(_read)]
"""Kept as typed, once it can be read; empty where nothing is said."""
