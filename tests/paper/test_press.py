"""The press: themes with faults, letters that no font has."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from sitegen.paper.press import Printer
from sitegen.paper.sheet import sheet
from sitegen.studio.asked import Fault
from sitegen.voice.theme_files import ThemeFiles
from tests.paper.makers import CASE, front, front_with_show
from tests.paper.reading import flowing, texts
from tests.themes import theme_in


def print_with(theme: ThemeFiles) -> bytes:
    view = front()
    return sheet(Printer(view, theme, "a4"), view.shows[0], pages=1)


def theme_with(folder: Path, sheet_text: str) -> ThemeFiles:
    theme = folder / "mine"
    shutil.copytree(CASE.folders[0] / "paper", theme / "paper")
    (theme / "paper" / "sheet.typ").write_text(sheet_text, encoding="utf-8")
    return theme_in(theme)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("#let a = 1\n#let b = nothing\n", "mine/paper/sheet.typ, line 2: unknown variable: nothing"),
        ("= A\n\n#(1 + )", "mine/paper/sheet.typ, line 3: expected expression"),
        (
            "#let c = json(bytes(sys.inputs.content))\n\n#c.colour",
            'mine/paper/sheet.typ, line 3: dictionary does not contain key "colour"',
        ),
        ('#import "gone.typ": *', "mine/paper/sheet.typ, line 1: file not found"),
        ("#set text(lang: 5)", "mine/paper/sheet.typ, line 1: expected string, found integer"),
        ("no title", "PDF/UA-1 error: missing document title"),
    ],
)
def test_fault_in_a_theme_names_file_and_line(tmp_path: Path, text: str, sentence: str) -> None:
    """Who edits a theme learns where it broke."""
    with pytest.raises(Fault) as caught:
        print_with(theme_with(tmp_path, text))

    assert sentence in str(caught.value)
    assert "\n" not in str(caught.value)


def test_theme_without_a_template_is_named(tmp_path: Path) -> None:
    """A theme may lack paper; the sentence says which file and what to do."""
    words = tmp_path / "mine" / "words" / "en.yaml"
    words.parent.mkdir(parents=True)
    words.write_bytes(CASE.file("words/en.yaml").read_bytes())
    bare = ThemeFiles((tmp_path / "mine",))

    with pytest.raises(Fault, match=r"^mine/paper/sheet\.typ: the theme has no such file; copy it"):
        print_with(bare)


@pytest.mark.parametrize("name", ["Ђорђе Ζωή", "Łódź Ğüneş Ơn Việt", "בובה", "ñandú Þórr"])
def test_names_beyond_english_need_no_font_of_the_machine(
    name: str, recwarn: pytest.WarningsRecorder
) -> None:
    """Greek, Cyrillic, Hebrew and the accents of Europe and Viet Nam are in the fonts carried along."""
    view = front_with_show({"name": name})
    words = flowing(sheet(Printer(view, CASE, "a4"), view.shows[0], pages=1))

    assert not recwarn.list
    if name != "בובה":  # pdfium hands right-to-left words out in the order they are drawn
        assert name in words


def test_letter_that_no_font_has_is_refused_with_its_place() -> None:
    """A private-use letter can't be shown anywhere; nothing is printed with a box in its place."""
    view = front(tagline="Fair \U000f1234 of \U0010abcd dolls")

    with pytest.raises(
        Fault, match=r"^studio\.yaml: tagline: “Fair .*no font .* has “\U000f1234\U0010abcd”; write it"
    ):
        sheet(Printer(view, CASE, "a4"), view.shows[0], pages=1)


def test_marks_piled_on_a_letter_are_refused_with_their_place() -> None:
    """Viet Nam's letters have two marks (Unicode 16, U+1EA4 and others); a pile would run into the line above."""
    assert print_with_tagline("Mộc và Ấm e\u0302\u0301")
    with pytest.raises(Fault, match=r"^studio\.yaml: tagline: “.*” has 30 marks on one letter"):
        print_with_tagline("Moth" + "\u0301" * 30)


def print_with_tagline(tagline: str) -> bytes:
    view = front(tagline=tagline)
    return sheet(Printer(view, CASE, "a4"), view.shows[0], pages=1)


def test_control_characters_are_dropped() -> None:
    """A bell or a tab copied from elsewhere doesn't stop the press."""
    view = front_with_show({"name": "Fair\x07 of\x1b dolls"})

    assert "Fair of dolls" in flowing(sheet(Printer(view, CASE, "a4"), view.shows[0], pages=1))


def test_straight_apostrophe_becomes_a_printer_s_one() -> None:
    """Prose gets real apostrophes; an address keeps what it has."""
    view = front(studio="The Moth's House", contact="o'moth@saltglass.example")
    words = texts(sheet(Printer(view, CASE, "a4"), view.shows[0], pages=1))[0]

    assert "The Moth’s House" in words
    assert "o'moth@saltglass.example" in words
