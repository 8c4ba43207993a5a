"""A group of commands that ends in a sentence, never in a traceback."""

from __future__ import annotations

from typing import Any

import click

from sitegen.commands.telling import tell
from sitegen.jobs.pen import named
from sitegen.studio.fault import Fault


class Commands(click.Group):
    """A group whose commands end in a sentence, never in a traceback, when the files are at fault."""

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except Fault as fault:
            sentence = str(fault)
        except BrokenPipeError:
            raise  # whoever read along has stopped: click ends in silence
        except OSError as fault:
            named = f"{fault.filename}: " if fault.filename else ""
            sentence = f"{named}{fault.strerror or fault}"
        tell(sentence, err=True)
        return ctx.exit(1)

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Note the command's own words, for those who have to wait for it."""
        found = super().resolve_command(ctx, args)
        named(f"{ctx.command_path} {found[0]}")
        return found

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Keep the order in which a studio meets them."""
        return list(self.commands)
