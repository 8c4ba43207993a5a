"""Take people over from any table: first a plan of what would happen, then the writing."""

from __future__ import annotations

import re
import unicodedata
from collections import Counter
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from configparser import ConfigParser
from dataclasses import dataclass, replace
from datetime import date
from difflib import SequenceMatcher
from functools import lru_cache
from itertools import islice
from pathlib import Path

from sitegen.sources.people import LONGEST_CELL, as_kept, csv_rows, fault_of
from sitegen.sources.people_rows import Ledger
from sitegen.sources.text import StudioFault
from sitegen.studio.fields import in_our_time, read_zone
from sitegen.studio.mailing import EXPLICIT
from sitegen.studio.person import Consent, Interest, Person, address_key
from sitegen.studio.text import named, quoted, short, unfit_for_text, unmarked

_Said = Mapping[str, Sequence[tuple[str, str]]]
"""What a row says, by what its columns are read as: heading and cell."""
_TABLES = ConfigParser(interpolation=None)
_TABLES.read(Path(__file__).with_name("people.ini"), encoding="utf-8")


def _listed(part: str, name: str) -> list[str]:
    return " ".join(_TABLES[part][name].split()).split(", ")


_HEADINGS = {name: _listed("headings", name) for name in _TABLES["headings"]}
# A column of ticks each, as the boxes of a sheet.
_HEADINGS |= {str(interest): [str(interest)] for interest in Interest}
# What the table that mirrors a sheet's rows says of each before anybody signed in it.
PRINTED = ("sheet", "row", "joined")
_YES, _NO, _GONE, _OPENERS, _DOUBTS = (
    frozenset(_listed("answers", name)) for name in ("yes", "no", "gone", "openers", "doubts")
)
# What a column of status says of who is on a list now; any other word is no yes.
_ON_IT = _YES.union(_listed("answers", "there"), {""})
_ASKED, _FILLERS, _NO_ASKING = (
    re.compile(rf"\b(?:{'|'.join(_listed('questions', name))})\b") for name in ("asked", "fillers", "others")
)
# A domain this frequent on the list is taken as spelt right; one that nearly equals it, as a slip.
_COMMON = 5
_NEAR = 0.85
# Below this length one letter is too large a part of a name to call it a slip.
_SHORTEST = 8
# What a file begins with that is no table of text: ISO/IEC 21320-1 (workbooks of today are packed folders),
# [MS-CFB] 2.2, ISO 32000-1 7.5.2, RTF; HTML and XML, which some programs write under a workbook's name.
_NO_TABLE = {
    b"PK\x03\x04": "a workbook", b"\xd0\xcf\x11\xe0": "a workbook of an older make", b"%PDF": "a PDF",
    b"{\\rtf": "a text document", b"<": "a web page",
}  # fmt: skip
_CURE = "open it where it was made, save the page with the people as CSV, and import that file"
# Octets by which a text without a mark is known as UTF-16: every other one of `a@b.c;` is nought.
_GLANCE = 4096
# Stands where a letter could not be decoded.
_LOST = "\ufffd"
# A question mark stands where a letter was lost on the way.
_ODD_NAME = re.compile(r"\w\?\w|\?\w|\w\?\B")


@dataclass(frozen=True, slots=True)
class Agreement:
    """How the people in a table agreed, where the table doesn't say."""

    consent: Consent
    evidence: str
    joined: date | None = None
    interests: frozenset[Interest] = frozenset()
    asks: bool = False  # whoever says yes only by this table is asked by mail first


@dataclass(frozen=True, slots=True)
class Refused:
    """A line that isn't taken over."""

    line: int
    address: str
    why: str


