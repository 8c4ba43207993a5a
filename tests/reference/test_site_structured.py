"""Structured data and sitemap against schema.org (release 30.0, 2026-03-19) and sitemaps.org 0.9."""

from __future__ import annotations

import json
import re
from datetime import date
from pathlib import Path
from typing import Any

import icalendar
import idna
import pytest
from lxml import etree, html

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
    "Event": {"name", "startDate", "endDate", "location", "description", "url", "eventStatus"},
    "EducationEvent": {
        "name", "startDate", "endDate", "location", "description", "url", "eventStatus", "organizer",
        "maximumAttendeeCapacity", "offers",
    },
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


def listed(site: Path) -> dict[str, Any]:
    """Return the pages that don't ask to be left out (the page for lost visitors, terms of earlier days)."""
    return {
        path: page
        for path, page in pages(site).items()
        if page.xpath("//meta[@name='robots']/@content") != ["noindex"]
    }


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
    assert {fact["@type"] for fact in facts} == set(PROPERTIES) - {"EducationEvent"}
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
        assert [child.tag for child in url] in ([SITEMAP + "loc"], [SITEMAP + "loc", SITEMAP + "lastmod"])
    places = [loc.text or "" for loc in root.iter(SITEMAP + "loc")]

    assert len(places) == len(set(places)) <= 50_000
    address = "https://lantern.example/dolls/"
    files = {path.removesuffix("index.html") for path in listed(site)}
    assert {place.removeprefix(address) for place in places} == files


# W3C's note on date and time formats, to which sitemaps.org sends for lastmod: a complete date.
W3C_DAY = re.compile(r"[0-9]{4}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])")


def dated(site: Path) -> dict[str, str]:
    """Return the last change of each page that the sitemap dates, by its path on the site."""
    root = etree.parse(site / "sitemap.xml").getroot()
    rows = [(url.findtext(SITEMAP + "loc"), url.findtext(SITEMAP + "lastmod")) for url in root]
    return {loc.removeprefix("https://lantern.example/dolls/"): day for loc, day in rows if loc and day}


def test_the_sitemap_dates_only_what_the_files_know(site: Path) -> None:
    """A piece that has stood as it stands since it was finished; nothing that changed on a day untold."""
    found = dated(site)

    assert found == dict.fromkeys(
        ("pieces/available/", "pieces/commissioned/", "pieces/not-for-sale/"), "2026-05-14"
    )
    assert all(W3C_DAY.fullmatch(day) and date.fromisoformat(day) for day in found.values())


def test_a_room_and_the_shows_are_dated_once_nothing_in_them_is_open(tmp_path: Path) -> None:
    """The room by its latest piece; the shows by the day after the last one, when it became a past one."""
    pieces = {
        "one": makers.piece_yaml("One", number="2026-01"),
        "two": makers.piece_yaml("Two", number="2026-02", finished="2026-06-02"),
        "three": makers.piece_yaml("Three", number="2025-01", finished="2025-03-04", series=""),
        "later": makers.piece_yaml("Later", number="2027-01", finished="2027-01-09", series=""),
    }
    studio = makers.studio(tmp_path, pieces)
    makers.write(studio / "studio.yaml", makers.STUDIO.replace("lantern.example/", "lantern.example/dolls/"))
    past = makers.SHOW.replace("from: 2027-02-27", "from: 2026-10-24").replace("2027-02-28", "2026-10-31")
    makers.write(studio / "shows" / "quayside-2027.yaml", past)
    make_site(studio)
    found = dated(studio / "out" / "site")

    assert found["gallery/series/night-ferry/"] == "2026-06-02"
    assert found["gallery/2025/"] == "2025-03-04"
    assert found["shows/"] == "2026-11-01"
    assert "pieces/later/" not in found


def test_the_day_of_a_sale_stays_private(tmp_path: Path) -> None:
    """Neither in the sitemap nor anywhere else; and the room it left doesn't tell it either."""
    sold = makers.piece_yaml(
        "Gone", "sold", private="\n  sold: {on: 2026-08-17, price: 480, stream: originals, to: Q}"
    )
    studio = makers.studio(tmp_path, {"gone": sold, "here": makers.piece_yaml("Here", number="2026-02")})
    make_site(studio)
    site = studio / "out" / "site"

    assert [url for url in dated(site) if "gone" in url or "available" in url] == []
    texts = [file for file in site.rglob("*") if file.suffix in {".html", ".xml", ".ics", ".txt"}]
    assert not [file for file in texts if "2026-08-17" in file.read_text("utf-8")]


def test_each_page_has_its_canonical_address_and_preview(site: Path) -> None:
    """Canonical address and Open Graph's four required properties (ogp.me): title, type, image, url."""
    for path, page in listed(site).items():
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


def test_programs_read_addresses_of_plain_characters(tmp_path: Path) -> None:
    """RFC 3986 has no other letters (sitemaps.org, RFC 9309 and RFC 5545 ask for it); the host as idna writes it."""
    studio = makers.studio(tmp_path / "s")
    site = "https://bücher.example/Überblick/"
    makers.write(studio / "studio.yaml", makers.STUDIO.replace("https://lantern.example/", site))
    make_site(studio)
    made = studio / "out" / "site"

    address = f"https://{idna.encode('bücher').decode()}.example/%C3%9Cberblick/"
    for name in ("sitemap.xml", "robots.txt", "feed.xml", "dates.ics"):
        text = re.sub(r"\r\n ", "", (made / name).read_bytes().decode())
        assert address in text
        assert site not in text
    (canonical,) = html.parse(made / "index.html").xpath("//link[@rel='canonical']/@href")
    assert canonical == address


def test_a_class_is_an_event_to_learn_at_whose_offer_ends_with_its_places(tmp_path: Path) -> None:
    """schema.org 30.0: EducationEvent, EventCancelled, Offer; its price only while there is a place."""
    facts = {}
    for word in ("open", "full", "cancelled"):
        studio = makers.studio(tmp_path / word)
        text = makers.CLASS.replace("kind: class\n", f"kind: class\nattendance: {word}\n")
        makers.write(studio / "shows" / "heads-2027.yaml", text)
        make_site(studio)
        page = html.fromstring((studio / "out" / "site" / "shows" / "index.html").read_text("utf-8"))
        (block,) = page.xpath("//script[@type='application/ld+json']")
        (facts[word],) = [one for one in json.loads(block.text)["@graph"] if one["@type"] == "EducationEvent"]
        assert ("mailto" in html.tostring(page).decode()) or word != "open"
        dates = icalendar.Calendar.from_ical((studio / "out" / "site" / "dates.ics").read_bytes())
        named = {str(one["UID"]): str(one.get("STATUS", "")) for one in dates.walk("VEVENT")}
        assert named["show-heads-2027@lantern.example"] == ("CANCELLED" if word == "cancelled" else "")
        assert {
            "show-quayside-2027@lantern.example",
            "round-winter-2027-opens@lantern.example",
        } <= named.keys()

    for fact in facts.values():
        assert fact.keys() - {"@type", "@id"} <= PROPERTIES["EducationEvent"]
    offer = {"@type": "Offer", "url": "https://lantern.example/shows/"}
    assert facts["open"]["offers"] == {
        **offer, "availability": "https://schema.org/InStock", "price": "263.00", "priceCurrency": "EUR",
    }  # fmt: skip
    assert facts["open"]["maximumAttendeeCapacity"] == 6
    assert facts["full"]["offers"] == {**offer, "availability": "https://schema.org/SoldOut"}
    assert "offers" not in facts["cancelled"]
    assert facts["cancelled"]["eventStatus"] == "https://schema.org/EventCancelled"
