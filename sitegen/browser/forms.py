"""A form made out of a job's wish, and a wish made out of what was filled in."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Iterable, Mapping
from dataclasses import MISSING, Field, dataclass, fields, replace
from pathlib import Path
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData, UploadFile
from starlette.requests import Request
from starlette.responses import Response

from sitegen.browser.guard import MOST_OF_WORDS
from sitegen.browser.labels import label
from sitegen.studio.fault import Fault
from sitegen.studio.text import unfit_for_text

Choices = tuple[tuple[str, str], ...]
Own = Mapping[str, Mapping[str, Any]]
"""What a page knows better about the fields of a form, by their names."""
Answering = Callable[[Request, dict[str, str]], Response]
HIDDEN: Mapping[str, Any] = {"kind": "hidden"}


@dataclass(frozen=True)
class Ask:
    """One field of a form, as a page shows it."""

    name: str
    label: str = ""
    kind: str = "text"
    """text, long, day, moment, amount, number, yes, pick, ticks, file, files, password, hidden."""
    help: str = ""
    value: str = ""
    needed: bool = False
    choices: Choices = ()
    unit: str = ""
    hint: str = ""
    """What is to be filled in, where nothing is yet."""
    pictures: tuple[str, ...] = ()
    """Addresses of small pictures, one a choice, where there are any."""

    def filled(self, value: str) -> Ask:
        """Return the field with something in it."""
        return replace(self, value=value)


def picks(values: Iterable[str], *, empty: str | None = None) -> Choices:
    """Return choices that say what they are; `empty` is how none of them is said."""
    first = () if empty is None else (("", empty),)
    return (*first, *((value, value) for value in values))


def asks_of(kind: type, own: Mapping[str, Mapping[str, Any]]) -> tuple[Ask, ...]:
    """Make the fields of a form for a wish; `own` says by field's name what a page knows better."""
    return tuple(replace(_ask(field), **own.get(field.name, {})) for field in fields(kind))


def _ask(field: Field[Any]) -> Ask:
    how, written = field.metadata, str(field.type)
    default = "" if field.default in (MISSING, None, (), False) else str(field.default)
    return Ask(
        name=field.name,
        label=label(field.name),
        kind=_kind(field.name, how, written),
        help=how.get("meaning", ""),
        value="yes" if field.default is True else default,
        needed=field.default is MISSING,
        choices=picks(how.get("choices", ())),
    )


_DAYS = frozenset({"on", "day", "finished", "new_day", "start", "joined"})


def _kind(name: str, how: Mapping[str, Any], written: str) -> str:  # noqa: PLR0911 (a table in words)
    if "secret" in how:
        return "password"
    if "choices" in how:
        return "pick"
    if written == "bool":
        return "yes"
    if "file" in how and written.startswith("str"):
        return "long"
    if "Path" in written or "bytes" in written:
        return "files" if written.startswith("tuple") else "file"
    if how.get("like") == "DATE" or name in _DAYS:
        return "day"
    if name in {"price", "amount", "refund"}:
        return "amount"
    if written.startswith(("int", "float")):
        return "number"
    return "long" if written.startswith("tuple") else "text"


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
    kind: Callable[[str], int | float] = int if str(field.type).startswith("int") else float
    least, most = field.metadata.get("least"), field.metadata.get("most")
    try:
        found = kind(text)
    except ValueError:
        raise Fault(f"--{field.name}: '{text}' is no number") from None
    if (least is not None and found < least) or (most is not None and found > most):
        raise Fault(f"--{field.name}: {text} is not between {least} and {most}")
    return found


def texts(form: FormData) -> dict[str, str]:
    """Return what was typed into a form; what was ticked more than once, a line each."""
    found: dict[str, str] = {}
    for name, value in form.multi_items():
        if not isinstance(value, UploadFile):
            found[name] = f"{found[name]}\n{value}" if name in found else value
    return found


def filled_in(answer: Answering, **bounds: int) -> Callable[[Request], Awaitable[Response]]:
    """Make what takes a form that was sent and answers to what was typed into it, beside other requests.

    `bounds` are the library's: how many fields and files, and how many bytes of a field.
    """
    most = {"max_part_size": MOST_OF_WORDS} | bounds

    async def answered(request: Request) -> Response:
        async with request.form(**most) as given:
            values = texts(given)
        return await run_in_threadpool(answer, request, values)

    return answered
