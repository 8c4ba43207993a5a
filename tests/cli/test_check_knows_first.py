"""Whatever would stop a build is a complaint of `check`, with its file and line."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from sitegen.jobs.check import check
from sitegen.sources.people_import import Agreement, read_table
from sitegen.studio.person import Consent
from tests import makers


def errors(folder: Path) -> list[str]:
    return [str(one) for one in check(folder, "2026-11-25").complaints if one.level == "error"]


def with_line(folder: Path, key: str, value: str) -> Path:
    lines = [line for line in makers.STUDIO.splitlines() if not line.startswith(f"{key}:")]
    makers.write(folder / "studio.yaml", "\n".join([*lines, f"{key}: {value}"]) + "\n")
    return folder


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("site", "'https://[::1'"), ("site", "https://a:99999/"), ("site", "https://me@studio.example/"), ("site", "https:///x"),
        ("site", "https://-a.example/"), ("site", "https://studio.example/?a"), ("language", "tlh-nowhere"), ("language", "fr"),
        ("studio", "x" * 250), ("private", "{weekly_hours: 999999999}"), ("private", "{weeks: 1e999999}"), ("private", "{fees: 1e-999999}"),
        ("payment_plan", "{deposit: abc%}"), ("payment_plan", "{deposit: 30%, grace_days: 999999999}"), ("declined", "[a, ~]"), ("theme", "!x case"),
        ("private", "{days_away: [{from: 2026-01-01, to: 9999-12-31}]}"),
    ],
)  # fmt: skip
def test_a_value_out_of_bounds_has_its_line(tmp_path: Path, key: str, value: str) -> None:
    folder = with_line(makers.studio(tmp_path), key, value)

    assert any(error.startswith("studio.yaml, line ") for error in errors(folder))


def test_links_and_names_are_resolved_before_the_build(tmp_path: Path) -> None:
    """All at once, each where it stands."""
    folder = makers.studio(tmp_path)
    makers.write(folder / "pages" / "about.md", "# About\n\nSee\n[this](nowhere).\n")
    makers.write(folder / "pages" / "care.md", "# Care\n\n[that](nowhere-else)\n")

    found = errors(folder)

    assert [one.split(": ")[0] for one in found] == ["pages/about.md, line 4", "pages/care.md, line 3"]


@pytest.mark.parametrize("name", ["gallery", "Letters", "con", "x" * 250, "???"])
def test_a_page_s_name_must_make_an_address_of_its_own(tmp_path: Path, name: str) -> None:
    folder = makers.studio(tmp_path)
    makers.write(folder / "pages" / f"{name}.md", "# A page\n\nWords.\n")

    assert [error.split(":")[0].split(",")[0] for error in errors(folder)] == [f"pages/{name}.md"]


def test_a_folder_s_name_that_is_no_text_is_told(tmp_path: Path) -> None:
    folder = makers.studio(tmp_path)
    odd = os.fsencode(folder / "pieces") + b"/caf\xe9"
    try:
        Path(os.fsdecode(odd)).mkdir()
    except OSError:
        pytest.skip("this disk takes no such names")
    Path(os.fsdecode(odd + b"/piece.yaml")).write_text(makers.piece_yaml(), encoding="utf-8")

    assert any("isn't UTF-8" in error for error in errors(folder))


def test_a_photo_cut_short_is_told(tmp_path: Path) -> None:
    """Its header is whole; only its last rows are missing."""
    folder = makers.studio(tmp_path, {"ghost": makers.piece_yaml()})
    photo = folder / "pieces" / "ghost" / "front.jpg"
    photo.write_bytes(photo.read_bytes()[:-200])

    assert any("pieces/ghost/piece.yaml" in error and "cut short" in error for error in errors(folder))


def test_a_zero_byte_has_its_line_beside_the_other_faults(tmp_path: Path) -> None:
    folder = makers.studio(tmp_path, {"ghost": "title: G\nstatus: gone\nstory: a\0b\nphotos:\n  -\n"})

    assert [error.split(":")[0] for error in errors(folder)] == [
        f"pieces/ghost/piece.yaml, line {n}" for n in (2, 3, 5)
    ]


@pytest.mark.parametrize(
    "row",
    [
        "d?n@mail.example,Dan",
        f"dan@mail.example,{'x' * 200_000}",
        "dan@mail.example,D\0n",
        "dan@mail.example,D\ufffdn",
    ],
)
def test_an_odd_row_of_a_table_is_set_aside_by_itself(row: str) -> None:
    """Named by its line; the row behind it is taken over."""
    table = f"email,name\n{row}\nzoe@mail.example,Zoe\n".encode()

    found, refused = read_table(table, Agreement(Consent.WEB, "form"))

    assert ([line for line, _ in found], [refused.line for refused in refused]) == ([3], [2])
    assert len(refused[0].why) < 200


def test_a_table_of_half_letters_is_refused_in_a_sentence() -> None:
    table = "email,name\nzoe@mail.example,Zoe\n".encode("utf-16")[:-1]

    with pytest.raises(Exception, match="cut short"):
        read_table(table, Agreement(Consent.WEB, "form"))
