"""The one door to the terminal: what is printed is made fit to be shown; who is there is asked, and no pipe.

What is wider than a terminal: sentences are wrapped, tables narrowed. Pipes get lines as they are.
"""

from __future__ import annotations

import itertools
import json
import os
import re
import shlex
import shutil
import sys
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, TextIO

import click

from sitegen.studio.asked import Answer, Progress
from sitegen.studio.text import columns, fit, for_machines, without_unfit

if TYPE_CHECKING:
    from sitegen.jobs.posting import ServerKind
    from sitegen.studio.settings import Publishing

# The one colour, for the one word that asks for something today.
_LATE = re.compile(r"\blate$|\blate(?=  )", re.MULTILINE)


def on_terminal(stream: TextIO) -> bool:
    """Tell whether a person reads there, rather than a program."""
    return stream.isatty()


def tell(text: object = "", *, err: bool = False) -> None:
    """Print lines for a person; what came from a file, a mail or a server can't steer the terminal."""
    stream, words = sys.stderr if err else sys.stdout, fit(str(text))
    if on_terminal(stream):
        words = narrowed(words, min(WIDEST, max(40, shutil.get_terminal_size().columns)))
        if "NO_COLOR" not in os.environ:  # no-color.org
            words = _LATE.sub(lambda late: click.style(late[0], fg="red"), words)
    click.echo(words, err=err)


def tell_all(lines: Iterable[str], *, err: bool = False) -> None:
    """Print lines for a person; those of a table are laid out together."""
    if together := list(lines):
        tell("\n".join(together), err=err)


def tell_table(rows: str) -> None:
    """Print a table (CSV) for another program, whole; a studio's files hold nothing that a terminal obeys."""
    click.echo(without_unfit(rows).encode(), nl=False)


def say(answer: Answer, *, as_json: bool) -> None:
    """Print a job's answer; what stands beside it goes to the other stream.

    JSON is valid whatever it holds and whatever letters the terminal has.
    """
    if as_json:
        everywhere = (sys.stdout.encoding or "ascii").lower().replace("-", "") == "utf8"
        whole = json.dumps(answer.as_answer(), ensure_ascii=not everywhere, indent=1)
        click.echo(for_machines(whole))
    else:
        tell_all(answer.lines())
    tell_all(getattr(answer, "asides", ()), err=True)


def program() -> str:
    """Return the words that start this program from any folder: `sitegen` where the terminal knows it."""
    started = Path(sys.argv[0])
    if shutil.which("sitegen") is not None:
        return "sitegen"
    if started.stem == "sitegen" and started.is_file():
        return shlex.quote(str(started.resolve()))
    return f"{shlex.quote(sys.executable)} -m sitegen"


@contextmanager
def bar(label: str) -> Iterator[Progress]:
    """Give what shows how many of how many are ready: on a terminal a bar, silence in a pipe."""
    with ExitStack() as drawn:
        shown: list[Any] = []

        def advance(done: int, total: int) -> None:
            if not sys.stderr.isatty():
                return
            if shown and done < shown[0].pos:  # a second letter is counted anew
                shown.clear()
                drawn.close()
            if not shown:
                made = click.progressbar(length=total, label=label, file=sys.stderr)
                shown.append(drawn.enter_context(made))
            shown[0].update(done - shown[0].pos)

        yield advance


def someone_is_there() -> bool:
    """Tell whether a question can be answered."""
    return sys.stdin.isatty()


