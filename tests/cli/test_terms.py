"""Versions of the terms, from the outside."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

import pytest

from sitegen.carried import carried
from sitegen.jobs.check import check
from sitegen.sources import Level, read
from sitegen.studio import terms
from tests import makers
from tests.cli.runner import contents, run
from tests.themes import FOLDER


def lines(folder: Path) -> list[str]:
    return [str(complaint) for complaint in read(folder).complaints]


def change(file: Path, old: str, new: str) -> None:
    text = file.read_text("utf-8")
    assert old in text
    makers.write(file, text.replace(old, new))


def test_terms_that_say_the_same_are_not_kept_twice(folder: Path) -> None:
    """Nothing is written, and the version in force is named."""
    before = contents(folder)
    result = run(folder, "terms", "keep")

    assert result.output == "Nothing to keep: text and numbers are those of version 2026-09.\n"
    assert contents(folder) == before


def test_a_changed_number_is_told_until_it_is_kept(folder: Path) -> None:
    """`check` names the page; `terms keep` writes the filled text under the month; then all is quiet."""
    change(folder / "studio.yaml", "deposit: 30%", "deposit: 35%")

    own_plan, told = lines(folder)
    assert own_plan.startswith(
        "commissions.yaml, line 17: deposit or instalments of A-1 aren't those of version"
    )
    assert told == (
        "pages/payment-terms.md: the text or a number of these terms isn't that of version 2026-09 any more; "
        "`sitegen terms keep` keeps it as a new version (who accepted an earlier one stays with that)"
    )

    result = run(folder, "terms", "keep")
    assert result.output.startswith(
        "Kept:  pages/commission-terms/2026-11.md\nKept:  pages/payment-terms/2026-11.md\n"
    )
    kept = folder / "pages" / "payment-terms"
    assert (kept / "2026-11.md").read_text("utf-8") == (
        "# Payment terms\n\nA deposit of 35%, then monthly parts.\n"
    )
    assert "30%" in (kept / "2026-09.md").read_text("utf-8")
    assert lines(folder) == [own_plan]


def test_a_second_version_of_a_month_gets_a_count(folder: Path) -> None:
    """No version is ever overwritten."""
    for deposit, name in (("35%", "2026-11"), ("40%", "2026-11-2"), ("45%", "2026-11-3")):
        text = (folder / "studio.yaml").read_text("utf-8")
        makers.write(folder / "studio.yaml", text.replace(text.split("deposit: ")[1].split("\n")[0], deposit))
        assert f"payment-terms/{name}.md" in run(folder, "terms", "keep").output

    assert json.loads(run(folder, "terms", "list", "--json").output)["current"] == "2026-11-3"


def test_an_accepted_version_that_is_not_there_is_an_error(folder: Path) -> None:
    """File, line, what is there."""
    change(folder / "commissions.yaml", "version: 2026-09", "version: 2026-08")

    assert lines(folder) == [
        "commissions.yaml, line 17: A-1 accepted version '2026-08' of the terms, which isn't below pages/; did "
        "you mean '2026-09'?; there are 2026-09"
    ]
    assert run(folder, "check").exit_code == 1


def test_an_unknown_place_is_an_error_with_line_and_list(folder: Path) -> None:
    """The nearest known place comes first, then all of them."""
    change(folder / "pages" / "payment-terms.md", "{deposit}", "{depositt}")

    (told,) = lines(folder)
    assert told.startswith(
        "pages/payment-terms.md, line 3: nothing is known of '{depositt}'; did you mean 'deposit'?; known are "
        "{deposit}, {most instalments}, "
    )
    result = run(folder, "build")
    assert result.exit_code == 1
    assert not (folder / "out" / "site").exists()


def test_words_that_a_language_lacks_are_all_told(folder: Path) -> None:
    """A translation short of a sentence is told so at its block's line; a plural needs its `.other` alone."""
    change(folder / "studio.yaml", "language: en", "language: pl")
    own = folder / "themes" / "case" / "words" / "pl.yaml"
    own.parent.mkdir(parents=True)
    words = (FOLDER / "base" / "words" / "en.yaml").read_text("utf-8")
    short = re.sub(r"^ +(?:one|weekend_moves|weekend_stays|skip|title_open): .*\n", "", words, flags=re.M)
    makers.write(own, short)

    at = {block: short[: short.index(f"\n{block}:")].count("\n") + 2 for block in ("  round", "terms")}
    assert lines(folder) == [
        f"themes/case/words/pl.yaml, line {line}: the words for '{key}' are missing; add a line for them"
        for line, key in (
            (at["  round"], "mail.round.title_open"), (at["terms"], "terms.weekend_moves"),
            (at["terms"], "terms.weekend_stays"),
        )
    ]  # fmt: skip
    assert run(folder, "build").exit_code == 1
    makers.write(own, words.replace("skip: To the content", "skip: To {wherever}"))
    line = words[: words.index("skip: ")].count("\n") + 1
    asks = f"themes/case/words/pl.yaml, line {line}: 'skip' asks for {{wherever}}, but "
    assert run(folder, "build").output.startswith(f"{asks}nothing is filled in there")
    assert f"{asks}there is only {{maker}}, {{studio}}" in map(str, check(folder).errors)
    makers.write(own, words)
    assert lines(folder) == []
    assert run(folder, "build").exit_code == 0


