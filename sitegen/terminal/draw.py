"""`draw`: a fair draw that anyone can check (RFC 3797)."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from sitegen.terminal.group import Asked
from sitegen.terminal.telling import json_option, say


@click.command(
    "draw",
    epilog="Example:  sitegen draw 'Winter 2027'\n\n"
    "Example:  sitegen draw --list entrants.txt --slots 5 --source '9319' --source '2, 5, 12, 8, 10'",
)
@click.argument("round_name", required=False, metavar="[ROUND]")
@click.option(
    "--list",
    "file",
    type=click.Path(path_type=Path, dir_okay=False),
    help="A draw outside any round: a text file with one entrant a line.",
)
@click.option("--slots", type=int, help="With --list: how many places there are.")
@click.option(
    "--source", "sources", multiple=True, metavar="TEXT", help="A source's numbers; once a source, in order."
)
@click.option("--page", is_flag=True, help="Also write pages/draw-ROUND.md, for the site's next build.")
@json_option
@click.pass_obj
def draw(asked: Asked, /, round_name: str | None, as_json: bool, **given: Any) -> None:
    """Draw who gets a slot, so that anyone can work it out again (RFC 3797).

    Run it for ROUND once the round is closed: it writes the announcement to publish, with everyone's code
    and the future sources of randomness, and the list is final. Run it again when the sources have
    published: it writes the record with winners, reserves and every hash.
    """
    from sitegen.jobs import draws

    file, slots, sources = given["file"], given["slots"], given["sources"]
    if file is not None:
        if round_name is not None or slots is None:
            raise click.UsageError("--list goes with --slots N and without a round's name")
        say(draws.draw_list(file, slots, sources), as_json=as_json)
        return
    if round_name is None or slots is not None:
        raise click.UsageError("name a round, or give --list FILE --slots N")
    drawn = draws.draw_round(asked.studio, asked.today, round_name, sources, page=given["page"])
    say(drawn, as_json=as_json)
