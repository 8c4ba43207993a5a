"""Take people over from any table: first a plan of what would happen, then the writing."""

from __future__ import annotations

import re
import unicodedata
from collections import Counter
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from configparser import ConfigParser
from dataclasses import dataclass, replace
from datetime import date
from difflib import SequenceMatcher
from functools import lru_cache
from pathlib import Path

from sitegen.sources.people import LONGEST_CELL, as_kept, csv_rows, fault_of
from sitegen.sources.people_rows import Ledger
from sitegen.sources.text import StudioFault
from sitegen.studio.fields import in_our_time, read_day, read_zone
from sitegen.studio.mailing import EXPLICIT
from sitegen.studio.person import Consent, Interest, Person, address_key
from sitegen.studio.text import named, quoted, short, unfit_for_text, unmarked

_TABLES = ConfigParser(interpolation=None)
_TABLES.read(Path(__file__).with_name("people.ini"), encoding="utf-8")
_HEADINGS = {name: " ".join(said.split()).split(", ") for name, said in _TABLES["headings"].items()}
# A column of ticks each, as the boxes of a sheet.
_HEADINGS |= {str(interest): [str(interest)] for interest in Interest}
# What the table that mirrors a sheet's rows says of each before anybody signed in it.
PRINTED = ("sheet", "row", "joined")
# What tables write into a column of ticks.
_YES = {"yes", "y", "x", "true", "1", "on", "ok", "ja", "oui", "si", "sí", "áno", "✓", "✔"}
_GONE = {"unsubscribed", "cleaned", "bounced", "complained", "opted out", "abgemeldet", "ausgetragen"}
# What a column of status says of who is on a list now; any other word is no yes.
_ON_IT = _YES | {
    "",
    "subscribed",
    "active",
    "confirmed",
    "opted in",
    "angemeldet",
    "aktiv",
    "bestätigt",
    "actif",
}
_NO = {"", "no", "n", "false", "0", "off", "nein", "non", "nie", "-", "–"}
# A domain this frequent on the list is taken as spelt right; one that nearly equals it, as a slip.
_COMMON = 5
_NEAR = 0.85
# Below this length one letter is too large a part of a name to call it a slip.
_SHORTEST = 8
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

    Reads UTF-8, UTF-16 or CP1252; commas, semicolons or tabs. Raises StudioFault for a table cut short.
    """
    text = _decoded(content)
    first = re.split(r"[\r\n]", text, maxsplit=1)[0]
    for line, row, torn in csv_rows(text, delimiter=max(",;\t", key=first.count)):
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
    """Return a table's text. Raises StudioFault if it breaks off within a letter."""
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        try:
            return content.decode("utf-16")
        except UnicodeDecodeError as fault:
            cut = "it says that it is UTF-16 and breaks off within a letter; export it again, as UTF-8"
            raise StudioFault(f"the table is cut short or damaged: {cut}") from fault
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("cp1252", "replace")


def read_table(content: bytes, source: Agreement) -> tuple[list[tuple[int, Person]], list[Refused]]:
    """Read a table of any common make: UTF-8, UTF-16 or CP1252; commas, semicolons or tabs.

    Raises StudioFault if no column holds addresses.
    """
    rows = rows_of(content)
    header = next(rows, None)
    if header is None:
        raise StudioFault("the table is empty")
    columns = _columns(header[1])
    printed = {columns.get(name) for name in PRINTED} if "row" in columns else set[int | None]()
    found: list[tuple[int, Person]] = []
    refused: list[Refused] = []
    for line, row, odd in rows:
        if not odd and not any(cell for place, cell in enumerate(row) if place not in printed):
            continue
        cells = {name: row[place] for name, place in columns.items() if place < len(row)}
        try:
            if odd:
                raise ValueError(odd)
            found.append((line, _person(cells, source)))
        except ValueError as fault:
            refused.append(Refused(line, short(_apart(cells.get("email", ""))[1]), str(fault)))
    return found, refused


def headings_of(content: bytes) -> dict[str, str]:
    """Say what each heading of a table is read as; nothing for one that isn't used."""
    header = next(rows_of(content), (0, list[str](), ""))[1]
    names = {place: name for name, place in _columns(header).items()}
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


