"""Compiled templates are kept: a desk sets page after page, and letter after letter, with the same ones."""

from __future__ import annotations

from collections.abc import Hashable
from types import CodeType

from jinja2.bccache import Bucket, BytecodeCache

_KEPT: dict[tuple[Hashable, str], tuple[str, CodeType | None]] = {}


class KeptTemplates(BytecodeCache):
    """What a process compiled, for as long as a template's text stays as it is."""

    def __init__(self, use: Hashable) -> None:
        """Keep templates apart by their use: a language and a kind of text; filters may fold into code."""
        self.use = use

    def load_bytecode(self, bucket: Bucket) -> None:
        """Hand out the code of a template, if its text is the same."""
        checksum, code = _KEPT.get((self.use, bucket.key), ("", None))
        bucket.code = code if checksum == bucket.checksum else None

    def dump_bytecode(self, bucket: Bucket) -> None:
        """Keep the code of a template in place of that of its earlier text."""
        _KEPT[self.use, bucket.key] = bucket.checksum, bucket.code
