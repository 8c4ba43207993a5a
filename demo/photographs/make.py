"""Make the demo's photographs: python demo/photographs/make.py [SLUG...] [--again] [--proof]."""

import argparse
import zlib
from pathlib import Path

import numpy as np
import yaml
from PIL import Image

from cast import CAST
from expose import Print, develop, expose
from negatives import Tags, write_jpeg
from room import look
from stage import Sitting
from surface import Stuff
from tags import TAGS

DEMO = Path(__file__).resolve().parent.parent
# (width, height) of what is rendered; the print is enlarged from it.
RENDERED = {"portrait": (784, 980), "landscape": (1020, 680)}
PRINTED = {"portrait": (1600, 2000), "landscape": (2100, 1400)}


def build_stuff(sitting: Sitting) -> Stuff:
    """Collect what the sitting is made of."""
    b = sitting.bench
    none = np.zeros((1, 8, 8, 4), np.float32)
    return Stuff(
        np.array(b.materials), np.array(b.places) if b.places else np.zeros((1, 13)),
        np.stack(b.faces) if b.faces else none,
        np.stack(b.irises) if b.irises else none, np.array(b.spots) if b.spots else np.zeros((0, 8)),
        sitting.floor(),
    )  # fmt: skip


def sit(slug: str) -> Sitting:
    """Model one figure."""
    role = CAST[slug]
    sitting = Sitting(
        zlib.crc32(slug.encode()) % 9973,
        role.paper,
        role.second,
        role.turned,
        room=dict(role.room),
        boards=role.boards,
    )
    role.model(sitting)
    return sitting


def photograph(slug: str, wanted: dict[str, str], *, proof: str | None = None) -> None:
    """Take the wanted pictures of one figure; wanted maps file names to their orientation."""
    sitting = sit(slug)
    scene, stuff = sitting.bench.scene(), build_stuff(sitting)
    for name, orientation in wanted.items():
        shot = sitting.shots[name]
        st = look(
            shot.eye,
            shot.target,
            shot.tall,
            paper=sitting.paper,
            aim=(0, 3.3 - max(0.0, sitting.lower - 0.5), 0),
            **sitting.room,
        )
        distance = float(np.linalg.norm(np.subtract(shot.eye, shot.target))) - shot.focus
        how = Print(focus=distance, aperture=shot.aperture)
        wide, high = RENDERED[orientation]
        if proof:
            wide, high = wide * 45 // 100, high * 45 // 100
        picture = expose(scene, st, stuff, (wide, high), how, rays=2)
        seed = zlib.crc32(f"{slug}/{name}".encode())
        if proof:
            shown = develop(picture, (wide * 3 // 2, high * 3 // 2), how, seed)
            Image.fromarray((shown * 255).astype(np.uint8)).save(f"{proof}/{slug}_{name[:-4]}.png")
            continue
        size = write_jpeg(
            develop(picture, PRINTED[orientation], how, seed),
            DEMO / "pieces" / slug / name,
            TAGS.get(f"{slug}/{name}", Tags()),
        )
        print(f"{slug}/{name}: {size // 1000} kB", flush=True)


def main() -> None:
    """Read the cast and take what is missing."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("slugs", nargs="*", help="only these figures")
    parser.add_argument("--again", action="store_true", help="also pictures that exist")
    parser.add_argument("--only", help="only the file of this name")
    parser.add_argument("--proof", metavar="DIR", help="small PNGs into DIR instead")
    asked = parser.parse_args()
    for piece in yaml.safe_load((DEMO / "cast.yaml").read_text(encoding="utf-8"))["pieces"]:
        slug = piece["slug"]
        if slug not in CAST or (asked.slugs and slug not in asked.slugs):
            continue
        wanted = {
            p["file"]: p["orientation"] for p in piece["photos"] if not asked.only or p["file"] == asked.only
        }
        if not asked.again and not asked.proof:
            wanted = {
                name: way for name, way in wanted.items() if not (DEMO / "pieces" / slug / name).exists()
            }
        if wanted:
            photograph(slug, wanted, proof=asked.proof)


if __name__ == "__main__":
    main()
