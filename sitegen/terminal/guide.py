"""`guide`: the pages that explain the work, in the terminal."""

from __future__ import annotations

import click

from sitegen.terminal.telling import tell


@click.command(epilog="Example:  sitegen guide letters")
@click.argument("topic", required=False)
def guide(topic: str | None) -> None:
    """Show the guide: its pages, or one of them."""
    from sitegen.jobs import guide as job

    if topic is not None:
        click.echo_via_pager(job.page(topic).text)
        return
    tell("Pages of the guide; `sitegen guide WORD` shows one.\n")
    for one in job.pages():
        tell(f"  {one.topic:<12}{one.title}")
