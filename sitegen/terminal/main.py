"""The command line: parse, call one job, show its answer. No logic lives here.

What commands there are, and all that is told of them, stands in `commands.ini`. A command's arguments are the
fields of its job's wish; rooms are loaded once a command is wanted, so that `sitegen --help` answers at once.
"""

from __future__ import annotations

import shlex
import sys
from collections.abc import Callable, Mapping
from configparser import ConfigParser
from contextlib import suppress
from dataclasses import fields, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

import click

from sitegen.jobs import call
from sitegen.studio.person import Interest
from sitegen.studio.text import fit
from sitegen.terminal import telling
from sitegen.terminal.group import JSON, Asked, Command, Commands
from sitegen.terminal.telling import program, say, tell, tell_all

if TYPE_CHECKING:
    from sitegen.jobs.begin import NewStudio
    from sitegen.jobs.guide import GuideWish
    from sitegen.jobs.letters import LetterWish
    from sitegen.jobs.pieces import AddPiece, MarkPiece
    from sitegen.jobs.posting import SendWish
    from sitegen.jobs.preview import DeskWish, PreviewWish
    from sitegen.jobs.sheets import TypeRows
    from sitegen.jobs.today import Errand


_ROWS = ConfigParser(interpolation=None)


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
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):  # names in any script reach one that would rather have one byte
            stream.reconfigure(errors="replace")
    ctx.obj = Asked(folder, today)


def _begin_ends(wish: NewStudio) -> str:
    return (
        f"`{program()} --studio {wish.folder} check` lists what is still to fill in.\n"
        "Rather pages than files? A double click on 'Open the desk' in it opens them in the browser."
    )


def _preview(asked: Asked, wish: PreviewWish, opened: bool) -> None:
    from sitegen.browser.app import serve_preview
    from sitegen.jobs import preview as jobs

    folder = asked.find()
    ready = _ready(f"Showing {folder} at {{}}  (Ctrl-C stops it)", opened)
    jobs.preview(folder, wish, asked.today, tell, partial(serve_preview, ready=ready))
    tell("Stopped.")


def _desk(asked: Asked, wish: DeskWish, opened: bool) -> None:
    from sitegen.browser.app import serve_desk
    from sitegen.jobs import preview as jobs

    folder = asked.find()
    name = folder.resolve().name
    ready = _ready(f"The desk of {name} is open at {{}}  (close this window, or Ctrl-C, to close it)", opened)
    again = _ready("The desk is open already, at {}", opened)
    jobs.desk(folder, wish, asked.today, partial(serve_desk, ready=ready, tell=tell), again)


def _ready(sentence: str, opened: bool) -> Callable[[str], None]:
    def ready(address: str) -> None:
        tell(sentence.format(address))
        if opened:
            click.launch(address)

    return ready


def _guide(_: Asked, wish: GuideWish) -> None:
    from sitegen.jobs import guide as jobs

    pages = jobs.guide(wish)
    if wish.topic is not None:
        click.echo_via_pager(pages[0].text)
        return
    tell("Pages of the guide; `sitegen guide WORD` shows one.\n")
    tell_all(f"  {page.topic:<12}{page.title}" for page in pages)


def _today(asked: Asked, _: None, as_json: bool) -> None:
    from sitegen.jobs import today as jobs

    found = jobs.errands(asked.find(), asked.today)
    if as_json or not found.errands:
        say(found, as_json=as_json)
        return
    rows = dict(row.split(": ", 1) for row in _ROWS["today"]["errands"].strip().split("\n"))
    for errand in found.errands:
        tell(errand.sentence)
        tell(f"  {errand.do}  sitegen {_command(errand, rows)}")


def _command(errand: Errand, rows: Mapping[str, str]) -> str:
    """Return the words of the command for an errand: by what is at stake, by what it's about, or by both."""
    stake, about = errand.kind, errand.target.kind
    words = next(rows[key] for key in (f"{stake} {about}", f"{stake} *", f"* {about}") if key in rows)
    return words.format(shlex.quote(errand.target.name))


def _filled(asked: Asked, wish: AddPiece) -> AddPiece:
    asked.find()
    if not telling.someone_is_there():
        return wish
    from sitegen.jobs.pieces import check_photos

    check_photos(wish.photos)
    title = wish.title or click.prompt("Title")
    status = wish.status or click.prompt("Status", default="available")
    price, materials = wish.price, wish.materials
    if price is None and status.strip().lower() == "available":
        price = click.prompt("Price (Enter to leave open)", default="", show_default=False) or None
    if materials is None:
        materials = click.prompt("Materials (Enter to leave open)", default="", show_default=False)
    return replace(wish, title=title, status=status, price=price, materials=materials)


