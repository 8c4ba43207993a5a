"""A phone in the same network: photos and hours with the code, nothing else, and nobody else."""

from __future__ import annotations

import io
from collections.abc import Iterator
from typing import Literal

import pytest
import zxingcpp
from PIL import Image
from playwright.sync_api import Browser

from sitegen.browser import phone as door
from sitegen.browser.desk import Workplace
from sitegen.browser.phone import Phone
from tests.browser.conftest import Visitor, looking, too_wide, violations
from tests.browser.test_pieces import jpeg, with_files


@pytest.fixture
def phone(demo: Visitor, monkeypatch: pytest.MonkeyPatch) -> Iterator[Phone]:
    """A door that is open; on loopback, as all servers of the tests are."""
    monkeypatch.setattr(door, "own_address", lambda: "127.0.0.1")
    found = Phone(demo.desk)
    found.open()
    yield found
    found.shut()


@pytest.fixture
def stranger(phone: Phone) -> Visitor:
    """Somebody in the same network."""
    return Visitor(phone.address, Workplace(phone.desk.folder, phone.desk.today, key="guess"))


@pytest.fixture
def guest(stranger: Visitor, phone: Phone) -> Visitor:
    """Somebody who typed the code."""
    got = stranger.send("/code", {"code": phone.code})
    assert got.status == 303
    key = got.headers["set-cookie"].partition("=")[2].partition(";")[0]
    return Visitor(phone.address, Workplace(phone.desk.folder, phone.desk.today, key=key))


def test_without_the_code_no_title_is_seen(stranger: Visitor) -> None:
    assert "code" in stranger.get("/").words
    assert "Clock-Winder" not in stranger.get("/").words
    assert stranger.get("/piece/clock-winder").to == "/"
    assert stranger.send("/piece/clock-winder/start", {"step": "sewing"}).to == "/"


def test_guessing_ends_soon_even_for_the_right_code(stranger: Visitor, phone: Phone) -> None:
    wrong = f"{(int(phone.code) + 1) % 10**6:06}"
    for _ in range(5):
        assert stranger.send("/code", {"code": wrong}).status == 422
    assert stranger.send("/code", {"code": phone.code}).status == 422


def test_the_desks_own_pages_are_not_there(guest: Visitor) -> None:
    for path in (
        "/orders",
        "/people",
        "/money",
        "/do/begin.backup",
        "/out/site/index.html",
        "/photo/card/clock-winder/bench.jpg",
    ):
        assert guest.get(path).status in {404, 422}
    assert guest.send("/do/orders.add", {"tier": "Pocket figure"}).status in {404, 405, 422}


def test_no_sum_and_no_name_is_shown(guest: Visitor, phone: Phone) -> None:
    studio = phone.desk.read()
    pages = guest.get("/").text + guest.get("/piece/clock-winder").text
    for order in studio.commissions.queue:
        assert order.private.name not in pages
    assert "€" not in pages
    assert "EUR" not in pages


def test_photos_and_hours_arrive(guest: Visitor, phone: Phone) -> None:
    path = "/piece/clock-winder/photos"
    sent = with_files(guest, path, guest.filled("/piece/clock-winder", path), [("IMG_1.jpg", jpeg())])
    assert sent.status == 303
    hours = guest.do("/piece/clock-winder", "/piece/clock-winder/hours", step="sewing", hours="1.5")
    assert "sewing" in guest.after(hours).words

    piece = phone.desk.read().piece("clock-winder")
    assert piece is not None
    assert len(piece.photos) == 3
    assert "sewing" in piece.private.hours


def test_a_piece_that_is_gone_takes_nothing(guest: Visitor) -> None:
    mark = guest.filled("/piece/clock-winder", "/piece/clock-winder/hours")["mark"]
    assert guest.send("/piece/moth-usher/hours", {"mark": mark, "step": "x", "hours": "1"}).status == 422


@pytest.mark.parametrize("host", ["elsewhere.example", "1.2.3.4", "localhost", ""])
def test_a_name_or_a_number_of_the_open_net_is_refused(guest: Visitor, host: str) -> None:
    assert guest.ask("GET", "/", Host=host or "x").status == 403


def test_a_form_from_elsewhere_is_refused(guest: Visitor) -> None:
    got = guest.ask(
        "POST",
        "/code",
        b"code=1",
        Origin="http://192.168.7.7",
        Content_Type="application/x-www-form-urlencoded",
    )
    assert got.status == 403


def test_shut_is_shut(guest: Visitor, phone: Phone) -> None:
    phone.shut()
    with pytest.raises(OSError, match=r".*"):
        guest.get("/")


@pytest.mark.browser
def test_it_fits_a_phone_and_is_accessible(browser: Browser, phone: Phone) -> None:
    context = browser.new_context(viewport={"width": 320, "height": 640})
    page = context.new_page()
    page.goto(phone.address)
    assert violations(page) == []
    page.fill("#code", phone.code)
    page.keyboard.press("Enter")
    page.get_by_text("The Clock-Winder").click()
    page.get_by_role("heading", name="The Clock-Winder").wait_for()
    assert too_wide(page) <= 0
    assert violations(page) == []
    context.close()


@pytest.mark.browser
def test_the_desk_shows_the_address_as_a_code_that_a_camera_reads(
    demo: Visitor, browser: Browser, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Read by ZXing's decoder (ISO/IEC 18004), in both lights, and shut again."""
    monkeypatch.setattr(door, "own_address", lambda: "127.0.0.1")
    lights: tuple[Literal["light", "dark"], ...] = ("light", "dark")
    with looking(browser, demo, 390) as seen:
        seen.goto(f"{demo.address}/phone")
        for light in lights:
            seen.emulate_media(color_scheme=light)
            seen.get_by_role("button", name="Let a phone in").click()
            address = seen.locator("p.big a").inner_text()
            shown = Image.open(io.BytesIO(seen.locator(".code-picture").screenshot()))
            assert [code.text for code in zxingcpp.read_barcodes(shown)] == [address]
            assert violations(seen) == []
            assert not too_wide(seen)
            seen.get_by_role("button", name="Shut it").click()
            seen.get_by_role("button", name="Let a phone in").wait_for()
