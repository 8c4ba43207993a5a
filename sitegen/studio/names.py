"""Names that end up in addresses and file names."""

from __future__ import annotations

import re
import unicodedata

# Letters that Unicode does not take apart into a base letter and a mark.
_LETTERS = str.maketrans({
    "ß": "ss", "æ": "ae", "œ": "oe", "ø": "o", "đ": "d", "ð": "d", "þ": "th", "ł": "l", "ħ": "h", "ı": "i",
})  # fmt: skip


def slug(name: str) -> str:
    """Turn a name into lower-case a-z, 0-9 and hyphens; empty when nothing of it can be kept."""
    plain = unicodedata.normalize("NFKD", name.lower().translate(_LETTERS))
    letters = "".join(c for c in plain if not unicodedata.combining(c))
    letters = re.sub(r"['’ʼ]", "", letters)
    return re.sub(r"[^a-z0-9]+", "-", letters).strip("-")
