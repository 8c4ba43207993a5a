"""A theme holds what differs; the rest it takes from the theme it is like, and from what all share."""

from __future__ import annotations

from pathlib import Path

import pytest

from sitegen.studio.asked import Fault
from sitegen.voice.theme_files import find_theme
from sitegen.voice.words import read_tree
from tests import makers
from tests.cli.runner import run
from tests.paper.reading import flowing
from tests.themes import FOLDER, NAMES


def test_what_is_in_two_themes_stands_once() -> None:
    """No file of two themes has the same bytes, or it belongs to what they share."""
    files = [file for theme in ("case", "handbill") for file in (FOLDER / theme).rglob("*") if file.is_file()]
    contents = [file.read_bytes() for file in files]

    assert len(contents) > 20
    assert len(set(contents)) == len(contents)


def test_a_theme_of_three_lines_is_whole(tmp_path: Path) -> None:
    """`like:` gives it templates, letters and paper."""
    studio = makers.studio(tmp_path)
    makers.write(studio / "themes" / "mine" / "theme.yaml", "like: handbill\nname: Mine\n")
    theme = find_theme(studio, "mine")

    assert [folder.name for folder in theme.folders] == ["mine", "handbill", "base"]
    assert theme.file("site/home.html") == FOLDER / "handbill" / "site" / "home.html"
    assert theme.file("letters/letter.html") == FOLDER / "base" / "letters" / "letter.html"
    assert theme.find("site/nothing.html") is None
    with pytest.raises(Fault, match=r"^mine/site/nothing\.html: the theme has no such file"):
        theme.file("site/nothing.html")


def test_themes_that_are_like_each_other_end(tmp_path: Path) -> None:
    studio = makers.studio(tmp_path)
    makers.write(studio / "themes" / "a" / "theme.yaml", "like: b\n")
    makers.write(studio / "themes" / "b" / "theme.yaml", "like: a\n")

    assert [folder.name for folder in find_theme(studio, "a").folders] == ["a", "b", "base"]


def test_a_theme_like_one_that_is_not_there_names_those_that_are(tmp_path: Path) -> None:
    studio = makers.studio(tmp_path)
    makers.write(studio / "themes" / "a" / "theme.yaml", "like: caze\n")

    with pytest.raises(Fault, match=r"theme 'caze' is not one of a, case, handbill; did you mean 'case'"):
        find_theme(studio, "a")


def test_a_studio_changes_one_sentence_of_a_carried_theme(tmp_path: Path) -> None:
    """A file of words with one line, and no theme.yaml."""
    studio = makers.studio(tmp_path)
    makers.write(studio / "themes" / "case" / "words" / "en.yaml", "nav:\n  gallery: All my people\n")
    shown, words = read_tree(find_theme(studio, "case"), "en-IE")
    _, carried = read_tree(find_theme(studio, "handbill"), "en-IE")

    assert shown == "case/words/en.yaml"
    assert words["nav"] == {**carried["nav"], "gallery": "All my people"}
    assert {key: value for key, value in words.items() if key != "nav"} == {
        key: value for key, value in carried.items() if key != "nav"
    }


@pytest.mark.parametrize("like", NAMES)
def test_ten_minutes_make_a_theme(tmp_path: Path, like: str) -> None:
    """As themes/README.md tells it: theme.yaml, a stylesheet and three words; site, letter and paper are made."""
    studio = makers.studio(tmp_path)
    own = studio / "themes" / "shelf"
    makers.write(own / "theme.yaml", f'like: {like}\nname: Shelf\nlight: "#fbf8f2"\naccent: "#7a3b2e"\n')
    makers.write(
        own / "site" / "style.css",
        (FOLDER / like / "site" / "style.css").read_text("utf-8") + "h1{color:red}\n",
    )
    makers.write(
        own / "words" / "en.yaml",
        "nav:\n  gallery: The shelf\nstatus:\n  available: to be had\nmail:\n  hello: Good day,\n",
    )
    makers.write(studio / "studio.yaml", makers.STUDIO.replace("language: en", "language: en\ntheme: shelf"))

    for words in (("check",), ("build",), ("announce", "pieces", "ferry-ghost"), ("sheet",), ("cards",)):
        done = run(studio, *words)
        assert done.exit_code == 0, (words, done.output)
    site = studio / "out" / "site"
    assert "The shelf" in (site / "index.html").read_text("utf-8")
    assert "to be had" in (site / "pieces/ferry-ghost/index.html").read_text("utf-8")
    assert any("h1{color:red}" in path.read_text("utf-8") for path in site.rglob("*.css"))
    (letter,) = (studio / "out" / "letters").glob("*/letter.txt")
    assert letter.read_text("utf-8").startswith("Good day,")
    assert "to be had" in flowing((studio / "out" / "paper" / "cards.pdf").read_bytes())
