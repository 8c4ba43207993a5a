"""What letters' looks rest on, against a published list of what mail programs read.

The list is caniemail.com's (MIT licence), as of the day in `mail_programs.json`: the share of the tested programs that
read a feature, wholly or in part.
"""

from __future__ import annotations

import json
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest

from sitegen.letters.announce import Writing
from sitegen.letters.kinds import announce_pieces, announce_show
from tests.letters.studio import PEOPLE, front, room
from tests.letters.test_pieces import house

READ: dict[str, int] = json.loads(Path(__file__).with_name("mail_programs.json").read_text())["read"]
# What may fall away without harm: a finer line under a link, a heading's size, what only telephones are told.
FINISH = {"text-underline-offset", "border-collapse", "font-size", "-webkit-text-size-adjust"}
NAMES = {"color": "font", "font-family": "font", "border-top": "border", "margin-top": "margin",
         "margin-bottom": "margin", "padding-right": "padding", "background-color": "background"}  # fmt: skip


class Looks(HTMLParser):
    """Collect what stands in `style` attributes, and the widths of tables and pictures."""

    def __init__(self) -> None:
        super().__init__()
        self.properties: set[str] = set()
        self.tags: set[str] = set()
        self.widths: dict[str, set[str]] = {}
        self.unspaced: list[str] = []
        self.spaced = 0
        self.body = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.body |= tag == "body"
        held = dict(attrs)
        style = held.get("style") or ""
        self.properties |= set(re.findall(r"(?:^|;)\s*([a-z-]+)\s*:", style))
        if not self.body:
            return
        self.tags.add(tag)
        if "width" in held:
            self.widths.setdefault(tag, set()).add(held["width"] or "")
        if tag in {"p", "ul", "ol", "blockquote"} and "margin" not in style:
            self.unspaced.append(tag)
        self.spaced += tag in {"ul", "blockquote"}


@pytest.fixture(scope="module")
def looks(tmp_path_factory: pytest.TempPathFactory) -> list[Looks]:
    folder = tmp_path_factory.mktemp("looks")
    note = "One.\n\nTwo.\n\n- a\n- b\n\n> said"
    made = [
        announce_show(Writing(front(folder / "s"), PEOPLE, room(folder), note), "quayside-2027"),
        announce_pieces(Writing(house(folder / "p"), PEOPLE, room(folder), note), ("tea-smuggler",)),
    ]
    found = []
    for announcement in made:
        found.append(Looks())
        found[-1].feed((announcement.folder / "letter.html").read_text(encoding="utf-8"))
    return found


def test_what_holds_a_letter_together_is_read_nearly_everywhere(looks: list[Looks]) -> None:
    for letter in looks:
        for name in letter.properties - FINISH:
            assert READ.get(f"css-{NAMES.get(name, name)}", 0) >= 85, name
        assert READ["html-table"] == 100
        assert not letter.tags & {"svg", "form", "video", "picture", "script", "link"}


def test_the_width_is_a_tables_and_margins_stand_where_they_are_read(looks: list[Looks]) -> None:
    for letter in looks:
        assert "600" in letter.widths["table"]
        assert letter.unspaced == []
        assert letter.spaced == 2
