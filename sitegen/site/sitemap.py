"""What search engines are told: which pages there are, and that they may read them."""

from __future__ import annotations

from collections.abc import Iterable
from xml.etree import ElementTree as ET

from sitegen.site import addresses
from sitegen.site.house import House
from sitegen.site.leaf import Later, Leaf
from sitegen.site.xml import document

SITEMAP = "http://www.sitemaps.org/schemas/sitemap/0.9"


def sitemap(house: House, leaves: Iterable[Leaf | Later]) -> bytes:
    """Write the sitemap of the listed pages, each with the day of its last change where that is known.

    `lastmod` is a W3C datetime of a whole day (sitemaps.org). A day to come isn't told: nothing changed then.
    """
    root = ET.Element("urlset", {"xmlns": SITEMAP})
    today = house.front.moment.date()
    for leaf in leaves:
        if leaf.listed:
            url = ET.SubElement(root, "url")
            ET.SubElement(url, "loc").text = house.address(leaf.path)
            if leaf.changed is not None and leaf.changed <= today:
                ET.SubElement(url, "lastmod").text = leaf.changed.isoformat()
    return document(root)


def robots(house: House) -> bytes:
    """Write robots.txt: everything may be read (RFC 9309), and the sitemap lies there."""
    return f"User-agent: *\nAllow: /\n\nSitemap: {house.address(addresses.SITEMAP)}\n".encode()
