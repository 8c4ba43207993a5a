"""Name a person in a link without naming them: a short keyed hash that nobody else can make."""

from __future__ import annotations

import base64
import hashlib
import hmac
from collections.abc import Iterable

from sitegen.studio.person import Person

# 80 bits: 16 letters that survive a subject line in any case. Guessing one of ten thousand people's
# tokens takes some 10^20 tries, each of which is a mail to the artist.
TOKEN_BYTES = 10
TOKEN_LETTERS = 16


def make_token(secret: bytes, key: str) -> str:
    """Return a person's token: HMAC-SHA256 (RFC 2104) of their folded address, in lower-case base32."""
    digest = hmac.digest(secret, key.encode("utf-8"), hashlib.sha256)
    return base64.b32encode(digest[:TOKEN_BYTES]).decode("ascii").lower()


def who(token: str, secret: bytes, people: Iterable[Person]) -> str | None:
    """Return the folded address that a token belongs to, or None for a token nobody was given."""
    asked = token.strip().lower().encode("utf-8", "replace")
    for person in people:
        key = person.key
        if hmac.compare_digest(make_token(secret, key).encode("ascii"), asked):
            return key
    return None
