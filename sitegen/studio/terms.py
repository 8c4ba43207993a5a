"""The written terms: filled from the settings, kept as versions, compared with what was kept.

A page of terms is Markdown with places like `{deposit}`; `term_numbers` says what stands there, from the same
settings that `plan`, `payments` and the queue work with, so text and arithmetic can't part ways. A version is
the filled text as it was on a day; the places are gone from it, so no later change of a setting can reach it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace

from sitegen.studio.term_versions import in_order
from sitegen.studio.whole import KeptTerms, Page, Studio

# The pages that are kept as versions, both under one name each time.
PAGES = ("commission-terms", "payment-terms")
# A backslash makes a brace an ordinary one, as everywhere in Markdown.
_PLACE = re.compile(r"(?<!\\)\{([^{}]*)\}")
_LINK = re.compile(r"\]\((?:\./)?(commission|payment)-terms(?:\.md|/)?(#[^)\s]*)?\)")


def fill(text: str, values: Mapping[str, str]) -> str:
    """Put the numbers into a text; a place that nothing is known of stays as it is."""
    return _PLACE.sub(lambda place: values.get(_named(place[1]), place[0]), text)


def places(text: str) -> list[tuple[int, str]]:
    """List the places of a text with their lines, counted from 1."""
    return [(text.count("\n", 0, place.start()) + 1, _named(place[1])) for place in _PLACE.finditer(text)]


def _named(written: str) -> str:
    return " ".join(written.lower().split())


def filled(studio: Studio) -> tuple[Page, ...]:
    """Return the artist's pages, those of the terms with their numbers."""
    return tuple(
        replace(page, text=fill(page.text, studio.numbers)) if page.name in PAGES else page
        for page in studio.pages
    )


def versions(studio: Studio) -> tuple[str, ...]:
    """Name the kept versions, oldest first."""
    return in_order({kept.version for kept in studio.kept_terms})


def of_version(studio: Studio, version: str) -> tuple[KeptTerms, ...]:
    """Return the texts of one version, the commission's before the payment's."""
    found = {kept.name: kept for kept in studio.kept_terms if kept.version == version}
    return tuple(found[name] for name in PAGES if name in found)


def changed(studio: Studio) -> tuple[str, ...]:
    """Name the pages of terms whose text or numbers aren't those of the newest version."""
    newest = next(reversed(versions(studio)), None)
    now = {page.name: _words(page.title, page.text) for page in filled(studio) if page.name in PAGES}
    if newest is None:
        return tuple(name for name in PAGES if name in now)
    kept = {one.name: _words(one.title, one.text) for one in of_version(studio, newest)}
    return tuple(name for name in PAGES if now.get(name) != kept.get(name))


def current(studio: Studio) -> str | None:
    """Name the version that is in force; None if none is kept, or the text or a number changed since."""
    return None if changed(studio) else next(reversed(versions(studio)), None)


def _words(title: str, text: str) -> list[str]:
    """Compare by words: how lines are broken changes nothing that was agreed on."""
    return f"{title}\n{text}".split()


def as_kept(page: Page) -> str:
    """Write a filled page as its kept file holds it."""
    return f"# {page.title}\n\n{page.text}"


def linked_within(text: str, version: str) -> str:
    """Let one kept text lead to the other one of the same version, not to today's."""
    return _LINK.sub(lambda link: f"](terms/{link[1]}/{version}{link[2] or ''})", text)
