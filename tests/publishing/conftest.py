"""A studio whose site is to be published."""

from __future__ import annotations

from pathlib import Path

import pytest

from sitegen.jobs import publish
from sitegen.publishing import moving
from tests import makers
from tests.cli.runner import run


def studio(folder: Path, pieces: int = 3) -> Path:
    """Write a studio with so many pieces, a photo each."""
    made = {
        f"piece-{number}": makers.piece_yaml(f"Piece {number}", number=f"2026-{number + 1:02}", series="")
        for number in range(pieces)
    }
    return makers.studio(folder, made)


def lives(studio: Path, /, **publish: str | int) -> Path:
    """Say in studio.yaml where a studio's site lives."""
    file = studio / "studio.yaml"
    text = file.read_text("utf-8").partition("publish:")[0]
    if site := publish.pop("site", ""):
        text = text.replace("https://lantern.example/", str(site))
    lines = "".join(f"  {name}: {value}\n" for name, value in publish.items())
    file.write_text(f"{text}publish:\n{lines}", "utf-8")
    return studio


@pytest.fixture(autouse=True)
def _no_waiting(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nobody is about to fetch a picture here, and a line that was cut is knit again at once."""
    monkeypatch.setattr(moving, "LINGER", 0.0)
    monkeypatch.setattr(publish, "_BREATH", 0.0)


@pytest.fixture(scope="session")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a studio that is built once, to be copied."""
    folder = studio(tmp_path_factory.mktemp("made") / "studio")
    assert run(folder, "build").exit_code == 0
    return folder
