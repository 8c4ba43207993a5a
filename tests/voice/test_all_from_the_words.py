"""Whatever a collector reads comes from the words files or from the artist: nothing from code or templates.

A studio speaks a language whose words are all made of one letter. What can still be read in anything that goes
out then comes from the studio's own files, from CLDR (the names of days and months), or is a fault.
"""

from __future__ import annotations

import email
import email.policy
import json
import re
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any

import icalendar
import pytest
import yaml
from babel import Locale
from lxml import etree, html

from tests import makers
from tests.cli.runner import on, run
from tests.cli.test_desk_draw import ROUND, request, sources
from tests.cli.test_order_letters import BOOK
from tests.cli.test_order_letters import LETTERS as ORDERS
from tests.paper.reading import reader, texts
from tests.themes import FOLDER, NAMES

# CLDR has its names of days and months; no theme has words for it.
LANGUAGE = "fi"
# For machines alone.
NO_READING = {"robots.txt", "headers.txt"}
# Names of things, not sentences.
NAMES_OF_THINGS = {"utc", "atom", "qr", "sha", "html", "rfc", "md5", "eur"}
_ATTRIBUTES = ("alt", "title", "aria-label", "content", "value", "placeholder")
# How CLDR writes days and times, the marks of quotation, and when a paragraph stands.
_KEPT = re.compile(r"^(?:date\.(?:day|full|month|time|from_same_\w+)|quotes)$|^client\..*\.when$")


def hidden(sentence: str) -> str:
    """Put one letter for each word, and leave the {places}."""
    parts = re.split(r"(\{[a-z_]+\})", sentence)
    return "".join(part if part.startswith("{") else re.sub(r"[^\W\d_]+", "ø", part) for part in parts)


def hide(tree: Any, path: str = "") -> Any:
    if isinstance(tree, dict):
        return {key: hide(value, f"{path}.{key}".lstrip(".")) for key, value in tree.items()}
    return tree if _KEPT.search(path) else hidden(tree)


def studio(folder: Path, theme: str) -> Path:
    made = makers.studio(folder)
    words = yaml.load((FOLDER / "base/words/en.yaml").read_text("utf-8"), Loader=yaml.BaseLoader)  # noqa: S506
    makers.write(
        made / "themes" / theme / "words" / f"{LANGUAGE}.yaml",
        yaml.safe_dump(hide(words), allow_unicode=True),
    )
    settings = makers.STUDIO.replace("language: en", f"language: {LANGUAGE}\ntheme: {theme}")
    makers.write(made / "studio.yaml", settings)
    makers.write(made / "commissions.yaml", makers.COMMISSIONS.replace("way: draw", "way: first come"))
    terms = "".join(f"{{{place}}}\n" for place in ("instalments", "weekend rule", "odd coins", "calling off"))
    makers.write(made / "pages" / "payment-terms.md", f"# Payment terms\n\n{terms}")
    for status in ("sold", "on hold", "commissioned", "not for sale", "in progress"):
        slug = status.replace(" ", "-")
        makers.add_piece(made, slug, makers.piece_yaml(slug, status, number="", price=""))
    return made


def own_words(folder: Path) -> set[str]:
    """Collect the words of the studio's files, addresses and all, and those of CLDR's calendar."""
    locale = Locale.parse(LANGUAGE)
    calendar = [*locale.months["format"]["wide"].values(), *locale.days["format"]["wide"].values()]
    files = [
        path
        for path in folder.rglob("*")
        if path.suffix in {".yaml", ".md", ".csv"} and "themes" not in path.parts
    ]
    written = [path.read_text("utf-8") for path in files if "out" not in path.parts]
    return {word for text in (*written, *calendar, *map(str, files)) for word in words_of(text)}


def words_of(text: str) -> Iterator[str]:
    """Yield what reads as a word, addresses left out."""
    bare = re.sub(
        r"\S*(?:://|@|%20)\S*|\b[\w-]+(?:\.[\w-]+)+\b|\b[0-9A-F]{8,}\b|\b[a-z0-9]{16,}\b", " ", text
    )
    yield from (word.casefold() for word in re.findall(r"[^\W\d_]{3,}", re.sub("[øØ]", " ", bare)))


def in_html(page: bytes) -> Iterator[str]:
    tree = html.fromstring(page)
    for block in tree.xpath("//script[@type='application/ld+json']"):
        yield from in_facts(json.loads(block.text))
    for one in tree.xpath(
        "//script|//style|//meta[@name='viewport' or @name='color-scheme' or @name='robots' or @http-equiv]"
    ):
        one.getparent().remove(one)
    for one in tree.xpath(
        "//meta[@name='theme-color' or @name='supported-color-schemes' or @property='og:type']"
    ):
        one.getparent().remove(one)
    yield from tree.itertext()
    for one in tree.iter():
        yield from (one.get(name, "") for name in _ATTRIBUTES)


