"""What must be seen to by a day: reminded of a month before, said when it's over, never decided by us."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from sitegen.carried import carried
from sitegen.sources import read
from sitegen.studio.settings import Duty
from tests.cli.runner import on
from tests.makers import studio

DUTY = Duty.model_validate({"what": "the licence", "due": "2027-01-31", "every": "1"})


@pytest.mark.parametrize(
    ("day", "said"),
    [
        (date(2026, 12, 31), ""),  # 31 days before
        (date(2027, 1, 1), "the licence is due on 2027-01-31; once it's seen to, write `due: 2027-02-28`"),
        (date(2027, 1, 31), "the licence is due on 2027-01-31; once it's seen to, write `due: 2027-02-28`"),
        (date(2027, 2, 1), "the licence was due on 2027-01-31; once it's seen to, write `due: 2027-02-28`"),
    ],
)
def test_a_reminder_begins_a_month_before_and_stays(day: date, said: str) -> None:
    """Days counted by hand; a month after 31 January is the last of February."""
    assert DUTY.reminder(day) == said


def test_without_a_day_nothing_is_reminded_of() -> None:
    """The starter's lines wait for theirs."""
    assert Duty.model_validate({"what": "x"}).reminder(date(2027, 1, 1)) == ""


def test_check_reminds_by_date(tmp_path: Path) -> None:
    """With the file, and nothing stops a build for it."""
    folder = studio(tmp_path / "s")
    file = folder / "studio.yaml"
    file.write_text(file.read_text() + "  checklist:\n    - {what: insurance, due: 2027-01-31}\n")

    assert "insurance is due on 2027-01-31" in on("2027-01-10", folder, "check").output
    assert "insurance" not in on("2026-12-01", folder, "check").output
    assert on("2027-03-10", folder, "check").exit_code == 0


def test_the_starter_lists_what_is_usually_asked_and_decides_nothing() -> None:
    """Licence, tax, insurance, terms; with the caution beside them, and no day of ours."""
    text = (carried("content") / "studio.yaml").read_text("utf-8")
    listed = read(carried("content")).sound().settings.private.checklist

    for word in ("licence", "tax", "insurance", "terms"):
        assert any(word in duty.what for duty in listed)
    assert all(duty.due is None for duty in listed)
    assert "no legal, tax or insurance advice" in " ".join(text.split())
    assert "for its rules to say" in " ".join(text.split())