class ImportPlan(Ledger):
    """What an import would do."""

    def __init__(self, people: Iterable[Person], refused: Iterable[Refused]) -> None:
        super().__init__(people)
        self.refused, self.there = list(refused), list[Person]()
        self.questions: list[Refused] = []
        """Taken over as they stand, but likely misspelt."""

    def leave_out(self, refused: Refused) -> None:
        """Refuse someone in question after all."""
        for person in self.added:
            if person.key == address_key(refused.address):
                self.put(person, None)
        self.questions.remove(refused)
        self.refused.append(replace(refused, why=f"left out: {refused.why}"))


def rows_of(content: bytes) -> Iterator[tuple[int, list[str], str]]:
    """Yield each row with the line it starts in, its cells, and what is wrong with it (or nothing).

    Reads UTF-8, UTF-16 or CP1252; commas, semicolons, tabs or upright strokes, as a first line `sep=;`
    says or as makes most of the first row. Raises StudioFault for what is no table of text, or one cut short.
    """
    text = _decoded(content)
    said = re.match(r"(?i)sep=([,;\t|])(?:\r|\n|\Z)", text)
    heads = {sign: len(next(csv_rows(text, delimiter=sign), (0, "", ""))[1]) for sign in ",;\t|"}
    rows = csv_rows(text, delimiter=said[1] if said else max(heads, key=heads.__getitem__))
    for line, row, torn in islice(rows, 1 if said else 0, None):
        fault = "this row's quotes don't match, or a cell in it goes on for pages" if torn else _fault(row)
        yield line, row if fault else [" ".join(cell.split()) for cell in row], fault


def _fault(row: Sequence[str]) -> str:
    """Say what keeps a row from being taken over."""
    for number, cell in enumerate(row, start=1):
        if len(cell) > LONGEST_CELL:
            return f"cell {number} has {len(cell)} letters; was a quote opened and never closed?"
        if unfit := unfit_for_text(cell):
            return f"cell {number} holds a character that can't be shown ({named(unfit[0])})"
        if _LOST in cell:
            return f"a letter was lost in cell {number}; export the table again, as UTF-8"
    return ""


def _decoded(content: bytes) -> str:
    """Return a table's text. Raises StudioFault if it's no text, or breaks off within a letter."""
    kind = next((kind for sign, kind in _NO_TABLE.items() if content.lstrip().startswith(sign)), "")
    head, marked = content[:_GLANCE], content.startswith((b"\xff\xfe", b"\xfe\xff"))
    few, many = sorted((head[::2].count(0), head[1::2].count(0)))
    wide = (few + many) * 8 > len(head)
    if kind or (wide and not marked and many < few * 8):
        raise StudioFault(f"this is {kind or 'no text'}, and no table that can be read: {_CURE}")
    if marked or wide:
        order = "" if marked else "-be" if head[::2].count(0) == many else "-le"
        try:
            return content.decode(f"utf-16{order}")
        except UnicodeDecodeError as fault:
            cut = "it is UTF-16 and breaks off within a letter; export it again, as UTF-8"
            raise StudioFault(f"the table is cut short or damaged: {cut}") from fault
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("cp1252", "replace")


def _opened(content: bytes) -> tuple[list[str], dict[str, list[int]], Iterator[tuple[int, list[str], str]]]:
    """Return a table's headings, where the columns that are read stand, and its rows. Raises StudioFault."""
    rows = rows_of(content)
    filled = (row for row in rows if any(row[1]) or row[2])
    _, header, fault = next(filled, (0, list[str](), "the table is empty"))
    if fault:
        raise StudioFault(fault if not header else f"the table's first line can't be read ({fault}); {_CURE}")
    return header, _columns(header), rows


