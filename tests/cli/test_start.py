"""What every command costs before it does anything."""

from __future__ import annotations

import subprocess
import sys

# What only some commands need, each a tenth of a second or more together with what it brings along.
HEAVY = ("PIL", "babel", "jinja2", "markdown", "pydantic", "smtplib", "typst", "yaml")


def test_no_command_loads_what_another_needs() -> None:
    """The program itself, before it knows which command is wanted."""
    script = f"import sys, sitegen.terminal.main; print(*[name for name in {HEAVY} if name in sys.modules])"
    loaded = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)

    assert loaded.stdout.split() == []