def mail_settings(kind: ServerKind) -> Mapping[str, str]:
    """Return the environment's settings of a mail server, and ask for what is missing; nothing is kept."""
    found = dict(os.environ)
    if not someone_is_there():
        return found
    prefix = f"SITEGEN_{kind.name}"
    if not found.get(f"{prefix}_HOST"):
        tell(f"Your mail provider names these under {kind.provider_says}.")
        found[f"{prefix}_HOST"] = click.prompt("Server")
        found[f"{prefix}_USER"] = found.get(f"{prefix}_USER") or click.prompt("User name")
    if found.get(f"{prefix}_USER") and not found.get(f"{prefix}_PASSWORD"):
        found[f"{prefix}_PASSWORD"] = click.prompt(
            f"Password of {found[f'{prefix}_USER']} at {found[f'{prefix}_HOST']} (kept nowhere)",
            hide_input=True,
        )
    return found


def web_password(place: Publishing) -> str:
    """Return the password of a user at a host: from the environment, or asked for; it is kept nowhere."""
    from sitegen.jobs.publish import from_environment

    found = from_environment(place)
    if found or not someone_is_there():
        return found
    end = "; Enter alone if a key opens the door" if place.way == "sftp" else ""
    asked = f"Password of {place.user} at {place.host} (kept nowhere{end})"
    return str(click.prompt(asked, hide_input=True, default="", show_default=False))


def trusts(answer: Answer) -> bool:
    """Show what is to be trusted and ask; where nobody can answer, it isn't."""
    tell("\n".join(answer.lines()), err=True)
    return someone_is_there() and click.confirm("Is it the same?", err=True)


def own_words(*, must: bool) -> str:
    """Ask for a few words of the artist's own; if there must be some, until there are."""
    if not must and not click.confirm("Write a few words of your own at the top?", default=False):
        return ""
    tell("Write your words here, a paragraph or more (Markdown). A line with only a full stop ends them.")
    lines = iter(lambda: click.prompt("", prompt_suffix="> ", default="", show_default=False), ".")
    words = "\n".join(lines)
    return own_words(must=True) if must and not words.strip() else words


UNFORESEEN = 3  # exit status of what nobody foresaw
STOPPED = 130  # exit status after Ctrl-C, as shells have it: 128 and the signal's number


def unforeseen(fault: BaseException) -> None:
    """Say in one sentence that something went wrong that nobody foresaw, and where it's noted."""
    from sitegen.jobs.report import report

    tell(report(fault), err=True)


def hush() -> None:
    """Let the rest of an answer go nowhere, where it can't be brought out."""
    silent = os.open(os.devnull, os.O_WRONLY)
    os.dup2(silent, sys.stdout.fileno())
    os.close(silent)


def nobody_reads() -> None:
    """Say that the rest of an answer isn't shown once its reader has stopped."""
    hush()
    tell("Whoever read this answer has stopped, so the rest of it isn't shown.", err=True)


# A terminal's usual width, and what is easy to read; VT100 had 80 columns (from memory).
WIDEST = 80
_GAP = re.compile(r"\S {2,}\S")
_WORD = re.compile(r"\S+\s*")
# In a cell a piece's name may break after its hyphens.
_PART = re.compile(r"\S+?(?:(?<=[a-z]-)(?=[a-z])|\s+|$)")
_MONEY = re.compile(r"\d ([A-Z]{3})$")

Row = tuple[str, ...]


def narrowed(text: str, room: int = WIDEST) -> str:
    """Lay lines out in so many columns. A wider word, as a path may be, stays whole to be copied."""
    lines: list[str] = []
    for tabular, group in itertools.groupby(text.split("\n"), lambda line: bool(_GAP.search(line))):
        block = list(group)
        if max(map(columns, block)) <= room:
            lines += block
        elif tabular and len(block) > 1:
            lines += _table(block, room)
        else:
            lines += itertools.chain.from_iterable(_wrapped(line, room) for line in block)
    return "\n".join(lines)


def _wrapped(line: str, room: int) -> list[str]:
    """Break a sentence between words; a list's go on two columns in. A command gets a line."""
    indent = line[: len(line) - len(line.lstrip())]
    parts = re.split(r"(?<=\S) {2,}(?=sitegen )", line.strip())
    return [
        row
        for place, part in enumerate(parts)
        for row in _broken(part, room, indent + "  " * bool(place), indent + "  " * bool(indent))
    ]


