"""What is remembered is what would be read."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sitegen.disk import read_note, write_note
from sitegen.sources import read
from sitegen.sources.gathered import stamp
from sitegen.sources.text import Notebook
from sitegen.sources.yaml_text import Written, read_yaml
from tests import makers

PIECES = {
    "owl": makers.piece_yaml("Owl"),
    "toad": makers.piece_yaml(
        "Žába", number="2026-02", status="sold", private="\n  sold: {on: 2026-05-01, price: 480.50, to: X}"
    ),
    "bare": makers.piece_yaml(
        "Bare", number="2026-03", price="", photos="\n  - {file: front.jpg, focus: [0.25, 0.4], detail: yes}"
    ),
    "open": makers.piece_yaml("Open", number="2026-04", base="<what it stands on>"),
}


def test_a_second_reading_is_the_same_with_and_without_memory(tmp_path: Path) -> None:
    folder, memory = makers.studio(tmp_path / "s", PIECES), tmp_path / "memory.json"
    fresh = read(folder)

    first, second = read(folder, memory=memory), read(folder, memory=memory)

    assert first == second == fresh
    assert fresh.warnings


def test_a_reading_of_unchanged_files_does_not_parse_them(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder, memory = makers.studio(tmp_path / "s", PIECES), tmp_path / "memory.json"
    fresh = read(folder, memory=memory)
    before = stamp(memory)
    parsed: list[str] = []

    def noted(text: str, notes: Notebook) -> Written | None:
        parsed.append(notes.file)
        return read_yaml(text, notes)

    monkeypatch.setattr("sitegen.sources.folder.read_yaml", noted)

    again = read(folder, memory=memory)

    assert "studio.yaml" in parsed
    assert [file for file in parsed if file.startswith("pieces/")] == []
    assert again.studio is not None
    assert fresh.studio is not None
    assert again.studio.pieces == fresh.studio.pieces
    assert stamp(memory) == before


def test_a_changed_file_is_read_anew_with_its_lines(tmp_path: Path) -> None:
    folder, memory = makers.studio(tmp_path / "s", PIECES), tmp_path / "memory.json"
    read(folder, memory=memory)
    makers.write(folder / "pieces" / "owl" / "piece.yaml", makers.piece_yaml("Owl", series="Night Fery"))

    assert [str(complaint) for complaint in read(folder, memory=memory).errors] == [
        "pieces/owl/piece.yaml, line 6: series 'Night Fery' isn't in studio.yaml; did you mean 'Night Ferry'?"
    ]


def test_a_remembered_file_is_still_checked_against_the_others(tmp_path: Path) -> None:
    folder, memory = makers.studio(tmp_path / "s", PIECES), tmp_path / "memory.json"
    read(folder, memory=memory)
    makers.write(folder / "studio.yaml", makers.STUDIO.replace("Night Ferry", "Night Ferries"))

    told = [str(complaint) for complaint in read(folder, memory=memory).errors]

    assert len(told) == 4
    assert (
        told[1]
        == "pieces/open/piece.yaml, line 6: series 'Night Ferry' isn't in studio.yaml; did you mean 'Night Ferries'?"
    )


def test_another_currency_reads_every_price_anew(tmp_path: Path) -> None:
    folder, memory = (
        makers.studio(tmp_path / "s", {"owl": makers.piece_yaml(price="480.50")}),
        tmp_path / "memory.json",
    )
    read(folder, memory=memory)
    makers.write(folder / "studio.yaml", makers.STUDIO.replace("EUR", "JPY"))

    assert len(read(folder, memory=memory).errors) == 2


@settings(max_examples=25)
@given(st.data())
def test_a_damaged_memory_is_a_miss(data: st.DataObject) -> None:
    import tempfile  # noqa: PLC0415

    with tempfile.TemporaryDirectory() as name:
        folder, memory = makers.studio(Path(name) / "s"), Path(name) / "memory.json"
        fresh = read(folder, memory=memory)
        content = memory.read_bytes()
        cut = data.draw(st.integers(0, len(content)))
        memory.write_bytes(content[:cut] + data.draw(st.binary(max_size=8)))

        assert read(folder, memory=memory) == fresh


@pytest.mark.parametrize(
    "harm", [{}, [], {"owl": []}, {"model": "{}"}, {"model": '{"status": "lost"}'}, {"complaints": [1]}]
)
def test_a_memory_of_something_else_is_a_miss(tmp_path: Path, harm: Any) -> None:
    """Its checksum is right, as if another version of the program had left it there."""
    folder, memory = makers.studio(tmp_path / "s", {"owl": PIECES["owl"]}), tmp_path / "memory.json"
    sound, noted, name = read(folder, memory=memory), read_note(memory), "pieces/owl/piece.yaml"
    files = {name: noted["files"][name] | harm} if isinstance(harm, dict) and harm else harm
    write_note(memory, {**noted, "files": files})

    assert read(folder, memory=memory) == sound
