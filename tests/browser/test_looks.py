"""Every page of the desk, opened once in Chromium: it fits a small phone and a wide window, and holds to the rules of
axe-core (WCAG 2.2 A and AA, best practices) by day, and to those of contrast by night."""

from __future__ import annotations

import shutil
from collections.abc import Iterable, Iterator

import pytest
from playwright.sync_api import Browser

from sitegen.browser.app import app_for
from tests.browser.conftest import DEMO, Visitor, looking, opened, too_wide, violations
from tests.browser.walk import addresses

# What only a studio's own names lead to, and pages with something asked of them.
NAMED = (
    "/orders/A26-1", "/orders/A26-6", "/orders/R26-1", "/orders?all=yes", "/orders?guide=1",
    "/orders/A26-4/letters/order-a26-4-offer", "/rounds/winter-2027", "/pieces/star-darner", "/weeks?weeks=8",
    "/money/2026", "/money/2025", "/money/worth?hours=30&price=900", "/money/plan?what=1000.01",
    "/money/booking?cost=350", "/shows/corn-hall-2026", "/settings/part/series", "/guide/letters",
    "/people?find=a", "/people/one?address=owen.tresk@example.com",
)  # fmt: skip
# Deeds share one form, and sheets another: some of each by day, all by hand.
SOME = {"/do/papers.cards", "/do/people.add", "/do/orders.pay", "/do/answers.books"}
# What the daily run looks at: the day, a text, sums, a piece with its photos, a deed.
DAILY = {"/", "/guide/letters", "/money/2026", "/pieces/star-darner", "/do/people.add"}


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Visitor]:
    """Somebody at the desk of the invented studio, for all pages."""
    folder = tmp_path_factory.mktemp("looks") / "demo"
    shutil.copytree(DEMO, folder, ignore=shutil.ignore_patterns("out", "sent"))
    with opened(folder) as found:
        found.after(found.do("/orders/A26-4", "/do/order_letters.letter"))
        yield found


def pages(desk: Visitor, every: bool) -> list[str]:
    """Return the addresses that answer with a page."""
    found = [
        place
        for place in addresses(app_for(desk.desk), "GET")
        if every or not place.startswith("/do/") or place in SOME
    ]
    answers = {place: desk.get(place) for place in [*found, *NAMED]}
    assert all(answers[place].status == 200 for place in NAMED)
    return [
        place
        for place, got in answers.items()
        if got.status == 200 and got.headers["content-type"].startswith("text/html")
    ]


def wrong(browser: Browser, desk: Visitor, places: Iterable[str]) -> dict[str, list[str]]:
    """Return what is wrong with each page that isn't as it should be."""
    found = {}
    with looking(browser, desk, 320) as page:
        for place in places:
            page.set_viewport_size({"width": 320, "height": 900})
            page.emulate_media(color_scheme="light", reduced_motion="reduce")
            page.goto(desk.address + place)
            said = violations(page) + ["wider than a phone"] * (too_wide(page) > 0)
            page.set_viewport_size({"width": 1280, "height": 900})
            page.emulate_media(color_scheme="dark", reduced_motion="reduce")
            said += violations(page, "color-contrast") + ["wider than a window"] * (too_wide(page) > 0)
            if said:
                found[place] = said
    return found


def test_a_page_of_each_kind_is_for_everyone(browser: Browser, desk: Visitor) -> None:
    assert wrong(browser, desk, sorted(DAILY)) == {}


@pytest.mark.slow
def test_every_page_is_for_everyone(browser: Browser, desk: Visitor) -> None:
    places = pages(desk, every=False)
    assert set(places) >= DAILY
    assert wrong(browser, desk, (place for place in places if place not in DAILY)) == {}


@pytest.mark.long
def test_every_deed_is_for_everyone(browser: Browser, desk: Visitor) -> None:
    assert wrong(browser, desk, pages(desk, every=True)) == {}


def test_what_cannot_be_read_is_seen(browser: Browser, desk: Visitor) -> None:
    """The look itself: grey on grey, a picture without words and a line too long are each found."""
    with looking(browser, desk, 320) as page:
        page.goto(f"{desk.address}/guide")
        page.evaluate(
            "document.querySelector('main').innerHTML += `<p>grey</p><img src='data:,'>`;"
            "Object.assign([...document.querySelectorAll('main p')].at(-1).style, "
            "{color: '#888', background: '#777', width: '999px'})"
        )
        assert {one.partition(":")[0] for one in violations(page)} >= {"color-contrast", "image-alt"}
        assert len(violations(page, "color-contrast")) == 1
        assert too_wide(page) > 0
