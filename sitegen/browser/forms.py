"""A form made out of a job's wish, and a wish made out of what was filled in.

Files that a browser brings are kept in a private place until their form is done, so that none is sent twice.
"""

from __future__ import annotations

import re
import secrets
import shutil
from collections.abc import Callable, Iterable, Mapping
from configparser import ConfigParser
from dataclasses import MISSING, Field, dataclass, fields, replace
from decimal import Decimal
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import Any

from babel.numbers import get_decimal_symbol, get_group_symbol
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData, UploadFile

from sitegen.studio.asked import Fault
from sitegen.studio.settings import Settings
from sitegen.studio.text import unfit_for_text
from sitegen.studio.whole import Studio
from sitegen.voice.words import read_locale

Choices = tuple[tuple[str, str], ...]
Own = Mapping[str, Mapping[str, Any]]
"""What a page knows better about the fields of a form, by their names."""
HIDDEN: Mapping[str, Any] = {"kind": "hidden"}
_ROWS = ConfigParser(interpolation=None, delimiters=("=",))
_ROWS.read_string(Path(__file__).with_name("forms.ini").read_text("utf-8"))


def rows(named: str) -> list[str]:
    """Return the names of the rows of `forms.ini` that have a title and begin so, without that beginning."""
    found = (name for name in _ROWS.sections() if name.startswith(named) and "title" in _ROWS[name])
    return [name.removeprefix(named) for name in found]


def pairs_of(name: str) -> dict[str, str]:
    """Return what a row of `forms.ini` says, after what is said once of all of its kind."""
    above = re.split("[. ]", name)[0]
    both = (_ROWS[row].items() for row in dict.fromkeys((above, name)) if row in _ROWS)
    return {key: said.replace("\n", " ") for row in both for key, said in row}


def row_of(name: str) -> dict[str, Any]:
    """Return what a row says of its form as a whole."""
    return {key: said for key, said in pairs_of(name).items() if " " not in key and key != "bare"}


def said_of(name: str, known: Own | None = None) -> Own:
    """Return what a row says of its form's fields, with what is `known` of them besides."""
    row = pairs_of(name)
    found: dict[str, dict[str, Any]] = {field: dict(HIDDEN) for field in row.get("hidden", "").split()}
    found |= {field: {"help": ""} for field in row.get("bare", "").split()}
    for key, said in row.items():
        way, _, field = key.partition(" ")
        called, bar, help_ = said.partition("|")
        if way == "kind":
            found.setdefault(field, {})["kind"] = said
        elif way == "ask":
            own = {"label": called.strip()} if called.strip() else {}
            found.setdefault(field, {}).update(own | ({"help": help_.strip()} if bar else {}))
    return found | {field: found.get(field, {}) | dict(how) for field, how in (known or {}).items()}


_DAYS = frozenset({"on", "day", "finished", "new_day", "start", "joined", "since", "lost"})
_AMOUNTS = frozenset({"price", "amount", "refund", "lowest", "supplies", "charge", "cost", "nearest"})
# Others that may be sums, and what else is a number.
_SUMS_TOO = _AMOUNTS | {"fee", "deposit", "what", "to"}
_NUMBERS = frozenset({"hours", "share", "by", "work"})


def label(name: str) -> str:
    """Say the name of a field."""
    return _ROWS["labels"].get(name) or name.replace("_", " ").capitalize()


@dataclass(frozen=True)
class Ask:
    """One field of a form, as a page shows it."""

    name: str
    label: str = ""
    kind: str = "text"
    """text, long, lines, pairs, day, moment, amount, number, yes, pick, ticks, file(s), password, hidden."""
    help: str = ""
    value: str = ""
    needed: bool = False
    choices: Choices = ()
    unit: str = ""
    hint: str = ""  # what is to be filled in, where nothing is yet
    pictures: tuple[str, ...] = ()  # addresses of small pictures, one a choice, where there are any


_WAYS = (
    ("tls", "private from the start (TLS)"), ("starttls", "goes private first (STARTTLS)"),
    ("none", "open, for a server on this machine only"),
)  # fmt: skip


def server_asks(called: str) -> tuple[Ask, ...]:
    """Return the fields of a mail server; `called` is how providers name it."""
    return (
        Ask("host", "Server", needed=True, help=f"Your mail provider has it under {called}."),
        Ask("port", "Port", "number", help="Left open: the usual one."),
        Ask("security", "The way there", "pick", choices=_WAYS),
        Ask("user", "User name"),
        Ask("password", "Password", "password", help="Asked for each time; it is kept nowhere."),
    )


