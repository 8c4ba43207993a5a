"""What studio.yaml chooses of a theme is told with its line, before and while building."""

from __future__ import annotations

from pathlib import Path

import pytest

from sitegen.jobs.build import build
from sitegen.jobs.check import check
from sitegen.studio.asked import Fault
from tests import makers

LINE = makers.STUDIO.count("\n") + 1


@pytest.mark.parametrize(
    ("line", "sentence"),
    [
        ('accent: "#ffcc00"', "the accent '#ffcc00' is too pale to read"),
        ("theme: cse", "theme 'cse' is not one of case, handbill; did you mean 'case'"),
        ("theme_options: {rowz: 3 2}", "theme_options: 'rowz' is not one of rows; did you mean 'rows'"),
    ],
)
def test_a_choice_that_cannot_be_is_told_with_its_line(tmp_path: Path, line: str, sentence: str) -> None:
    """`check` has it among its complaints, at the line it stands in."""
    studio = makers.studio(tmp_path)
    makers.write(studio / "studio.yaml", makers.STUDIO + line + "\n")
    found = [complaint for complaint in check(studio).complaints if complaint.file == "studio.yaml"]

    assert [(complaint.line, str(complaint.level)) for complaint in found] == [(LINE, "error")]
    assert found[0].message.startswith(sentence)


def test_a_build_tells_the_line_too_and_writes_nothing(tmp_path: Path) -> None:
    """The same sentence, and no site."""
    studio = makers.studio(tmp_path)
    makers.write(studio / "studio.yaml", makers.STUDIO + 'accent: "#ffcc00"\n')

    with pytest.raises(Fault, match=rf"^studio\.yaml, line {LINE}: the accent '#ffcc00' is too pale"):
        build(studio)
    assert not (studio / "out" / "site").exists()


def test_a_sound_choice_is_no_complaint(tmp_path: Path) -> None:
    """Otherwise the two above could be true of every studio."""
    studio = makers.studio(tmp_path)
    makers.write(studio / "studio.yaml", makers.STUDIO + 'accent: "#3f6b5e"\ntheme_options: {rows: 3 2}\n')

    assert [complaint for complaint in check(studio).complaints if complaint.file == "studio.yaml"] == []
