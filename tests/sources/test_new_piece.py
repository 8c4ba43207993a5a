"""A piece that is put in: its file says what was known of it, and every photo is there."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sitegen.disk import pen
from sitegen.sources import StudioFault, read
from sitegen.sources.changes import NewPiece, add_piece, next_number, piece_yaml
from sitegen.sources.text import Notebook
from sitegen.sources.validate import build
from sitegen.sources.yaml_text import read_yaml
from sitegen.studio.piece import Piece, Status
from tests import makers

LINE = st.text(st.characters(exclude_categories=["Cs", "Cc", "Co", "Zl", "Zp"]), max_size=30).map(
    lambda text: " ".join(text.split())
)
NEW = st.builds(
    NewPiece,
    title=LINE.filter(bool),
    status=st.sampled_from(Status),
    photos=st.just(()),
    price=st.none() | st.decimals(0, 9999, places=2).map(str),
    finished=st.none() | st.dates(date(1900, 1, 1), date(2200, 1, 1)),
    series=st.none() | LINE,
    height_mm=st.none() | st.integers(1, 3000),
    base=LINE,
    materials=LINE,
    alts=st.lists(LINE, max_size=3).map(tuple),
)


@given(NEW, st.lists(st.from_regex(r"[a-z]{1,5}\.jpg", fullmatch=True), max_size=3, unique=True))
def test_what_was_known_reads_back_and_the_rest_is_left_to_fill(new: NewPiece, photos: list[str]) -> None:
    """Whatever words: a title may be `null`, a base `- lime: wood`."""
    notes = Notebook("piece.yaml")
    text = piece_yaml(new, "2026-07", photos)
    written = read_yaml(text, notes)
    assert written is not None
    found = build(Piece, written, notes, given={"slug": "x"})

    assert (found is None, notes.complaints) == (False, [])
    assert found is not None
    assert (found.title, found.number, found.status) == (new.title, "2026-07", new.status)
    assert found.price == (Decimal(new.price) if new.price else None)
    assert (found.finished, found.height_mm) == (new.finished, new.height_mm)
    assert (found.series or "", found.base, found.materials) == (new.series or "", new.base, new.materials)
    alts = [*new.alts, "", "", ""]
    assert [(photo.file, photo.alt) for photo in found.photos] == list(zip(photos, alts, strict=False))
    assert found.story == ""
    left_open = [line for line in text.splitlines() if line.startswith("# ") and ": " in line]
    assert ("# finished: 2026-05-14" in left_open) is (new.finished is None)
    assert ("# height_mm: 320" in left_open) is (new.height_mm is None)
    assert ("# price: 480" in left_open) is (new.price is None and new.status is not Status.AVAILABLE)
    assert ("\nprice:\n" in text) is (new.price is None and new.status is Status.AVAILABLE)
    assert ("# series: one of the series in studio.yaml" in left_open) is not bool(new.series)
    assert ("# base: turned lime wood" in left_open) is not bool(new.base)
    assert ("# materials: air-dry clay, glass eyes, silk" in left_open) is not bool(new.materials)


@settings(max_examples=50)
@given(st.lists(st.sampled_from(["a/Owl.JPG", "b/owl.jpg", "c/owl-3.jpg", "d/東.png", "e/owl-4.jpg", "f/œuf.webp", "g/owl!.jpg"]), max_size=7, unique=True))  # fmt: skip
def test_no_photo_takes_anothers_place(tmp_path_factory: pytest.TempPathFactory, chosen: list[str]) -> None:
    """Whatever they are called: as many files as photos, each with its own content."""
    folder = tmp_path_factory.mktemp("studio")
    for name in chosen:
        (folder / name).parent.mkdir()
        (folder / name).write_text(name)

    with pen(folder):
        made = add_piece(
            folder, NewPiece("Owl", Status.AVAILABLE, tuple(folder / name for name in chosen)), "2026-01"
        )

    files = [file for file in made.iterdir() if file.name != "piece.yaml"]
    assert sorted(file.read_text() for file in files) == sorted(chosen)
    text = (made / "piece.yaml").read_text("utf-8")
    assert [line.removeprefix("  - file: ") for line in text.splitlines() if "- file:" in line] == [
        next(file.name for file in files if file.read_text() == name) for name in chosen
    ]


@pytest.mark.parametrize("title", ["Owl " * 30, "Owl " * 31, "Con", "null"])
def test_what_is_added_is_read_without_a_fault(title: str, tmp_path: Path) -> None:
    """However long its title, and however its photo's name ends; what no folder may be called is refused."""
    folder, photo = makers.studio(tmp_path / "studio", {}), makers.photo(tmp_path / "front.jpg")
    photo = photo.rename(tmp_path / "front.jpg #2")
    new = NewPiece(title.strip(), Status.AVAILABLE, (photo,), "480")
    with pen(folder):
        refused = {"Con": r"'con' is the name of a device .*--slug", "Owl " * 31: "title is too long; write"}
        if title in refused:
            with pytest.raises(StudioFault, match=refused[title]):
                add_piece(folder, new, "2026-01")
            assert [*(folder / "pieces").glob("*")] == []
            return
        add_piece(folder, new, "2026-01")

    assert read(folder).errors == ()


def test_a_piece_is_never_put_into_anothers_folder(tmp_path: Path) -> None:
    with pen(tmp_path):
        named = [
            add_piece(tmp_path, NewPiece(title, Status.SOLD, ()), "2026-07", own).name
            for title, own in (("The Owl", None), ("東京", None), ("The Owl", "owl"))
        ]
        with pytest.raises(
            StudioFault, match=r"^pieces/the-owl exists already; choose another title, or give"
        ):
            add_piece(tmp_path, NewPiece("the owl!", Status.SOLD, ()), "2026-08")

    assert named == ["the-owl", "piece-2026-07", "owl"]


@pytest.mark.parametrize(
    ("numbers", "following"),
    [
        ([], "2026-01"), (["2026-01", "2026-09"], "2026-10"), (["2026-100", "2026-99"], "2026-101"),
        (["2025-40", "20261-07", "2026-b"], "2026-01"),
    ],
)  # fmt: skip
def test_numbers_go_on_within_their_year(numbers: list[str], following: str) -> None:
    assert next_number(numbers, 2026) == following
