"""Links lead where they say: on a host, in a subfolder, and opened as files."""

from __future__ import annotations

import re
from pathlib import Path
from urllib.parse import unquote, urlsplit

import pytest

from tests import makers
from tests.site.studio import THEMES, make_site, pages

_ADDRESSES = "//@href | //@src"


def built(folder: Path, name: str, address: str) -> Path:
    """Build a site with several pieces at an address."""
    studio = makers.studio(
        folder,
        {
            "ferry-ghost": makers.piece_yaml(
                story="Ask [about it](about) or [the ghost](pieces/night-nurse)."
            ),
            "night-nurse": makers.piece_yaml("Night Nurse", "sold", number="2025-02", finished="2025-01-01"),
        },
    )
    makers.write(studio / "studio.yaml", makers.STUDIO.replace("https://lantern.example/", address))
    make_site(studio, name, icons={"favicon.ico": b"icon", "icon.svg": b"<svg/>"})
    return studio / "out" / "site"


def links(site: Path) -> list[tuple[str, str]]:
    """Return page and address of everything that a page leads to or shows."""
    found = []
    for path, page in pages(site).items():
        found += [(path, str(one)) for one in page.xpath(_ADDRESSES)]
        for srcset in page.xpath("//@srcset"):
            found += [(path, part.split()[0]) for part in srcset.split(",")]
    return found


@pytest.mark.parametrize("name", THEMES)
def test_every_link_names_a_file_that_is_there(tmp_path: Path, name: str) -> None:
    """No link to a folder and none from the root, so that a file share or a double click will do."""
    site = built(tmp_path, name, "https://lantern.example/dolls/").resolve()
    inner = [(path, link) for path, link in links(site) if path != "404.html" and not urlsplit(link).scheme]
    assert len(inner) > 300
    for path, address in inner:
        target = (site / path).parent / unquote(urlsplit(address).path or Path(path).name)
        assert not address.startswith("/"), (path, address)
        assert target.resolve().is_relative_to(site), (path, address)
        assert target.is_file(), (path, address)


@pytest.mark.parametrize("name", THEMES)
def test_parts_of_pages_that_links_name_exist(tmp_path: Path, name: str) -> None:
    """A link with a # leads to an id."""
    site = built(tmp_path, name, "https://lantern.example/")
    parsed = pages(site)
    named = [(path, link) for path, link in links(site) if "#" in link]
    assert named
    for path, address in named:
        parts = urlsplit(address)
        target = (Path(path).parent / parts.path).as_posix() if parts.path else path
        page = parsed[(site / target).resolve().relative_to(site.resolve()).as_posix()]
        assert page.xpath("//*[@id=$name]", name=unquote(parts.fragment)), (path, address)


@pytest.mark.parametrize("name", THEMES)
def test_the_page_for_lost_visitors_works_at_any_depth(tmp_path: Path, name: str) -> None:
    """A host serves 404.html in place of any address, so its links start at the site's own folder."""
    site = built(tmp_path, name, "https://lantern.example/dolls/")
    addresses = [link for path, link in links(site) if path == "404.html" and not urlsplit(link).scheme]
    inner = [address for address in addresses if not address.startswith("#")]

    assert inner
    for address in inner:
        assert address.startswith("/dolls/")
        target = site / unquote(address.removeprefix("/dolls/"))
        assert target.is_file() or (target / "index.html").is_file()


@pytest.mark.parametrize("name", THEMES)
def test_nothing_is_asked_of_another_host(tmp_path: Path, name: str) -> None:
    """What a page loads is its own; there is no script but data, no inline style, no frame, no form."""
    site = built(tmp_path, name, "https://lantern.example/")
    for path, page in pages(site).items():
        loaded = page.xpath("//img/@src | //link[@rel='stylesheet' or contains(@rel, 'icon')]/@href")
        assert not [one for one in loaded if urlsplit(one).scheme or one.startswith("//")], path
        assert page.xpath("//script[not(@type='application/ld+json')] | //style | //iframe | //object") == []
        assert page.xpath("//*[@style] | //*[@onclick] | //*[@onload]") == []
        policy = page.xpath("//meta[@http-equiv='Content-Security-Policy']/@content")[0]
        assert policy.startswith("default-src 'none';")
        assert "unsafe" not in policy
    rules = (site / "style.css").read_text("utf-8")
    fonts = set(re.findall(r'url\("(fonts/[a-z-]+-[0-9a-f]{10}\.woff2)"\)', rules))
    assert rules.count("url(") == len(fonts) > 8
    assert fonts == {f"fonts/{path.name}" for path in (site / "fonts").iterdir()}
    assert "@import" not in rules


@pytest.mark.parametrize("name", THEMES)
def test_the_contact_address_is_not_lying_open(tmp_path: Path, name: str) -> None:
    """A plain search of the files doesn't find it; a parser, and so a browser and a screen reader, does."""
    site = built(tmp_path, name, "https://lantern.example/")
    files = [file for file in site.rglob("*") if file.suffix in {".html", ".xml", ".ics", ".css"}]

    assert not [file for file in files if b"hello@lantern.example" in file.read_bytes()]
    for page in pages(site).values():
        mails = [one for one in page.xpath("//a/@href") if one.startswith("mailto:")]
        assert mails
        assert all(mail.startswith("mailto:hello@lantern.example") for mail in mails)
        assert "hello@lantern.example" in page.xpath("//footer")[0].text_content()
