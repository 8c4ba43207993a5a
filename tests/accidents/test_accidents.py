"""Whatever happens to a command while it writes: files old or new, done is done, nothing is left, nobody twice."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from tests.accidents.wishes import WISHES

_ROOT = Path(__file__).parents[2]
_MEMORY = Path("/dev/shm")  # noqa: S108 (a folder with a name of its own is made there)
# Read before a test begins: the environment of each is swept clean.
_TIMES = int(os.environ.get("SITEGEN_ACCIDENTS", "25"))

pytestmark = pytest.mark.skipif(os.name == "nt", reason="it forks")


def accidents(times: int, seed: int) -> dict[str, int]:
    """Let each accident happen so often to each command; none may break a promise."""
    # Not in the tests' own folder: another user must be able to come in. A disk in memory is quicker.
    place = _MEMORY if os.access(_MEMORY, os.W_OK) else None
    with tempfile.TemporaryDirectory(prefix="accidents-", dir=place) as home:
        program = [sys.executable, "-m", "tests.accidents.machine", home, str(times), str(seed)]
        ended = subprocess.run(program, cwd=_ROOT, capture_output=True, text=True, check=False)
    assert ended.returncode == 0, ended.stderr
    result = json.loads(ended.stdout)
    assert result["broken"] == [], result["happened"]
    if result["skipped"]:
        print(result["skipped"])
    commands: dict[str, int] = result["commands"]
    return commands


@pytest.mark.slow
def test_two_accidents_to_each_command() -> None:
    """The short form: one of them is a kill between two steps, the other one of eight kinds."""
    assert set(accidents(0, 4)) == set(WISHES)


@pytest.mark.long
def test_each_accident_to_each_command_many_times() -> None:
    """The long form, about an hour; SITEGEN_ACCIDENTS changes how often."""
    assert min(accidents(_TIMES, 11).values()) >= 7 * _TIMES
