"""A theme holds what differs; the rest it takes from the theme it is like, and from what all share."""

from __future__ import annotations

from pathlib import Path

import pytest

from sitegen.studio.fault import Fault
from sitegen.voice.theme_files import find_theme
from sitegen.voice.theme_words import read_tree
from tests import makers
from tests.themes import FOLDER


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
