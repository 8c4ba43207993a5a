"""What is shipped works: the wheel, unpacked away from the checkout, in an empty folder."""

from __future__ import annotations

import io
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest
from PIL import Image

pytestmark = pytest.mark.slow

ROOT = Path(__file__).resolve().parent.parent


@pytest.fixture(scope="module")
def unpacked(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build the wheel with the project's own build backend and unpack it."""
    folder = tmp_path_factory.mktemp("wheel")
    subprocess.run(
        [sys.executable, "-m", "pip", "wheel", "-q", "--no-deps", "--no-build-isolation", "-w", folder, ROOT],
        check=True, capture_output=True,
    )  # fmt: skip
    (wheel,) = folder.glob("*.whl")
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(folder / "copy")
    return folder / "copy"


def run(copy: Path, where: Path, *words: str) -> subprocess.CompletedProcess[str]:
    """Run the unpacked program in `where`; the checkout isn't on its path."""
    code = "import sys; sys.path.insert(0, sys.argv.pop(1)); import runpy; runpy.run_module('sitegen', run_name='__main__')"
    return subprocess.run(
        [sys.executable, "-c", code, str(copy), *words],
        cwd=where,
        capture_output=True,
        text=True,
        check=False,
    )


def test_the_demo_does_its_three_jobs_in_an_empty_folder(unpacked: Path, tmp_path: Path) -> None:
    """With small photos but for one: developing them is tested elsewhere, and long."""
    photos = list((unpacked / "sitegen" / "carried" / "demo" / "pieces").rglob("*.jpg"))
    small = io.BytesIO()
    Image.open(photos[0]).resize((400, 500)).save(small, "JPEG")
    for photo in photos:
        if (photo.parent.name, photo.name) != ("moth-usher", "figure.jpg"):
            photo.write_bytes(small.getvalue())

    done = run(unpacked, tmp_path, "--today", "2026-11-25", "demo", "my-studio")

    assert done.returncode == 0, done.stderr
    studio = tmp_path / "my-studio"
    for line, file in (
        ("Site:    my-studio/out/site/index.html", "out/site/index.html"),
        ("Sheet:   my-studio/out/paper/", None),
        ("Letter:  my-studio/out/letters/", None),
    ):
        assert line in done.stdout.replace("\\", "/")
        assert file is None or (studio / file).is_file()

    again = run(unpacked, studio, "--today", "2026-11-25", "build")

    assert again.returncode == 0, again.stderr
    assert "0 written, 0 taken away" in again.stdout


def test_a_new_studio_begins_and_builds(unpacked: Path, tmp_path: Path) -> None:
    assert run(unpacked, tmp_path, "begin", "mine").returncode == 0
    assert run(unpacked, tmp_path / "mine", "build").returncode == 0
    assert (tmp_path / "mine" / "out" / "site" / "index.html").is_file()


@pytest.mark.parametrize("studio", ["content", "demo"])
def test_the_checkout_it_was_installed_from_is_no_studio(unpacked: Path, tmp_path: Path, studio: str) -> None:
    """The README's first command installs a copy; its folder still holds the starter that others begin with."""
    for part in ("sitegen", studio):
        shutil.copytree(ROOT / part, tmp_path / part, ignore=shutil.ignore_patterns("__pycache__", "out"))
    list_of_people = tmp_path / studio / "people.csv"
    before = list_of_people.read_bytes()
    add = ["people", "add", "ada@mail.example", "--source", "web", "--evidence", "form on the site"]

    named = run(unpacked, tmp_path, "--studio", studio, *add)
    inside = run(unpacked, tmp_path / studio, *add)

    assert (named.returncode, inside.returncode) == (1, 1)
    assert "the program's own" in named.stderr
    assert "the program's own" in inside.stderr
    assert list_of_people.read_bytes() == before


def test_the_wheel_carries_themes_starter_and_demo_and_nothing_built(unpacked: Path) -> None:
    carried = unpacked / "sitegen" / "carried"

    assert (carried / "themes" / "case" / "theme.yaml").is_file()
    assert (carried / "content" / "studio.yaml").is_file()
    assert (carried / "demo" / "studio.yaml").is_file()
    assert not (carried / "demo" / "out").exists()
