"""The guide: short pages by task, carried with the program."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from sitegen.jobs import fields_page
from sitegen.studio.fault import Fault
from sitegen.studio.fields import did_you_mean

_PAGES = Path(__file__).resolve().parent.parent / "guide"
# In the order in which a studio meets them; a page that isn't named here stands last.
_ORDER = (
    "first-hour", "files", "site", "letters", "posting", "people", "paper", "orders", "terms", "money",
    "keeping", "fields", "safety", "cautions",
)  # fmt: skip


class GuideFault(Fault):
    """There is no such page."""


@dataclass(frozen=True, slots=True)
class Page:
    """One page of the guide."""

    topic: str
    """The word it is asked for by."""
    title: str
    text: str
    """Markdown, its title included."""


def pages() -> tuple[Page, ...]:
    """Return the whole guide, in the order in which a studio meets it."""
    places = {topic: place for place, topic in enumerate(_ORDER)}
    found = [_page(file.stem, file.read_text("utf-8")) for file in _PAGES.glob("*.md")]
    found.append(_page("fields", fields_page.text()))
    return tuple(sorted(found, key=lambda one: (places.get(one.topic, len(places)), one.topic)))


def page(topic: str) -> Page:
    """Find a page by its word. Raises GuideFault with the nearest one."""
    wanted = topic.strip().casefold()
    everything = pages()
    found = next((one for one in everything if one.topic == wanted), None)
    if found is None:
        topics = [one.topic for one in everything]
        hint = did_you_mean(wanted, topics) or f"; there are {', '.join(topics)}"
        raise GuideFault(f"the guide has no page '{topic}'{hint}")
    return found


def _page(topic: str, text: str) -> Page:
    return Page(topic, text.partition("\n")[0].removeprefix("# "), text)
