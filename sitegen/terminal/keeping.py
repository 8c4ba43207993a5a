"""`undo`, `backup`, `restore`: take back an edit; keep and bring back what can't be made again."""

from __future__ import annotations

from pathlib import Path

import click

from sitegen.terminal.group import Asked
from sitegen.terminal.telling import json_option, say


@click.command(epilog="Example:  sitegen undo")
@click.option("--list", "listed", is_flag=True, help="Only show what can be taken back, the latest first.")
@click.option("--again", is_flag=True, help="Do again what the last undo took back.")
@json_option
@click.pass_obj
def undo(asked: Asked, listed: bool, again: bool, as_json: bool) -> None:
    """Take back what the latest command changed in your files, all of its files at once.

    Run it again for the one before; --again goes the other way, until another command changes something.
    A file that was changed since then is left alone, and you're told how. Letters that were posted and draws
    that were announced can't be taken back.
    """
    from sitegen.jobs import undo as job

    if listed and again:
        raise click.UsageError("--list and --again don't go together")
    ask = job.edits if listed else job.do_again if again else job.take_back
    say(ask(asked.studio), as_json=as_json)


@click.command(epilog="Example:  sitegen backup /media/stick")
@click.argument("into", type=click.Path(path_type=Path), metavar="DIR")
@json_option
@click.pass_obj
def backup(asked: Asked, into: Path, as_json: bool) -> None:
    """Put a dated archive of all that can't be made again into DIR, and read it back."""
    from sitegen.jobs import backup as job

    say(job.make(asked.studio, into, asked.today), as_json=as_json)


@click.command(epilog="Example:  sitegen restore my-studio-2026-11-25.zip my-studio")
@click.argument("archive", type=click.Path(path_type=Path, exists=True, dir_okay=False))
@click.argument("folder", type=click.Path(path_type=Path), metavar="DIR")
@json_option
def restore(archive: Path, folder: Path, as_json: bool) -> None:
    """Make a studio out of a backup, in a new folder DIR."""
    from sitegen.jobs import backup as job

    say(job.restore(archive, folder), as_json=as_json)
