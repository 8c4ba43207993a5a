"""The site in a real browser: narrow, dark, on paper, by keyboard, without scripts, opened as files."""

from __future__ import annotations

import re
import threading
from collections.abc import Callable, Iterator
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from io import BytesIO
from pathlib import Path
from typing import Any, Literal
from urllib.parse import parse_qs, urlsplit

import pytest
from playwright.sync_api import Browser, ConsoleMessage, Page, Request, Route
from pypdf import PdfReader

from sitegen.site.theme import contrast
from sitegen.studio.piece import Status
from tests import makers
from tests.site.studio import THEMES, make_site

pytestmark = pytest.mark.browser
# The daily run looks at one theme.
_EACH_THEME = [pytest.param(name, marks=[pytest.mark.slow] * (name != "case")) for name in THEMES]
_SCHEMES: tuple[Literal["light", "dark"], ...] = ("light", "dark")
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


@pytest.fixture(scope="module", params=_EACH_THEME)
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
    (host / "favicon.ico").touch()  # what a browser asks for beside a picture that it shows alone
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


@pytest.fixture(scope="session")
def window(browser: Browser) -> Iterator[Page]:
    """Open one page without scripts for all: a window of its own costs as much as three visits."""
    context = browser.new_context(java_script_enabled=False)
    yield context.new_page()
    context.close()


@pytest.fixture
def page(window: Page) -> Iterator[Page]:
    """Look through the window, as a computer's, by day; fail on anything that the console complains of."""
    window.set_viewport_size({"width": 1280, "height": 900})
    window.emulate_media(media="null", color_scheme="light", reduced_motion="no-preference")
    window.goto("about:blank")  # what the last page still asked for is asked for no more
    complaints: list[str] = []

    def says(said: ConsoleMessage) -> None:
        complaints.append(f"{said.text} {said.location['url']}")

    def fails(asked: Request) -> None:
        complaints.append(f"{asked.failure} {asked.url}")

    window.on("console", says)
    window.on("requestfailed", fails)
    yield window
    window.remove_listener("console", says)
    window.remove_listener("requestfailed", fails)
    assert [complaint for complaint in complaints if not _of_fonts_alone(complaint)] == []


def _of_fonts_alone(complaint: str) -> bool:
    """Tell whether a font wasn't fetched early from a disk, or no more since the page was left before."""
    return ".woff2" in complaint and ("file:" in complaint or "net::ERR_ABORTED" in complaint)


def colour(page: Page, selector: str, name: str) -> str:
    """Return a computed colour as #rrggbb."""
    found = page.locator(selector).first.evaluate(f"one => getComputedStyle(one).{name}")
    red, green, blue = (int(part) for part in found[found.index("(") + 1 : -1].split(",")[:3])
    return f"#{red:02x}{green:02x}{blue:02x}"


# Of the fonts that the page's letters need, each is there and no other stands in.
_FONTS_THERE = (
    "[...document.fonts].filter(one => one.status == 'loaded' && /^(EB|Alegreya S|Oswald$|Fira S)/.test"
    "(one.family.replaceAll('\"', ''))).length >= 2"
)


def test_nothing_sticks_out(page: Page, address: str) -> None:
    """No page scrolls sideways (WCAG 2.2, 1.4.10 Reflow, at 320 px), long words included."""
    for path in PAGES:
        page.goto(address + path)
        for width in (320, 768, 2560):
            page.set_viewport_size({"width": width, "height": 800})
            assert page.evaluate("document.documentElement.scrollWidth") <= width, (path, width)