def read_table(content: bytes, source: Agreement) -> tuple[list[tuple[int, Person]], list[Refused]]:
    """Read a table of any common make, as `rows_of` does.

    Raises StudioFault if no column holds addresses.
    """
    header, columns, rows = _opened(content)
    printed = {place for name in PRINTED for place in columns.get(name, ()) if "row" in columns}
    found: list[tuple[int, Person]] = []
    refused: list[Refused] = []
    for line, row, odd in rows:
        if not odd and not any(cell for place, cell in enumerate(row) if place not in printed):
            continue
        said = {name: [(header[place], row[place] if place < len(row) else "") for place in places]
                for name, places in columns.items()}  # fmt: skip
        # Of a column that stands twice the first that says something is read.
        cells = {name: next((cell for _, cell in told if cell), "") for name, told in said.items()}
        try:
            if odd:
                raise ValueError(odd)
            _refuse_who_left(said)
            found.append((line, _person(cells, _consent(said, source), source)))
        except ValueError as fault:
            refused.append(Refused(line, short(_apart(cells.get("email", ""))[1]), str(fault)))
    return found, refused


def headings_of(content: bytes) -> dict[str, str]:
    """Say what each heading of a table is read as; nothing for one that isn't used."""
    header, columns, _ = _opened(content)
    names = {place: name for name, places in columns.items() for place in places}
    return {heading: names.get(place, "") for place, heading in enumerate(header) if heading}


def plan_import(
    people: Sequence[Person],
    table: tuple[list[tuple[int, Person]], list[Refused]],
    today: date,
    forgotten: Callable[[str], bool] = lambda key: False,
) -> ImportPlan:
    """Say what would happen to each line; done twice, the second time nothing is added."""
    plan = ImportPlan(people, table[1])
    common = common_domains(people)
    for line, person in table[0]:
        rows = plan.rows(person.key)
        if fault := refusal(person, rows, today, forgotten(person.key)):
            plan.refused.append(Refused(line, person.email, fault))
            continue
        if near := near_domain(person.email, common):
            plan.questions.append(Refused(line, person.email, f"did they mean @{near}?"))
        elif _ODD_NAME.search(person.name):
            odd = f"the name '{person.name}' has a question mark where a letter may have been"
            plan.questions.append(Refused(line, person.email, odd))
        here = row_for(person, rows)
        merged = merged_with(here, person) if here else person
        if merged == here:
            plan.there.append(here)
        else:
            plan.put(here, merged)
    return plan


def meant(address: str, why: str) -> str:
    """Return the address that a question takes for the one meant; nothing if it knows none."""
    near = re.fullmatch(r"did they mean @(\S+)\?", why)
    return f"{address.rpartition('@')[0]}@{near[1]}" if near else ""


def row_for(person: Person, rows: Sequence[Person]) -> Person | None:
    """Return the row of the same address that someone's is laid on; a buyer's unproven yes has its own."""
    apart = person.consent is Consent.NOT_CONFIRMED
    standing = (row for row in rows if row.left is None)
    return next((person for person in standing if not (apart and person.consent is Consent.PURCHASE)), None)


def merged_with(here: Person, new: Person) -> Person:
    """Keep what is known; add a name, interests, and consent that is stronger."""
    merged = replace(here, name=here.name or new.name, zone=here.zone or new.zone)
    if new.consent in EXPLICIT:
        # No interest named means all of them, which nothing can be added to.
        both = here.interests | new.interests if here.interests and new.interests else frozenset[Interest]()
        merged = replace(merged, interests=both)
        if here.consent not in EXPLICIT:
            merged = replace(new, email=here.email, name=merged.name, line=here.line, zone=merged.zone)
    return merged


def refusal(person: Person, rows: Sequence[Person], today: date, forgotten: bool) -> str:
    """Say why someone isn't taken over, whose address these rows have; nothing if they may be."""
    if forgotten:
        cure = "only if they ask you for letters themselves, add them with --asked-again"
        return f"asked to be forgotten; {cure}"
    if person.joined is not None and person.joined > today:
        return f"joined on {person.joined}, which is still to come"
    left = max((row.left.on for row in rows if row.left), default=date.min)
    signed = person.joined if person.consent in {*EXPLICIT, Consent.NOT_CONFIRMED} else None
    again = left == date.min or (signed is not None and signed > left)
    return "" if again else f"left on {left}; only a later signature, with its date, brings them back"