def in_facts(facts: Any) -> Iterator[str]:
    """Yield the texts of structured data: what isn't a name of schema.org's, an address or a code."""
    for name, value in facts.items() if isinstance(facts, dict) else enumerate(facts):
        if isinstance(value, dict | list):
            yield from in_facts(value)
        elif isinstance(value, str) and not str(name).startswith("@"):
            yield value


def in_mail(raw: bytes) -> Iterator[str]:
    message = email.message_from_bytes(raw, policy=email.policy.default)
    yield from (str(message[name] or "") for name in ("Subject", "From", "To", "List-Id"))
    for part in message.walk():
        if part.get_content_type() == "text/html":
            yield from in_html(part.get_content().encode("utf-8"))
        elif part.get_content_type() == "text/plain":
            yield part.get_content()
        elif part.get_content_type() == "text/calendar":
            yield from in_calendar(part.get_content())


def in_calendar(text: str) -> Iterator[str]:
    for event in icalendar.Calendar.from_ical(text).walk("VEVENT"):
        yield from (str(event.get(name, "")) for name in ("SUMMARY", "DESCRIPTION", "LOCATION"))


def in_pdf(pdf: bytes) -> Iterator[str]:
    # Letters that are set wide apart are read one by one.
    yield from (re.sub(r"(?<=\b[^\W\d_]) (?=[^\W\d_]\b)", "", text) for text in texts(pdf))
    yield from (str(value) for name, value in (reader(pdf).metadata or {}).items() if name != "/Creator")


def in_feed(raw: bytes) -> Iterator[str]:
    for one in etree.fromstring(raw).iter():
        if str(one.tag).endswith("}content"):
            yield from in_html(f"<meta charset='utf-8'><p>{one.text}".encode())
        else:
            yield one.text or ""
            yield one.get("title") or ""


def what_goes_out(folder: Path) -> Iterator[tuple[str, str]]:
    kinds: dict[str, Callable[[bytes], Iterable[str]]] = {
        ".html": in_html, ".pdf": in_pdf, ".eml": in_mail, ".xml": in_feed,
        ".ics": lambda raw: in_calendar(raw.decode()), ".txt": lambda raw: [raw.decode()],
    }  # fmt: skip
    for file in sorted((folder / "out").rglob("*")):
        if file.suffix in kinds and file.name not in NO_READING:
            for text in kinds[file.suffix](file.read_bytes()):
                yield file.relative_to(folder).as_posix(), text


def everything(folder: Path) -> None:
    """Make all that a studio can make: site, letters of each kind, papers, a draw before and after."""
    for words in (
        ("build",), ("announce", "commissions", "--head-start", "24"), ("announce", "commissions"),
        ("announce", "pieces", "ferry-ghost", "--note", str(makers.write(folder / "note.md", "![](ferry-ghost)"))),
        ("announce", "show", "quayside-2027"), ("sheet",), ("cards",), ("certificate", "sold"), ("terms", "keep"), ("agreement", "A-1"),
        ("agreement", "ferry-ghost"),
    ):  # fmt: skip
        done = run(folder, *words)
        assert done.exit_code == 0, (words, done.output)
    makers.write(folder / "commissions.yaml", BOOK)
    for code in ORDERS:
        assert run(folder, "order", "letter", code).exit_code == 0
    late = request("W-3", "cara@mail.example", since="2026-11-22")
    again = request("W-4", "ana@mail.example")
    tiers = makers.COMMISSIONS.split("rounds:")[0]
    book = f"{tiers}rounds:\n{ROUND}queue:\n{request('W-1', 'ana@mail.example')}{request('W-2', 'b@mail.example')}"
    makers.write(folder / "commissions.yaml", book + late.replace("step", "round: Winter 2026, step") + again)
    announced = run(folder, "draw", "Winter 2026")
    drawn = on("2026-11-30", folder, "draw", "Winter 2026", *sources("1", "2"))
    assert (announced.exit_code, drawn.exit_code) == (0, 0), announced.output + drawn.output


@pytest.mark.parametrize(
    "theme", [pytest.param(name, marks=[pytest.mark.slow] * (name != "case")) for name in NAMES]
)
def test_nothing_that_goes_out_says_a_word_of_its_own(tmp_path: Path, theme: str) -> None:
    """Pages, feeds, calendars, structured data, letters of every kind, papers and a draw's texts."""
    folder = studio(tmp_path / "s", theme)
    known = own_words(folder) | NAMES_OF_THINGS
    everything(folder)

    found = list(what_goes_out(folder))
    known |= own_words(folder) | set(words_of(BOOK))
    leaks = {(file, word) for file, text in found for word in words_of(text) if word not in known}
    assert sorted(leaks) == []
    kinds = {Path(file).suffix for file, _ in found}
    assert kinds == {".html", ".pdf", ".eml", ".xml", ".ics", ".txt"}
    assert len({file for file, _ in found}) > 60
