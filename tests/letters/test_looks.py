"""Letters of every theme as a browser shows them on a telephone, by day and by night."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Literal

import pytest
from playwright.sync_api import Browser

from sitegen.letters.announce import Writing
from sitegen.letters.kinds import announce_commissions, announce_pieces, announce_show
from tests.letters.studio import MOMENT, PEOPLE, front, room
from tests.letters.test_pieces import house
from tests.themes import ALL

# The daily run looks at one theme.
_EACH_THEME = [
    pytest.param(theme, id=theme.name, marks=[pytest.mark.slow] * (theme.name != "case")) for theme in ALL
]


@pytest.fixture(scope="module", params=_EACH_THEME)
def letters(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """Make one letter of each kind in one theme."""
    folder = tmp_path_factory.mktemp("looks")
    where = replace(room(folder), theme=request.param)
    note = "A word of mine, with [a link](https://lantern.example/) and `" + "a-long-word" * 12 + "`."
    made = [
        announce_commissions(Writing(front(folder / "s"), PEOPLE, where, note)),
        announce_show(Writing(front(folder / "s"), PEOPLE, where, note), "quayside-2027"),
        announce_pieces(Writing(house(folder / "p"), PEOPLE, where, note), ("tea-smuggler",)),
    ]
    assert MOMENT.tzinfo is not None
    return [announcement.folder / "letter.html" for announcement in made]


CONTRAST = """() => {
  const light = (text) => {
    const [r, g, b] = text.match(/[0-9.]+/g).slice(0, 3).map(v => v / 255)
      .map(v => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const ground = light(getComputedStyle(document.body).backgroundColor);
  return Math.min(...[...document.querySelectorAll('p, td, h1, h2, a, em, li, span')].map(one => {
    const ink = light(getComputedStyle(one).color);
    return (Math.max(ink, ground) + 0.05) / (Math.min(ink, ground) + 0.05);
  }));
}"""


_SCHEMES: tuple[Literal["light", "dark"], ...] = ("light", "dark")


@pytest.mark.browser
def test_letters_fit_a_telephone_and_can_be_read(browser: Browser, letters: list[Path]) -> None:
    """Nothing wider than 390 px, nothing fetched, text of at least 15 px, contrast of WCAG 2.2's 4.5 : 1; night is dark."""
    context = browser.new_context(viewport={"width": 390, "height": 844})
    page = context.new_page()
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    for file in letters:
        page.goto(file.as_uri())
        grounds = []
        for scheme in _SCHEMES:
            page.emulate_media(color_scheme=scheme)
            assert page.evaluate("document.documentElement.scrollWidth") <= 390
            assert page.evaluate(CONTRAST) >= 4.5, scheme
            smallest = page.evaluate(
                "Math.min(...[...document.querySelectorAll('p, td')].map(one => parseFloat(getComputedStyle(one).fontSize)))"
            )
            assert smallest >= 15
            colour = page.evaluate(
                "getComputedStyle(document.body).backgroundColor.match(/[0-9]+/g).map(Number)"
            )
            grounds.append(sum(colour) / 3)
        # The theme's night, not the day turned over.
        assert grounds[0] > 200
        assert grounds[1] < 60
    context.close()
    assert [url for url in asked if not url.startswith("file:")] == []