def _broken(text: str, room: int, first: str = "", later: str = "", at: re.Pattern[str] = _WORD) -> list[str]:
    rows, row = [], first
    for word in at.findall(text):
        if row.strip() and columns((row + word).rstrip()) > room:
            rows.append(row.rstrip())
            row = later
        row += word
    return [*rows, row.rstrip()]


def _table(lines: Sequence[str], room: int) -> Iterator[str]:
    """Say a currency once, then break the widest cells until the rows fit; else set rows as sentences."""
    rows = _cells(lines)
    indent = " " * min(len(line) - len(line.lstrip()) for line in lines)
    flush = _flush_right(rows)
    if currency := _currency(rows):
        yield f"{indent}Amounts in {currency}."
        rows = [tuple(cell.removesuffix(f" {currency}") for cell in row) for row in rows]
    widths = _widths(rows, room - len(indent))
    if sum(widths) + 2 * (len(widths) - 1) > room - len(indent):
        for row in rows:
            yield from _broken("  ".join(filter(None, row)), room, indent, indent + "  ")
        return
    for row in rows:
        broken = [_broken(cell, width, at=_PART) for cell, width in zip(row, widths, strict=True)]
        for part in itertools.zip_longest(*broken, fillvalue=""):
            spaces = [width - columns(cell) for cell, width in zip(part, widths, strict=True)]
            yield (indent + "  ".join(
                " " * space + cell if place in flush else cell + " " * space
                for place, (cell, space) in enumerate(zip(part, spaces, strict=True))
            )).rstrip()  # fmt: skip


def _cells(lines: Sequence[str]) -> list[Row]:
    """Cut lines into cells where all of them leave two columns free."""
    spread = [_by_column(line) for line in lines]
    wide = max(map(len, spread))
    padded = [row + [" "] * (wide - len(row)) for row in spread]
    used = [any(row[place] != " " for row in padded) for place in range(wide)]
    ends = [place for place in range(1, wide) if used[place] and not any(used[max(0, place - 2) : place])]
    starts = [0, *(place for place in ends if any(used[:place])), wide]
    return [
        tuple("".join(row[first:last]).strip() for first, last in itertools.pairwise(starts))
        for row in padded
    ]


def _by_column(line: str) -> list[str]:
    """Give each column of the terminal what stands in it; a wide letter's second one is empty."""
    found: list[str] = []
    for letter in line:
        match columns(letter):
            case 0 if found:
                found[-1] += letter
            case 2:
                found += [letter, ""]
            case _:
                found.append(letter)
    return found


def _flush_right(rows: Sequence[Row]) -> set[int]:
    """Find the columns of amounts and counts; their heads follow them."""
    number = re.compile(r"[-+−]?[\d,.]+( ([A-Z]{3}|h|%))?$")
    return {
        place
        for place, column in enumerate(zip(*rows, strict=True))
        if any(map(number.match, column[1:])) and all(map(number.match, filter(None, column[1:])))
    }


def _currency(rows: Sequence[Row]) -> str:
    found = [match[1] for row in rows for cell in row if (match := _MONEY.search(cell))]
    return found[0] if len(set(found)) == 1 and len(found) > len(rows) else ""


def _widths(rows: Sequence[Row], room: int) -> list[int]:
    widths = [max(map(columns, column)) for column in zip(*rows, strict=True)]
    words = [
        max(columns(word.rstrip()) for cell in column for word in [*_PART.findall(cell), ""])
        for column in zip(*rows, strict=True)
    ]
    while (over := sum(widths) + 2 * (len(widths) - 1) - room) > 0:
        place = max(range(len(widths)), key=lambda at: widths[at] - words[at])
        if widths[place] == words[place]:
            break
        widths[place] -= min(over, max(1, (widths[place] - words[place]) // 2))
    return widths
