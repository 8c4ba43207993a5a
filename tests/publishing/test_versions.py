"""A working copy under version control: one commit of exactly what changed, by the git program itself."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

from tests import makers
from tests.cli.runner import contents, run
from tests.publishing.conftest import lives
from tests.publishing.test_publish import retitle

pytestmark = pytest.mark.skipif(shutil.which("git") is None, reason="there's no git on this machine")


def git(place: Path, *words: str) -> str:
    who = ("-c", "user.name=Somebody", "-c", "user.email=somebody@mail.example")
    done = subprocess.run(
        ["git", "-C", str(place), *who, *words], check=True, capture_output=True, encoding="utf-8"
    )
    return done.stdout


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    """Return a working copy with a bare repository behind it, and work of the artist's own under way."""
    bare, place = tmp_path / "bare.git", tmp_path / "copy"
    subprocess.run(["git", "init", "-q", "--bare", "-b", "main", str(bare)], check=True)
    subprocess.run(["git", "clone", "-q", str(bare), str(place)], check=True, capture_output=True)
    makers.write(place / "notes.txt", "first")
    makers.write(place / ".gitattributes", "* text=auto\n")
    makers.write(place / ".gitignore", "*.xml\n")
    git(place, "add", ".")
    git(place, "commit", "-q", "-m", "mine")
    git(place, "push", "-q", "origin", "HEAD:main")
    makers.write(place / "notes.txt", "second")
    makers.write(place / "staged.txt", "to be committed some day")
    git(place, "add", "staged.txt")
    return place


def committed(place: Path) -> dict[str, bytes]:
    """Return what the bare repository would serve below docs/, but for the list."""
    bare = place.parent / "bare.git"
    out = place.parent / "served"
    shutil.rmtree(out, ignore_errors=True)
    subprocess.run(["git", "clone", "-q", "-c", "core.autocrlf=false", str(bare), str(out)], check=True)
    found = contents(out / "docs")
    found.pop("published.sha256", None)
    return found


def test_a_commit_of_exactly_what_changed_is_pushed(made: Path, copy: Path, tmp_path: Path) -> None:
    """What git ignores or would turn is committed byte for byte; the artist's own work stays as it is."""
    studio = shutil.copytree(made, tmp_path / "studio")
    (copy / "docs").mkdir()
    lives(studio, way="version control", folder=str(copy / "docs"))
    before = git(copy, "status", "--porcelain")
    result = run(studio, "publish")

    assert result.exit_code == 0, result.output
    assert git(copy, "status", "--porcelain") == before
    named = git(copy, "show", "--name-only", "--format=", "HEAD").split()
    assert {one.partition("/")[0] for one in named} == {"docs"}
    built = contents(studio / "out/site")
    for path, body in built.items():
        stored = subprocess.run(["git", "-C", str(copy), "cat-file", "blob", f"HEAD:docs/{path}"], check=True, capture_output=True)  # fmt: skip
        assert stored.stdout == body, path
    assert committed(copy).keys() == built.keys()

    first = git(copy, "rev-parse", "HEAD")
    assert run(studio, "publish").exit_code == 0
    assert git(copy, "rev-parse", "HEAD") == first
    retitle(studio, "piece-1", "Owl")
    shutil.rmtree(studio / "pieces/piece-2")
    result = run(studio, "publish")
    assert result.exit_code == 0, result.output
    assert git(copy, "rev-parse", "HEAD^") == first
    changed = git(copy, "show", "--name-status", "--format=", "HEAD").splitlines()
    assert "D\tdocs/pieces/piece-2/index.html" in changed
    assert "M\tdocs/pieces/piece-1/index.html" in changed
    assert not any("piece-0/index" in one for one in changed)
    assert git(copy, "status", "--porcelain") == before
    assert git(copy.parent / "bare.git", "rev-parse", "main") == git(copy, "rev-parse", "HEAD")


def test_no_hook_runs(made: Path, copy: Path, tmp_path: Path) -> None:
    """githooks(5): what a push, a new commit or a changed index would start."""
    for name in ("pre-push", "reference-transaction", "post-index-change", "post-commit", "pre-commit"):
        hook = makers.write(copy / ".git/hooks" / name, f"#!/bin/sh\ntouch '{tmp_path}/ran-{name}'\n")
        hook.chmod(0o755)
    studio = lives(shutil.copytree(made, tmp_path / "studio"), way="version control", folder=str(copy))

    assert run(studio, "publish").exit_code == 0
    assert list(tmp_path.glob("ran-*")) == []


def test_a_push_that_is_refused_is_said_and_made_up_for(made: Path, copy: Path, tmp_path: Path) -> None:
    studio = shutil.copytree(made, tmp_path / "studio")
    lives(studio, way="version control", folder=str(copy))
    (copy.parent / "bare.git").rename(copy.parent / "away.git")
    result = run(studio, "publish")

    assert result.exit_code == 1
    assert "the commit is made, but not pushed" in result.output
    (copy.parent / "away.git").rename(copy.parent / "bare.git")
    result = run(studio, "publish")
    assert result.exit_code == 0, result.output
    assert "pieces/piece-0/index.html" in git(
        copy.parent / "bare.git", "ls-tree", "-r", "--name-only", "main"
    )


def test_without_git_a_sentence(
    made: Path, copy: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    studio = lives(shutil.copytree(made, tmp_path / "studio"), way="version control", folder=str(copy))
    before = contents(copy)
    monkeypatch.setenv("PATH", "")
    result = run(studio, "publish")

    assert result.exit_code == 1
    assert "git isn't on this machine" in result.output
    assert contents(copy) == before
