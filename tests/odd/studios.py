"""Read, check, build and answer from a studio with something odd in it; count what came of it."""

from __future__ import annotations

import random
import shutil
import traceback
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from unittest import mock

import click
from click.testing import CliRunner

from sitegen.carried import carried
from sitegen.pictures import look
from sitegen.sources import read
from sitegen.studio.asked import Fault
from sitegen.terminal import telling
from sitegen.terminal.main import main
from tests.odd.mutants import mutate, mutate_bytes, mutate_record

# Every command that only answers, and the build; `check` and those that follow it must agree.
ANSWERS = (
    ("slots",), ("slots", "--json"), ("books", "--year", "2026"), ("books", "--csv"), ("plan", "480"), ("people", "list"),
    ("people", "export", "ada@example.com"), ("order", "list"), ("order", "due"), ("piece", "worth", "moth-clerk"), ("people", "list", "--who", "commissions"),
)  # fmt: skip
BUILDS = (("build",), ("announce", "commissions"), ("sheet",), ("cards",))
TODAY = "2026-11-25"


@dataclass
class Tally:
    """What came of many odd studios."""

    studios: int = 0
    refused: int = 0
    """Studios that `check` found something to mend in."""
    checked: int = 0
    commands: int = 0
    crashes: dict[str, str] = field(default_factory=dict)
    """Where a traceback came from: an example."""
    missed: dict[str, str] = field(default_factory=dict)
    """What a command stopped at though `check` had found nothing to mend: an example."""
    files: Counter[str] = field(default_factory=Counter)


def files_of(folder: Path) -> list[Path]:
    """Return what may be mutated in a studio: its own files, and what the program left."""
    return sorted(
        file
        for file in folder.rglob("*")
        if file.is_file()
        and file.suffix in {".yaml", ".csv", ".md", ".jsonl", ".json", ".eml", ".jpg", ".txt"}
        and "site" not in file.parts
    )


def put_back(file: Path, raw: bytes) -> None:
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_bytes(raw)


def run(folder: Path, words: tuple[str, ...]) -> tuple[int, str, str]:
    """Run a command in this process; return its code, its words, and where a traceback came from."""
    with mock.patch.object(telling, "unforeseen", _again):
        done = CliRunner().invoke(
            main, ["--studio", str(folder), "--today", TODAY, *words], standalone_mode=True
        )
    fault = done.exception
    if fault is None or isinstance(fault, SystemExit | click.exceptions.Exit):
        return done.exit_code, done.output, ""
    return done.exit_code, done.output, place_of(fault)


def _again(fault: BaseException) -> None:
    """Let what nobody foresaw through, instead of telling it in a sentence: here it's a finding."""
    raise fault


def place_of(fault: BaseException) -> str:
    """Say where a fault was raised, and what it says."""
    frame = traceback.extract_tb(fault.__traceback__)[-1]
    return f"{type(fault).__name__} {frame.filename.rpartition('/')[2]}:{frame.lineno} {str(fault)[:120]!r}"


def read_alone(folder: Path, what: str, tally: Tally) -> None:
    """Read the studio as every command does, photos looked at included."""
    tally.studios += 1
    try:
        reading = read(
            folder,
            lambda path: fault.message if (fault := look(path)) else None,
            folder / "out" / ".reading.json",
        )
    except Fault:
        tally.refused += 1
    except Exception as fault:  # noqa: BLE001 (whatever comes out is a finding)
        tally.crashes.setdefault(f"read: {place_of(fault)}", what)
    else:
        tally.refused += reading.studio is None
        assert all(len(str(complaint)) < 3_000 for complaint in reading.complaints)


def judge(folder: Path, what: str, luck: random.Random, tally: Tally, *, building: float) -> None:
    """Check the studio as it is; then some commands, which must agree with `check`."""
    tally.checked += 1
    code, said, crash = run(folder, ("check",))
    tally.commands += 1
    if crash:
        tally.crashes.setdefault(f"check: {crash}", what)
    assert len(said) < 400_000
    wanted = [luck.choice(ANSWERS)] if luck.random() < 0.5 else []
    if code == 0 and luck.random() < building:
        wanted.append(luck.choice(BUILDS))
    for words in wanted:
        result, told, crash = run(folder, words)
        tally.commands += 1
        if crash:
            tally.crashes.setdefault(f"{' '.join(words)}: {crash}", what)
        elif result == 1 and code == 0 and words == ("build",):
            tally.missed.setdefault(f"{' '.join(words)}: {told.strip()[:200]}", what)


def odd_studios(
    folder: Path, count: int, seed: int, *, checking: float = 0.1, building: float = 0.3
) -> Tally:
    """Mutate one or two files at a time and read; check a share of them, build a share of those; put them back."""
    luck, tally = random.Random(seed), Tally()
    files = {file: file.read_bytes() for file in files_of(folder)}
    for turn in range(count):
        chosen = luck.sample(list(files), luck.randint(1, 2))
        for file in chosen:
            put_back(file, _odd(file, files[file], luck))
            tally.files[file.suffix] += 1
        what = f"seed {seed} turn {turn}: {', '.join(str(path.relative_to(folder)) for path in chosen)}"
        read_alone(folder, what, tally)
        if luck.random() < checking:
            judge(folder, what, luck, tally, building=building)
        for file in chosen:
            put_back(file, files[file])
    return tally


def _odd(file: Path, raw: bytes, luck: random.Random) -> bytes:
    if file.suffix in {".json", ".jsonl"}:
        return mutate_record(raw, luck)
    return mutate_bytes(raw, luck) if file.suffix == ".jpg" else mutate(raw, luck)


def copies(folder: Path) -> Iterator[Path]:
    """Yield the starter and the demo, each copied, with what a first build and a first letter leave."""
    for name in ("content", "demo"):
        target = folder / name
        shutil.copytree(carried(name), target, ignore=shutil.ignore_patterns("out", "sent"))
        _trim(target)
        yield target


def _trim(folder: Path) -> None:
    """Leave few pieces and people, so that ten thousand studios can be read."""
    for piece in sorted((folder / "pieces").iterdir())[2:]:
        shutil.rmtree(piece)
    people = folder / "people.csv"
    people.write_bytes(b"".join(people.read_bytes().splitlines(keepends=True)[:12]))
