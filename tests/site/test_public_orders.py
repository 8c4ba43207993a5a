"""What the public sees of the order book: place, size and step of what is under way, and nothing else."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from pathlib import Path

import pytest

from sitegen.sources import read
from sitegen.studio.front import front_of_house
from sitegen.studio.order_lines import Step
from tests import makers
from tests.cli.runner import contents, run

SECRETS = [
    "Nadia Hidden", "nadia.hidden", "a roof that leaks", "Q-77", "4711", "1313.13", "2026-09-09", "2026-09-11",
    "777.07", "gluing", "66.25", "called off", "withdrawn", "lapsed", "a rhinoceros",
]  # fmt: skip
PRIVATE = (
    "{name: Nadia Hidden, email: nadia.hidden@mail.example, price: 4711, paid: 2026-09-11 1313.13, "
    "why: a roof that leaks, kept: 777.07, called_off_by: client, hours: {gluing: 66.25}, notes: a rhinoceros}"
)


def entry(code: str, step: Step) -> str:
    return (
        f"  - code: {code}\n    tier: Small figure\n    step: {step}\n    since: 2026-10-02\n"
        f"    moves: 2026-09-09 request; 2026-10-02 {step}\n    private: {PRIVATE}\n"
    )


def studio(folder: Path, *entries: str) -> Path:
    made = makers.studio(folder)
    tiers = makers.COMMISSIONS.split("queue:")[0]
    makers.write(made / "commissions.yaml", f"{tiers}queue:\n{''.join(entries)}")
    return made


@pytest.mark.parametrize("step", list(Step))
def test_only_what_is_under_way_is_in_the_public_queue(tmp_path: Path, step: Step) -> None:
    made = studio(tmp_path, entry("Q-77", step))

    queue = front_of_house(read(made).sound(), datetime(2026, 11, 25, 12, tzinfo=UTC)).queue

    shown = [Step.ACCEPTED, Step.ON_THE_BENCH, Step.FINISHED, Step.PAID]
    assert [(place.tier, place.step) for place in queue] == [("Small figure", step)] * (step in shown)


def test_nothing_of_moves_money_hours_and_reasons_reaches_the_site(tmp_path: Path) -> None:
    made = studio(
        tmp_path, *(entry(f"Q-77{letter}", step) for letter, step in zip("abcdefghijkl", Step, strict=True))
    )

    result = run(made, "build")

    assert result.exit_code == 0, result.output
    site = contents(made / "out" / "site")
    found = [
        (secret, name) for secret in SECRETS for name, content in site.items() if secret.encode() in content
    ]
    assert found == []
    page = site["commissions/index.html"].decode()
    assert len(re.findall(r"<li><span>Small figure</span>", page)) == 4


def test_a_step_taken_shows_at_the_next_build(tmp_path: Path) -> None:
    made = studio(tmp_path, entry("Q-77", Step.ACCEPTED))
    run(made, "build")
    before = (made / "out" / "site" / "commissions" / "index.html").read_text(encoding="utf-8")

    assert run(made, "order", "move", "Q-77", "on the bench").exit_code == 0
    run(made, "build")

    after = (made / "out" / "site" / "commissions" / "index.html").read_text(encoding="utf-8")
    shown = [
        re.findall(r"<li><span>Small figure</span> <span>([^<]*)</span>", page) for page in (before, after)
    ]
    assert shown == [["accepted"], ["on the bench"]]


def test_who_waits_is_counted_once(tmp_path: Path) -> None:
    waiting = "waiting:\n  - {since: 2026-08-02, private: {email: Nadia.Hidden@mail.example}}\n  - {since: 2026-08-03}\n"
    made = studio(tmp_path, entry("Q-77", Step.WAITING), waiting)

    assert front_of_house(read(made).sound(), datetime(2026, 11, 25, 12, tzinfo=UTC)).waiting == 2
