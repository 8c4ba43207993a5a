"""Put a studio into a new folder: the starter to fill in, or the demo to play with."""

from __future__ import annotations

import contextlib
import shlex
import shutil
import sys
from collections.abc import Iterator
from pathlib import Path

from sitegen.carried import carried
from sitegen.disk import own_folder
from sitegen.disk.files import OWN_FILE
from sitegen.jobs.build import build
from sitegen.jobs.unchanged import Progress
from sitegen.sources import StudioFault
from sitegen.studio.wish import Said, ask, wish

IGNORED = """\
# What is about other people, and what is made anew: it doesn't travel with the rest.
people.csv
commissions.yaml
sent/
closed/
.kept/
out/
"""
IGNORE_FILE = ".gitignore"
# What lies in demo/ for its makers and not for its visitors, and what a build leaves behind.
_NOT_COPIED = shutil.ignore_patterns("out", "sent", "__pycache__", ".*")


@wish
class NewStudio:
    folder: Path = ask(word=True, like="DIR", folder=True)


def begin(wish: NewStudio) -> Said:
    """Put the starter into a new or empty folder. Raises StudioFault if anything lies there."""
    folder = put("content", wish.folder)
    said = f"The starter studio is in {folder}. Fill in {folder / 'studio.yaml'} first;"
    return Said((said,), {"folder": str(folder)})


def demo(wish: NewStudio, today: str | None, progress: Progress | None = None) -> Said:
    """Put the invented studio into a new or empty folder, and do the daily jobs: site, letter, sheet."""
    from sitegen.jobs import letters, papers

    folder = put("demo", wish.folder)
    compiled = build(folder, today, progress)
    (letter,) = letters.commissions(folder, letters.AnnounceCommissions(), today).facts["letters"]
    (sheet,) = papers.sheet(folder, papers.SheetWish(), today).opens
    return Said((
        f"The invented studio is in {folder}.",
        f"Site:    {compiled.site / 'index.html'}",
        f"Letter:  {Path(letter['folder']) / 'letter.html'}  ({letter['to']} to write to)",
        f"Sheet:   {sheet}",
    ))  # fmt: skip


def put(name: str, folder: Path) -> Path:
    """Copy the carried studio `name` ("content" or "demo") into `folder`, which must be new or empty."""
    with new_studio(folder) as making:
        shutil.copytree(carried(name), making, ignore=_NOT_COPIED, dirs_exist_ok=True)
        (making / IGNORE_FILE).write_text(IGNORED, "utf-8")
        for other_people in ("people.csv", "commissions.yaml"):
            (making / other_people).chmod(OWN_FILE)
        put_starters(making)
    return folder


_MAKING, _WHOLE = ".making-studio", ".whole-studio"
_LAST = "studio.yaml"


@contextlib.contextmanager
def new_studio(folder: Path) -> Iterator[Path]:
    """Give a hidden folder to fill; what is in it when all went well becomes the studio `folder`.

    Raises StudioFault unless `folder` is new or empty: nothing of the artist's is ever overwritten.
    """
    made, making = not folder.exists(), folder / _MAKING
    if (folder / _WHOLE).is_dir():
        _move_up(folder)
        raise StudioFault(
            f"{folder}: an earlier run was stopped just before its end; that's made up for, and all is there"
        )
    shutil.rmtree(making, ignore_errors=True)
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise StudioFault(
            f"{folder} is not empty; name a new folder, so that nothing of yours is written over"
        )
    folder.mkdir(mode=0o755, parents=True, exist_ok=True)
    own_folder(making)
    try:
        yield making
        making.rename(folder / _WHOLE)
        _move_up(folder)
    finally:
        shutil.rmtree(making, ignore_errors=True)
        if made:
            with contextlib.suppress(OSError):  # it's filled
                folder.rmdir()


def _move_up(folder: Path) -> None:
    whole = folder / _WHOLE
    for entry in sorted(whole.iterdir(), key=lambda entry: entry.name == _LAST):
        entry.rename(folder / entry.name)
    whole.rmdir()


NAME = "Open the desk"
_MISSING = "The program isn't where it was when this studio was made. Install it again, then try once more."

_SHELL = """\
#!/bin/sh
# A double click opens the desk of this studio in the browser; closing this window closes the desk.
cd "$(dirname "$0")" || exit 1
program={python}
if [ -x "$program" ]; then exec "$program" -m sitegen --studio . desk "$@"; fi
if command -v sitegen >/dev/null; then exec sitegen --studio . desk "$@"; fi
echo "{missing}"
read -r _
"""
_WINDOWS = """\
@echo off\r
chcp 65001 >nul\r
rem A double click opens the desk of this studio in the browser; closing this window closes the desk.\r
cd /d "%~dp0"\r
if exist "{python}" goto ours\r
where sitegen >nul 2>nul || goto missing\r
sitegen --studio . desk %*\r
goto end\r
:ours\r
"{python}" -m sitegen --studio . desk %*\r
:end\r
if errorlevel 1 pause\r
exit /b\r
:missing\r
echo {missing}\r
pause\r
"""
# Desktop Entry Specification 1.5 (freedesktop.org): %k is where this file lies.
_LINUX = """\
[Desktop Entry]
Type=Application
Name={name}
Comment=Open the desk of this studio in the browser
Terminal=true
Exec=sh -c 'exec sh "$(dirname "$1")/{name}.command"' desk %k
"""


def put_starters(folder: Path) -> None:
    """Put files that open a studio's desk by a double click, one a system, where none is yet."""
    python = sys.executable
    texts = {
        "command": _SHELL.format(python=shlex.quote(python), missing=_MISSING),
        "bat": _WINDOWS.format(python=python.replace("%", "%%"), missing=_MISSING),
        "desktop": _LINUX.format(name=NAME),
    }
    for ending, text in texts.items():
        file = folder / f"{NAME}.{ending}"
        if not file.exists():
            file.write_text(text, "utf-8", newline="")
            file.chmod(0o755)
