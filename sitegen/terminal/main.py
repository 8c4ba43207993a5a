"""The command line: parse, call one job, print its answer. No logic lives here.

Rooms are imported inside the commands, so that `sitegen --help` answers at once.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from sitegen.studio.counting import counted
from sitegen.terminal.desk import (
    agreement,
    backup,
    books,
    cards,
    certificate,
    draw,
    plan,
    restore,
    sheet,
    slots,
    terms,
    undo,
    worth,
)
from sitegen.terminal.group import Asked, Commands
from sitegen.terminal.guide import guide
from sitegen.terminal.letters import announce, send
from sitegen.terminal.orders import order
from sitegen.terminal.people import people
from sitegen.terminal.sales import mark, take_back
from sitegen.terminal.telling import Bar, program, tell, tell_json

if TYPE_CHECKING:
    from sitegen.jobs.unchanged import Compiled
    from sitegen.sources import Complaint


@click.group(
    cls=Commands,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    epilog="Example:  sitegen demo my-studio",
)
@click.option(
    "--studio",
    "folder",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="The studio's folder. Without it: ./content, or this folder if it holds a studio.yaml.",
)
@click.option("--today", metavar="DATE", help="Pretend it is this day (2027-01-16, or '2027-01-16 12:00').")
@click.version_option(package_name="sitegen")
@click.pass_context
def main(ctx: click.Context, folder: Path | None, today: str | None) -> None:
    """Compile a maker's plain files into a catalogue site, letters and paper.

    One of a kind means one of a kind: a piece that isn't available is offered nowhere.
    """
    _speak_utf8()
    ctx.obj = Asked(folder, today)


def _speak_utf8() -> None:
    """Let names in any script reach a terminal or pipe that would rather have one byte a letter."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")


@main.command(epilog="Example:  sitegen demo my-studio")
@click.argument("folder", type=click.Path(path_type=Path), metavar="DIR")
@click.pass_obj
def demo(asked: Asked, folder: Path) -> None:
    """Put a copy of the invented studio in DIR and do the three daily jobs there.

    Builds its site, writes the letter for its next commission round and the sign-up sheet for its next
    show. Nothing is posted; every address in it is a reserved example.
    """
    from sitegen.jobs import begin, tour

    begin.put("demo", folder)
    tell(f"The invented studio is in {folder}.")
    with Bar("Pictures") as bar:
        done = tour.three_jobs(folder, asked.today, bar.advance)
    tell(f"Site:    {done.site / 'index.html'}")
    tell(f"Letter:  {done.letter / 'letter.html'}  ({done.recipients} to write to)")
    tell(f"Sheet:   {done.sheet}")
    tell(f"Next:    cd {folder}, change a file, then `{program()} build` or `{program()} preview`")


@main.command(epilog="Example:  sitegen begin my-studio")
@click.argument("folder", type=click.Path(path_type=Path), metavar="DIR")
def begin(folder: Path) -> None:
    """Put the starter studio in DIR, ready to be filled in."""
    from sitegen.jobs import begin as job

    job.put("content", folder)
    tell(f"The starter studio is in {folder}. Fill in {folder / 'studio.yaml'} first;")
    tell(f"`{program()} --studio {folder} check` lists what is still to fill in.")


@main.command(epilog="Example:  sitegen check")
@click.option("--json", "as_json", is_flag=True, help="Print the complaints for machines.")
@click.pass_obj
def check(asked: Asked, as_json: bool) -> None:
    """Read everything, report every complaint, write nothing."""
    from sitegen.jobs.check import check as job

    complaints = job(asked.studio, asked.today)
    errors = [one for one in complaints if one.level == "error"]
    if as_json:
        answer = {"complaints": [one.as_answer() for one in complaints]}
        tell_json(answer)
    else:
        _print_complaints(complaints)
    if errors:
        raise SystemExit(1)


def _print_complaints(complaints: tuple[Complaint, ...]) -> None:
    errors = [one for one in complaints if one.level == "error"]
    warnings = [one for one in complaints if one.level == "warning"]
    for one in errors:
        tell(str(one))
    if errors and warnings:
        tell("")
    for one in warnings:
        tell(f"{one} (worth a look)")
    tell(counted(len(errors), "thing to mend", "things to mend") if errors else "Nothing to mend.")


@main.command(epilog="Example:  sitegen build")
@click.pass_obj
def build(asked: Asked) -> None:
    """Compile the site to out/site: only what changed is written."""
    from sitegen.jobs.build import build as job

    folder = asked.studio
    with Bar("Pictures") as bar:
        done = job(folder, asked.today, bar.advance)
    _print_compiled(done)


