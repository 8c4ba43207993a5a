"""Compile the site: read everything, make the pictures, write what changed."""

from __future__ import annotations

import contextlib
import dataclasses
from collections.abc import Iterator
from pathlib import Path

from sitegen import pictures, site
from sitegen.disk import sweep_parts
from sitegen.jobs import unchanged
from sitegen.jobs.photos import harvested
from sitegen.jobs.reading import sit
from sitegen.jobs.register import note_numbers
from sitegen.jobs.unchanged import Compiled, Progress
from sitegen.jobs.where import changing, moment_in, one_at_a_time
from sitegen.sources import Reading, StudioFault, placed, read
from sitegen.studio.fault import Fault
from sitegen.studio.front import front_of_house
from sitegen.studio.public import FrontOfHouse
from sitegen.voice.theme_files import find_theme


def compile_site(
    folder: Path, today: str | None, progress: Progress | None, studio_key: str | None = None
) -> Compiled:
    """Compile the studio in `folder` into its out/site, and note what was done for `unchanged`.

    `studio_key` is what `unchanged` has just found, None if it was not asked.
    """
    out = folder / "out"
    with one_at_a_time(out):
        sweep_parts(out)
        if changing(out):
            # A build may have been killed among its last steps; visitors needn't wait for this one.
            site.recover(out)
        studio_key = studio_key or unchanged.studio_key_of(folder)
        reading = read(folder, memory=out / ".reading.json")
        done = _compiled(folder, reading, today, progress, studio_key)
    note_numbers(folder, reading.sound())
    return done


def _compiled(
    folder: Path, reading: Reading, today: str | None, progress: Progress | None, studio_key: str
) -> Compiled:
    out, studio = folder / "out", reading.sound()
    front = front_of_house(studio, moment_in(studio.settings.time_zone, today))
    theme = find_theme(folder, front.card.theme)
    keys = studio_key, unchanged.program_key_of(theme.folders)
    harvest, sets = harvested(studio, front, out, progress)
    with _placed(folder):
        built = site.build(front, sets, theme, out, icons=_icons(front, out))
    done = Compiled(
        site=out / "site",
        written=built.written,
        removed=built.removed,
        unchanged=built.unchanged,
        pictures_made=harvest.made,
        pictures_reused=harvest.reused,
        warnings=len(reading.warnings),
    )
    unchanged.write(folder, front, theme, keys, done.as_of_next_time())
    return done


# Below out/: sites as other themes would show them.
TRIALS = ".in"


def try_theme(folder: Path, today: str | None, name: str) -> Path:
    """Compile the site as another theme would show it, beside the one that stands; return its folder.

    Raises Fault.
    """
    out = folder / "out"
    trial = out / TRIALS / name
    theme = find_theme(folder, name)
    with one_at_a_time(out):
        trial.mkdir(parents=True, exist_ok=True)
        if changing(trial):
            site.recover(trial)
        sitting = sit(folder, today)
        studio = sitting.studio
        # Accent and options were chosen for the theme that stands; another is seen as it comes.
        settings = studio.settings.model_copy(update={"theme": name, "accent": None, "theme_options": {}})
        front = front_of_house(dataclasses.replace(studio, settings=settings), sitting.moment)
        _, sets = harvested(studio, front, out, None)
        site.build(front, sets, theme, trial, icons=_icons(front, out))
    return trial / "site"


def page_of(folder: Path, today: str | None, slug: str, story: str) -> tuple[str, bytes]:
    """Return the path and the bytes of a piece's page as it would be; nothing is written but pictures.

    Raises Fault.
    """
    out, sitting = folder / "out", sit(folder, today)
    pieces = tuple(
        piece.model_copy(update={"story": story}) if piece.slug == slug else piece
        for piece in sitting.studio.pieces
    )
    studio = dataclasses.replace(sitting.studio, pieces=pieces)
    front = front_of_house(studio, sitting.moment)
    _, sets = harvested(studio, front, out, None)
    path = f"pieces/{slug}/index.html"
    return path, site.page(front, sets, find_theme(folder, front.card.theme), path, _icons(front, out))


@contextlib.contextmanager
def _placed(folder: Path) -> Iterator[None]:
    """Give a fault in what studio.yaml chose of the theme its line."""
    try:
        yield
    except Fault as fault:
        if not hasattr(fault, "key"):
            raise
        raise StudioFault(str(placed(folder, fault))) from fault


def _icons(front: FrontOfHouse, out: Path) -> tuple[tuple[str, bytes], ...]:
    ground = front.card.accent or "#4b2a24"
    return pictures.icons(front.card.studio[:1] or "•", "#fbf8f2", ground, out / ".pictures")