@pytest.mark.slow
@pytest.mark.parametrize("name", _EACH_THEME)
def test_long_words_of_another_language_fit_too(page: Page, tmp_path: Path, name: str) -> None:
    """German at 320 px (WCAG 2.2, 1.4.10), with every standing that a piece can have."""
    pieces = {
        f"piece-{number}": makers.piece_yaml(f"Figur {number}", status, number=f"2026-0{number}")
        for number, status in enumerate((status.value for status in Status), start=1)
    }
    pieces["witwe"] = makers.piece_yaml("Wetterwarteschiffskapitänswitwe", number="2025-09")
    studio = makers.studio(tmp_path, pieces)
    makers.write(studio / "studio.yaml", makers.STUDIO.replace("language: en", "language: de"))
    make_site(studio, name)
    page.set_viewport_size({"width": 320, "height": 800})
    for file in sorted((studio / "out" / "site").rglob("index.html")):
        page.goto(file.as_uri())
        assert page.evaluate("document.documentElement.scrollWidth") <= 320, file

    page.goto((studio / "out" / "site" / "pieces" / "witwe" / "index.html").as_uri())
    title = page.locator("h1:lang(de)")
    assert title.evaluate("one => getComputedStyle(one).hyphens") == "auto"
    page.set_viewport_size({"width": 390, "height": 800})
    lines = "one => {const r = document.createRange(); r.selectNodeContents(one); return r.getClientRects().length}"
    assert title.evaluate(lines) == 1, "a word that needn't be broken is broken"


def test_both_faces_can_be_read(page: Page, address: str) -> None:
    """Ground and inks change with the reader's wish and contrast by 4.5 : 1 (WCAG 2.2, 1.4.3)."""
    page.goto(address + "pieces/ferry-ghost/index.html")
    for scheme in _SCHEMES:
        page.emulate_media(color_scheme=scheme)
        ground = colour(page, "body", "backgroundColor")

        assert (contrast(ground, "#ffffff") > contrast(ground, "#000000")) == (scheme == "dark")
        for selector in ("body", "h1", ".price", "footer", ".note", ".particulars p"):
            assert contrast(colour(page, selector, "color"), ground) >= 4.5, (scheme, selector)


def test_the_keyboard_gets_everywhere_and_shows_where_it_is(page: Page, address: str) -> None:
    """Tab leads from the skip link through the page; every stop can be seen, in the order of the page."""
    page.emulate_media(reduced_motion="reduce")
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


def test_the_skip_link_leads_into_the_page(browser: Browser, address: str) -> None:
    """WCAG 2.2, 2.4.1: one press and the ways around the site lie behind; Shift and Tab lead back."""
    context = browser.new_context(viewport={"width": 390, "height": 844})
    page = context.new_page()
    page.goto(address + "gallery/index.html")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.wait_for_url("**#main")
    # The browser moves to it as it draws the next frame; when the one after begins, that is done.
    page.evaluate("new Promise(drawn => requestAnimationFrame(() => requestAnimationFrame(drawn)))")
    page.keyboard.press("Tab")
    within = "document.querySelector('main').contains(document.activeElement)"

    assert page.evaluate(within)
    page.keyboard.press("Shift+Tab")
    assert not page.evaluate(within)
    context.close()


def test_every_door_of_the_gallery_opens_on_as_many_pieces_as_it_says(page: Page, address: str) -> None:
    """Series and years as pages of their own, each with its count, each knowing where it is."""
    page.goto(address + "gallery/index.html")
    doors = page.locator(".doors a").evaluate_all(
        "all => all.map(one => [one.href, one.querySelector('.count')?.textContent ?? ''])"
    )
    assert [count for _, count in doors] == ["3", "", "3", "2", "1"]
    for target, count in doors:
        page.goto(target)
        assert page.locator(".doors [aria-current=page]").evaluate("one => one.href") == target
        hung = page.locator("main article").count()
        assert hung == (int(count) if count else 1), target


def test_the_filters_lead_where_they_say(page: Page, address: str) -> None:
    """From the gallery to what is available, without a script; the sold piece isn't there."""
    page.goto(address + "gallery/index.html")
    page.locator(".doors").get_by_role("link", name="Available").click()

    page.wait_for_url(address + "gallery/available/index.html")
    main = page.locator("main").inner_text().lower()
    assert "the ferry ghost" in main
    assert "donaudampf" not in main
    page.locator(".doors").get_by_role("link", name="Night Ferry").click()
    page.wait_for_url("**/series/**")
    assert "donaudampf" in page.locator("main").inner_text().lower()


