"""`terms`: versions of the written terms."""

from __future__ import annotations

import click

from sitegen.terminal.group import Asked, Commands
from sitegen.terminal.telling import json_option, say, tell


@click.group("terms", cls=Commands)
def terms() -> None:
    """Keep versions of your terms, so that everyone can read what they agreed to."""


@terms.command("keep", epilog="Example:  sitegen terms keep")
@click.pass_obj
def keep(asked: Asked) -> None:
    """Keep the terms as they are now: their text with every number filled in, under the month's name.

    Writes pages/commission-terms/MONTH.md and pages/payment-terms/MONTH.md. `build` gives each version an
    address that never moves. Nothing is written if the newest version says the same.
    """
    from sitegen.jobs import terms as job

    kept = job.keep(asked.studio, asked.today)
    if not kept.files:
        tell(f"Nothing to keep: text and numbers are those of version {kept.version}.")
        return
    for file in kept.files:
        tell(f"Kept:  {file}")
    tell(
        f"Whoever accepts from now on accepts version {kept.version}: write `terms: {{version: "
        f"{kept.version}, on: DATE}}` beside their place in commissions.yaml."
    )


@terms.command("list", epilog="Example:  sitegen terms list")
@json_option
@click.pass_obj
def list_(asked: Asked, /, as_json: bool) -> None:
    """Say which versions are kept, who accepted which, and what stands in places like {deposit}."""
    from sitegen.jobs import terms as job

    say(job.tell(asked.studio), as_json=as_json)
