"""Whatever happens to a command while it writes: files old or new, done is done, nothing is left, nobody twice."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from aiosmtpd.smtp import SMTP, Envelope, Session

from tests.accidents.wishes import WISHES
from tests.letters.office import Desk, serving

_ROOT = Path(__file__).parents[2]
_MEMORY = Path("/dev/shm")  # noqa: S108 (a folder with a name of its own is made there)
# Read before a test begins: the environment of each is swept clean.
_TIMES = int(os.environ.get("SITEGEN_ACCIDENTS", "25"))

pytestmark = pytest.mark.skipif(os.name == "nt", reason="it forks")


def ran(program: str, times: int, seed: int, **environment: str) -> dict[str, Any]:
    """Let accidents happen so often; none may break a promise. Returns what the program tells."""
    # Not in the tests' own folder: another user must be able to come in. A disk in memory is quicker.
    place = _MEMORY if os.access(_MEMORY, os.W_OK) else None
    with tempfile.TemporaryDirectory(prefix="accidents-", dir=place) as home:
        words = [sys.executable, "-m", f"tests.accidents.{program}", home, str(times), str(seed)]
        ended = subprocess.run(
            words, cwd=_ROOT, env=os.environ | environment, capture_output=True, text=True, check=False
        )
    assert ended.returncode == 0, ended.stderr
    result: dict[str, Any] = json.loads(ended.stdout)
    assert result["broken"] == [], result["happened"]
    return result


def accidents(times: int, seed: int) -> dict[str, int]:
    """Let each accident happen so often to each command; return how many each of them met."""
    result = ran("machine", times, seed)
    if result["skipped"]:
        print(result["skipped"])
    commands: dict[str, int] = result["commands"]
    return commands


@pytest.mark.slow
def test_an_accident_to_each_command() -> None:
    """The short form: a kill between two steps, and for every third command one of eight kinds more."""
    assert set(accidents(0, 4)) == set(WISHES)


@pytest.mark.long
def test_each_accident_to_each_command_many_times() -> None:
    """The long form, about an hour; SITEGEN_ACCIDENTS changes how often."""
    assert min(accidents(_TIMES, 11).values()) >= 7 * _TIMES


class _WithoutMailbox(Desk):
    """A post office that knows of some that they're gone for good."""

    async def handle_RCPT(  # noqa: N802 (the library's name)
        self, server: SMTP, session: Session, envelope: Envelope, address: str, options: list[str]
    ) -> str:
        if address.startswith("gone-"):
            return "550 5.1.1 no such mailbox"
        return await super().handle_RCPT(server, session, envelope, address, options)


@pytest.mark.parametrize(
    "times", [pytest.param(4, marks=pytest.mark.slow), pytest.param(12 * _TIMES, marks=pytest.mark.long)]
)
def test_posting_meets_accidents_and_nobody_gets_two_or_none(times: int) -> None:
    """Killed, refused by the disk, doubled: then `send` again. Each has one letter, or at most one and is named."""
    desk = _WithoutMailbox()
    with serving(desk) as way:
        office = {"HOST": way.host, "PORT": str(way.port), "SECURITY": "none"}
        told = ran("posting", times, 5, **{f"SITEGEN_SMTP_{name}": value for name, value in office.items()})
    taken = Counter(address for address, _ in desk.taken)
    doubtful = set(told["doubtful"])

    assert max(taken.values()) == 1
    assert {one for one in told["readers"] if taken[one] != 1} <= doubtful
    assert len(doubtful) <= times
