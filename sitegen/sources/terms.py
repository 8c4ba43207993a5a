"""pages/commission-terms/VERSION.md and pages/payment-terms/VERSION.md: the terms as they once were."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from sitegen.disk import put
from sitegen.sources.complaints import Notebook, StudioFault
from sitegen.sources.gathered import Gathered
from sitegen.sources.text import read_page, read_text
from sitegen.sources.theme_faults import placed
from sitegen.studio import terms
from sitegen.studio.commission import Commissions
from sitegen.studio.fault import Fault
from sitegen.studio.fields import did_you_mean, placeholders
from sitegen.studio.plan import make
from sitegen.studio.settings import Settings, plan_terms, with_deposit
from sitegen.studio.term_versions import in_order, is_version
from sitegen.studio.terms import differs, numbers
from sitegen.studio.whole import KeptTerms, Studio


def read_kept(seen: Gathered) -> list[KeptTerms]:
    """Read every kept version of the terms."""
    found = (
        _kept(seen, name, file)
        for name in terms.PAGES
        for file in sorted((seen.folder / "pages" / name).glob("*.md"))
        if not file.name.startswith((".", "_"))
    )
    return [kept for kept in found if kept is not None]


def _kept(seen: Gathered, name: str, file: Path) -> KeptTerms | None:
    version = file.name.removesuffix(".md")
    notes = seen.notebook(f"pages/{name}/{file.name}")
    if not is_version(version):
        notes.error(
            0, f"'{version}' is no version of the terms; name the file by year and month, like 2026-11.md"
        )
        return None
    text = read_text(file, notes)
    page = read_page(name, text, notes) if text is not None else None
    return KeptTerms(name, version, page.title, page.text) if page is not None else None


def fill_places(seen: Gathered) -> None:
    """Say what stands in the places of the terms, and complain of those that nothing is known of."""
    texts = [(name, file) for name in terms.PAGES if (file := seen.folder / "pages" / f"{name}.md").is_file()]
    if not texts or seen.settings is None:
        return
    try:
        seen.numbers = numbers_of(seen.folder, seen.settings, seen.commissions or Commissions())
    except Fault as fault:
        for one in _all_of(fault, seen.folder, seen.settings):
            complaint = placed(seen.folder, one)
            seen.notebook(complaint.file).complaints.append(complaint)
        return
    for name, file in texts:
        notes = seen.notebook(f"pages/{name}.md")
        for line, place in terms.places(read_text(file, Notebook(notes.file)) or ""):
            if place not in seen.numbers:
                notes.error(line, _unknown(place, list(seen.numbers)))


def numbers_of(folder: Path, settings: Settings, commissions: Commissions) -> Mapping[str, str]:
    """Say what each place of the terms stands for, in the theme's words. Raises Fault."""
    from sitegen.voice.theme_files import find_theme  # noqa: PLC0415 (slow to load, and few commands need it)
    from sitegen.voice.words import read_words  # noqa: PLC0415 (likewise)

    say = read_words(find_theme(folder, settings.theme), settings.language).plain
    return numbers(settings, commissions, say)


def _all_of(fault: Fault, folder: Path, settings: Settings) -> Sequence[Fault]:
    """Return every sentence that is missing in the words, if one is."""
    from sitegen.voice.theme_files import find_theme  # noqa: PLC0415 (see above)
    from sitegen.voice.words import missing_words  # noqa: PLC0415 (likewise)

    try:
        return list(missing_words(find_theme(folder, settings.theme), settings.language)) or [fault]
    except Fault:
        return [fault]


def _unknown(place: str, known: list[str]) -> str:
    hint = did_you_mean(place, known)
    every = ", ".join(f"{{{name}}}" for name in known)
    return f"nothing is known of '{{{place}}}'{hint}; known are {every} (\\{{ makes an ordinary brace)"


def check_accepted(seen: Gathered) -> None:
    """Complain of an order that points to a version of the terms that isn't there."""
    there = list(in_order({kept.version for kept in seen.kept_terms}))
    for number, place in enumerate(seen.commissions.queue if seen.commissions else ()):
        if place.terms is not None and place.terms.version not in there:
            said = _not_there(place.code, place.terms.version, there)
            seen.files["commissions.yaml"].error(said, "queue", number, "terms")
    for piece in seen.pieces:
        terms_of = piece.private.plan.terms if piece.private.plan else None
        if terms_of is not None and terms_of.version not in there:
            said = _not_there("its buyer", terms_of.version, there)
            seen.file_of(piece).error(said, "private", "plan", "terms")


def _not_there(who: str, version: str, there: list[str]) -> str:
    listed = f"there are {', '.join(there)}" if there else "none is kept; `sitegen terms keep` keeps one"
    return (
        f"{who} accepted version '{version}' of the terms, which isn't below pages/"
        f"{did_you_mean(version, there)}; {listed}"
    )


def warn_of_own_plans(seen: Gathered, studio: Studio) -> None:
    """Say of an order that its deposit or instalments aren't those of the terms that were accepted."""
    if not studio.kept_terms:
        return
    current = terms.current(studio)
    for number, place in enumerate(studio.commissions.queue):
        client, digits = place.private, studio.settings.digits
        if place.terms is None or not place.agreed or client.price is None:
            continue
        try:
            own = with_deposit(
                plan_terms(studio.settings.payment_plan, digits), client.deposit or None, digits
            )
            plan = make(client.price, place.terms.on, digits, own, client.instalments)
        except ValueError:
            continue  # the desk says what is wrong with it
        if differs(studio, plan, terms.of_version(studio, place.terms.version), current):
            file = seen.files["commissions.yaml"]
            file.warn(
                f"deposit or instalments of {place.code} aren't those of version {place.terms.version} of "
                "the terms; its agreement says that its own plan holds. See whether that's meant",
                "queue",
                number,
                "terms",
            )


def warn_of_changes(seen: Gathered, studio: Studio) -> None:
    """Say that the text or a number isn't that of the newest version any more."""
    there = terms.versions(studio)
    if not there:
        return
    for name in terms.changed(studio):
        seen.notebook(f"pages/{name}.md").warn(
            0,
            f"the text or a number of these terms isn't that of version {there[-1]} any more; `sitegen terms "
            "keep` keeps it as a new version (who accepted an earlier one stays with that)",
        )


def keep(folder: Path, studio: Studio, version: str) -> tuple[Path, ...]:
    """Write the terms, numbers filled in, as a version. Returns the files that weren't there.

    Raises StudioFault if there are no terms, if one still has a place to fill in, or if the version is there.
    """
    pages = [page for page in terms.filled(studio) if page.name in terms.PAGES]
    if not pages:
        raise StudioFault(
            f"there are no terms to keep; write pages/{terms.PAGES[0]}.md or pages/{terms.PAGES[1]}.md"
        )
    for page in pages:
        if open_places := placeholders(page.text):
            raise StudioFault(
                f"pages/{page.name}.md still has places to fill in, {open_places[0]} first; terms are kept "
                "when they are finished"
            )
    texts = {
        folder / "pages" / page.name / f"{version}.md": terms.as_kept(page).encode("utf-8") for page in pages
    }
    there = {file for file in texts if file.exists()}  # a run that was stopped wrote it
    if taken := next((file for file in there if file.read_bytes() != texts[file]), None):
        raise StudioFault(f"{taken.relative_to(folder).as_posix()} is there already; it is never overwritten")
    files = tuple(file for file in texts if file not in there)
    for file in files:
        file.parent.mkdir(parents=True, exist_ok=True)
        put(file, texts[file])
    return files
