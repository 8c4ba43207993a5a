"""Groups of commands that end in a sentence, never in a traceback; and a command made out of a job's wish."""

from __future__ import annotations

import inspect
import os
from collections.abc import Callable, Mapping
from dataclasses import MISSING, Field, fields, replace
from functools import cached_property
from pathlib import Path
from typing import Any

import click

from sitegen.jobs import call, job_of, wish_of
from sitegen.jobs.where import named
from sitegen.studio.asked import Answer, Doubt, Fault, WishFault
from sitegen.studio.text import fit
from sitegen.terminal import telling
from sitegen.terminal.telling import bar, say, tell, tell_all, tell_table


class Asked:
    """What was asked for before the command's own name."""

    def __init__(self, folder: Path | None, today: str | None) -> None:
        self.folder = folder
        self.today = today

    def find(self) -> Path:
        """Find the studio's folder, its site whole. Raises NoStudio."""
        from sitegen.jobs.where import settled_studio

        return settled_studio(self.folder)


class Commands(click.Group):
    """A group whose commands end in a sentence, never in a traceback, when the files are at fault."""

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except Fault as fault:
            sentence = str(fault)
        except BrokenPipeError:
            telling.nobody_reads()
            return ctx.exit(1)
        except OSError as fault:
            from sitegen.jobs.report import refused

            sentence = refused(fault)
        except KeyboardInterrupt:
            tell("Stopped. No file is half-written; run it again to finish.", err=True)
            return ctx.exit(telling.STOPPED)
        except click.Abort as fault:
            asked = fault.__context__ is not None  # Ctrl-C at a question; without, it was answered with no
            tell("\n" * asked + "Nothing was written.", err=True)
            return ctx.exit(telling.STOPPED if asked else 1)
        except click.exceptions.NoArgsIsHelpError:  # a group's name alone shows its commands
            raise
        except click.UsageError as fault:
            what = getattr(fault.param, "help", None) if isinstance(fault, click.MissingParameter) else None
            raise click.UsageError(
                fit(" ".join(filter(None, (fault.format_message(), what)))), fault.ctx
            ) from fault
        except (click.ClickException, click.exceptions.Exit):
            raise
        except Exception as fault:  # noqa: BLE001 (the last resort: no traceback reaches an artist)
            telling.unforeseen(fault)
            return ctx.exit(telling.UNFORESEEN)
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


class Command(click.Command):
    """A command whose arguments are the fields of a job's wish, found when they are wanted.

    A row of `commands.ini` says of it: `job`, `told` and `example`; `question`, asked by the job before it
    writes; `bar`, what is counted on the way; `table`, where the answer can be printed as CSV; `opens`, where
    it can be looked at. In `own` the face does `sure`, which makes of folder and wish what is asked before
    the job begins; `fill`, which completes the wish where somebody can answer; `ends`, which adds a line to
    the answer; `show` with its `params`, which does all of it; and what is handed to the job.
    """

    def __init__(self, path: str, row: Mapping[str, str], own: Mapping[str, Any]) -> None:
        self.job, self._row, self._own = row["job"], row, dict(own)
        mine = ("sure", "fill", "ends", "show", "params")
        self._sure, self._fill, self._ends, show, params = (self._own.pop(name, None) for name in mine)
        self._show: Callable[..., None] = show or self._say
        asks = "question" in row or self._sure is not None
        offered = ((CSV, "table" in row), (SHOW, "opens" in row), (YES, asks), (JSON, show is None))
        examples = row.get("example", "").split("\n")
        super().__init__(
            path.rsplit(maxsplit=1)[-1], help=row["told"],
            params=params or [option for option, is_so in offered if is_so],
            epilog="\n\n".join(f"Example:  sitegen {path} {words}".rstrip() for words in examples),
        )  # fmt: skip

    @cached_property
    def wish(self) -> Any:
        """The class of the job's wish; None for a job that is only told to go."""
        return wish_of(self.job)

    @cached_property
    def _fields(self) -> list[Field[Any]]:
        """The wish's fields; what is secret is never typed on a line that others can see."""
        return [field for field in fields(self.wish) if "secret" not in field.metadata] if self.wish else []

    @cached_property
    def _wished(self) -> list[click.Parameter]:
        return [_parameter(field) for field in self._fields]

    def get_params(self, ctx: click.Context) -> list[click.Parameter]:
        """Return the wish's fields as arguments and options, then the command's own."""
        return [*self._wished, *super().get_params(ctx)]

    def invoke(self, ctx: click.Context) -> Any:
        """Make the wish out of what was typed, and show what comes of it."""
        given, made = dict(ctx.params), None
        try:
            if self.wish is not None:
                typed = {field.name: given.pop(field.name) for field in self._fields}
                made = self.wish(**{name: value for name, value in typed.items() if value is not None})
            ctx.invoke(self._show, ctx.obj, made, **given)
        except WishFault as fault:
            raise click.UsageError(str(fault), ctx) from fault

    def _say(
        self, asked: Asked, wish: Any, *, as_json: bool, yes: bool = False, opened: bool = False,
        as_csv: bool = False,
    ) -> None:  # fmt: skip
        if as_csv and as_json:
            raise click.UsageError("--csv or --json, not both")
        if self._sure is not None and not yes and (first := self._sure(asked.find(), wish)):
            click.confirm(fit(first), abort=True, err=as_json)
        if self._fill is not None:
            wish = self._fill(asked, wish)
        question = self._row.get("question", "")
        agree = _Question(question, yes=yes, as_json=as_json)
        asks = {"agree": agree} if question else {}
        takes = inspect.signature(job_of(self.job)).parameters
        found = "folder" in takes and takes["folder"].annotation == "Path"
        given = {"folder": asked.find() if found else asked.folder, "wish": wish, "today": asked.today}
        with bar(self._row.get("bar", "")) as progress:
            done = self._done(given, {"progress": progress, **asks, **self._own})
        if as_csv:
            tell_table(done.table())
            tell_all(getattr(done, "asides", ()), err=True)
        else:
            agree.say(done)
        if self._ends is not None and not as_json:
            tell(self._ends(wish))
        for file in done.opens if opened else ():
            click.launch(str(file))
        if not getattr(done, "is_well", True):
            raise SystemExit(1)

    def _done(self, given: dict[str, Any], meanwhile: Mapping[str, Any]) -> Any:
        """Do the job; where what was asked may be a slip and somebody is there, ask before it's written."""
        try:
            return call(self.job, given, meanwhile)
        except Doubt as found:
            if not telling.someone_is_there():
                raise
            doubt = found
        click.confirm(fit(f"{doubt.seen}. Write it all the same?"), abort=True, err=True)
        return self._done(given | {"wish": replace(given["wish"], **{doubt.sure: True})}, meanwhile)


