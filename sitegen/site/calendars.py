"""The site's calendar files: shows to come, and rounds that open or close."""

from __future__ import annotations

from collections.abc import Iterator

from sitegen.site import addresses
from sitegen.site.house import House
from sitegen.studio.public import RoundState
from sitegen.voice.calendar import calendar, round_events, show_events


def calendars(house: House) -> Iterator[tuple[str, bytes]]:
    """Yield path and bytes of each calendar file: what is still to come."""
    card, voice = house.front.card, house.voice
    for show in house.front.shows:
        if show.coming:
            yield addresses.show_calendar(show.slug), calendar(show_events(voice, card, show), card)
    for one in house.front.rounds:
        if one.state is not RoundState.CLOSED:
            yield addresses.round_calendar(one.slug), calendar(round_events(voice, card, one), card)
