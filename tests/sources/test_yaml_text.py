"""What YAML would swallow or trip over is told with the line it stands in."""

from __future__ import annotations

import pytest

from sitegen.sources.text import Notebook
from sitegen.sources.yaml_text import read_yaml

TAB = "there is a tab before the text; use spaces instead (two for each step to the right)"
BEFORE = "title: Owl\nstatus: sold\n"


@pytest.mark.parametrize(
    ("text", "line", "said"),
    [
        ("story: *Ghost\n", 3, ""),
        ("story: &Sons\n", 3, "a text that starts with & must stand in quotes, like '& and the rest'"),
        ("base: &Sons oak\nstory: *Sons\n", 3, "a text that starts with & must stand in quotes, like '& and the rest'"),
        ("story: !Ghost\n", 3, "a text that starts with ! must stand in quotes, like '! and the rest'"),
        ("private:\n  tier: A\n  tier: B\n", 5, "'tier' stands twice, here and in line 4; keep one of them"),
        ("title: Toad\n", 3, "'title' stands twice, here and in line 1; keep one of them"),
        ("story: The Moth: a Clerk\n", 3, ""),
        ('story: "Ghost\nbase: oak\n', 3, ""),
        ("story Ghost\nbase: oak\n", 4, ""),
        ("story: @Ghost\n", 3, ""),
        ("\tbase: oak\n", 3, TAB),
        ("photos:\n-\tfile: a\n", 4, f"{TAB} (it reads: - file: a)"),
        ("\t\nbase: oak\n", 3, TAB),
    ],
)  # fmt: skip
def test_what_yaml_would_swallow_is_told_in_its_line(text: str, line: int, said: str) -> None:
    """YAML 1.2.2: anchors and aliases (6.9.2, 7.1), tags (6.9.1), keys that must be unique (3.2.1.1)."""
    notes = Notebook("piece.yaml")
    read_yaml(BEFORE + text, notes)

    assert notes.complaints[0].line == line
    # What the library finds is said in words of ours that hang on its own; those aren't pinned here.
    assert said in {"", notes.complaints[0].message}


def test_each_value_knows_its_line_as_deep_as_the_file_goes() -> None:
    notes = Notebook("piece.yaml")
    written = read_yaml(
        BEFORE + "photos:\n  - file: a.jpg\n    alt: A\n  - file: b.jpg\nprivate: {tier: A}\n", notes
    )

    assert notes.complaints == []
    assert written is not None
    paths: list[list[str | int]] = [
        [], ["title"], ["photos"], ["photos", 0], ["photos", 0, "alt"], ["photos", 1, "file"], ["photos", 1, "alt"],
        ["photos", 7], ["private", "tier"], ["private", "tier", "deeper"], ["nowhere", "tier"],
    ]  # fmt: skip
    assert [written.line(path) for path in paths] == [1, 1, 3, 4, 5, 6, 6, 3, 7, 7, 1]