def test_a_sold_piece_is_shown_but_not_offered(page: Page, address: str) -> None:
    """What the visitor sees: the word, the pictures, no price, no way to buy."""
    page.goto(address + "pieces/night-nurse/index.html")
    text = page.locator("main article").first.inner_text()

    assert "sold" in text
    assert "€" not in text
    assert page.get_by_role("link", name="Ask for this piece").count() == 0
    assert page.locator("main img").first.evaluate("one => one.complete && one.naturalWidth > 0")


def test_pages_open_as_files(page: Page, site: Path) -> None:
    """A double click on index.html: style, fonts, pictures and links work (and the content policy lets them)."""
    page.goto((site / "index.html").as_uri())
    page.wait_for_function(_FONTS_THERE)
    styled = page.locator("body").evaluate("one => getComputedStyle(one).marginTop")
    shown = page.locator("main img").first.evaluate("one => one.complete && one.naturalWidth > 0")
    page.get_by_role("link", name="Gallery", exact=True).first.click()

    assert styled == "0px"
    assert shown
    page.wait_for_url("**/gallery/index.html")


@pytest.mark.parametrize("path", ["gallery/index.html", "pieces/ferry-ghost/index.html"])
def test_paper_reads_as_the_screen_does(page: Page, address: str, path: str) -> None:
    """A4 through the browser's own press, read by pypdf: label whole and in order, no way to click in between."""
    page.goto(address + path)
    pdf = PdfReader(BytesIO(page.pdf(format="A4")))
    text = " ".join(" ".join(sheet.extract_text() for sheet in pdf.pages).split()).lower()

    assert len(pdf.pages) <= 3
    assert "the ferry ghost" in text
    assert "€480" in text
    assert "32 cm (12½ in)" in text
    for gone in ("to the content", "ask for this piece", "payment terms,", "rooms of the gallery"):
        assert gone not in text
    if path.startswith("gallery"):
        assert text.index("€480") < text.index("on hold")
    else:
        for fact in ("clay, glass, silk", "lime wood", "she never pays the fare", "hello@lantern.example"):
            assert fact in text


@pytest.mark.parametrize("theme", _EACH_THEME)
def test_a_piece_is_one_sheet(page: Page, tmp_path: Path, theme: str) -> None:
    """A long story and four photos: label, story and pictures stand on one side of paper."""
    photos = "".join(f"\n  - file: {name}.jpg\n    alt: View {name}." for name in ("front", "a", "b", "c"))
    story = "She mends what the tide has undone, and never asks for whom. " * 20 + "So ends it."
    studio = makers.studio(tmp_path, {"ferry-ghost": makers.piece_yaml(story=story, photos=photos)})
    for name in ("a", "b", "c"):
        makers.photo(studio / "pieces" / "ferry-ghost" / f"{name}.jpg")
    make_site(studio, theme, icons={"favicon.ico": b""})
    page.goto((studio / "out/site/pieces/ferry-ghost/index.html").as_uri())
    edges: Any = dict.fromkeys(("top", "right", "bottom", "left"), "1cm")
    for size in ("A4", "Letter"):
        sheets = PdfReader(BytesIO(page.pdf(format=size, margin=edges))).pages
        assert len(sheets) == 1, size
        assert "so ends it." in " ".join(sheets[0].extract_text().split()).lower()


def test_paper_gives_every_piece_room(page: Page, address: str) -> None:
    """On A4 with usual margins (about 680 px) rows hang as they do on a desk: no piece is squeezed beside another."""
    page.set_viewport_size({"width": 680, "height": 900})
    page.emulate_media(media="print")
    page.goto(address + "gallery/series/night-ferry/index.html")
    widths = page.locator("main article").evaluate_all("all => all.map(one => one.clientWidth)")

    assert len(widths) == 3
    assert min(widths) >= 130
    assert max(widths) <= 300


