"""Speed of `slots` as a ratio against the bare work in the same run; figures are printed with -s.

The bare work is what no version of the command could do without: starting Python with the libraries it
rests on, and taking in the same files with the C parser. CPU time is compared, so that neighbours on the
machine disturb both alike.
"""

from __future__ import annotations

import os
import random
import resource
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests import makers

pytestmark = pytest.mark.bench

PIECES, PLACES = 400, 60
TIERS = {"Small figure": 18, "Standing figure": 30, "Large figure": 60}
BARE = """
import pathlib, sys
import click, pydantic, yaml
from pydantic import BaseModel
class Any(BaseModel):
    title: str = ""
for file in sorted(pathlib.Path(sys.argv[1]).rglob("*.yaml")):
    yaml.compose(file.read_bytes(), Loader=yaml.CBaseLoader)
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Write a studio with 400 past pieces, three tiers and 60 places in the queue."""
    chance = random.Random(3)
    folder = makers.studio(tmp_path_factory.mktemp("studio"), {})
    for number in range(PIECES):
        tier = chance.choice(list(TIERS))
        hours = round(2 * TIERS[tier] * chance.lognormvariate(0, 0.3)) / 2
        private = f"\n  tier: {tier}\n  hours: {{sculpting: {hours}, painting: 4.5}}"
        makers.write(
            folder / "pieces" / f"piece-{number}" / "piece.yaml",
            makers.piece_yaml(f"Piece {number}", "sold", number="", photos="", private=private),
        )
    head, rest = makers.COMMISSIONS.split("rounds:\n")
    more = "".join(f"  - {{name: {tier}, from_price: 640}}\n" for tier in list(TIERS)[1:])
    queue = "".join(
        f"  - {{code: Q-{number}, tier: {chance.choice(list(TIERS))}, step: accepted, since: 2026-10-02}}\n"
        for number in range(PLACES)
    )
    rounds, waiting = rest.split("queue:\n")[0], rest.split("waiting:\n")[1]
    text = f"{head}{more}rounds:\n{rounds}queue:\n{queue}waiting:\n{waiting}"
    makers.write(folder / "commissions.yaml", text)
    return folder


def _seconds(*words: str) -> float:
    """Return the CPU time of a command: the lowest of three, since every disturbance only adds."""
    found = []
    # An installed program's modules lie there compiled.
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    for _ in range(3):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run(words, check=True, stdout=subprocess.DEVNULL, env=environment)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        found.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    return min(found)


def test_slots_for_sixty_places_stays_near_the_bare_work(folder: Path) -> None:
    """The whole command takes less than four times the bare work, the first time and later."""
    asked = ("-m", "sitegen", "--studio", str(folder), "--today", "2026-11-25", "slots")
    bare = _seconds(sys.executable, "-c", BARE, str(folder))
    first = _seconds(sys.executable, *asked)
    (folder / "out").mkdir()
    later = _seconds(sys.executable, *asked)
    print(f"\nslots: bare {bare:.2f} s, first {first / bare:.2f} x, later {later / bare:.2f} x")

    assert first < 4 * bare
    assert later < 4 * bare


def test_the_weeks_take_no_more_than_twice_what_slots_takes(folder: Path, tmp_path: Path) -> None:
    """Both orders of work and a lost day are worked out too, for sixty promised days; 26 weeks are the most."""
    promised = tmp_path / "studio"
    shutil.copytree(folder, promised)
    file, chance = promised / "commissions.yaml", random.Random(5)
    lines = [
        line.replace("}", f", private: {{promised: 20{chance.randint(27, 29)}-03-0{chance.randint(1, 9)}}}}}")
        if "code: Q-" in line else line
        for line in file.read_text("utf-8").splitlines(keepends=True)
    ]  # fmt: skip
    file.write_text("".join(lines), "utf-8")
    asked = (sys.executable, "-m", "sitegen", "--studio", str(promised), "--today", "2026-11-25")
    slots, week = _seconds(*asked, "slots"), _seconds(*asked, "week", "--weeks", "26")
    print(f"\nweek: {week:.2f} s, {week / slots:.2f} x slots")

    assert week < 2 * slots