def test_words_that_no_page_of_terms_needs_are_told_as_well(folder: Path) -> None:
    """Without terms the words are read by whoever speaks; `check` reads them before."""
    shutil.rmtree(folder / "pages")
    change(folder / "commissions.yaml", "    terms: {version: 2026-09, on: 2026-09-20}\n", "")
    change(folder / "studio.yaml", "language: en", "language: pl")
    words = (FOLDER / "base" / "words" / "en.yaml").read_text("utf-8").replace("  hello: Hello,\n", "")
    makers.write(folder / "themes/case/words/pl.yaml", words)

    assert [str(complaint) for complaint in check(folder).complaints if complaint.level is Level.ERROR] == [
        f"themes/case/words/pl.yaml, line {words[: words.index(f'{block}:   #')].count(chr(10)) + 1}: "
        f"the words for '{block}.hello' are missing; add a line for them"
        for block in ("client", "mail")
    ]


def test_terms_with_a_place_still_to_fill_in_are_not_kept(folder: Path) -> None:
    """An unfinished sentence is nothing to agree on."""
    change(folder / "pages" / "commission-terms.md", "written down", "<where you write it>")
    result = run(folder, "terms", "keep")

    assert result.exit_code == 1
    assert result.output == (
        "pages/commission-terms.md still has places to fill in, <where you write it> first; terms are "
        "kept when they are finished\n"
    )


def test_a_kept_file_must_have_a_version_for_a_name(folder: Path) -> None:
    """Its name becomes an address."""
    shutil.copy(
        folder / "pages" / "payment-terms" / "2026-09.md", folder / "pages" / "payment-terms" / "old.md"
    )

    assert lines(folder) == [
        "pages/payment-terms/old.md: 'old' is no version of the terms; name the file by year and month, like "
        "2026-11.md"
    ]


def test_the_list_says_who_accepted_what(folder: Path) -> None:
    """Codes, never names."""
    result = run(folder, "terms", "list")

    assert "Version 2026-09 is in force.\n  2026-09: accepted by A-1\n" in result.output
    assert "  {deposit}: 30%\n" in result.output
    assert "Secret Client" not in result.output


@pytest.mark.parametrize("name", ["demo", "content"])
def test_the_carried_studios_use_known_places_only(name: str) -> None:
    """The demo's newest version is in force; the starter has none yet."""
    reading = read(carried(name))

    assert not reading.errors
    if name == "demo":
        assert terms.current(reading.sound()) == terms.versions(reading.sound())[-1]