def _apart(cell: str) -> tuple[str, str]:
    """Take `Name <address>`, as mail programs write it, apart; a plain address has no name."""
    match = re.fullmatch(r"([^<>]*)<([^<>]+)>", cell)
    return (match[1].strip(' "'), match[2].strip()) if match else ("", cell)


def _refuse_who_left(said: _Said) -> None:
    """Raise ValueError, with a sentence, where any column says that they left, or not that they stayed."""
    standing = [cell for _, cell in said.get("status", ())]
    left = [cell for _, cell in said.get("left", ()) if cell.casefold() not in _NO | {""}]
    if gone := left or [cell for cell in standing if cell.casefold() in _GONE]:
        raise ValueError(f"the table itself says that they left: {quoted(gone[0])}")
    if odd := [cell for cell in standing if cell.casefold() not in _ON_IT]:
        cure = "if they agreed, write `subscribed` there; if that column tells something else, take it out"
        raise ValueError(f"their status, {quoted(odd[0])}, is no yes; {cure}")


def _person(cells: dict[str, str], consent: Consent, source: Agreement) -> Person:
    """Read one row. Raises ValueError, with a sentence, for one that can't be taken over."""
    said = {name: cell for name, cell in cells.items() if cell}
    named, typed = _apart(said.get("email", ""))
    if fault := fault_of(typed) if typed else "the address is missing":
        raise ValueError(fault)
    if "?" in typed:  # RFC 5322 allows the sign; nobody has such a mailbox (common practice, no source)
        raise ValueError(
            "a question mark stands where a letter was; look at the table, and export it as UTF-8"
        )
    name = said.get("name") or named or " ".join(filter(None, map(said.get, ("first", "last"))))
    interests = _interests(said, source)
    # The evidence of all, with a row's own sheet and number where the table says them.
    where = f"sheet {said['sheet']}" if "sheet" in said else source.evidence
    where = f"{where} row {said['row']}".strip() if "row" in said else where
    noted = "; ".join(filter(None, (where, said.get("evidence"))))
    joined = _day(said["joined"]) if "joined" in said else source.joined
    zone = read_zone(said["zone"]) if "zone" in said else None
    address, name = (unicodedata.normalize("NFC", text) for text in (typed, name))
    return Person(as_kept(address), name, interests, joined, consent, noted, zone=zone)


def _interests(cells: dict[str, str], source: Agreement) -> frozenset[Interest]:
    """Read the column of interests, else the columns of ticks; none ticked is as the source says."""
    words = [" ".join(word.lower().split()) for word in re.split("[;,|/]", cells.get("interests", ""))]
    if unknown := next((word for word in words if word and word not in set(Interest)), None):
        raise ValueError(f"{quoted(unknown)} is no interest; use {', '.join(Interest)}")
    if "interests" in cells:
        return frozenset(Interest(word) for word in words if word)
    said = {interest: cells.get(str(interest), "").casefold() for interest in Interest}
    if odd := next((text for text in said.values() if text not in _YES | _NO | {""}), None):
        raise ValueError(f"{quoted(odd)} is no tick; write x, or leave the cell empty")
    return frozenset(interest for interest, text in said.items() if text in _YES) or source.interests


def _consent(said: _Said, source: Agreement) -> Consent:
    """Return how someone agreed: the table may say it's less than the source, never that there was none."""
    found = [source.consent]
    for heading, cell in said.get("consent", ()):
        answer = unicodedata.normalize("NFC", " ".join(cell.casefold().split()))
        if answer in set(Consent):
            found.append(Consent(answer))
        elif not _agrees(answer):
            says = f"says {quoted(cell)}" if cell else "is empty"
            cure = "" if answer in _NO | {""} else f"read are yes, {', '.join(Consent)}; "
            other = "if that column asks something else, take it out"
            raise ValueError(f"the column {quoted(heading)} {says}; {cure}{other}")
    proofs = [cell.casefold() for _, cell in said.get("confirmed", ())]
    plain = _ON_IT - {""}
    proven = all(_agrees(cell) or cell in plain or re.match("[0-9]{1,4}[-./]", cell) for cell in proofs)
    open_still = source.asks and found[-1] in EXPLICIT - {Consent.CONFIRMED} and not proofs
    unsure = open_still or not proven or Consent.NOT_CONFIRMED in found
    return Consent.NOT_CONFIRMED if unsure else found[-1]


