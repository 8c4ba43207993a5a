"""Structured data and sitemap against schema.org (release 30.0, 2026-03-19) and sitemaps.org 0.9."""

from __future__ import annotations

import json
import re
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from lxml import etree

from tests import makers
from tests.site.studio import make_site, pages

# The twelve members of ItemAvailability, as the vocabulary file of release 30.0 lists them.
AVAILABILITY = {
    "BackOrder", "Discontinued", "InStock", "InStoreOnly", "LimitedAvailability", "MadeToOrder",
    "OnlineOnly", "OutOfStock", "PreOrder", "PreSale", "Reserved", "SoldOut",
}  # fmt: skip
# Properties by type, own and inherited, that the site uses; checked against the vocabulary file of 30.0
# where the project's notes quote it (artform, artMedium, artEdition, height, creator, dateCreated, offers,
# availability, price, priceCurrency, seller, itemCondition), the rest from memory.
PROPERTIES = {
    "VisualArtwork": {
        "name", "url", "identifier", "creator", "artform", "artEdition", "artMedium", "dateCreated",
        "height", "image", "isPartOf", "offers",
    },
    "Offer": {"availability", "price", "priceCurrency", "itemCondition", "url", "seller"},
    "Person": {"name", "url", "worksFor"},
    "Organization": {"name", "url"},
    "WebSite": {"name", "description", "url", "inLanguage"},
    "Event": {"name", "startDate", "endDate", "location", "description", "url"},
    "Place": {"name", "address"},
    "Collection": {"name", "url"},
}  # fmt: skip
SITEMAP = "{http://www.sitemaps.org/schemas/sitemap/0.9}"


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A site with one piece of each status and a studio in a subfolder."""
    statuses = ["in progress", "available", "on hold", "sold", "commissioned", "not for sale"]
    studio = makers.studio(
        tmp_path_factory.mktemp("facts"),
        {
            status.replace(" ", "-"): makers.piece_yaml(f"Piece {status}", status, number=f"2026-0{number}")
            for number, status in enumerate(statuses, start=1)
        },
    )
    makers.write(studio / "studio.yaml", makers.STUDIO.replace("lantern.example/", "lantern.example/dolls"))
    make_site(studio)
    return studio / "out" / "site"


def graph(page: Any) -> list[dict[str, Any]]:
    """Return what a page tells machines."""
    blocks = [json.loads(block.text) for block in page.xpath("//script[@type='application/ld+json']")]
    assert all(block["@context"] == "https://schema.org" for block in blocks)
    return [fact for block in blocks for fact in block["@graph"]]


def every_fact(value: Any) -> list[dict[str, Any]]:
    """Return a fact and all facts inside it."""
    if isinstance(value, list):
        return [fact for one in value for fact in every_fact(one)]
    if isinstance(value, dict):
        return [value, *every_fact(list(value.values()))]
    return []


def test_facts_use_schema_org_words(site: Path) -> None:
    """Every type and every property belongs together in the vocabulary."""
    facts = [fact for page in pages(site).values() for fact in every_fact(graph(page))]
    assert {fact["@type"] for fact in facts} == set(PROPERTIES)
    for fact in facts:
        assert fact.keys() - {"@type", "@id"} <= PROPERTIES[fact["@type"]], fact


def test_only_the_available_piece_has_an_offer(site: Path) -> None:
    """Availability is a member of ItemAvailability; price is digits and a point; currency is ISO 4217."""
    found = {
        path: [fact["offers"] for fact in graph(page) if "offers" in fact]
        for path, page in pages(site).items()
    }
    offers = {path: one for path, one in found.items() if one}
    assert set(offers) - {"index.html"} == {"pieces/available/index.html"}
    offer = offers["pieces/available/index.html"][0]

    assert offer["availability"].removeprefix("https://schema.org/") in AVAILABILITY
    assert offer["availability"] == "https://schema.org/InStock"
    assert re.fullmatch(r"[0-9]+\.[0-9]{2}", offer["price"])
    assert offer["priceCurrency"] == "EUR"
    assert offer["url"] == "https://lantern.example/dolls/pieces/available/"


def test_an_event_has_the_dates_of_the_show(site: Path) -> None:
    """ISO 8601 dates, as schema.org's Date asks."""
    event = next(fact for fact in graph(pages(site)["shows/index.html"]) if fact["@type"] == "Event")

    assert date.fromisoformat(event["startDate"]) == date(2027, 2, 27)
    assert date.fromisoformat(event["endDate"]) == date(2027, 2, 28)


def test_the_sitemap_names_every_page_once(site: Path) -> None:
    """sitemap 0.9 schema: urlset, url, loc first; below the site's address; at most 50,000."""
    root = etree.parse(site / "sitemap.xml").getroot()
    assert root.tag == SITEMAP + "urlset"
    assert {child.tag for child in root} == {SITEMAP + "url"}
    for url in root:
        assert [child.tag for child in url] == [SITEMAP + "loc"]
    places = [loc.text or "" for loc in root.iter(SITEMAP + "loc")]

    assert len(places) == len(set(places)) <= 50_000
    address = "https://lantern.example/dolls/"
    files = {path.removesuffix("index.html") for path in pages(site)} - {"404.html"}
    assert {place.removeprefix(address) for place in places} == files


def test_each_page_has_its_canonical_address_and_preview(site: Path) -> None:
    """Canonical address and Open Graph's four required properties (ogp.me): title, type, image, url."""
    for path, page in pages(site).items():
        if path == "404.html":
            continue
        address = "https://lantern.example/dolls/" + path.removesuffix("index.html")
        assert page.xpath("//link[@rel='canonical']/@href") == [address]
        assert page.xpath("//meta[@property='og:url']/@content") == [address]
        for name in ("title", "type", "image"):
            assert len(page.xpath(f"//meta[@property='og:{name}']/@content")) == 1


def test_robots_lead_to_the_sitemap(site: Path) -> None:
    """RFC 9309 lines, and an absolute address for the sitemap (sitemaps.org)."""
    lines = (site / "robots.txt").read_text("utf-8").splitlines()

    assert lines[:2] == ["User-agent: *", "Allow: /"]
    assert "Sitemap: https://lantern.example/dolls/sitemap.xml" in lines
