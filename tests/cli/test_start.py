"""What every command costs before it does anything."""

from __future__ import annotations

import subprocess
import sys

import pytest

# What only some commands need, each a tenth of a second or more together with what it brings along.
HEAVY = ("PIL", "babel", "jinja2", "markdown", "pydantic", "smtplib", "typst", "yaml")
# Answers are read and worked out; they draw no picture, page, paper or code.
MAKING = ("PIL", "asyncssh", "jinja2", "markdown", "segno", "smtplib", "starlette", "typst")


@pytest.mark.parametrize(("room", "others"), [("terminal.main", HEAVY), ("jobs.answers", MAKING)])
def test_no_command_loads_what_another_needs(room: str, others: tuple[str, ...]) -> None:
    """The program itself, before it knows which command is wanted; and the daily answers."""
    script = f"import sys, sitegen.{room}; print(*[name for name in {others} if name in sys.modules])"
    loaded = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)

    assert loaded.stdout.split() == []
