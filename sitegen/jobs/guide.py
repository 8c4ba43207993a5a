"""The guide: short pages by task, carried with the program."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from sitegen.studio.asked import Fault, ask, wish

_PAGES = Path(__file__).resolve().parent.parent / "guide"
# In the order in which a studio meets them; a page that isn't named here stands last.
_ORDER = (
    "first-hour", "desk", "files", "site", "letters", "posting", "people", "paper", "orders", "terms",
    "money", "keeping", "fields", "safety", "cautions",
)  # fmt: skip


@wish
class GuideWish:
    topic: str | None = ask(default=None, word=True)


@dataclass(frozen=True, slots=True)
class GuidePage:
    topic: str  # the word it is asked for by
    title: str
    text: str  # Markdown, its title included


def guide(wish: GuideWish) -> tuple[GuidePage, ...]:
    """Return the whole guide, or the page asked for. Raises Fault with the nearest one."""
    return pages() if wish.topic is None else (page(wish.topic),)


def pages() -> tuple[GuidePage, ...]:
    """Return the whole guide, in the order in which a studio meets it."""
    return tuple(map(page, _topics()))


def page(topic: str) -> GuidePage:
    """Find a page by its word. Raises Fault with the nearest one."""
    wanted, topics = topic.strip().casefold(), _topics()
    if wanted not in topics:
        from sitegen.studio.fields import did_you_mean  # brings much along

        hint = did_you_mean(wanted, topics) or f"; there are {', '.join(topics)}"
        raise Fault(f"the guide has no page '{topic}'{hint}")
    if wanted == "fields":
        from sitegen.jobs import fields_page  # reads every model

        text = fields_page.text()
    else:
        text = (_PAGES / f"{wanted}.md").read_text("utf-8")
    return GuidePage(wanted, text.partition("\n")[0].removeprefix("# "), text)


def _topics() -> list[str]:
    found = {file.stem for file in _PAGES.glob("*.md")} | {"fields"}
    return sorted(found, key=lambda topic: ((*_ORDER, topic).index(topic), topic))
