"""The site in a real browser: narrow, dark, on paper, by keyboard, without scripts, opened as files."""

from __future__ import annotations

import os
import shutil
import threading
from collections.abc import Iterator
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

from sitegen.site.colour import contrast
from tests import makers
from tests.site.studio import THEMES, make_site

pytestmark = pytest.mark.browser
CHROMIUM = Path(shutil.which("chromium") or "/usr/bin/chromium")
PAGES = (
    "index.html",
    "gallery/index.html",
    "pieces/ferry-ghost/index.html",
    "commissions/index.html",
    "shows/index.html",
    "letters/index.html",
    "payment-terms/index.html",
    "404.html",
)


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Start Chromium once for the file."""
    if not CHROMIUM.exists():
        if os.environ.get("SITEGEN_BROWSER_TESTS") == "must":
            pytest.fail("there is no Chromium on this machine")
        pytest.skip("there is no Chromium on this machine")
    with sync_playwright() as play:
        started = play.chromium.launch(executable_path=str(CHROMIUM), args=["--no-sandbox"])
        yield started
        started.close()


@pytest.fixture(scope="module", params=THEMES)
def site(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build one site a theme, with a sold piece, long words and a series."""
    pieces = {
        "ferry-ghost": makers.piece_yaml(),
        "night-nurse": makers.piece_yaml("Donaudampfschifffahrtskapitänswitwe", "sold", number="2025-02"),
        "third-class": makers.piece_yaml("Third Class", "on hold", number="2025-01", finished="2025-02-01"),
    }
    studio = makers.studio(tmp_path_factory.mktemp(request.param), pieces)
    makers.write(studio / "studio.yaml", makers.STUDIO.replace("lantern.example/", "lantern.example/dolls/"))
    make_site(studio, request.param, icons={"favicon.ico": b""})
    return studio / "out" / "site"


@pytest.fixture(scope="module")
def address(site: Path) -> Iterator[str]:
    """Serve the site from a subfolder of a loopback host; stop by itself."""
    host = site.parent / "host"
    host.mkdir(exist_ok=True)
    (host / "dolls").symlink_to(site, target_is_directory=True)
    handler = partial(_Quiet, directory=str(host))
    with ThreadingHTTPServer(("127.0.0.1", 0), handler) as server:
        thread = threading.Thread(target=server.serve_forever)
        thread.start()
        yield f"http://127.0.0.1:{server.server_address[1]}/dolls/"
        server.shutdown()
        thread.join()


class _Quiet(SimpleHTTPRequestHandler):
    def log_message(self, *_: object) -> None:
        """Say nothing."""


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    """Open one page without scripts, and fail on anything that the console complains of."""
    context = browser.new_context(java_script_enabled=False, viewport={"width": 1280, "height": 900})
    opened = context.new_page()
    complaints: list[str] = []
    opened.on("console", lambda said: complaints.append(said.text))
    opened.on("requestfailed", lambda asked: complaints.append(asked.url))
    yield opened
    context.close()
    assert complaints == []


def colour(page: Page, selector: str, name: str) -> str:
    """Return a computed colour as #rrggbb."""
    found = page.locator(selector).first.evaluate(f"one => getComputedStyle(one).{name}")
    red, green, blue = (int(part) for part in found[found.index("(") + 1 : -1].split(",")[:3])
    return f"#{red:02x}{green:02x}{blue:02x}"


@pytest.mark.parametrize("width", [320, 768, 2560])
def test_nothing_sticks_out(page: Page, address: str, width: int) -> None:
    """No page scrolls sideways (WCAG 2.2, 1.4.10 Reflow, at 320 px), long words included."""
    page.set_viewport_size({"width": width, "height": 800})
    for path in PAGES:
        page.goto(address + path)
        wide = page.evaluate("document.documentElement.scrollWidth")
        assert wide <= width, path


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_both_faces_can_be_read(browser: Browser, address: str, scheme: str) -> None:
    """Ground and inks change with the reader's wish and contrast by 4.5 : 1 (WCAG 2.2, 1.4.3)."""
    context = browser.new_context(color_scheme="dark" if scheme == "dark" else "light")
    page = context.new_page()
    page.goto(address + "pieces/ferry-ghost/index.html")
    ground = colour(page, "body", "backgroundColor")

    assert (contrast(ground, "#ffffff") > contrast(ground, "#000000")) == (scheme == "dark")
    for selector in ("body", "h1", ".price", "footer", ".note", ".particulars p"):
        assert contrast(colour(page, selector, "color"), ground) >= 4.5, selector
    context.close()


