"""What a form calls the fields of a wish."""

from __future__ import annotations

# Where a field's own name wouldn't say it.
_SAID = {
    "alts": "What the photos show",
    "alt": "What the photo shows",
    "brief": "What you make",
    "by": "Who ends it",
    "confirm": "Ask them by mail first",
    "code": "Its number in the book",
    "everything": "Also what is done",
    "head_start": "Hours of head start",
    "height_mm": "Height in mm",
    "ident": "Letter",
    "host": "Server",
    "is_for_all": "To everyone who hasn't got it",
    "look": "Only say what would change",
    "on": "Day",
    "again": "It did come twice",
    "slug": "Name in addresses",
    "interests": "Asked to hear of",
    "evidence": "Where that stands",
    "joined": "Day they agreed",
    "source": "How they agreed",
    "asked_again": "They were forgotten, and ask for letters themselves now",
    "zone": "Time zone",
    "security": "The way there",
    "status": "Standing",
    "tier": "What is asked for",
    "to": "To whom",
    "user": "User name",
    "why": "Why",
    "work": "Share of the work done",
}


def label(name: str) -> str:
    """Say the name of a field."""
    return _SAID.get(name) or name.replace("_", " ").capitalize()
