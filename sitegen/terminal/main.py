"""The command line: parse, call one job, show its answer. No logic lives here.

A command's arguments are the fields of its job's wish; rooms are loaded once a command is wanted, so that
`sitegen --help` answers at once.
"""

from __future__ import annotations

import shlex
import sys
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from sitegen.terminal import desk
from sitegen.terminal.asking import trusts, web_password
from sitegen.terminal.bench import clock, order, piece
from sitegen.terminal.group import JSON, Asked, Commands, plain, shown
from sitegen.terminal.post import announce, people, send
from sitegen.terminal.telling import Bar, program, say, tell, tell_all

if TYPE_CHECKING:
    from sitegen.jobs.begin import NewStudio
    from sitegen.jobs.guide import GuideWish
    from sitegen.jobs.preview import DeskWish, PreviewWish
    from sitegen.jobs.today import Errand


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


@shown("demo", "begin.demo", "my-studio")
def demo(asked: Asked, wish: NewStudio) -> None:
    """Put a copy of the invented studio in DIR and do the three daily jobs there.

    Builds its site, writes the letter for its next commission round and the sign-up sheet for its next
    show. Nothing is posted; every address in it is a reserved example.
    """
    from sitegen.jobs import begin

    with Bar("Pictures") as bar:
        done = begin.demo(wish, asked.today, bar.advance)
    for line in done.lines():
        tell(line)
    tell(f"Next:    cd {wish.folder}, change a file, then `{program()} build` or `{program()} preview`")


@shown("begin", "begin.begin", "my-studio")
def begin(_: Asked, wish: NewStudio) -> None:
    """Put the starter studio in DIR, ready to be filled in."""
    from sitegen.jobs import begin as jobs

    folder = jobs.begin(wish)
    tell(f"The starter studio is in {folder}. Fill in {folder / 'studio.yaml'} first;")
    tell(f"`{program()} --studio {folder} check` lists what is still to fill in.")
    tell("Rather pages than files? A double click on 'Open the desk' in it opens them in the browser.")


check = plain(
    "check", "check.checked", "--live",
    "Read everything, report every complaint, write nothing; with --live also what visitors get.",
)  # fmt: skip
build = plain(
    "build", "build.build", "", "Compile the site to out/site: only what changed is written.", bar="Pictures",
)  # fmt: skip
publish = plain(
    "publish", "publish.publish", "--look",
    """Build the site and bring it to where it lives: only what changed, only its own files.

    studio.yaml says where (`publish:`). It can be stopped and run again. The password is asked for, or taken
    from SITEGEN_PUBLISH_PASSWORD; it is kept nowhere.
    """, bar="On the web", agree=trusts, settings=web_password,
)  # fmt: skip


_OPEN = "--open/--no-open"


@shown(
    "preview", "preview.preview", "",
    click.Option([_OPEN, "opened"], default=False, help="Open it in the browser."),
)  # fmt: skip
def preview(asked: Asked, wish: PreviewWish, opened: bool) -> None:
    """Build, show the site at a local address, and build again on every change. Stop with Ctrl-C."""
    from sitegen.browser.server import serve_preview
    from sitegen.jobs import preview as jobs

    folder = asked.find()
    ready = _ready(f"Showing {folder} at {{}}  (Ctrl-C stops it)", opened)
    jobs.preview(folder, wish, asked.today, tell, partial(serve_preview, ready=ready))
    tell("Stopped.")


@shown(
    "desk", "preview.desk", "",
    click.Option([_OPEN, "opened"], default=True, help="Open it in the browser."),
)  # fmt: skip
def desk_in_browser(asked: Asked, wish: DeskWish, opened: bool) -> None:
    """Open the desk in the browser: all that is done here by commands, on this machine only.

    The address is for this machine and this session. Stop it with Ctrl-C when the day is done; what is done
    on the desk is in your files at once.
    """
    from sitegen.browser.server import serve_desk
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


@shown("guide", "guide.guide", "letters")
def guide(_: Asked, wish: GuideWish) -> None:
    """Show the guide: its pages, or one of them."""
    from sitegen.jobs import guide as jobs

    pages = jobs.guide(wish)
    if wish.topic is not None:
        click.echo_via_pager(pages[0].text)
        return
    tell("Pages of the guide; `sitegen guide WORD` shows one.\n")
    tell_all(f"  {page.topic:<12}{page.title}" for page in pages)


# By what is at stake, else by what it's about; {0} is the code or name.
_BY_KIND = {
    "delivery": "order letter {0} --new-day DATE",
    "promise": "order letter {0} --new-day DATE",
    "lapsed offer": "order lapsed",
    "letter in doubt": "announce list {0}",
    "letter refused": "announce list {0}",
    "offer": "order letter {0}",
    "finished": "order letter {0}",
    "bench": "order move {0} on the bench",
    "invitation": "announce show {0}",
    "sheet": "sheet {0}",
    "consent": "people list",
    "piece due back": "piece back {0}",
}
_BY_KIND_AND_TARGET = {
    ("payment", "order"): "order letter {0}",
    ("payment", "piece"): "plan {0}",
    ("sale", "piece"): "piece mark {0} sold",
    ("round", "round"): "announce commissions {0}",
    ("invitation", "class"): "announce class {0}",
}
_BY_TARGET = {
    "order": "order show {0}", "round": "order list", "letter": "send {0}", "terms": "terms keep",
    "books": "check", "files": "check", "site": "build", "web": "publish", "backup": "backup DIR",
    "studio": "check", "checklist": "check", "pieces": "piece add PHOTO",
}  # fmt: skip


@shown("today", "today.errands", "", JSON)
def today(asked: Asked, wish: None, as_json: bool) -> None:
    """Say what is lost by waiting: offers that end, late payments, days at risk, letters to post, and more.

    The first to be lost comes first. Nothing is written.
    """
    from sitegen.jobs import today as jobs

    found = jobs.errands(asked.find(), asked.today)
    if as_json or not found.errands:
        say(found, as_json=as_json)
        return
    for errand in found.errands:
        tell(errand.sentence)
        tell(f"  {errand.do}  sitegen {_command(errand)}")


def _command(one: Errand) -> str:
    """Return the command that does an errand, or shows more of it."""
    kind, target = str(one.kind), one.target
    words = _BY_KIND_AND_TARGET.get((kind, target.kind)) or _BY_KIND.get(kind) or _BY_TARGET[target.kind]
    return words.format(shlex.quote(target.name))


for command in (
    demo, begin, today, check, build, publish, preview, desk_in_browser, piece, clock, desk.sheet, announce,
    send, people, *desk.ahead, order, *desk.papers, *desk.yearly, *desk.safe, guide,
):  # fmt: skip
    main.add_command(command)
