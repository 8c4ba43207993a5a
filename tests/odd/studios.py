"""Read, check, build and answer from a studio with something odd in it; count what came of it."""

from __future__ import annotations

import random
import shutil
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import click
from click.testing import CliRunner

from sitegen.cli import main
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
    done = CliRunner().invoke(main, ["--studio", str(folder), "--today", TODAY, *words], standalone_mode=True)
    fault = done.exception
    if fault is None or isinstance(fault, SystemExit | click.exceptions.Exit):
        unforeseen = "unforeseen" if "sitegen met something" in done.output else ""
        return done.exit_code, done.output, unforeseen
    frame = fault.__traceback__
    while frame is not None and frame.tb_next is not None:
        frame = frame.tb_next
    place = (
        f"{type(fault).__name__} {frame.tb_frame.f_code.co_filename.rpartition('/')[2]}:{frame.tb_lineno}"
        if frame
        else type(fault).__name__
    )
    return done.exit_code, done.output, f"{place} {str(fault)[:120]!r}"


def judge(folder: Path, what: str, luck: random.Random, tally: Tally, *, building: float) -> None:
    """Check the studio as it is; then some commands, which must agree with `check`."""
    tally.studios += 1
    code, said, crash = run(folder, ("check",))
    tally.commands += 1
    if crash:
        tally.crashes.setdefault(f"check: {crash}", what)
    tally.refused += code == 1
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


def odd_studios(folder: Path, count: int, seed: int, *, building: float = 0.1) -> Tally:
    """Mutate one or two files at a time, judge, and put them back."""
    luck, tally = random.Random(seed), Tally()
    files = {file: file.read_bytes() for file in files_of(folder)}
    for turn in range(count):
        chosen = luck.sample(list(files), luck.randint(1, 2))
        for file in chosen:
            put_back(file, _odd(file, files[file], luck))
            tally.files[file.suffix] += 1
        what = f"seed {seed} turn {turn}: {', '.join(str(one.relative_to(folder)) for one in chosen)}"
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
    import sitegen.carried  # noqa: PLC0415

    for name in ("content", "demo"):
        target = folder / name
        shutil.copytree(
            sitegen.carried.carried(name), target, ignore=shutil.ignore_patterns("photographs", "out", "sent")
        )
        _trim(target)
        yield target


def _trim(folder: Path) -> None:
    """Leave few pieces and people, so that ten thousand studios can be read."""
    for piece in sorted((folder / "pieces").iterdir())[2:]:
        shutil.rmtree(piece)
    people = folder / "people.csv"
    people.write_bytes(b"".join(people.read_bytes().splitlines(keepends=True)[:12]))