def _sale(usual: MarkPiece) -> MarkPiece:
    """Ask for the sale, where someone can answer; nothing for the price leaves it out."""
    none = replace(usual, price=None, on=None, stream=None, to=None)
    if not telling.someone_is_there():
        return none
    price = click.prompt("Sold for", default=usual.price or "", show_default=bool(usual.price))
    if not price.strip():
        return none
    on = click.prompt("On", default=usual.on)
    stream = click.prompt("Stream (originals, commissions, shows)", default=usual.stream)
    to = click.prompt("To (Enter to leave open)", default=usual.to or "", show_default=bool(usual.to))
    due = usual.due
    if due == "":  # it's at a gallery, and nothing says when that pays
        due = click.prompt("Its money comes on (Enter: it's here)", default="", show_default=False)
    return replace(usual, price=price, on=on, stream=stream, to=to, due=due)


def _keeps(address: str, odd: str) -> bool:
    """Ask about a likely slip where someone can answer; elsewhere it's taken as it stands, and told."""
    if not telling.someone_is_there():
        return True
    return click.confirm(fit(f"{address}: {odd} Take it as it is written?"), default=False)


def _type_rows(asked: Asked, wish: TypeRows, *, as_json: bool = False) -> None:
    from sitegen.jobs import sheets as jobs

    answer = jobs.type_rows(asked.find(), wish, asked.today, _keeps)
    if as_json or wish.rows or not telling.someone_is_there():
        say(answer, as_json=as_json)
    else:
        tell_all(answer.lines())
        row = answer.sheet.next
        while typed := _row_at_prompt(row):
            if typed.isdecimal():
                row = int(typed)
                continue
            answer = jobs.type_rows(asked.find(), replace(wish, rows=(typed,)), asked.today, _keeps)
            tell_all(answer.lines() if answer.is_well else answer.lines()[:-1])
            row += answer.is_well
    if not answer.is_well:
        raise SystemExit(1)


_BOXES = ", ".join(f"{place} {interest}" for place, interest in enumerate(Interest, start=1))


def _row_at_prompt(row: int) -> str:
    """Ask for a row of the paper; nothing ends it, a number goes to that row."""
    name = click.prompt(
        f"Row {row}: name (- for none, ? if it can't be read, a number for another row, empty to stop)",
        default="", show_default=False,
    ).strip()  # fmt: skip
    if not name or name.isdecimal() or name == "?":
        return name if name != "?" else f"{row} | ?"
    address = click.prompt("  address").strip()
    boxes = click.prompt(f"  boxes ({_BOXES})", default="", show_default=False)
    return " | ".join([str(row), *(part.replace("|", " ") for part in (name.strip("-"), address, boxes))])


class _Ready(Exception):
    """All but the words is there."""


def _with_words(job: str, asked: Asked, wish: LetterWish) -> LetterWish:
    """Add what the artist says: as given, or asked for where someone can answer, once all else is well."""

    def ready(done: int, total: int) -> NoReturn:
        raise _Ready

    if getattr(wish, "words", "none") or not telling.someone_is_there():
        return wish
    given = {"folder": asked.find(), "wish": replace(wish, words="…"), "today": asked.today}
    with suppress(_Ready):
        call(job, given, {"progress": ready})
    field = next(field for field in fields(wish) if field.name == "words")
    return replace(wish, words=telling.own_words(must="must" in field.metadata))


def _for_all(folder: Path, wish: SendWish) -> str:
    if not wish.is_for_all:
        return ""
    from sitegen.jobs.posting import letter_of

    letter_of(folder, wish.ident)  # that there's none is said before anything is asked
    return f"Post {wish.ident} to everyone in its recipients.csv who hasn't got it?"


_OPEN = "--open/--no-open"
_OPENED = "Open it in the browser."
_OWN: dict[str, dict[str, Any]] = {
    "demo": {
        "ends": lambda wish: (
            f"Next:    cd {wish.folder}, change a file, then `{program()} build` or `{program()} preview`"
        )
    },
    "begin": {"ends": _begin_ends},
    "today": {"show": _today, "params": [JSON]},
    "publish": {"agree": telling.trusts, "settings": telling.web_password},
    "preview": {"show": _preview, "params": [click.Option([_OPEN, "opened"], default=False, help=_OPENED)]},
    "desk": {"show": _desk, "params": [click.Option([_OPEN, "opened"], default=True, help=_OPENED)]},
    "piece add": {"fill": _filled},
    "piece mark": {"sale": _sale, "agree": telling.trusts, "settings": telling.web_password},
    "people add": {"keeps": _keeps},
    "people import": {"keeps": _keeps},
    "people type": {"show": _type_rows, "params": [JSON]},
    "people forget": {"sure": lambda _, wish: f"Erase {wish.address} from people.csv? This can't be undone."},
    "people replies": {"settings": telling.mail_settings},
    "send": {"sure": _for_all, "settings": telling.mail_settings},
    "guide": {"show": _guide},
}


def _add_all() -> None:
    _ROWS.read_string(Path(__file__).with_name("commands.ini").read_text("utf-8"))
    groups = {"": main}
    for path in _ROWS.sections():
        row, (above, _, name) = _ROWS[path], path.rpartition(" ")
        if "job" not in row:
            groups[path] = Commands(name, help=row["told"])
        own = _OWN.get(
            path, {"fill": partial(_with_words, row["job"])} if above == "announce" and "opens" in row else {}
        )
        groups[above].add_command(groups.get(path) or Command(path, row, own))


_add_all()