def test_the_keyboard_gets_everywhere_and_shows_where_it_is(browser: Browser, address: str) -> None:
    """Tab leads from the skip link through the page; every stop can be seen, in the order of the page."""
    context = browser.new_context(viewport={"width": 1280, "height": 900}, reduced_motion="reduce")
    page = context.new_page()
    page.goto(address + "gallery/index.html")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    assert page.locator(".skip").bounding_box()["y"] >= 0  # type: ignore[index]
    seen = []
    for _ in range(page.locator("a").count() - 1):
        page.keyboard.press("Tab")
        shown = page.evaluate(
            "['', '::after'].some(part => parseFloat(getComputedStyle(document.activeElement, part || null)"
            ".outlineWidth) >= 2 && getComputedStyle(document.activeElement, part || null).outlineStyle"
            " !== 'none')"
        )
        seen.append(page.evaluate("document.activeElement.href"))
        assert shown, seen[-1]
    links = page.locator("a").evaluate_all("all => all.slice(1).map(one => one.href)")
    assert seen == links
    context.close()


def test_the_filters_lead_where_they_say(page: Page, address: str) -> None:
    """From the gallery to what is available, without a script; the sold piece isn't there."""
    page.goto(address + "gallery/index.html")
    page.locator(".doors").get_by_role("link", name="Available").click()

    assert page.url == address + "gallery/available/index.html"
    main = page.locator("main").inner_text().lower()
    assert "the ferry ghost" in main
    assert "donaudampf" not in main
    page.locator(".doors").get_by_role("link", name="Night Ferry").click()
    assert "donaudampf" in page.locator("main").inner_text().lower()


def test_a_sold_piece_is_shown_but_not_offered(page: Page, address: str) -> None:
    """What the visitor sees: the word, the pictures, no price, no way to buy."""
    page.goto(address + "pieces/night-nurse/index.html")
    text = page.locator("main").inner_text()

    assert "sold" in text
    assert "€" not in text
    assert page.get_by_role("link", name="Ask for this piece").count() == 0
    assert page.locator("main img").first.evaluate("one => one.complete && one.naturalWidth > 0")


def test_pages_open_as_files(page: Page, site: Path) -> None:
    """A double click on index.html: style, pictures and links work (and the content policy lets them)."""
    page.goto((site / "index.html").as_uri())
    styled = page.locator("body").evaluate("one => getComputedStyle(one).marginTop")
    shown = page.locator("main img").first.evaluate("one => one.complete && one.naturalWidth > 0")
    page.get_by_role("link", name="Gallery", exact=True).first.click()

    assert styled == "0px"
    assert shown
    assert page.url.endswith("gallery/index.html")


def test_paper_gets_ink_on_white(page: Page, address: str) -> None:
    """Printed, the page is black on white, without the ways around the site."""
    page.emulate_media(media="print", color_scheme="dark")
    page.goto(address + "pieces/ferry-ghost/index.html")

    assert colour(page, "body", "backgroundColor") == "#ffffff"
    assert contrast(colour(page, "h1", "color"), "#ffffff") >= 4.5
    assert not page.locator("header nav").first.is_visible()
    assert page.locator("h1").is_visible()


def test_nothing_moves(page: Page, address: str) -> None:
    """No animation and no transition, so nothing to switch off for who can't bear motion."""
    page.goto(address + "pieces/ferry-ghost/index.html")
    moving = page.locator("*").evaluate_all(
        "all => all.filter(one => { const style = getComputedStyle(one);"
        " return style.animationName !== 'none' || parseFloat(style.transitionDuration) > 0.15; }).length"
    )

    assert moving == 0


def test_the_browser_takes_a_picture_of_fitting_size(browser: Browser, address: str) -> None:
    """At phone width and density no picture has over twice the pixels across that it's shown at."""
    context = browser.new_context(viewport={"width": 412, "height": 915}, device_scale_factor=2.6)
    page = context.new_page()
    for path in PAGES[:3]:
        page.goto(address + path)
        page.locator("main img").first.wait_for()
        too_large = page.evaluate(
            "Array.from(document.images).filter(one => one.complete && one.naturalWidth)"
            ".filter(one => { const name = one.currentSrc.match(/-(\\d+)\\.\\w+$/);"
            " return Number(name[1]) > 2 * one.clientWidth * devicePixelRatio && Number(name[1]) > 320; })"
            ".map(one => one.currentSrc)"
        )
        assert too_large == [], path
    context.close()


def test_no_cookie_and_no_storage(browser: Browser, address: str) -> None:
    """After a walk through the site nothing is stored, and only its own host was asked."""
    context = browser.new_context()
    page = context.new_page()
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    for path in PAGES:
        page.goto(address + path)

    assert context.cookies() == []
    assert page.evaluate("localStorage.length + sessionStorage.length") == 0
    assert asked
    assert [url for url in asked if not url.startswith(address)] == []
    context.close()
