"""The worked example of the guide, run line by line as it stands there."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

from tests import makers
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
    studio = makers.studio(tmp_path)
    book = makers.COMMISSIONS.split("queue:", maxsplit=1)[0].replace("way: draw", "way: first come")
    makers.write(studio / "commissions.yaml", book)

    for day, words in zip(DAYS, lines(), strict=True):
        result = on(day, studio, *words, typed="y\n")
        assert result.exit_code == 0, (words, result.output)

    text = (studio / "commissions.yaml").read_text(encoding="utf-8")
    assert text.startswith(book)
    assert "    step: shipped\n    since: 2027-04-03\n" in text
    assert "      paid: 2027-02-06 132.00; 2027-04-02 308.00\n" in text
    assert "      hours: {sculpting: 3.5}\n" in text
