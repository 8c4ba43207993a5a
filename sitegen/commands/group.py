"""A group of commands that ends in a sentence, never in a traceback."""

from __future__ import annotations

from typing import Any

import click

from sitegen.commands import last_resort
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
            last_resort.nobody_reads()
            return ctx.exit(1)
        except OSError as fault:
            sentence = last_resort.refused(fault)
        except KeyboardInterrupt:
            tell("Stopped. No file is half-written; run it again to finish.", err=True)
            return ctx.exit(last_resort.STOPPED)
        except click.Abort as fault:
            asked = fault.__context__ is not None  # Ctrl-C at a question; without, it was answered with no
            tell("\n" * asked + "Nothing was written.", err=True)
            return ctx.exit(last_resort.STOPPED if asked else 1)
        except (click.ClickException, click.exceptions.Exit):
            raise
        except Exception as fault:  # noqa: BLE001 (the last resort: no traceback reaches an artist)
            last_resort.unforeseen(fault)
            return ctx.exit(last_resort.UNFORESEEN)
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
