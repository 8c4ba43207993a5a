"""Whatever can be named on the command line can be mistyped: each time the nearest name is said."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from sitegen.carried import carried
from tests.cli.runner import on

DAY = "2027-01-16"
MISTYPED = [
    ("piece worth star-daner", "star-darner"),
    ("certificate star-daner", "star-darner"),
    ("announce pieces star-daner", "star-darner"),
    ("clock start star-daner sewing", "star-darner"),
    ("plan star-daner", "star-darner"),
    ("plan A26-22", "A26-2"),
    ("agreement star-daner", "star-darner"),
    ("agreement A26-22", "A26-2"),
    ("order show R26-11", "R26-1"),
    ("order letter R26-11", "R26-1"),
    ("sheet winter-fair-2072", "winter-fair-2027"),
    ("announce show winter-fair-2072", "winter-fair-2027"),
    ("order offer wintr", "Winter 2027"),
    ("announce commissions wintr", "Winter 2027"),
    ("draw wintr", "Winter 2027"),
    ("slots --tier standng", "Standing figure"),
    ("order move R26-1 on the bnch", "on the bench"),
    ("piece mark star-darner sld", "sold"),
    ("people leave anton.weir@post.exmple", "anton.weir@post.example"),
    ("people list --who comissions", "commissions"),
    ("announce list first-lettr", "first-letter"),
    ("announce discard first-lettr", "first-letter"),
    ("guide leters", "letters"),
    ("piece add DEMO/pieces/clock-winder/bench.jpg --title X --series lodgrs", "Lodgers"),
]


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("near") / "demo"
    shutil.copytree(carried("demo"), folder)
    (folder / "out" / "letters" / "first-letter").mkdir(parents=True)
    (folder / "out" / "letters" / "first-letter" / "letter.json").touch()
    return folder


@pytest.mark.parametrize(("words", "meant"), MISTYPED)
def test_the_nearest_name_is_said(demo: Path, words: str, meant: str) -> None:
    result = on(DAY, demo, *words.replace("DEMO", str(demo)).split())

    assert result.exit_code == 1
    assert f"did you mean '{meant}'?" in result.output


def test_a_theme_too(demo: Path) -> None:
    """It stands in a file, and the complaint has its line."""
    settings = demo / "studio.yaml"
    settings.write_text(settings.read_text("utf-8").replace("theme: case", "theme: cse"), "utf-8")

    assert "did you mean 'case'?" in on(DAY, demo, "build").output


def test_the_plain_books_and_week_are_short_and_say_where_the_evidence_is(tmp_path: Path) -> None:
    """On the demo: the answer, and less than half of what `--why` shows."""
    demo = tmp_path / "demo"
    shutil.copytree(carried("demo"), demo)
    short = on(DAY, demo, "books", "--year", "2026").output.splitlines()
    whole = on(DAY, demo, "books", "--year", "2026", "--why").output.splitlines()

    assert len(short) * 2 < len(whole)
    assert len(short) <= 24
    assert any(line.startswith("What carries 2026: ") for line in short)
    assert "--why" in "".join(short)
    assert "--why" not in "".join(whole)
    assert any(line.startswith("left ") for line in short)
    assert not any(line.startswith("What it left") for line in short)
    assert "--why" in on(DAY, demo, "week").output
