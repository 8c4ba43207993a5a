"""Templates, opened with one strictness; what is compiled is kept for a desk's next pages and letters."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from pathlib import Path
from types import CodeType

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from jinja2.bccache import Bucket, BytecodeCache

_KEPT: dict[tuple[Hashable, str], tuple[str, CodeType | None]] = {}


def open_templates(folders: Sequence[Path], use: Hashable, *, escaping: bool = True) -> Environment:
    """Open the templates of some folders; what isn't there is an error.

    What is compiled is shared by those of the same `use` alone, as Jinja may work filters out beforehand.
    """
    return Environment(
        loader=FileSystemLoader(folders), autoescape=escaping,  # noqa: S701 (only text goes unescaped)
        undefined=StrictUndefined, trim_blocks=True,
        lstrip_blocks=True, auto_reload=False, bytecode_cache=KeptTemplates((use, escaping)),
    )  # fmt: skip


class KeptTemplates(BytecodeCache):
    """What this process compiled, for as long as a template's text stays as it is."""

    def __init__(self, use: Hashable) -> None:
        self.use = use

    def load_bytecode(self, bucket: Bucket) -> None:
        """Hand out the code of a template, if its text is the same."""
        checksum, code = _KEPT.get((self.use, bucket.key), ("", None))
        bucket.code = code if checksum == bucket.checksum else None

    def dump_bytecode(self, bucket: Bucket) -> None:
        """Keep the code of a template in place of that of its earlier text."""
        _KEPT[self.use, bucket.key] = bucket.checksum, bucket.code
