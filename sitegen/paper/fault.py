"""What can go wrong with paper, in sentences for the artist."""

from __future__ import annotations

from sitegen.studio.fault import Fault


class PaperFault(Fault):
    """Nothing can be printed; `str()` says why and what to write instead."""


class PaperWarning(UserWarning):
    """Something was printed other than it was written; the text says what and how to mend it."""
