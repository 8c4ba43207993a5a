"""What search engines are told: which pages there are, and that they may read them."""

from __future__ import annotations

from collections.abc import Iterable
from xml.etree import ElementTree as ET

from sitegen.site import addresses
from sitegen.site.house import House
from sitegen.site.leaf import Leaf
from sitegen.site.xml import document

SITEMAP = "http://www.sitemaps.org/schemas/sitemap/0.9"


def sitemap(house: House, leaves: Iterable[Leaf]) -> bytes:
    """Write the sitemap of the listed pages.

    It has no lastmod: the studio's files don't say when they were changed, and a guess would be untrue.
    """
    root = ET.Element("urlset", {"xmlns": SITEMAP})
    for leaf in leaves:
        if leaf.listed:
            ET.SubElement(ET.SubElement(root, "url"), "loc").text = house.address(leaf.path)
    return document(root)


def robots(house: House) -> bytes:
    """Write robots.txt: everything may be read (RFC 9309), and the sitemap lies there."""
    return f"User-agent: *\nAllow: /\n\nSitemap: {house.address(addresses.SITEMAP)}\n".encode()