def picks(values: Iterable[str], *, empty: str | None = None) -> Choices:
    """Return choices that say what they are; `empty` is how none of them is said."""
    first = () if empty is None else (("", empty),)
    return (*first, *((value, value) for value in values))


def asks_of(kind: type, own: Own, studio: Studio, values: Mapping[str, str]) -> tuple[Ask, ...]:
    """Make the fields of a form for a wish, filled with what is known; sums are in the studio's currency.

    `own` says by field's name what a page knows better.
    """
    found = (replace(_ask(field), **own.get(field.name, {})) for field in fields(kind))
    return tuple(
        replace(ask_, value=values.get(ask_.name, ask_.value), unit=unit_of(ask_, studio)) for ask_ in found
    )


def plainly(text: str, settings: Settings, *, money: bool = True) -> str:
    """Return a number as the studio's language writes it with digits and a point; any other text as it is.

    Marks are CLDR's; those between thousands are read in sums of money alone. Raises Fault where a mark
    before three digits may be either, in a currency of three digits behind the point.
    """
    locale, bare = read_locale(settings.language), text.strip()
    group, point = get_group_symbol(locale), get_decimal_symbol(locale)
    groups = "[\\s\xa0\u202f]" if group.isspace() else "['’]" if group in "'’" else re.escape(group)
    whole = rf"[0-9]{{1,3}}(?:{groups}[0-9]{{3}})+" if money else "(?!)"
    if not re.fullmatch(rf"-?(?:{whole}|[0-9]+)(?:{re.escape(point)}[0-9]+)?", bare):
        return text
    if settings.digits == 3 and re.fullmatch(r"[0-9]{1,3}[.,][0-9]{3}", bare) and group in bare:
        raise Fault(f"'{bare}' can be read in two ways; write it without a mark between the thousands")
    return re.sub(groups, "", bare).replace(point, ".") if money else bare.replace(point, ".")


def as_typed(amount: Decimal | None, settings: Settings) -> str:
    """Write a sum as it's typed in the studio's language, so that `plainly` reads it in one way only."""
    return f"{amount:f}".replace(".", get_decimal_symbol(read_locale(settings.language))) if amount else ""


def unit_of(ask: Ask, studio: Studio) -> str:
    """Return what a field is measured in."""
    return ask.unit or (studio.settings.currency if ask.kind == "amount" else "")


def _ask(field: Field[Any]) -> Ask:
    how, written = field.metadata, str(field.type)
    default = "" if field.default in (MISSING, None, (), False) else str(field.default)
    return Ask(
        name=field.name, label=label(field.name), kind=_kind(field.name, how, written),
        help=how.get("meaning", ""), value="yes" if field.default is True else default,
        needed=field.default is MISSING or "must" in how, choices=picks(how.get("choices", ())),
    )  # fmt: skip


def _kind(name: str, how: Mapping[str, Any], written: str) -> str:
    many = written.startswith("tuple")
    kinds = (
        ("password", "secret" in how), ("pick", "choices" in how), ("yes", written == "bool"),
        ("long", "file" in how and written.startswith("str")),
        ("files" if many else "file", "Path" in written or "bytes" in written),
        ("day", how.get("like") == "DATE" or name in _DAYS), ("amount", name in _AMOUNTS),
        ("number", written.startswith(("int", "float")) or name == "hours"), ("long", many),
    )  # fmt: skip
    return next((kind for kind, holds in kinds if holds), "text")


def typed(values: Mapping[str, Any], read: Callable[[], Studio]) -> dict[str, Any]:
    """Return what was filled in with its sums and numbers as the files have them. Raises Fault.

    The studio is read only where a mark stands in one of them: some forms have to work when it can't be.
    """
    found = dict(values)
    for name in (_SUMS_TOO | _NUMBERS) & found.keys():
        text = found[name]
        if isinstance(text, str) and re.search(r"[0-9][^0-9a-z%][0-9]", text):
            found[name] = plainly(text, read().settings, money=name in _SUMS_TOO)
    return found


