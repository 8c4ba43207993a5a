"""Feeds against RFC 4287 (The Atom Syndication Format) and read by feedparser, an independent reader."""

from __future__ import annotations

import re
from pathlib import Path

import feedparser
import pytest
from lxml import etree

from tests import makers
from tests.site.studio import make_site

ATOM = "{http://www.w3.org/2005/Atom}"
# RFC 4287, section 3.3: RFC 3339 date-time with upper-case T, and Z or a numeric offset.
DATE = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?(Z|[+-]\d\d:\d\d)")


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A site with pieces in three states, and one title that needs escaping."""
    studio = makers.studio(
        tmp_path_factory.mktemp("atom"),
        {
            "one": makers.piece_yaml('"Salt & <Pepper>"', number="2026-03", finished="2026-07-01"),
            "two": makers.piece_yaml("Two", "sold", number="2026-02"),
            "three": makers.piece_yaml("Three", "in progress", number="2026-04", finished="", price=""),
        },
    )
    make_site(studio)
    return studio / "out" / "site"


@pytest.mark.parametrize("name", ["feed.xml", "available.xml"])
def test_feeds_hold_what_rfc_4287_asks(site: Path, name: str) -> None:
    """RFC 4287, sections 4.1.1 and 4.1.2: what must stand there, and how often."""
    feed = etree.parse(site / name).getroot()

    assert feed.tag == ATOM + "feed"
    for element in ("id", "title", "updated"):
        assert len(feed.findall(ATOM + element)) == 1
    assert len(feed.findall(ATOM + "author")) >= 1
    assert [one.text for one in feed.findall(f"{ATOM}author/{ATOM}name")] == ["Ottoline Example"]
    assert [one.get("href") for one in feed.findall(ATOM + "link") if one.get("rel") == "self"] == [
        f"https://lantern.example/{name}"
    ]
    entries = feed.findall(ATOM + "entry")
    assert entries
    for entry in entries:
        for element in ("id", "title", "updated"):
            assert len(entry.findall(ATOM + element)) == 1
        assert len(entry.findall(ATOM + "content")) <= 1
        # An entry may not have two alternate links of the same type and language.
        alternates = [one for one in entry.findall(ATOM + "link") if one.get("rel") == "alternate"]
        assert len(alternates) == 1
        assert entry.find(ATOM + "content").get("type") == "html"
    ids = [entry.findtext(ATOM + "id") for entry in entries]
    assert len(set(ids)) == len(ids)
    for date in feed.iter(ATOM + "updated", ATOM + "published"):
        assert DATE.fullmatch(date.text or ""), date.text


def test_the_independent_reader_finds_the_pieces(site: Path) -> None:
    """feedparser reads both feeds without complaint; only finished pieces are in, newest first."""
    everything = feedparser.parse((site / "feed.xml").read_bytes())
    available = feedparser.parse((site / "available.xml").read_bytes())

    assert not everything.bozo
    assert not available.bozo
    assert [entry.title for entry in everything.entries] == ["Salt & <Pepper>", "Two"]
    assert [entry.link for entry in available.entries] == ["https://lantern.example/pieces/one/"]
    assert everything.feed.updated == "2026-07-01T00:00:00+01:00"
    assert everything.entries[1].summary.endswith("sold")
    assert "€" not in everything.entries[1].summary


def test_an_empty_feed_is_still_a_feed(tmp_path: Path) -> None:
    """Nothing available: the feed stands, with a date and without entries."""
    studio = makers.studio(tmp_path, {"two": makers.piece_yaml("Two", "sold")})
    make_site(studio)
    feed = feedparser.parse((studio / "out" / "site" / "available.xml").read_bytes())

    assert not feed.bozo
    assert feed.entries == []
    assert DATE.fullmatch(feed.feed.updated)