def test_pictures_are_not_dimmed(page: Page, address: str) -> None:
    """The piece is the colour: no filter, no veil, by day and by night."""
    for path in PAGES[:3]:
        page.goto(address + path)
        for scheme in _SCHEMES:
            page.emulate_media(color_scheme=scheme)
            looks = page.locator("main img").evaluate_all(
                "all => all.map(one => [getComputedStyle(one).filter, getComputedStyle(one).opacity,"
                " getComputedStyle(one).mixBlendMode].join())"
            )
            assert looks
            assert set(looks) == {"none,1,normal"}, scheme


def test_paper_gets_ink_on_white(page: Page, address: str) -> None:
    """Printed, the page is black on white, without the ways around the site."""
    page.emulate_media(media="print", color_scheme="dark")
    page.goto(address + "pieces/ferry-ghost/index.html")

    assert colour(page, "body", "backgroundColor") == "#ffffff"
    assert contrast(colour(page, "h1", "color"), "#ffffff") >= 4.5
    assert not page.locator("header nav").first.is_visible()
    assert page.locator("h1").is_visible()


_MOVING = (
    "[...document.querySelectorAll('*')].filter(one => ['', '::before', '::after'].some(part => {"
    " const style = getComputedStyle(one, part || null);"
    " return style.animationName !== 'none' || parseFloat(style.transitionDuration) > 0"
    " || style.scrollBehavior === 'smooth'; })).length"
)


def test_nothing_moves(page: Page, address: str) -> None:
    """No animation, no transition and no smooth scrolling, for who can't bear motion and for everyone."""
    motions: tuple[Literal["reduce", "no-preference"], ...] = ("reduce", "no-preference")
    for path in PAGES:
        page.goto(address + path)
        for motion in motions:
            page.emulate_media(reduced_motion=motion)
            assert page.evaluate(_MOVING) == 0, (path, motion)


_WIDTHS = (
    "[...document.querySelectorAll('h1, h2, p, dd, li')].map(one => { const range = document.createRange();"
    " range.selectNodeContents(one); const box = range.getBoundingClientRect(); return [box.width, box.height]; })"
)


@pytest.mark.slow
def test_a_late_face_moves_no_line(browser: Browser, address: str) -> None:
    """Faces that come after the first painting leave the page as it was read until then."""
    context = browser.new_context(viewport={"width": 390, "height": 844})
    page, late = context.new_page(), list[Route]()

    def hold(route: Route) -> None:
        late.append(route)

    page.route("**/*.woff2", hold)
    page.goto(address + PAGES[2], wait_until="domcontentloaded")
    page.evaluate(
        "new Promise(done => new PerformanceObserver(() => done(0)).observe({type: 'paint', buffered: true}))"
    )
    before = page.evaluate(_WIDTHS)
    assert late
    for one in late:
        one.continue_()
    page.evaluate("document.fonts.ready.then(() => new Promise(requestAnimationFrame)).then(() => 0)")
    assert page.evaluate(_WIDTHS) == before
    context.close()


@pytest.mark.slow
def test_the_browser_takes_a_picture_of_fitting_size(browser: Browser, address: str) -> None:
    """At phone width and density no picture has over twice the pixels across that it's shown at."""
    context = browser.new_context(viewport={"width": 412, "height": 915}, device_scale_factor=2.6)
    page = context.new_page()
    for path in PAGES[:3]:
        page.goto(address + path)
        page.locator("main img").first.wait_for()
        too_large = page.evaluate(
            "Array.from(document.images).filter(one => one.complete && one.naturalWidth)"
            ".filter(one => { const name = one.currentSrc.match(/-(\\d+)-\\w+\\.\\w+$/);"
            " return Number(name[1]) > 2 * one.clientWidth * devicePixelRatio && Number(name[1]) > 320; })"
            ".map(one => one.currentSrc)"
        )
        assert too_large == [], path
    context.close()


def test_every_picture_of_a_piece_leads_to_its_largest(page: Page, address: str) -> None:
    """By keyboard too, without a script: a collector looks closely before buying."""
    page.goto(address + "pieces/ferry-ghost/index.html")
    figures = page.locator(".one figure").all()
    widest = [max(map(int, re.findall(r" (\d+)w", figure.inner_html()))) for figure in figures]
    named = [figure.get_by_role("link", name=re.compile(r"\w.*\(the picture, large\)")) for figure in figures]
    assert [link.count() for link in named] == [1] * len(figures) != []

    named[0].focus()
    page.keyboard.press("Enter")
    page.wait_for_url("**/pictures/**")

    assert f"-{widest[0]}-" in page.url
    assert page.locator("img").evaluate("one => one.naturalWidth") > 0


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


