"""Whatever happens to a command while it writes: files old or new, done is done, nothing is left, nobody twice."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

_ROOT = Path(__file__).parents[2]
# Read before a test begins: the environment of each is swept clean.
_TIMES = int(os.environ.get("SITEGEN_ACCIDENTS", "100"))


def accidents(times: int, seed: int) -> dict[str, int]:
    """Let each accident happen so often to each command; none may break a promise."""
    # Not in the tests' own folder: another user must be able to come in.
    with tempfile.TemporaryDirectory(prefix="accidents-") as home:
        program = [sys.executable, "-m", "tests.accidents.machine", home, str(times), str(seed)]
        ended = subprocess.run(program, cwd=_ROOT, capture_output=True, text=True, check=False)
    assert ended.returncode == 0, ended.stderr
    result = json.loads(ended.stdout)
    assert result["broken"] == [], result["happened"]
    happened: dict[str, int] = result["happened"]
    return happened


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt", reason="it forks")
def test_accidents_once_each() -> None:
    """The short form."""
    assert sum(accidents(1, 4).values()) == 55


@pytest.mark.long
@pytest.mark.skipif(os.name == "nt", reason="it forks")
def test_accidents_a_hundred_times_each() -> None:
    """The long form; SITEGEN_ACCIDENTS changes the number."""
    assert sum(accidents(_TIMES, 11).values()) == 55 * _TIMES
