"""Every version of the terms stays readable at an address of its own."""

from __future__ import annotations

from pathlib import Path

import pytest
from lxml import html

from tests import makers
from tests.site.studio import THEMES, make_site, pages

OLD = "terms/payment/2026-07/index.html"
NEWEST = "terms/payment/2026-09/index.html"


def put(folder: Path, name: str = "case") -> Path:
    make_site(folder, name)
    return folder / "out" / "site"


def words(page: html.HtmlElement) -> str:
    return " ".join(page.xpath("//main")[0].text_content().split())


def links(page: html.HtmlElement) -> list[str]:
    return [str(href) for href in page.xpath("//main//a/@href")]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A studio with an older version of its terms."""
    folder = makers.studio(tmp_path / "studio")
    text = "# Payment terms\n\nA deposit of 25%. See the [other page](commission-terms.md).\n"
    makers.write(folder / "pages" / "payment-terms" / "2026-07.md", text)
    makers.write(folder / "pages" / "commission-terms" / "2026-07.md", "# Commission terms\n\nEarly words.\n")
    return folder


@pytest.mark.parametrize("name", THEMES)
def test_old_terms_stay_at_their_address_with_their_numbers(folder: Path, name: str) -> None:
    """Today's page has today's number, leads to every version, and each version leads back."""
    site = pages(put(folder, name))
    live = site["payment-terms/index.html"]

    assert "A deposit of 30%, then monthly parts." in words(live)
    assert "Version 2026-09." in words(live)
    assert [link for link in links(live) if "terms/payment" in link] == [f"../{NEWEST}", f"../{OLD}"]
    assert "A deposit of 25%." in words(site[OLD])
    assert "30%" not in words(site[OLD])
    assert "as it was then" in words(site[OLD])
    assert "which is in force" in words(site[NEWEST])
    assert "../../../payment-terms/index.html" in links(site[OLD])
    # A link from an old text leads to the other text of the same version.
    assert "../../commission/2026-07/index.html" in links(site[OLD])


def test_changed_terms_are_in_no_version(folder: Path) -> None:
    """A text that nobody kept doesn't call itself a version."""
    text = (folder / "studio.yaml").read_text("utf-8").replace("deposit: 30%", "deposit: 35%")
    makers.write(folder / "studio.yaml", text)
    site = pages(put(folder))

    assert "A deposit of 35%" in words(site["payment-terms/index.html"])
    assert "Version 2026-09." not in words(site["payment-terms/index.html"])
    assert "which is in force" not in words(site[NEWEST])


def test_search_engines_are_shown_the_page_of_today(folder: Path) -> None:
    """Kept versions ask not to be listed and aren't in the sitemap."""
    built = put(folder)
    page = pages(built)[OLD]

    assert page.xpath("//meta[@name='robots']/@content")[0].startswith("noindex")
    assert "terms/payment" not in (built / "sitemap.xml").read_text("utf-8")
