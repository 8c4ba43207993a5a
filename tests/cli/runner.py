"""Run the program as a person would: arguments in; exit code, both streams and files out."""

from __future__ import annotations

from pathlib import Path

from click.testing import CliRunner, Result

from sitegen.terminal.main import main

TODAY = "2026-11-25"


def run(folder: Path, *words: str, typed: str | None = None) -> Result:
    """Run `sitegen --studio FOLDER WORDS` on a fixed day."""
    return on(TODAY, folder, *words, typed=typed)


def on(day: str, folder: Path, *words: str, typed: str | None = None) -> Result:
    """Run `sitegen --studio FOLDER WORDS` on a day of one's own."""
    return CliRunner().invoke(main, ["--studio", str(folder), "--today", day, *words], input=typed)


def times(folder: Path) -> dict[str, tuple[int, int]]:
    """Return when each file and folder below `folder` was last written, and its number on the disk."""
    return {
        path.relative_to(folder).as_posix(): (path.stat().st_mtime_ns, path.stat().st_ino)
        for path in sorted(folder.rglob("*"))
    }


def contents(folder: Path) -> dict[str, bytes]:
    """Return the bytes of each file below `folder`."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def own(folder: Path) -> dict[str, bytes]:
    """Return the artist's own files."""
    return {
        path: body for path, body in contents(folder).items()
        if not path.startswith(("out/", ".kept/", "sent/"))
    }  # fmt: skip
