"""The worked example of the guide, run line by line as it stands there."""

from __future__ import annotations

import re
import shlex
import shutil
from pathlib import Path

from sitegen.carried import carried
from tests.cli.runner import on

PAGE = Path(__file__).resolve().parents[2] / "sitegen" / "guide" / "orders.md"
# A day for each line, in the order of the lines: asked for, offered, looked at, accepted, paid, begun …
DAYS = [
    "2027-01-16", "2027-02-01", "2027-02-03", "2027-02-05", "2027-02-06", "2027-03-01", "2027-03-02",
    "2027-04-01", "2027-04-02", "2027-04-02", "2027-04-03",
]  # fmt: skip


def lines() -> list[list[str]]:
    section = PAGE.read_text(encoding="utf-8")
    block = re.findall(r"(?:^    sitegen order .*\n)+", section, re.MULTILINE)[0]
    return [shlex.split(line, comments=True)[1:] for line in block.splitlines()]


def test_the_worked_example_runs_as_it_stands(tmp_path: Path) -> None:
    """On a copy of the demo, whose rounds and sizes it names."""
    studio = shutil.copytree(carried("demo"), tmp_path / "demo", ignore=shutil.ignore_patterns("*.jpg"))

    for day, words in zip(DAYS, lines(), strict=True):
        result = on(day, studio, *words, typed="y\n")
        assert result.exit_code == 0, (words, result.output)

    text = (studio / "commissions.yaml").read_text(encoding="utf-8")
    assert "    step: shipped\n    since: 2027-04-03\n" in text
    assert "      paid: 2027-02-06 192.00; 2027-04-02 448.00\n" in text
    assert "      hours: {sculpting: 3.5}\n" in text