def _agrees(answer: str) -> bool:
    """Tell whether a folded answer is a plain yes, or begins with one and holds no word of doubt."""
    first, *rest = re.findall(r"[\w'’]+", answer) or [""]
    doubt = "?" in answer or any(word in _DOUBTS or word.endswith(("n't", "n’t")) for word in rest)
    return answer in _YES or (first in _OPENERS and not doubt)


def _day(text: str) -> date:
    """Read a day: year-month-day, day.month.year, or with strokes where only one order makes a date."""
    unsure = "is no day that is read here"
    try:
        if found := re.match(r"([0-9]{4})([-/.])([0-9]{1,2})\2([0-9]{1,2})(?![0-9])", text):
            return in_our_time(date(int(found[1]), int(found[3]), int(found[4])))
        if found := re.match(r"([0-9]{1,2})([./-])\s?([0-9]{1,2})[./-]\s?([0-9]{4})(?![0-9])", text):
            first, second, year = int(found[1]), int(found[3]), int(found[4])
            if found[2] == "." or first > 12 or first == second:
                return in_our_time(date(year, second, first))
            if second > 12:
                return in_our_time(date(year, first, second))
            unsure = f"could be {date(year, second, first)} or {date(year, first, second)}"
    except ValueError:
        raise ValueError(f"{quoted(text)} is a date that doesn't exist, or one far from our time") from None
    cure = "show that column as year-month-day, like 2026-05-14, where the table was made"
    raise ValueError(f"{quoted(text)} {unsure}; {cure}")


def _columns(header: Sequence[str]) -> dict[str, list[int]]:
    """Return the places of columns by what they're read as. Raises StudioFault if none holds addresses."""
    bare = (re.sub(r"\([^()]*\)", "", heading) for heading in header)
    words = [" ".join(re.findall("[a-z]+", unmarked(heading.casefold()))) for heading in bare]
    names = {heading: name for name, known in _HEADINGS.items() for heading in known}
    columns: dict[str, list[int]] = {}
    for place, heading in enumerate(words):
        asked = "consent" if _ASKED.search(heading) and not _NO_ASKING.search(heading) else ""
        if name := names.get(heading) or names.get(_FILLERS.sub("", heading).strip()) or asked:
            columns.setdefault(name, []).append(place)
    if "email" not in columns:
        raise StudioFault(
            f"no column is headed 'email' in the table's first line: {short(', '.join(header), 300)}; "
            "rename the one with addresses"
        )
    return columns


def common_domains(people: Iterable[Person]) -> dict[str, int]:
    """Return the domains that are taken as spelt right, and how frequent each is on the list."""
    counted = Counter(person.email.rpartition("@")[2].lower() for person in people)
    often = {domain: count for domain, count in counted.items() if count >= _COMMON}
    return dict.fromkeys(_TABLES["domains"]["known"].split(), 0) | often


def near_domain(address: str, common: Collection[str]) -> str | None:
    """Return the domain that was likely meant, if this one looks like a slip of it."""
    domain = address.rpartition("@")[2].lower()
    known = domain in common or len(domain) < _SHORTEST
    return None if known else _nearest(domain, tuple(sorted(common)))


# A table of thousands holds few different domains.
@lru_cache(maxsize=1024)
def _nearest(domain: str, common: tuple[str, ...]) -> str | None:
    best, nearest = max(
        ((SequenceMatcher(None, domain, known).ratio(), known) for known in common), default=(0.0, "")
    )
    return nearest if best >= _NEAR else None
