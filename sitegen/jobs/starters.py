"""Files in a studio's folder that open its desk by a double click, one a system."""

from __future__ import annotations

import shlex
import sys
from pathlib import Path

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
    """Put the files there; one that is there already is left as it is."""
    python = sys.executable
    texts = {
        f"{NAME}.command": _SHELL.format(python=shlex.quote(python), missing=_MISSING),
        f"{NAME}.bat": _WINDOWS.format(python=python.replace("%", "%%"), missing=_MISSING),
        f"{NAME}.desktop": _LINUX.format(name=NAME),
    }
    for name, text in texts.items():
        file = folder / name
        if not file.exists():
            file.write_text(text, "utf-8", newline="")
            file.chmod(0o755)
