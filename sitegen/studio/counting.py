"""Counts with their nouns."""

from __future__ import annotations


def counted(count: int, one: str, many: str) -> str:
    """Return the count with its noun: `1 person`, `3 people`."""
    return f"{count} {one if count == 1 else many}"
