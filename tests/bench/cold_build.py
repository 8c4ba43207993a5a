"""A first build with every photo still to be developed, against the bare loop; run it by itself.

    python -m tests.bench.cold_build 200

builds so many pieces with four photos of 12 megapixels each, no two alike to the cache, and prints the
seconds of the whole build, start-up included, those of the bare loop on the same photos, and their ratio.
The suite has the same ratio for ten photos; this takes about ten minutes for 200 pieces on two cores.
"""

from __future__ import annotations

import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.bench import catalogue
from tests.bench.build_speed import build, floor


def measure(pieces: int, home: Path) -> tuple[float, float]:
    """Return the seconds of a first build and of the bare loop."""
    album = catalogue.album(home / "album", count=pieces * catalogue.PHOTOS)
    studio = catalogue.studio(home / "studio", 0, [])
    for number in range(pieces):
        first = number * catalogue.PHOTOS
        catalogue.add(studio, number, album[first : first + catalogue.PHOTOS])
    # Half of the bare loop before and half after: a shared machine is faster at one time than at another.
    half = len(album) // 2
    bare_loop = floor(album[:half])
    run = build(studio)
    bare_loop += floor(album[half:])
    if f"{len(album)} made ready" not in run.said:
        raise RuntimeError(run.said)
    return run.seconds, bare_loop


if __name__ == "__main__":
    with TemporaryDirectory() as folder:
        ours, bare_loop = measure(int(sys.argv[1]), Path(folder))
    print(f"build {ours:.1f} s, bare loop {bare_loop:.1f} s, ratio {ours / bare_loop:.3f}")