def _print_compiled(done: Compiled) -> None:
    if done.warnings:
        count = counted(done.warnings, "thing is", "things are")
        tell(f"{count} worth a look; `sitegen check` lists them.", err=True)
    made, reused = done.pictures_made, done.pictures_reused
    tell(f"Photos:  {made} made ready, {reused} as before")
    tell(f"Files:   {len(done.written)} written, {len(done.removed)} taken away, {done.unchanged} as before")
    tell(f"Site:    {done.site / 'index.html'}")
    for name in done.gone:
        tell(
            f"The address pieces/{name}/ is gone, and whatever is printed with it leads nowhere. If the "
            f"piece has another name now, write `was: {name}` into its piece.yaml.",
            err=True,
        )


@main.command(epilog="Example:  sitegen preview")
@click.option(
    "--port", type=click.IntRange(0, 65535), default=8017, show_default=True, help="0 takes a free one."
)
@click.option("--open/--no-open", "opened", default=False, help="Open it in the browser.")
@click.pass_obj
def preview(asked: Asked, port: int, opened: bool) -> None:
    """Build, show the site at a local address, and build again on every change. Stop with Ctrl-C."""
    from sitegen.jobs.preview import Showing, base_of
    from sitegen.jobs.preview import preview as job

    folder = asked.studio
    showing = Showing(folder, tell, base=base_of(folder), today=asked.today)

    def ready(address: str) -> None:
        tell(f"Showing {folder} at {address}  (Ctrl-C stops it)")
        if opened:
            click.launch(address)

    try:
        job(showing, port, ready)
    except KeyboardInterrupt:
        tell("Stopped.")


@main.group(cls=Commands)
def piece() -> None:
    """Add a piece, or change what may be said of it."""


@piece.command(
    "add", epilog="Example:  sitegen piece add front.jpg face.jpg --title 'The Moth Clerk' --price 480"
)
@click.argument("photos", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="PHOTO…")
@click.option("--title", help="The piece's name.")
@click.option("--price", help="Asking price, digits and a point only.")
@click.option(
    "--status", help="available (the usual), in progress, on hold, sold, commissioned, not for sale."
)
@click.option("--series", help="A series named in studio.yaml.")
@click.option("--finished", help="Day it was finished, like 2026-05-14 (today unless in progress).")
@click.option("--height-mm", type=click.IntRange(1, 100_000), help="Height in millimetres.")
@click.option("--base", help="What it stands on.")
@click.option("--materials", help="What it is made of.")
@click.option("--alt", "alts", multiple=True, help="What a photo shows; once a photo, in their order.")
@click.option("--slug", help="Folder name, if not made from the title.")
@click.pass_obj
def piece_add(asked: Asked, /, photos: tuple[Path, ...], **given: Any) -> None:
    """Make pieces/SLUG/ with copies of the photos and a piece.yaml.

    On a terminal, what is missing is asked for; nothing is asked in a pipe.
    """
    from sitegen.jobs import pieces

    folder = asked.studio
    draft = pieces.Draft(photos=photos, **given)
    if sys.stdin.isatty():
        draft = _ask(draft)
    made = pieces.add(folder, draft, asked.today)
    tell(f"Added {made.relative_to(folder).as_posix()}/piece.yaml")
    tell("Next: tell its story there, say what each photo shows, then `sitegen build`.")


def _ask(draft: Any) -> Any:
    """Ask for what the options left open."""
    from dataclasses import replace

    title = draft.title or click.prompt("Title")
    status = draft.status or click.prompt("Status", default="available")
    price = draft.price
    if price is None and status.strip().lower() == "available":
        price = (
            click.prompt("Price (digits only, Enter to leave open)", default="", show_default=False) or None
        )
    materials = draft.materials
    if materials is None:
        materials = click.prompt("Materials (Enter to leave open)", default="", show_default=False)
    return replace(draft, title=title, status=status, price=price, materials=materials)


main.add_command(sheet)
main.add_command(announce)
main.add_command(send)
main.add_command(people)
main.add_command(plan)
piece.add_command(mark)
piece.add_command(take_back)
piece.add_command(worth)
main.add_command(slots)
main.add_command(draw)
main.add_command(order)
main.add_command(cards)
main.add_command(certificate)
main.add_command(agreement)
main.add_command(books)
main.add_command(terms)
main.add_command(undo)
main.add_command(backup)
main.add_command(restore)
main.add_command(guide)
