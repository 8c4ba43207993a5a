"""What is written once and stays: versions of the terms, closed years, numbers given.

They lie in pages/commission-terms/VERSION.md and pages/payment-terms/VERSION.md, closed/2026.json and
sent/register.csv.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any

from sitegen.disk import own_folder, put
from sitegen.sources.gathered import Gathered, placed
from sitegen.sources.text import Notebook, StudioFault, read_page, read_text, readable
from sitegen.studio import terms
from sitegen.studio.asked import Fault
from sitegen.studio.commission import Commissions
from sitegen.studio.fields import did_you_mean, placeholders
from sitegen.studio.order_lines import in_order, is_version
from sitegen.studio.plan import make
from sitegen.studio.register import Given
from sitegen.studio.settings import Settings
from sitegen.studio.text import as_csv, unguarded
from sitegen.studio.whole import KeptTerms, Studio


def read_kept(seen: Gathered) -> Iterator[KeptTerms]:
    """Read every kept version of the terms."""
    for name in terms.PAGES:
        for file in (seen.folder / "pages" / name).glob("[!._]*.md"):
            version, notes = file.name.removesuffix(".md"), seen.notebook(f"pages/{name}/{file.name}")
            if not is_version(version):
                wrong = f"'{version}' is no version of the terms"
                notes.error(0, f"{wrong}; name the file by year and month, like 2026-11.md")
            elif (text := read_text(file, notes)) is not None and (page := read_page(name, text, notes)):
                yield KeptTerms(name, version, page.title, page.text)


def fill_places(seen: Gathered) -> None:
    """Say what stands in the places of the terms, and complain of those that nothing is known of."""
    there = [page.name for page in seen.pages if page.name in terms.PAGES]
    if not there or seen.settings is None:
        return
    try:
        seen.numbers = numbers_of(seen.folder, seen.settings, seen.commissions or Commissions())
    except Fault as fault:
        from sitegen.voice.theme_files import find_theme  # noqa: PLC0415 (see below)
        from sitegen.voice.words import faulty_words  # noqa: PLC0415 (likewise)

        every = [fault]  # or every sentence that is missing in the words, if one is
        with suppress(Fault):
            theme = find_theme(seen.folder, seen.settings.theme)
            every = [*faulty_words(theme, seen.settings.language)] or every
        for complaint in (placed(seen.folder, fault) for fault in every):
            seen.notebook(complaint.file).complaints.append(complaint)
        return
    known = ", ".join(f"{{{name}}}" for name in seen.numbers)
    for notes in (seen.notebook(f"pages/{name}.md") for name in there):
        for line, place in terms.places(seen.text_of(notes.file, Notebook(notes.file)) or ""):
            if place not in seen.numbers:
                unknown = f"nothing is known of '{{{place}}}'{did_you_mean(place, list(seen.numbers))}"
                notes.error(line, f"{unknown}; known are {known} (\\{{ makes an ordinary brace)")


def numbers_of(folder: Path, settings: Settings, commissions: Commissions) -> Mapping[str, str]:
    """Say what each place of the terms stands for, in the theme's words. Raises Fault."""
    from sitegen.voice.theme_files import find_theme  # noqa: PLC0415 (slow to load, and few commands need it)
    from sitegen.voice.words import read_words  # noqa: PLC0415 (likewise)

    say = read_words(find_theme(folder, settings.theme), settings.language).plain
    return terms.numbers(settings, commissions, say)


def check_accepted(seen: Gathered) -> None:
    """Complain of an order that points to a version of the terms that isn't there."""
    there = list(in_order({kept.version for kept in seen.kept_terms}))
    listed = f"there are {', '.join(there)}" if there else "none is kept; `sitegen terms keep` keeps one"
    accepted = [
        (seen.notebook("commissions.yaml"), f"queue.{number}.terms", order.code, order.terms)
        for number, order in enumerate(seen.commissions.queue if seen.commissions else ())
    ]
    accepted += [
        (seen.file_of(piece), "private.plan.terms", "its buyer", piece.private.plan.terms)
        for piece in seen.pieces
        if piece.private.plan
    ]
    for file, place, who, its in accepted:
        if its is not None and its.version not in there:
            near = did_you_mean(its.version, there)
            said = f"{who} accepted version '{its.version}' of the terms, which isn't below pages/{near}"
            file.error_at(place, f"{said}; {listed}")


def warn_of_own_plans(seen: Gathered, studio: Studio) -> None:
    """Say of an order that its deposit or instalments aren't those of the terms that were accepted."""
    if not studio.kept_terms:
        return
    current, digits = terms.current(studio), studio.settings.digits
    for number, order in enumerate(studio.commissions.queue):
        client = order.private
        if order.terms is None or not order.agreed or client.price is None:
            continue
        try:
            own = studio.settings.paying.with_deposit(client.deposit or None)
            plan = make(client.price, order.terms.on, digits, own, client.instalments)
        except ValueError:
            continue  # the desk says what is wrong with it
        if terms.differs(studio, plan, terms.of_version(studio, order.terms.version), current):
            seen.notebook("commissions.yaml").warn_at(
                f"queue.{number}.terms",
                f"deposit or instalments of {order.code} aren't those of version {order.terms.version} of "
                "the terms; its agreement says that its own plan holds. See whether that's meant",
            )


