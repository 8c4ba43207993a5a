"""Names that end up in addresses and file names."""

from __future__ import annotations

import re
import unicodedata

# Letters that Unicode does not take apart into a base letter and a mark.
_LETTERS = str.maketrans({
    "ß": "ss", "æ": "ae", "œ": "oe", "ø": "o", "đ": "d", "ð": "d", "þ": "th", "ł": "l", "ħ": "h", "ı": "i",
})  # fmt: skip


def unmarked(text: str) -> str:
    """Take a text's letters apart (NFKD) and leave their marks out: `é` is `e`, `ﬁ` is `fi`."""
    return "".join(c for c in unicodedata.normalize("NFKD", text) if not unicodedata.combining(c))


def slug(name: str) -> str:
    """Turn a name into lower-case a-z, 0-9 and hyphens; empty when nothing of it can be kept."""
    letters = re.sub(r"['’ʼ]", "", unmarked(name.lower().translate(_LETTERS)))
    return re.sub(r"[^a-z0-9]+", "-", letters).strip("-")
