"""What the program says, as the desk says it: commands become links, options the names of a form's fields."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from functools import lru_cache
from itertools import groupby

from markupsafe import Markup, escape

from sitegen.browser.desk import dated
from sitegen.browser.forms import Ask, label, pairs_of

# Where a command of the terminal lies on the desk, and what it's called; the longest that fits counts.
_PLACES = [
    (command, *row.split(" | ")) for command, row in sorted(pairs_of("commands").items(), reverse=True)
]
_OF_AN_ORDER = pairs_of("an order's commands")
# Commands about one letter or one piece, where each of them is.
_OF_ONE = (
    (r"plan (\S+)", Markup('<a href="/money/plan?what={0}">part by part</a>')),
    (r"send (\S+)", Markup('<a href="/letters/{0}">post the letter</a>')),
    (r"piece (?:mark|back|out|return) ([a-z0-9-]+)", Markup('<a href="/pieces/{0}">the page of {0}</a>')),
)
_PARTS = re.compile(
    r"(`sitegen [^`]+`|`--[a-z][a-z-]+ [^`]*`|--[a-z][a-z-]+(?: [A-Z]{4,}\b)?|`send`|"
    r"SITEGEN_(?:SMTP|IMAP)_[A-Z]+)"
)
# How a line of a file is written, which the desk has a field for.
_LINES = re.compile(r" \(`[a-z_]+: [^)]*\)")
_LINE = re.compile(r"`([a-z_]+): [^`]*`(?=.* under `private:` in studio\.yaml)")
_OF_A_FILE = re.compile(r"(Subject|To|Letter|Post it): {2,}|  [-+]|  \S+\.(yaml|csv|md):$")
_HOME = re.compile(
    r"add a block `publish:` with .*? as your host names them(\. `sitegen guide publishing` .* ways)?"
)
_WRITE = re.compile(r"write `([a-z_]+):[^`]*`(?: or `[^`]*`)?")


# A link with which a sentence begins.
_BEGINS = re.compile(r"(?:^|[.?!] )<a href=[^>]*>[a-z]")

# Files, as the artist knows them.
_FILES = tuple(
    (re.compile(pattern), said)
    for pattern, said in (
        (r"^(?:studio|commissions)\.yaml: ", ""),
        (r"^commissions\.yaml names no tiers; .*", "Nothing to order is named yet. Fill in `sitegen tiers`."),
        (r"\bstudio\.yaml says\b", "the settings say"), (r"\bstudio\.yaml\b", "the settings"),
        (r"\bcommissions\.yaml\b", "the order book"), (r"\bin people\.csv\b", "on the mailing list"),
        (r"\bpeople\.csv\b", "the mailing list"),
        (r"\b(?:pieces/([a-z0-9-]+)/piece|shows/([a-z0-9-]+))\.yaml\b", r"the page of \1\2"),
        (r"\bpiece\.yaml\b", "page"),
    )
)  # fmt: skip


def told(sentence: str, asks: Iterable[Ask] = ()) -> Markup:
    """Turn a sentence into words for a page; fields are called as those of the form beside it are."""
    return _in_words(sentence, tuple((ask.name, ask.label) for ask in asks))


@lru_cache(4096)  # a long page says the same when it's asked for again
def _in_words(sentence: str, labels: tuple[tuple[str, str], ...]) -> Markup:
    names = dict(labels)
    if "`" in sentence:
        sentence = _LINES.sub("", sentence)
        sentence = _HOME.sub("fill in under Settings `sitegen live`", sentence)
        sentence = _WRITE.sub(lambda found: f"fill in “{_named(found[1], names)}”", sentence)
        sentence = _LINE.sub(lambda found: f"“{_named(found[1], names)}”", sentence)
        sentence = sentence.replace(", under `private:` in studio.yaml", " under `sitegen private`")
    if ".yaml" in sentence or ".csv" in sentence:
        for pattern, said in _FILES:
            sentence = pattern.sub(said, sentence)
    said = Markup("").join(_told(part, names) for part in _PARTS.split(dated(sentence)))
    return Markup(_BEGINS.sub(lambda found: found[0][:-1] + found[0][-1].upper(), said))  # noqa: S704 (escaped already)


def laid(lines: Iterable[str]) -> list[list[list[Markup]]]:
    """Lay an answer's lines out as rows of cells: what the terminal sets in columns is a table here.

    Rows with one cell are sentences; so is one that stands alone.
    """
    rows = (re.split(r" {2,}", line.strip()) for line in lines if line.strip())
    blocks = [list(block) for _, block in groupby(rows, key=len)]
    blocks = [block if len(block) > 1 else [[" ".join(block[0])]] for block in blocks]
    return [[[*map(told, row)] for row in block] for block in blocks]


def told_all(lines: Iterable[str]) -> list[Markup]:
    """Turn the lines of `without_files` into words for a page."""
    return [told(line.removeprefix("  [ ] ")) for line in without_files(lines)]


def without_files(lines: Iterable[str]) -> list[str]:
    """Leave out the lines on lines and places of files."""
    return [line for line in lines if not _OF_A_FILE.match(line)]


def _named(option: str, names: Mapping[str, str]) -> str:
    name = option.lower().replace("-", "_")
    return names.get(name) or label(name)


def _told(part: str, names: Mapping[str, str]) -> Markup | str:
    if part.startswith(("--", "`--", "SITEGEN_")):
        return f"“{_named(re.sub('`?--|SITEGEN_(SMTP|IMAP)_| .*', '', part), names)}”"
    if not part.startswith("`sitegen "):
        return "“Post it”" if part == "`send`" else part
    words = part.strip("`").removeprefix("sitegen ")
    words = re.sub(r"^--studio \S+ ", "", words)
    order = re.match(r"order ([a-z]+) ([^\s']+)", words)
    if order is not None and order[1] in _OF_AN_ORDER:
        said = _OF_AN_ORDER[order[1]].format(order[2])
        return Markup('<a href="/orders/{}">{}</a>').format(order[2], said)
    for pattern, link in _OF_ONE:
        if (one := re.match(pattern, words)) is not None:
            return link.format(one[1])
    for command, place, said in _PLACES:
        if words == command or words.startswith(f"{command} "):
            return Markup('<a href="{}">{}</a>').format(place, said)
    return escape(words)