@pytest.fixture(scope="module", params=_EACH_THEME)
def ways_out(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build a site with a form on it."""
    studio = makers.studio(tmp_path_factory.mktemp(f"form-{request.param}"))
    makers.write(studio / "studio.yaml", makers.STUDIO + "sign_up: https://forms.example/lantern\n")
    make_site(studio, request.param)
    return studio / "out" / "site"


def serve_from(site: Path, headers: dict[str, str]) -> Callable[[Route, Request], None]:
    """Answer for lantern.example with a site's files, and with these headers."""
    kinds = {".html": "text/html; charset=utf-8", ".css": "text/css", ".webp": "image/webp"}

    def serve(route: Route, request: Request) -> None:
        file = site / urlsplit(request.url).path.lstrip("/")
        kind = kinds.get(file.suffix, "application/octet-stream")
        if file.is_file():
            route.fulfill(body=file.read_bytes(), headers={**headers, "content-type": kind})
        else:
            route.fulfill(status=404)

    return serve


def test_the_form_goes_to_its_receiver_and_nowhere_else(browser: Browser, ways_out: Path) -> None:
    """Filled in by label, sent without a script; the policy holds a form to another host back."""
    context = browser.new_context(java_script_enabled=False)
    page, sent = context.new_page(), []

    def receive(route: Route, request: Request) -> None:
        sent.append((request.method, request.url, parse_qs(request.post_data or "")))
        route.fulfill(body="thank you")

    context.route("https://lantern.example/**", serve_from(ways_out, {}))
    context.route("https://forms.example/**", receive)
    context.route("https://elsewhere.example/**", receive)
    page.goto("https://lantern.example/letters/index.html")
    page.get_by_role("button", name="Join the list").click()
    assert sent == []  # the address and the agreement are asked for first

    page.get_by_label("Your e-mail address").fill("ada@example.com")
    page.get_by_label("new pieces").check()
    page.get_by_label("I would like letters from Lantern & Loam").check()
    page.get_by_role("button", name="Join the list").click()
    page.wait_for_url("https://forms.example/lantern")
    ((method, url, fields),) = sent
    assert (method, url) == ("POST", "https://forms.example/lantern")
    assert fields["email"] == ["ada@example.com"]
    assert fields["interests"] == ["new pieces"]
    assert fields["consent"][0].startswith("I would like letters from Lantern & Loam and know")

    page.goto("https://lantern.example/letters/index.html")
    page.evaluate("document.forms[0].noValidate = true")
    page.evaluate("document.forms[0].action = 'https://elsewhere.example/'")
    with page.expect_console_message(lambda said: "form-action" in said.text):
        page.evaluate("document.forms[0].requestSubmit()")
    assert len(sent) == 1
    context.close()


def test_the_headers_do_no_harm(browser: Browser, ways_out: Path) -> None:
    """Served with the lines of headers.txt, pages are styled, pictures show, the console is silent."""
    rows = (ways_out / "headers.txt").read_text("ascii").splitlines()
    context = browser.new_context()
    page, complaints = context.new_page(), []
    page.on("console", lambda said: complaints.append(said.text))
    context.route(
        "https://lantern.example/**", serve_from(ways_out, dict(row.split(": ", 1) for row in rows))
    )
    for path in ("index.html", "pieces/ferry-ghost/index.html", "letters/index.html"):
        page.goto("https://lantern.example/" + path)
        assert page.locator("body").evaluate("one => getComputedStyle(one).marginTop") == "0px"
        shown = "all => all.every(one => one.complete && one.naturalWidth > 0)"
        assert page.locator("main img").evaluate_all(shown)
    assert [said for said in complaints if "404" not in said] == []
    context.close()
