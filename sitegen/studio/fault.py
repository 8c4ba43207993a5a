"""The one family of exceptions that ends in a sentence for the artist and exit code 1."""

from __future__ import annotations


class Fault(Exception):
    """The studio's files, or what was asked, are at fault. `str()` is what the artist reads.

    Each room has its own kind: StudioFault (sources), SiteFault, LetterFault, PaperFault.
    """
