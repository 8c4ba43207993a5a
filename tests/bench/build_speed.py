"""How long builds of large catalogues take; run it by itself for the whole table.

    python -m tests.bench.build_speed 100 1000 5000

prints, for each number of pieces with four photos each: the first build (its photographs developed before,
since that is the pictures room's own cost), a build with nothing changed, one piece marked sold, one piece
added with four new photos of 12 megapixels, and the bare loop that develops four such photos.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import suppress
from dataclasses import dataclass
from multiprocessing import get_context
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.bench import catalogue
from tests.bench.pictures_floor import bare

CORES = os.cpu_count() or 1
# Each piece has four of these.
PHOTOGRAPHS = 12
# Seconds.
_BETWEEN_LOOKS = 0.005
_RUN = """
import sys
from sitegen.terminal.start import run

if __name__ == "__main__":
    sys.argv = ["sitegen", "--studio", sys.argv[1], "build"]
    try:
        run()
    finally:
        own = next((line for line in open("/proc/self/status") if line.startswith("VmHWM")), "x 0")
        print("PEAK", own.split()[1])
"""


@dataclass(frozen=True)
class Run:
    """One build by a process of its own."""

    seconds: float
    """Start-up included."""
    said: str
    parent: int
    """Peak memory of the process itself in KiB; 0 where the system doesn't tell."""


def build(folder: Path) -> Run:
    """Build as an artist would, and measure it from outside."""
    script = folder.parent / "run.py"
    script.write_text(_RUN)
    environment = os.environ | {"PYTHONPATH": str(Path(__file__).parents[2])}
    # An installed program's modules lie there compiled.
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    start = time.perf_counter()
    done = subprocess.run(
        [sys.executable, str(script), str(folder)],
        check=True,
        capture_output=True,
        text=True,
        env=environment,
    )
    seconds = time.perf_counter() - start
    said, _, held = done.stdout.partition("PEAK ")
    return Run(seconds, said, int(held))


def peak(folder: Path) -> int:
    """Build as an artist would; return the most memory that all its processes held at one time, in KiB.

    Looked at every few milliseconds (Linux only). What two processes share counts twice.
    """
    command = [sys.executable, "-m", "sitegen", "--studio", str(folder), "build"]
    with subprocess.Popen(command, stdout=subprocess.DEVNULL, cwd=Path(__file__).parents[2]) as process:
        most = 0
        while process.poll() is None:
            most = max(most, sum(map(_held, _family(process.pid))))
            time.sleep(_BETWEEN_LOOKS)
    if process.returncode:
        raise RuntimeError(f"the build ended with {process.returncode}")
    return most


def _family(parent: int) -> list[int]:
    """Return a process and all below it; one that has just ended has none."""
    found = [parent]
    for task in Path(f"/proc/{parent}/task").glob("*/children"):
        with suppress(OSError):
            found += [one for child in task.read_text().split() for one in _family(int(child))]
    return found


def _held(process: int) -> int:
    with suppress(OSError):
        lines = Path(f"/proc/{process}/status").read_text().splitlines()
        return next((int(line.split()[1]) for line in lines if line.startswith("VmRSS")), 0)
    return 0


class Catalogue:
    """A studio of many pieces on a disk, and what can happen to it."""

    def __init__(self, home: Path, pieces: int, size: tuple[int, int] = catalogue.CAMERA) -> None:
        """Lay it out; nothing is built yet."""
        self.home, self.size = home, size
        home.mkdir(exist_ok=True)
        album = catalogue.album(home / "album", size, PHOTOGRAPHS)
        self.folder = catalogue.studio(home / "studio", 0, [])
        for number in range(pieces):
            photos = [album[(number + turn) % PHOTOGRAPHS] for turn in range(catalogue.PHOTOS)]
            catalogue.add(self.folder, number, photos)
        self.added = 0

    def forget_the_site(self) -> None:
        """Leave only the developed photographs of earlier builds."""
        out = self.folder / "out"
        subprocess.run(["rm", "-rf", str(out / "site")], check=True)
        for note in (".site-manifest.json", ".built.json", ".reading.json"):
            (out / note).unlink(missing_ok=True)

    def mark(self, number: int, status: str) -> None:
        """Change one piece's status."""
        file = self.folder / "pieces" / f"figure-{number}" / "piece.yaml"
        lines = file.read_text("utf-8").splitlines(keepends=True)
        file.write_text("".join([*lines[:1], f"status: {status}\n", *lines[2:]]), "utf-8")

    def fresh_photos(self) -> list[Path]:
        """Write four photos that nobody has seen."""
        self.added += 1
        folder = self.home / f"new-{self.added}"
        photos = catalogue.album(folder, self.size, catalogue.PHOTOS)
        for photo in photos:
            photo.write_bytes(photo.read_bytes() + b"%d" % self.added)
        return photos

    def add(self, photos: Sequence[Path]) -> None:
        """Add one piece with these photos."""
        catalogue.add(self.folder, 10_000 + self.added, photos, f"Newcomer {self.added}")


def floor(photos: Sequence[Path]) -> float:
    """Return the seconds that a bare loop takes to develop these photos, on all cores."""
    return timed(lambda: _bare(photos))


def _bare(photos: Sequence[Path]) -> None:
    with ProcessPoolExecutor(CORES, mp_context=get_context("spawn")) as crew:
        if not all(crew.map(bare, photos)):
            raise RuntimeError("the bare loop made nothing")


def timed(job: Callable[[], object]) -> float:
    """Return the seconds that a job takes."""
    start = time.perf_counter()
    job()
    return time.perf_counter() - start


def _row(pieces: int) -> str:
    with TemporaryDirectory() as home:
        big = Catalogue(Path(home), pieces)
        build(big.folder)
        big.forget_the_site()
        first = build(big.folder)
        nothing = min(build(big.folder).seconds for _ in range(3))
        marked, added, bare_loop = [], [], []
        for number in (1, 2, 3):
            big.mark(number * 8 + 2, "sold")
            marked.append(build(big.folder).seconds)
            photos = big.fresh_photos()
            bare_loop.append(floor(photos))
            big.add(photos)
            added.append(build(big.folder).seconds)
    figures = (first.seconds, nothing, min(marked), min(added), min(bare_loop))
    return (
        f"| {pieces} | "
        + " | ".join(f"{figure:.2f} s" for figure in figures)
        + f" | {first.parent // 1024} MB |"
    )


if __name__ == "__main__":
    print(
        "| pieces | first build | nothing changed | one marked | one added | bare loop | memory of the first |"
    )
    print("| --- | --- | --- | --- | --- | --- | --- |")
    for word in sys.argv[1:] or ("100", "1000"):
        print(_row(int(word)), flush=True)