def _parameter(field: Field[Any]) -> click.Parameter:
    how, kind = field.metadata, str(field.type)
    many = kind.startswith("tuple") or "joined" in how
    more: dict[str, Any] = {"type": _type(how, kind), "metavar": how.get("like")}
    needed = field.default is MISSING
    if "joined" in how:
        more["callback"] = lambda _ctx, _parameter, words: " ".join(words)
    if "word" in how:
        return click.Argument([field.name], nargs=-1 if many else 1, required=needed, **more)
    name = f"--{how.get('name', field.name.replace('_', '-'))}"
    if kind == "bool":
        return click.Option([name, field.name], is_flag=True, help=how["meaning"])
    if field.default not in (MISSING, None, "", ()):
        more |= {"default": field.default, "show_default": True}
    return click.Option([name, field.name], help=how["meaning"], multiple=many, required=needed, **more)


class _Text(click.Path):
    """A file that a wish holds the words or the bytes of."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        path = Path(os.fsdecode(super().convert(value, param, ctx)))
        try:
            return path.read_text("utf-8-sig") if self.is_text else path.read_bytes()
        except UnicodeDecodeError:
            raise Fault(f"{path} isn't UTF-8 text; save it again with the encoding UTF-8") from None

    def __init__(self, *, is_text: bool, **more: Any) -> None:
        super().__init__(dir_okay=False, **more)
        self.is_text = is_text


def _type(how: Any, kind: str) -> Any:
    if "file" in how:
        return _Text(is_text=kind.startswith("str"), exists=how.get("there", False))
    if "choices" in how:
        return click.Choice(how["choices"])
    if "Path" in kind:
        return click.Path(path_type=Path, exists=how.get("there", False), dir_okay=how.get("folder", False))
    if kind.startswith("int"):
        return click.IntRange(how["least"], how.get("most")) if "least" in how else click.INT
    return click.FloatRange(how.get("least")) if kind.startswith("float") else click.STRING


SHOW = click.Option(["--show", "opened"], is_flag=True, help="Open the letter in the browser.")
CSV = click.Option(["--csv", "as_csv"], is_flag=True, help="Print a table for a spreadsheet (CSV).")
YES = click.Option(["--yes"], is_flag=True, help="Don't ask first.")
JSON = click.Option(["--json", "as_json"], is_flag=True, help="Print the answer for machines.")


class _Question:
    """Shows a change and asks before it's written; with --yes nothing is asked."""

    def __init__(self, text: str, *, yes: bool, as_json: bool) -> None:
        self.text, self.yes, self.as_json, self.asked = text, yes, as_json, False

    def __call__(self, answer: Answer) -> bool:
        if self.yes:
            return True
        self.asked = True
        tell("\n".join(answer.lines()), err=self.as_json)
        return click.confirm(self.text, err=self.as_json)

    def say(self, answer: Answer | None) -> None:
        """Say what was written; a person who was asked has read it already."""
        if answer is None:
            tell("Nothing is changed.", err=self.as_json)
            raise SystemExit(1)
        if self.as_json or not self.asked:
            say(answer, as_json=self.as_json)
        else:
            tell("Written.")
