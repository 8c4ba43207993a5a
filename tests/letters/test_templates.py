"""The artist's Markdown: as HTML that asks nobody for anything, and as text to be read."""

from __future__ import annotations

import pytest

from sitegen.letters.templates import note_html, note_text, wrap
from sitegen.voice.voice import english

VOICE = english()


@pytest.mark.parametrize(
    ("note", "text"),
    [
        ("One *two* **three**.", "One two three."),
        ("First\nsame paragraph\n\nSecond", "First same paragraph\n\nSecond"),
        ("- a\n- b\n\nafter", "- a\n- b\n\nafter"),
        ("1. a\n2. b", "1. a\n2. b"),
        ("See [the site](https://studio.example/).", "See the site (https://studio.example/)."),
        ("<https://studio.example/>", "https://studio.example/"),
        ("[bad](javascript:alert(1))", "bad"),
        ("> said\n> so", "> said so"),
        ("# Head\n\nbody", "Head\n\nbody"),
        ("line  \nbreak", "line\nbreak"),
        ("![a moth](moth.jpg)", "a moth"),
        ("a <b>tag</b>", "a <b>tag</b>"),
        ("---", "* * *"),
        ("5 < 6 & 7", "5 < 6 & 7"),
        ("", ""),
    ],
)
def test_markdown_as_text(note: str, text: str) -> None:
    """Links keep their address, lists their marks, and tags are shown as typed."""
    assert note_text(note, VOICE) == text


def test_lines_break_at_72_columns() -> None:
    """An item's later lines stand under its first word; a long address isn't cut."""
    item = "- " + "word " * 30
    address = "https://studio.example/" + "a" * 80

    assert max(map(len, note_text(item, VOICE).splitlines())) <= 72
    assert note_text(item, VOICE).splitlines()[1].startswith("  word")
    assert address in note_text(f"See <{address}>", VOICE).splitlines()


def test_raw_html_is_shown_not_obeyed() -> None:
    """Whatever is pasted, the reader's program isn't told to fetch or run anything."""
    made = note_html(
        '<img src="https://x.example/p.gif">\n\ntext <script>x</script> ![p](https://x.example/q.gif)', VOICE
    )

    assert "<img" not in made
    assert "<script" not in made
    assert "&lt;script&gt;" in made


def test_wrapping_keeps_paragraphs() -> None:
    """An empty line stays one."""
    assert wrap("a  b\nc\n\n\nd") == "a b c\n\nd"
