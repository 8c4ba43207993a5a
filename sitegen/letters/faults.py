"""What can stop a letter, as a sentence for the artist."""

from __future__ import annotations

from sitegen.studio.fault import Fault


class LetterFault(Fault):
    """A letter can't be made or posted as asked; `str()` is the sentence to show."""
