"""The letter that invites to a show."""

from __future__ import annotations

from collections.abc import Sequence

from sitegen.letters.announce import Announcement, LetterPlan, Room, compose
from sitegen.letters.facts import show_facts
from sitegen.letters.faults import LetterFault
from sitegen.letters.message import dates
from sitegen.letters.note import hang
from sitegen.letters.pictures import Hanging, remarks
from sitegen.studio.fields import no_such
from sitegen.studio.person import Interest, Person
from sitegen.studio.public import FrontOfHouse
from sitegen.voice.calendar import show_events
from sitegen.voice.voice import open_voice


def announce_show(
    front: FrontOfHouse,
    people: Sequence[Person],
    room: Room,
    slug: str,
    note: str = "",
    hanging: Hanging | None = None,
) -> Announcement:
    """Make the letter for one coming show. Raises LetterFault if it's over or unknown."""
    show = front.show(slug)
    if show is None:
        raise LetterFault(no_such("show", slug, (one.slug for one in front.shows)))
    if not show.coming:
        raise LetterFault(f"'{show.name}' ended on {show.last_day}; there's nothing to invite to")
    voice = open_voice(room.theme, front.card)
    events = show_events(voice, front.card, show)
    words, layout = hang(front, note, hanging or Hanging())
    parts = (*layout.parts, dates(f"{slug}.ics", events, front.card))
    plan = LetterPlan(
        f"show-{slug}", "show", Interest.SHOWS, {"show": show}, words, parts,
        facts=show_facts(front, slug), remarks=remarks(layout),
    )  # fmt: skip
    return compose(front, people, plan, room, voice)
