"""Compile the site: read everything, make the pictures, write what changed."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from sitegen import pictures, site
from sitegen.disk import sweep_parts
from sitegen.jobs.photos import harvested, note_numbers, picture_sets
from sitegen.jobs.reading import sit
from sitegen.jobs.unchanged import Compiled, leave_note, program_key_of, studio_key_of
from sitegen.jobs.where import changing, moment_in, one_at_a_time
from sitegen.sources import StudioFault, placed, read
from sitegen.studio.asked import Fault, Progress
from sitegen.studio.front import front_of_house
from sitegen.studio.public import FrontOfHouse
from sitegen.voice.theme_files import find_theme


def compile_site(
    folder: Path, today: str | None, progress: Progress | None, studio_key: str | None = None
) -> Compiled:
    """Compile the studio in `folder` into its out/site, and note what was done for the next build.

    `studio_key` is what a look at that note has just found, None if there was none.
    """
    out = folder / "out"
    with _at_work(out, out):
        sweep_parts(out)
        studio_key = studio_key or studio_key_of(folder)
        reading = read(folder, memory=out / ".reading.json")
        studio = reading.sound()
        front = front_of_house(studio, moment_in(studio.settings.time_zone, today))
        theme = find_theme(folder, front.card.theme)
        keys = studio_key, program_key_of(theme.folders)
        harvest, sets = harvested(studio, front, out, progress)
        try:
            built = site.build(front, sets, theme, out, icons=_icons(front))
        except Fault as fault:
            of_the_theme = str(fault).startswith(tuple(f"{place.name}/" for place in theme.folders))
            if not (of_the_theme or hasattr(fault, "key")):
                raise
            raise StudioFault(str(placed(folder, fault))) from fault
        done = Compiled(
            out / "site", built.unchanged, harvest.made, harvest.reused, len(reading.warnings),
            built.written, built.removed,
        )  # fmt: skip
        leave_note(folder, front, theme, keys, done.as_of_next_time())
    note_numbers(folder, studio)
    return done


@contextlib.contextmanager
def _at_work(out: Path, place: Path) -> Iterator[None]:
    """Hold the out folder, and mend what a killed build left: visitors needn't wait for this one."""
    with one_at_a_time(out):
        if changing(place):
            site.recover(place)
        yield


# Below out/: sites as other themes would show them.
TRIALS = ".in"


def try_theme(folder: Path, today: str | None, name: str) -> Path:
    """Compile the site as another theme shows it, beside the one that stands; return where. Raises Fault."""
    out, theme = folder / "out", find_theme(folder, name)
    trial = out / TRIALS / name
    with _at_work(out, trial):
        trial.mkdir(parents=True, exist_ok=True)
        sitting = sit(folder, today)
        # Accent and options were chosen for the theme that stands; another is seen as it comes.
        own: dict[str, object] = {"theme": name, "accent": None, "theme_options": {}}
        studio = replace(sitting.studio, settings=sitting.studio.settings.model_copy(update=own))
        front = front_of_house(studio, sitting.moment)
        sets = picture_sets(studio, front, out)
        site.build(front, sets, theme, trial, icons=_icons(front))
    return trial / "site"


def page_of(folder: Path, today: str | None, slug: str, story: str) -> tuple[str, bytes]:
    """Return path and bytes of a piece's page as it would be; only pictures are written. Raises Fault.

    As long as no site was built, of the photos only the piece's own are made ready.
    """
    out, sitting = folder / "out", sit(folder, today)
    own = {"story": story}
    known = sitting.studio.pieces
    pieces = tuple(piece.model_copy(update=own) if piece.slug == slug else piece for piece in known)
    studio = replace(sitting.studio, pieces=pieces)
    front, path = front_of_house(studio, sitting.moment), f"pieces/{slug}/index.html"
    only = "" if (out / "site").is_dir() else slug
    sets, theme = picture_sets(studio, front, out, only), find_theme(folder, front.card.theme)
    return path, site.page(front, sets, theme, path, _icons(front))


def _icons(front: FrontOfHouse) -> tuple[tuple[str, bytes], ...]:
    ground = front.card.accent or "#4b2a24"
    return pictures.icons(front.card.studio[:1] or "•", "#fbf8f2", ground)