def wish_from(kind: type, given: Mapping[str, Any]) -> Any:
    """Make a wish of what was filled in; what was left empty isn't asked for.

    Raises WishFault if it doesn't go together, and Fault for what is no number or is missing.
    """
    values: dict[str, Any] = {}
    for field in fields(kind):
        found = _value(field, given.get(field.name))
        if found is not None:
            values[field.name] = found
        elif field.default is MISSING:
            raise Fault(f"--{field.name.replace('_', '-')}: something must be filled in here")
    return kind(**values)


def _value(field: Field[Any], given: Any) -> Any:
    written = str(field.type)
    if written == "bool":
        return given == "yes"
    if given in (None, "", ()):
        return None
    if not isinstance(given, str):  # files that were brought along
        return given
    text = given.replace("\r\n", "\n")
    if "Path" in written and unfit_for_text(text):
        raise Fault(f"--{field.name}: there is no file of that name")
    if "choices" in field.metadata and text not in field.metadata["choices"]:
        raise Fault(f"--{field.name}: choose one of {', '.join(field.metadata['choices'])}")
    if written.startswith("tuple"):
        lines = tuple(line.strip() for line in text.split("\n") if line.strip())
        return tuple(map(Path, lines)) if "Path" in written else lines
    if written.startswith(("int", "float")):
        return _number(field, text.strip())
    return Path(text) if "Path" in written else text if "file" in field.metadata else text.strip()


def _number(field: Field[Any], text: str) -> int | float:
    least, most = field.metadata.get("least"), field.metadata.get("most")
    try:
        found = int(text) if str(field.type).startswith("int") else float(text)
    except ValueError:
        raise Fault(f"--{field.name}: '{text}' is no number") from None
    low, high = float("-inf" if least is None else least), float("inf" if most is None else most)
    if not low <= found <= high or abs(found) == float("inf"):
        bounds = f"{least} or more" if most is None else f"from {least} to {most}"
        raise Fault(f"--{field.name}: write a number, {bounds}, in place of {text}")
    return found


def texts(form: FormData) -> dict[str, str]:
    """Return what was typed into a form; what was ticked more than once, a line each."""
    found: dict[str, str] = {}
    for name, value in form.multi_items():
        if not isinstance(value, UploadFile):
            found[name] = f"{found[name]}\n{value}" if name in found else value
    return found


_PLACE = ".incoming"
_TOKEN = re.compile(r"[A-Za-z0-9_-]{12,}")


def place_of(folder: Path, token: str) -> Path:
    """Return where the files of one form lie."""
    return folder / "out" / _PLACE / token


async def bring_in(folder: Path, form: FormData, field: str) -> tuple[str, tuple[Path, ...]]:
    """Keep what a form brings beside what an earlier try of it brought; return its word, and the files.

    Files keep their own names, each in a folder of its own, in the order in which they were chosen.
    """
    given = form.get("kept")
    token = given if isinstance(given, str) and _TOKEN.fullmatch(given) else secrets.token_urlsafe(12)
    place = place_of(folder, token)
    for upload in form.getlist(field):
        if isinstance(upload, UploadFile) and upload.filename:
            await run_in_threadpool(_put, upload, place)
    return token, kept_under(folder, token)


def kept_under(folder: Path, token: str) -> tuple[Path, ...]:
    """Return the files kept under a word, in their order."""
    if not _TOKEN.fullmatch(token):
        return ()
    return tuple(sorted(place_of(folder, token).glob("*/*")))


def let_go(folder: Path, token: str) -> None:
    """Take the files of a form away: they are where they belong."""
    if _TOKEN.fullmatch(token):
        shutil.rmtree(place_of(folder, token), ignore_errors=True)


def sweep(folder: Path) -> None:
    """Take away what forms left that were never sent."""
    shutil.rmtree(folder / "out" / _PLACE, ignore_errors=True)


def _put(upload: UploadFile, place: Path) -> None:
    place.mkdir(mode=0o700, parents=True, exist_ok=True)
    spot = place / f"{len(list(place.iterdir())):03}"
    spot.mkdir()
    # The last part of its name as any system writes it, without what a file's name can't hold.
    last = PureWindowsPath(PurePosixPath(upload.filename or "").name).name
    name = re.sub(r'[\x00-\x1f<>:"/\\|?*]', "", last).strip(". ")[-100:] or "file"
    with (spot / name).open("wb") as file:
        shutil.copyfileobj(upload.file, file)