def _person(cells: dict[str, str], source: Agreement) -> Person:
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
    if said.get("left", "").casefold() not in _NO:
        raise ValueError(f"the table itself says that they left: {quoted(said['left'])}")
    if said.get("status", "").casefold() in _GONE:
        raise ValueError(f"the table itself says that they left: {quoted(said['status'])}")
    if said.get("status", "").casefold() not in _ON_IT:
        raise ValueError(
            f"their status, {quoted(said['status'])}, is no yes; if they agreed, write `subscribed` there; "
            "if that column tells something else, take it out"
        )
    interests = _interests(said, source)
    # The evidence of all, with a row's own sheet and number where the table says them.
    where = f"sheet {said['sheet']}" if "sheet" in said else source.evidence
    where = f"{where} row {said['row']}".strip() if "row" in said else where
    noted = "; ".join(filter(None, (where, said.get("evidence"))))
    joined = _day(said["joined"]) if "joined" in said else source.joined
    zone = read_zone(said["zone"]) if "zone" in said else None
    address, name = (unicodedata.normalize("NFC", text) for text in (typed, name))
    return Person(as_kept(address), name, interests, joined, _consent(cells, source), noted, zone=zone)


def _interests(cells: dict[str, str], source: Agreement) -> frozenset[Interest]:
    """Read the column of interests, else the columns of ticks; none ticked is as the source says."""
    words = [" ".join(word.lower().split()) for word in re.split("[;,|/]", cells.get("interests", ""))]
    if unknown := next((word for word in words if word and word not in set(Interest)), None):
        raise ValueError(f"{quoted(unknown)} is no interest; use {', '.join(Interest)}")
    if "interests" in cells:
        return frozenset(Interest(word) for word in words if word)
    said = {interest: cells.get(str(interest), "").casefold() for interest in Interest}
    if odd := next((text for text in said.values() if text not in _YES | _NO), None):
        raise ValueError(f"{quoted(odd)} is no tick; write x, or leave the cell empty")
    return frozenset(interest for interest, text in said.items() if text in _YES) or source.interests


def _consent(cells: dict[str, str], source: Agreement) -> Consent:
    """Return how someone agreed: the table may say it's less than the source, never that there was none."""
    said = " ".join(cells.get("consent", "yes").casefold().split())
    if said not in _YES and said not in set(Consent):
        says = f"says {quoted(cells['consent'])}" if said else "is empty"
        others = "" if said in _NO else f"; read are yes, {', '.join(Consent)}"
        raise ValueError(f"the table's column on consent {says}{others}")
    if cells.get("confirmed", "yes").casefold() in _NO:
        return Consent.NOT_CONFIRMED
    found = source.consent if said in _YES else Consent(said)
    open_still = found in EXPLICIT - {Consent.CONFIRMED} and "confirmed" not in cells
    return Consent.NOT_CONFIRMED if source.asks and open_still else found


def _day(text: str) -> date:
    """Read a day: year-month-day, day.month.year, or with strokes where only one order makes a date."""
    try:
        if match := re.match(r"([0-9]{4}-[0-9]{2}-[0-9]{2})(?![0-9])", text):
            return read_day(match[1])
        if match := re.match(r"([0-9]{1,2})([./-])\s?([0-9]{1,2})[./-]\s?([0-9]{4})(?![0-9])", text):
            first, second, year = int(match[1]), int(match[3]), int(match[4])
            if match[2] == "." or first > 12 or first == second:
                return in_our_time(date(year, second, first))
            if second > 12:
                return in_our_time(date(year, first, second))
    except ValueError:
        raise ValueError(f"{quoted(text)} is a date that doesn't exist, or one far from our time") from None
    raise ValueError(f"{quoted(text)} isn't year-month-day, like 2026-05-14, so it could mean two days")


def _columns(header: Sequence[str]) -> dict[str, int]:
    words = [" ".join(re.findall("[a-z]+", unmarked(heading.casefold()))) for heading in header]
    places = {name: [at for at, one in enumerate(words) if one in known] for name, known in _HEADINGS.items()}
    columns = {name: found[0] for name, found in places.items() if found}
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
