"""One reader of the artist's Markdown: page, letter and paper hold the same words, and none obeys raw HTML."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lxml import html as lxml

from sitegen.letters.note import Picture
from sitegen.letters.templates import note_html, note_text
from sitegen.voice.prose import Kind, blocks, html, nowhere
from sitegen.voice.voice import Voice, english
from tests.letters.test_odd_mail import work
from tests.voice.test_draw import voice_of

VOICE = english()
MARKS = [
    "a", "word ", "*", "**", "_", "`", "[", "](x)", "](http://h.example/)", "![", "\n", "\n\n", "- ", "1. ", "3. ",
    "> ", "# ", "### ", "    ", "<b>", "<script>", "<", "&amp;", "&copy;", "&lt", "&", '"', "'", "--", "...", "|",
    "---\n", "\\", "é", "<a@b.example>", "<http://c.example/>", "\u00a0", "  \n", "| a | b |\n| --- | --- |\n| c | d |\n",
]  # fmt: skip
MARKDOWN = st.lists(st.sampled_from(MARKS), max_size=25).map("".join)
ADDRESS = re.compile(r"\((?:http://h\.example/|http://c\.example/|a@b\.example)\)")


def plain(text: str) -> str:
    """Take away what only one of the three has: marks of items, of quotations and of a table's cells, gaps."""
    return re.sub(r"\s+", "", text)


def on_a_page(text: str, voice: Voice) -> str:
    made = html(text, voice.quotes, nowhere)
    return "".join(lxml.fromstring(f"<div>{made}</div>").itertext())


def on_paper(text: str, voice: Voice) -> list[str]:
    return [block.text for block in blocks(text, voice.quotes)]


@given(MARKDOWN, st.sampled_from(["en", "de"]))
def test_a_page_a_letter_and_a_paper_say_the_same_words(text: str, language: str) -> None:
    """Read by lxml, which isn't ours; a link's address and an item's mark are the letter's own."""
    voice = voice_of(language)
    letter = lxml.fromstring(f"<div>{note_html(text, voice)}</div>")

    paper = plain("".join(on_paper(text, voice)))
    assert paper.replace("·", "") == plain(on_a_page(text, voice)).replace("·", "")
    assert plain("".join(letter.itertext())) == plain(on_a_page(text, voice))
    in_text = ADDRESS.sub("", plain(note_text(text, voice)))
    for block in blocks(text, voice.quotes):
        # The text of a letter has a mark before each line of a quotation.
        assert block.quoted or ADDRESS.sub("", plain(block.text)) in in_text


@given(MARKDOWN)
def test_nothing_typed_is_obeyed(text: str) -> None:
    """Whatever is pasted, a page and a letter hold no element that Markdown doesn't make, and paper shows it."""
    for made in (html(text, VOICE.quotes, nowhere), note_html(text, VOICE)):
        tree = lxml.fromstring(f"<div>{made}</div>")
        assert not {one.tag for one in tree.iter()} & {"b", "script", "img"}
        assert all(re.match(r"https?:|mailto:", one.get("href", "http:")) for one in tree.iter("a"))


@pytest.mark.parametrize(
    ("language", "printed"),
    [("en", "“Yes”, she said – it’s ‘hers’…"), ("de", "„Yes“, she said – it’s ‚hers‘…")],
)
def test_type_is_set_in_the_studios_language_everywhere(language: str, printed: str) -> None:
    """Quotes of the language (as in its words), dash and dots; source of the marks: CLDR's quotation marks."""
    voice = voice_of(language)
    typed = "\"Yes\", she said -- it's 'hers'..."

    assert on_a_page(typed, voice) == printed
    assert note_text(typed, voice) == printed
    assert on_paper(typed, voice) == [printed]
    assert note_html(typed, voice) == f'<p style="margin-top:0;margin-bottom:1em;">{printed}</p>'


def test_blocks_keep_kinds_marks_and_lines() -> None:
    """Headings, paragraphs, items with their numbers, tables by row, rules and asked-for line breaks."""
    text = """# Scope
One **figure**,
by `hand` & heart.

3. First [thing](https://a.example)
4. Second

    still second

    - inside

| a | b |
|---|---|
| c | d |

---

> said\x20\x20
> twice

<b>raw</b> 2 < 3 &copy;

    set
      off
"""
    assert [(block.kind.value, block.mark, block.text) for block in blocks(text, VOICE.quotes)] == [
        ("heading", "", "Scope"),
        ("paragraph", "", "One figure, by hand & heart."),
        ("item", "3.", "First thing"),
        ("item", "4.", "Second"),
        ("item", "", "still second"),
        ("item", "-", "inside"),
        ("paragraph", "", "a · b\nc · d"),
        ("rule", "", ""),
        ("paragraph", "", "said\ntwice"),
        ("paragraph", "", "<b>raw</b> 2 < 3 ©"),
        ("paragraph", "", "set\noff"),
    ]
    assert [block.quoted for block in blocks(text, VOICE.quotes) if block.quoted] == [1]
    assert blocks("", VOICE.quotes) == ()
    assert blocks("   \n", VOICE.quotes) == ()
    assert Kind("item") is Kind.ITEM


def test_a_table_in_a_letter_is_read_row_by_row() -> None:
    """As text and as HTML; it used to be a run of bars."""
    table = "| size | price |\n| --- | --- |\n| small | 10 |\n"

    assert note_text(table, VOICE) == "size · price\nsmall · 10"
    assert "<td>small</td>" in note_html(table, VOICE)


def test_a_picture_of_the_studios_own_is_told_in_its_language() -> None:
    """Text can't show it, so it says what is on it."""
    shown = {"moth": Picture("cid:moth@x", 10, 20, "Eine Motte", None)}

    assert note_text("![](moth)", voice_of("de"), shown) == "[Bild: Eine Motte]"
    assert note_text("![](moth)", VOICE, shown) == "[Picture: Eine Motte]"
    assert 'src="cid:moth@x"' in note_html("![](moth)", VOICE, shown)


@pytest.mark.parametrize(
    ("before", "after"), [("[", "](y)"), ("[", ""), ("[a](", ""), ("[a](", ")"), ("![", "](y)"), ("(", ")")]
)
def test_brackets_within_brackets_are_read_in_time_that_grows_with_them(before: str, after: str) -> None:
    """Twice as many take about twice the steps, not four times, however they nest; words stay."""

    def steps(many: int) -> int:
        text = before * many + "word" + after * many
        return work(lambda: blocks(text, VOICE.quotes))

    assert steps(200) < 3 * steps(100)
    if "](" not in before:  # there it's an address
        assert "word" in note_text(before * 300 + "word" + after * 300, VOICE)
