"""Time a letter to 10,000 people against the standard library's flattening of the same messages.

    python -m tests.bench.letters_speed

Measured on the machine it was written on (2 shared cores, Python 3.11): 5.5 s for all, files included; the
ratio to flattening alone was 0.36; 8 MB more memory than for 1,000 people, most of it the list itself.
A list of 10,000 loads in 0.13 to 0.18 s of processor time, four to seven times what the csv module alone takes.
"""

from __future__ import annotations

import csv
import io
import resource
import tempfile
import time
from collections.abc import Callable
from datetime import date
from email import policy
from email.parser import BytesParser
from pathlib import Path

from sitegen.letters.announce import Writing
from sitegen.letters.kinds import announce_commissions
from sitegen.sources.people import COLUMNS, read_people
from sitegen.sources.text import Notebook
from sitegen.studio.person import Consent, Person
from sitegen.studio.public import FrontOfHouse
from tests.letters.studio import ALL, front, room

PEOPLE = 10_000
SAMPLE = 1_000


def crowd(count: int) -> list[Person]:
    """Make people whose names need encoding."""
    return [
        Person(f"p{n}@example.com", f"Zoë Reader {n}", ALL, date(2026, 3, 2), Consent.WEB, "form on the site")
        for n in range(count)
    ]


def a_list(count: int) -> str:
    """Write a people.csv of so many rows, as lists are: few different days and sources, some who left."""
    rows = [
        f"reader.{n}@mail{n % 40}.example,Zoë Reader {n},commissions; new pieces,2026-{n % 9 + 1:02}-{n % 28 + 1:02},"
        f'web,"form on the site, row {n}",{"2026-06-01 bounced" if n % 17 == 0 else ""}'
        for n in range(count)
    ]
    return "\r\n".join([",".join(COLUMNS), *rows, ""])


def seconds(work: Callable[[], object]) -> float:
    """Return the processor time of some work: neighbours on the machine don't count."""
    started = time.process_time()
    work()
    return time.process_time() - started


def composing(house: FrontOfHouse, folder: Path, count: int) -> tuple[float, Path]:
    """Make a letter to so many people, files included; return its processor time and its folder."""
    people = crowd(count)
    took = seconds(lambda: announce_commissions(Writing(house, people, room(folder), "A *note*.")))
    return took, folder / "out" / "letters" / "commissions-winter-2027"


def flattening(letter: Path, count: int) -> float:
    """Flatten the first so many messages with `email`, which has read them beforehand."""
    files = sorted((letter / "eml").iterdir())[:count]
    trees = [BytesParser(policy=policy.default).parsebytes(file.read_bytes()) for file in files]
    return seconds(lambda: [tree.as_bytes() for tree in trees])


def loading(text: str) -> tuple[float, float]:
    """Load a list; return the time of that, and of the csv module's reading alone."""
    ours = seconds(lambda: read_people(text, Notebook("people.csv")))
    return ours, seconds(lambda: list(csv.reader(io.StringIO(text, newline=""))))


def main() -> None:
    """Print the figures."""
    with tempfile.TemporaryDirectory() as name:
        house = front(Path(name) / "studio")
        for count in (SAMPLE, PEOPLE):
            started = time.perf_counter()
            took, letter = composing(house, Path(name), count)
            wall = time.perf_counter() - started
            peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
            print(f"{count} people: {took:.2f} s ({wall:.2f} s by the clock), peak {peak} MB")
        flat = flattening(letter, SAMPLE)
        print(f"email flattens {SAMPLE}: {flat:.2f} s; ratio {took / PEOPLE * SAMPLE / flat:.2f}")
    ours, bare = min(loading(a_list(PEOPLE)) for _ in range(3))
    print(f"a list of {PEOPLE} loads in {ours:.2f} s; ratio to csv {ours / bare:.1f}")


if __name__ == "__main__":
    main()
