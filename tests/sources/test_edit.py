"""Changing one value leaves every other byte as it stands."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from sitegen.sources import StudioFault
from sitegen.sources.edit import put
from sitegen.sources.text import Notebook, rewrite
from sitegen.sources.yaml_script import word
from sitegen.sources.yaml_text import read_yaml


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("title: A\nstatus: available  # since May\n", "title: A\nstatus: sold  # since May\n"),
        ("status: 'available'\r\ntitle: A\r\n", "status: 'sold'\r\ntitle: A\r\n"),
        ('# Ä 寿\ntitle: "Zoë"\n\n\nstatus:   "on hold"\n', '# Ä 寿\ntitle: "Zoë"\n\n\nstatus:   "sold"\n'),
        ("{title: A, status: available}\n", "{title: A, status: sold}\n"),
        ("status: available", "status: sold"),
        (
            "story: |\n  status: available\nstatus: available\n",
            "story: |\n  status: available\nstatus: sold\n",
        ),
        ('title: "x\u2028y"\nstatus: available\n', 'title: "x\u2028y"\nstatus: sold\n'),
        ("a:\n  status: available\nstatus: on hold\n", "a:\n  status: available\nstatus: sold\n"),
        ("status:\ntitle: A\n", "status: sold\ntitle: A\n"),
        ("title: 😀\nstatus: in progress # 😀\n", "title: 😀\nstatus: sold # 😀\n"),
        ("title: A\n", "title: A\nstatus: sold\n"),
        ("status: [available]\n", "status: sold\n"),
        ("status: | # now\n  available\n\n# next\n", "status: sold # now\n\n# next\n"),
        ("status: in\n  progress # x\n", "status: sold # x\n"),
        ("status:\n  a: 1\nb: 2\n", "status:\n  sold\nb: 2\n"),
    ],
)
def test_one_value_changes_and_nothing_else(before: str, after: str) -> None:
    assert put(before, "piece.yaml", ["status"], "sold") == after


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("status: 'available\n", r"piece.yaml can't be read; `sitegen check` says why"),
        (
            "title: A\nstory: |+\n  text\n\n\n# next\n",
            r"piece.yaml can't be changed safely here; please edit it by hand",
        ),
        ("status: available\nstatus: on hold\n", r"piece.yaml can't be read; `sitegen check` says why"),
        ("status: &a [*a]\n", r"piece.yaml can't be read; `sitegen check` says why"),
        ("status: " + 500 * "[", r"piece.yaml can't be read; `sitegen check` says why"),
        ("status: &a available\nb: *a\n", r"piece.yaml can't be read; `sitegen check` says why"),
        ("- status\n", r"piece.yaml: there is no place for `status`; please write it by hand"),
    ],
)
def test_what_cannot_be_changed_safely_is_refused(text: str, said: str) -> None:
    with pytest.raises(StudioFault, match=said):
        put(text, "piece.yaml", ["status"], "sold")


@pytest.mark.parametrize(
    "line",
    [
        "title:\tMoth",
        "title: Moth\tQueen",
        "tags: [moth,\tqueen]",
        "status2: x\t",
        "what: {silk: was it? yes}",
    ],
)
def test_what_check_reads_can_be_edited(line: str) -> None:
    """YAML 1.2.2, 6.1: tabs may separate what stands on one line; 7.3.3: a question mark within a text is text."""
    text = f"{line}\nstatus: available\n"
    notes = Notebook("piece.yaml")

    assert read_yaml(text, notes) is not None
    assert not notes.complaints
    assert put(text, "piece.yaml", ["status"], "sold") == f"{line}\nstatus: sold\n"


def test_a_text_that_no_file_can_hold_is_refused_also_over_quotes() -> None:
    with pytest.raises(StudioFault, match=r"can't be shown \(U\+DC80\)"):
        put('title: "a"\n', "piece.yaml", ["title"], "a\udc80")


def test_a_byte_order_mark_and_the_mode_stay(tmp_path: Path) -> None:
    file = tmp_path / "piece.yaml"
    file.write_bytes(b"\xef\xbb\xbfstatus: available\r\n")
    file.chmod(0o640)

    assert rewrite(file, lambda text: put(text, "piece.yaml", ["status"], "sold")) is True

    assert file.read_bytes() == b"\xef\xbb\xbfstatus: sold\r\n"
    assert file.stat().st_mode & 0o777 == 0o640


def test_the_same_value_again_writes_nothing(tmp_path: Path) -> None:
    file = tmp_path / "piece.yaml"
    file.write_text("status: sold\n")
    before = file.stat()

    assert rewrite(file, lambda text: put(text, "piece.yaml", ["status"], "sold")) is False

    assert (file.stat().st_mtime_ns, file.stat().st_ino) == (before.st_mtime_ns, before.st_ino)


SCALARS = st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1, max_size=30)
COMMENTS = st.text(st.characters(exclude_categories=["Cs", "Cc", "Zl", "Zp"]), max_size=20)


@given(
    SCALARS,
    SCALARS,
    COMMENTS,
    st.sampled_from(["\n", "\r\n"]),
    st.sampled_from(["available", "'on hold'", '"sold"']),
)
def test_any_neighbours_survive(title: str, story: str, comment: str, end: str, status: str) -> None:
    """PyYAML's own dumper writes the neighbours; PyYAML reads the result."""
    around = yaml.safe_dump({"title": title}, allow_unicode=True).replace("\n", end)
    below = yaml.safe_dump({"story": story}, allow_unicode=True).replace("\n", end)
    text = f"{around}# {comment}{end}status: {status} # {comment}{end}{end}{below}"

    changed = put(text, "piece.yaml", ["status"], "commissioned")

    head, tail = f"{around}# {comment}{end}status: ", f" # {comment}{end}{end}{below}"
    assert changed.startswith(head)
    assert changed.endswith(tail)
    assert changed[len(head) : -len(tail)].strip("'\"") == "commissioned"
    assert yaml.load(changed, yaml.BaseLoader) == {  # noqa: S506
        **yaml.load(around, yaml.BaseLoader), "status": "commissioned", **yaml.load(below, yaml.BaseLoader),  # noqa: S506
    }  # fmt: skip


@given(SCALARS)
def test_a_text_written_into_yaml_reads_back(text: str) -> None:
    assert yaml.load(f"title: {word(text)}\n", yaml.BaseLoader) == {"title": text}  # noqa: S506
