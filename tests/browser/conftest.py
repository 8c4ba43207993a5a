"""A desk that is open on this machine, somebody who uses it without a browser, and one who uses Chromium."""

from __future__ import annotations

import http.client
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import urlencode, urlsplit

import axe_core_python
import pytest
from lxml import html
from playwright.sync_api import Browser, Page

from sitegen.browser.app import app_for
from sitegen.browser.desk import Workplace
from sitegen.browser.serving import served
from sitegen.jobs.reading import kept_reading
from tests import makers

DEMO = Path(__file__).resolve().parents[2] / "demo"
TODAY = "2026-11-24"
AXE = (Path(axe_core_python.__file__).parent / "axe.min.js").read_text("utf-8")


@dataclass(frozen=True)
class Got:
    """What the desk answered."""

    status: int
    text: str
    headers: dict[str, str]

    @property
    def to(self) -> str:
        """Where it leads on."""
        return self.headers.get("location", "")

    @property
    def page(self) -> Any:
        """The page as a tree."""
        return html.fromstring(self.text)

    @property
    def words(self) -> str:
        """What stands on the page, its apostrophes straight."""
        return " ".join(self.page.text_content().replace("’", "'").split())


class Visitor:
    """Somebody with the session's cookie and no script: reads pages, fills in their forms."""

    def __init__(self, address: str, desk: Workplace) -> None:
        self.address, self.desk = address, desk
        self.host = urlsplit(address).netloc
        self.cookie = f"desk-{self.host.partition(':')[2]}={desk.key}"

    def ask(self, method: str, path: str, body: bytes = b"", **headers: str) -> Got:
        """Ask for something, with the cookie unless told otherwise."""
        sent = {"Host": self.host, "Cookie": self.cookie} | {
            k.replace("_", "-"): v for k, v in headers.items()
        }
        door = http.client.HTTPConnection(self.host, timeout=60)
        try:
            door.request(method, path, body or None, {name: value for name, value in sent.items() if value})
            answer = door.getresponse()
            text = answer.read().decode("utf-8", "replace")
        finally:
            door.close()
        return Got(answer.status, text, {name.lower(): value for name, value in answer.getheaders()})

    def get(self, path: str) -> Got:
        """Open a page."""
        return self.ask("GET", path)

    def send(self, path: str, fields: dict[str, str]) -> Got:
        """Send a form's fields as a page of the desk would."""
        kind = "application/x-www-form-urlencoded"
        body = urlencode(fields).encode()
        return self.ask("POST", path, body, Origin=self.address, Content_Type=kind)

    def filled(self, page: str | Got, action: str, **values: str) -> dict[str, str]:
        """Return the fields of a form on a page, as a browser would send them, with some of them changed."""
        tree = (self.get(page) if isinstance(page, str) else page).page
        (form,) = tree.xpath(f"//form[@action='{action}']")
        fields = dict(form.form_values())
        for area in form.xpath(".//textarea"):
            fields[area.name] = fields[area.name].removeprefix("\n")  # as HTML has it, and this reader hasn't
        unknown = values.keys() - set(form.inputs.keys())
        assert not unknown, f"the form has no {unknown}"
        return {name: str(value) for name, value in (fields | values).items()}

    def do(self, page: str | Got, action: str, **values: str) -> Got:
        """Fill in a form of a page and send it."""
        return self.send(action, self.filled(page, action, **values))

    def sure(self, got: Got, action: str) -> dict[str, str]:
        """Return the fields of a form with the button pressed that writes it all the same."""
        (button,) = got.page.xpath(f"//form[@action='{action}']//button[@name='sure']/@value")
        return self.filled(got, action) | {"sure": str(button)}

    def after(self, got: Got) -> Got:
        """Follow where an answer leads."""
        assert got.status == 303, got.words
        return self.get(got.to.partition("#")[0])


Opens = Callable[[Path], Visitor]


@contextmanager
def opened(folder: Path, today: str | None = TODAY) -> Iterator[Visitor]:
    """Open the desk of a studio for as long as it's wanted."""
    desk = Workplace(folder, today)
    with kept_reading(), served(app_for(desk)) as address:
        yield Visitor(address, desk)


@pytest.fixture
def studio(tmp_path: Path) -> Path:
    """A small whole studio."""
    return makers.studio(tmp_path / "studio")


@pytest.fixture
def visitor(studio: Path) -> Iterator[Visitor]:
    """Somebody at the desk of the small studio."""
    with opened(studio) as found:
        yield found


@pytest.fixture
def demo(tmp_path: Path) -> Iterator[Visitor]:
    """Somebody at the desk of the invented studio."""
    folder = tmp_path / "demo"
    shutil.copytree(DEMO, folder, ignore=shutil.ignore_patterns("out", "sent"))
    with opened(folder) as found:
        yield found


@contextmanager
def looking(browser: Browser, visitor: Visitor, width: int = 1280, **more: Any) -> Iterator[Page]:
    """Show a desk that let this Chromium in; a word in the console or a request elsewhere fails the test."""
    context = browser.new_context(viewport={"width": width, "height": 900}, **more)
    name, _, value = visitor.cookie.partition("=")
    context.add_cookies([{"name": name, "value": value, "url": visitor.address, "sameSite": "Strict"}])
    page = context.new_page()
    wrong: list[str] = []
    page.on("pageerror", lambda fault: wrong.append(str(fault)))
    page.on("request", lambda asked: None if _is_here(asked.url) else wrong.append(asked.url))
    try:
        yield page
    finally:
        context.close()
    assert wrong == []


def _is_here(address: str) -> bool:
    return urlsplit(address).scheme in {"data", "blob"} or urlsplit(address).hostname == "127.0.0.1"


def violations(page: Page, *rules: str) -> list[str]:
    """Return what the accessibility rules of axe-core (WCAG 2.2 A and AA, best practices) find on a page: all, or these."""
    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE)
    only = {"runOnly": list(rules)} if rules else {}
    # Where a thing stands in words of CSS nobody asks; style sheets are fetched anew for one rule that is off.
    asked = {"resultTypes": ["violations"], "selectors": False, "preload": False, **only}
    found = page.evaluate("asked => axe.run(document, asked)", asked)
    return [f"{one['id']}: {one['nodes'][0]['html'][:160]}" for one in found["violations"]]


def too_wide(page: Page) -> int:
    """Return by how many pixels a page is wider than its window."""
    return int(page.evaluate("document.documentElement.scrollWidth - innerWidth"))


def by_keyboard(page: Page, label: str, within: int = 90) -> None:
    """Walk to what is called so by the Tab key alone."""
    for _ in range(within):
        page.keyboard.press("Tab")
        said = "(document.activeElement.labels?.[0] ?? document.activeElement).textContent.trim()"
        if page.evaluate(said).startswith(label):
            return
    raise AssertionError(f"no way to {label} by keyboard")
