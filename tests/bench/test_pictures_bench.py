"""Speed of the pictures room as ratios against bare loops in the same run; figures are printed with -s."""

import hashlib
import json
import os
import subprocess
import sys
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path

import pytest

from sitegen.pictures import Wish, make, recipe
from sitegen.pictures.developing import Section
from sitegen.pictures.pack import pack_path, write_pack
from tests.bench.build_speed import timed
from tests.bench.pictures_floor import bare
from tests.pictures.material import encoded, scene

CORES = os.cpu_count() or 1
PHOTOS = 10
ROUNDS = 2
# Width by height of a photo of 12 megapixels.
CAMERA = (3000, 4000)


pytestmark = pytest.mark.bench


@pytest.fixture(scope="module")
def album(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """Return photos of 12 megapixels; they differ in a byte behind the picture."""
    folder = tmp_path_factory.mktemp("album")
    taken = encoded(scene(*CAMERA), "JPEG", quality=92)
    paths = [folder / f"{number}.jpg" for number in range(PHOTOS)]
    for number, path in enumerate(paths):
        path.write_bytes(taken + bytes([number]))
    return paths


def _floor(album: list[Path]) -> None:
    with ProcessPoolExecutor(CORES, mp_context=get_context("spawn")) as crew:
        assert all(crew.map(bare, album))


def test_cold_run_stays_near_the_bare_loop(album: list[Path], tmp_path: Path) -> None:
    """Everything around decoding, shrinking and encoding costs at most a tenth."""
    wishes = [Wish(path, path.stem) for path in album]
    ours: list[float] = []
    floor: list[float] = []
    for number in range(ROUNDS + 4):
        # Further rounds where a neighbour on this machine disturbed the first ones.
        if number >= ROUNDS and min(ours) <= 1.10 * min(floor):
            break
        floor.append(timed(lambda: _floor(album)))
        ours.append(timed(lambda cache=tmp_path / f"{number}": make(wishes, cache)))  # type: ignore[misc]
    print(f"\ncold, {PHOTOS} photos of 12 MP, {CORES} processes: {min(ours):.2f} s, floor {min(floor):.2f} s")

    assert min(ours) <= 1.10 * min(floor)


MEASURED = """
import resource, sys
from pathlib import Path
from sitegen.pictures import Wish, make

if __name__ == "__main__":
    album = sorted(Path(sys.argv[1]).iterdir())
    make([Wish(path, path.stem) for path in album], Path(sys.argv[2]), workers=2)
    own = next(line for line in Path("/proc/self/status").read_text().splitlines() if "VmHWM" in line)
    print(2 * resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss + int(own.split()[1]))
"""


@pytest.mark.skipif(sys.platform != "linux", reason="other systems don't tell the peak of a fresh process")
def test_memory_of_all_processes_together_stays_bounded(album: list[Path], tmp_path: Path) -> None:
    """Twice the largest worker, and the parent: below 600 MB for photos of 12 megapixels on two workers."""
    script = tmp_path / "run.py"
    script.write_text(MEASURED)
    environment = os.environ | {"PYTHONPATH": str(Path(recipe.__file__).parents[2])}
    command = [sys.executable, str(script), str(album[0].parent), str(tmp_path / "cache")]

    told = subprocess.run(command, check=True, capture_output=True, text=True, env=environment).stdout

    megabytes = int(told) * 1024 / 1e6
    print(f"\npeak of two workers and the parent: {megabytes:.0f} MB")
    assert megabytes < 600


def test_run_with_nothing_changed_costs_little_more_than_looking(tmp_path: Path) -> None:
    """A look at each photo and each pack, and reading the index: at most four times that in all."""
    count = 4000
    wishes = _catalogue(count, tmp_path)
    cache = tmp_path / "cache"
    assert make(wishes, cache).made == 0
    files = [str(wish.path) for wish in wishes] + [str(pack) for pack in cache.rglob("*.pack")]

    ours = min(timed(lambda: make(wishes, cache)) for _ in range(5))
    used = min(timed(lambda: [*make(wishes, cache).sets.values()]) for _ in range(5))
    floor = min(timed(lambda: _look(files, cache)) for _ in range(5))

    print(
        f"\nwarm, {count} photos: {ours:.3f} s; with every set put together {used:.3f} s; floor {floor:.3f} s"
    )
    assert make(wishes, cache).reused == count
    assert ours <= 4 * floor


def _look(files: list[str], cache: Path) -> None:
    for file in files:
        os.stat(file)  # noqa: PTH116  the bare call is the floor
    json.loads((cache / "index-1.json").read_bytes().partition(b"\n")[2])


def _catalogue(count: int, folder: Path) -> list[Wish]:
    """Return wishes for photos whose packs lie in the cache as if made by an earlier run."""
    (folder / "pieces").mkdir()
    parts = [
        Section(("full", "card"), recipe.JPEG, width, width, bytes(width)) for width in range(100, 1000, 100)
    ]
    parts.append(Section(("social",), recipe.JPEG, 1200, 630, bytes(1200)))
    wishes = []
    for number in range(count):
        path = folder / "pieces" / f"{number}.jpg"
        path.write_bytes(b"%d" % number)
        os.utime(path, (1_700_000_000, 1_700_000_000))
        key = recipe.key_of(hashlib.sha256(path.read_bytes()).hexdigest(), None, False)
        write_pack(pack_path(folder / "cache", key), key, (3000, 4000), parts)
        wishes.append(Wish(path, f"2026-{number}"))
    return wishes