def warn_of_changes(seen: Gathered, studio: Studio) -> None:
    """Say that the text or a number isn't that of the newest version any more."""
    there = terms.versions(studio)
    for name in terms.changed(studio) if there else ():
        other = f"the text or a number of these terms isn't that of version {there[-1]} any more"
        cure = "`sitegen terms keep` keeps it as a new version (who accepted an earlier one stays with that)"
        seen.notebook(f"pages/{name}.md").warn(0, f"{other}; {cure}")


def keep(folder: Path, studio: Studio, version: str) -> tuple[Path, ...]:
    """Write the terms, numbers filled in, as a version. Returns the files that weren't there.

    Raises StudioFault if there are no terms, if one still has a place to fill in, or if the version is there.
    """
    texts: dict[Path, bytes] = {}
    for page in terms.filled(studio):
        if page.name not in terms.PAGES:
            continue
        if gaps := placeholders(page.text):
            still = f"pages/{page.name}.md still has places to fill in, {gaps[0]} first"
            raise StudioFault(f"{still}; terms are kept when they are finished")
        kept = f"# {page.title}\n\n{page.text}"
        texts[folder / "pages" / page.name / f"{version}.md"] = kept.encode("utf-8")
    if not texts:
        pages = " or ".join(f"pages/{name}.md" for name in terms.PAGES)
        raise StudioFault(f"there are no terms to keep; write {pages}")
    there = {file for file in texts if file.exists()}  # a run that was stopped wrote it
    if taken := next((file for file in there if file.read_bytes() != texts[file]), None):
        raise StudioFault(f"{taken.relative_to(folder).as_posix()} is there already; it is never overwritten")
    files = tuple(file for file in texts if file not in there)
    for file in files:
        file.parent.mkdir(parents=True, exist_ok=True)
        put(file, texts[file])
    return files


FOLDER = "closed"


def name_of(year: int) -> str:
    """Return a closed year's file as the artist knows it."""
    return f"{FOLDER}/{year}.json"


def closed_years(folder: Path) -> Iterator[int]:
    """Yield the years that are closed."""
    for file in sorted((folder / FOLDER).glob("*.json")):
        if file.stem.isdecimal() and file.is_file():
            yield int(file.stem)


def read_closed(folder: Path, year: int) -> Any:
    """Return what was kept of a year, as plain values; None if it isn't closed. Raises StudioFault."""
    file = folder / name_of(year)
    if not file.is_file():
        return None
    cure = "bring it back from a backup, or delete it and close the year again"
    with readable(f"{name_of(year)} can't be read; {cure}"):
        return json.loads(file.read_text("utf-8")) or {}


def refuse_closed(folder: Path, year: int) -> None:
    """Raise StudioFault for a year that is closed."""
    if (folder / name_of(year)).exists():
        opens = "Delete that file to open the year again"
        raise StudioFault(f"{year} is closed already; {name_of(year)} says how. {opens}")


def write_closed(folder: Path, year: int, kept: Any) -> Path:
    """Write a closed year; one that's there is never written over. Raises StudioFault."""
    file = folder / name_of(year)
    refuse_closed(folder, year)
    file.parent.mkdir(mode=0o700, exist_ok=True)
    put(file, (json.dumps(kept, ensure_ascii=False, indent=1) + "\n").encode(), private=True)
    return file


REGISTER = "sent/register.csv"
_HEADER = ("number", "piece", "title")


def read_register(folder: Path) -> tuple[Given, ...]:
    """Return the numbers given so far. Raises StudioFault for a file that can't be read."""
    file = folder / REGISTER
    keeps = "it keeps numbers of pieces that are gone from being given again"
    with readable(f"{REGISTER} can't be read; bring it back from a backup: {keeps}"):
        text = file.read_text("utf-8-sig") if file.is_file() else ""
        rows = csv.DictReader(io.StringIO(text, newline=""))
        return tuple(Given(*(unguarded(row[name]) for name in _HEADER)) for row in rows)


def add_to_register(folder: Path, more: Iterable[Given]) -> None:
    """Note numbers that are given now. Raises StudioFault, PenMissing without the studio's pen."""
    rows = [*read_register(folder), *more]
    made = as_csv([_HEADER, *((row.number, row.piece, row.title) for row in rows)])
    own_folder(folder / "sent")
    # Not taken back with what gave it: a number may stand on paper by then.
    put(folder / REGISTER, made.encode(), kept=False, private=True)
