"""Settings at the desk: every field of the files with its meaning; pages; what is to mend, and where."""

from __future__ import annotations

import re

import pytest

from sitegen.browser.screens.settings import PARTS
from sitegen.jobs import edits
from sitegen.jobs.fields_page import fields_of
from tests.browser.conftest import Visitor

# Fields that have screens of their own.
ELSEWHERE = re.compile(r"(rounds|queue|waiting)\b")


def text(visitor: Visitor, file: str = "studio.yaml") -> str:
    return (visitor.desk.folder / file).read_text("utf-8")


@pytest.mark.parametrize("file", ["studio.yaml", "commissions.yaml"])
def test_every_field_has_a_place(demo: Visitor, file: str) -> None:
    """Each that the models know is on some page; the lists that have screens of their own aside."""
    shown = set()
    for name, part in PARTS.items():
        if part.file == file:
            for field in demo.get(f"/settings/part/{name}").page.xpath("//form//@name"):
                shown.add(re.sub(r"\.[0-9]+\.", ".*.", str(field)))
                shown.add(part.within + str(field))
    known = {
        field.path
        for field in fields_of(file)
        if field.kind != "block" and field.each != "block" and not ELSEWHERE.match(field.path)
    }
    assert known - shown == set()


def test_a_field_changes_and_all_else_stays(demo: Visitor) -> None:
    before = text(demo)

    demo.after(demo.do("/settings/part/bench", "/sheet/setting", **{"private.rate": "31"}))

    assert text(demo) == before.replace("rate: 13.50", "rate: 31")


def test_a_form_that_is_sent_as_it_was_writes_nothing(demo: Visitor) -> None:
    """Also where a file says more than a form asks for: what wasn't changed isn't touched."""
    for name, part in PARTS.items():
        if "*" in part.within:
            continue
        before = text(demo, part.file)
        assert demo.do(f"/settings/part/{name}", "/sheet/setting").status == 303, name
        assert text(demo, part.file) == before, name


def test_a_wrong_value_is_said_and_nothing_is_written(demo: Visitor) -> None:
    before = text(demo)

    got = demo.do("/settings/part/studio", "/sheet/setting", time_zone="Atlantis/Main")

    assert got.status == 422
    assert "Atlantis/Main" in got.page.xpath("//input[@name='time_zone']/@value")
    assert text(demo) == before


def test_an_entry_comes_and_goes(demo: Visitor) -> None:
    before = text(demo)

    page = demo.after(
        demo.do(
            "/settings/part/away", "/sheet/more", **{"from": "2027-08-01", "to": "2027-08-14", "why": "rest"}
        )
    )
    assert "Until" in page.words
    assert "To whom" not in page.words
    assert [str(away.first_day) for away in demo.desk.read().settings.private.days_away][-1] == "2027-08-01"

    out = page.page.xpath("//form[@action='/do/edits.remove']")[-1]
    demo.after(demo.send("/do/edits.remove", dict(out.fields)))
    assert text(demo) == before


def test_an_entry_that_was_changed_meanwhile_is_not_taken_out(demo: Visitor) -> None:
    out = demo.get("/settings/part/series").page.xpath("//form[@action='/do/edits.remove']")[0]
    file = demo.desk.folder / "studio.yaml"
    by_hand = text(demo).replace("about: ", "about: Now ", 1)
    file.write_text(by_hand, "utf-8")

    assert demo.send("/do/edits.remove", dict(out.fields)).status == 422
    assert text(demo) == by_hand


def test_a_page_is_written_and_two_windows_do_not_overwrite_each_other(demo: Visitor) -> None:
    one = demo.filled("/settings/page/about", "/do/edits.write_page", text="From one window.")
    two = demo.filled("/settings/page/about", "/do/edits.write_page", text="From another.")

    assert demo.send("/do/edits.write_page", one).status == 303
    late = demo.send("/do/edits.write_page", two)
    assert late.status == 422
    assert "From another." in late.text
    assert text(demo, "pages/about.md").endswith("From one window.\n")


def test_a_new_page_gets_an_address(demo: Visitor) -> None:
    got = demo.do(
        "/settings/page", "/do/edits.write_page", name="shipping-abroad", title="Abroad", text="By sea."
    )

    assert "By sea." in demo.after(got).text
    assert text(demo, "pages/shipping-abroad.md") == "# Abroad\n\nBy sea.\n"


def test_what_is_to_mend_leads_to_its_field(demo: Visitor) -> None:
    file = demo.desk.folder / "studio.yaml"
    file.write_text(text(demo).replace("rate: 13.50", "rate: plenty"), "utf-8")

    page = demo.get("/settings/check")

    assert "plenty" in page.words
    first = str(page.page.xpath("//ol//a/@href")[0])
    assert first == "/settings/file/studio.yaml", "no field opens while the file can't be read"
    assert "→" in demo.get(first).page.xpath("//pre")[0].text_content()


def test_a_line_is_found_by_its_path(demo: Visitor) -> None:
    lines = text(demo).splitlines()
    at = next(number for number, line in enumerate(lines, 1) if "rate: 13.50" in line)

    assert edits.paths_of(demo.desk.folder, "studio.yaml")(at) == "private.rate"
    assert edits.paths_of(demo.desk.folder, "studio.yaml")(10_000).startswith("private")
    assert edits.paths_of(demo.desk.folder, "people.csv")(1) == ""


def test_a_file_that_nobody_can_read_is_mended_on_the_desk(visitor: Visitor) -> None:
    """A line without its colon stops every page but this one; the mended file says what it said before."""
    file = visitor.desk.folder / "studio.yaml"
    before = file.read_text("utf-8")
    file.write_text(before.replace("maker: ", "maker ; ", 1), "utf-8")
    assert visitor.get("/").status == 422

    first = visitor.get("/settings/check").page.xpath("//ol[@class='agenda']/li//a/@href")[0]
    page = visitor.get(str(first))
    assert "maker ; " in page.page.xpath("//pre")[0].text_content()

    visitor.after(visitor.do(page, str(first), text=before))
    assert file.read_text("utf-8") == before
    assert visitor.get("/").status == 200


def test_a_mended_file_that_is_worse_is_not_written(visitor: Visitor) -> None:
    file = visitor.desk.folder / "studio.yaml"
    before = file.read_text("utf-8")

    got = visitor.do("/settings/file/studio.yaml", "/settings/file/studio.yaml", text="studio ; Lantern")

    assert got.status == 422
    assert "studio ; Lantern" in got.page.xpath("//textarea[@name='text']")[0].text_content()
    assert file.read_text("utf-8") == before


@pytest.mark.parametrize("name", ["../secret.yaml", "people.csv", "studio.yaml/x", "sent/record.yaml"])
def test_only_the_files_of_forms_are_opened_whole(visitor: Visitor, name: str) -> None:
    assert visitor.get(f"/settings/file/{name.replace('../', '%2e%2e/')}").status in {404, 422}


def test_what_is_to_fill_in_is_a_hint_and_stays_if_left_so(visitor: Visitor) -> None:
    """The starter's places to fill in needn't be rubbed out first; one that is left so stays in the file."""
    file = visitor.desk.folder / "studio.yaml"
    before = file.read_text("utf-8")
    begun = re.sub("^(maker|tagline): .*$", r"\1: <your \1 in a few words>", before, flags=re.M)
    file.write_text(begun, "utf-8")

    page = visitor.get("/settings/part/studio").page
    (maker,) = page.xpath("//input[@name='maker']")
    assert (maker.get("value"), maker.get("placeholder")) == ("", "<your maker in a few words>")

    after = visitor.after(visitor.do("/settings/part/studio", "/sheet/setting", maker="Una Example"))

    assert file.read_text("utf-8") == begun.replace("<your maker in a few words>", "Una Example")
    assert "Saved: Maker." in after.words


@pytest.mark.parametrize(
    ("part", "field", "value", "other"),
    [
        ("bench", "private.in_hand.amount", "3200", "private.in_hand.on"),
        ("tax", "sales_tax.rate", "19", "sales_tax.name"),
    ],
)
def test_a_block_that_may_be_left_out_is_whole_or_empty(
    visitor: Visitor, part: str, field: str, value: str, other: str
) -> None:
    before, page = text(visitor), visitor.get(f"/settings/part/{part}")
    asked = page.page.xpath("//form[@action='/sheet/setting']//*[@required]/@name")

    assert not {field, other} & set(asked)
    assert visitor.do(page, "/sheet/setting").status == 303
    assert text(visitor) == before
    half = visitor.do(page, "/sheet/setting", **{field: value})
    assert half.status == 422
    assert other.rpartition(".")[2] in half.page.xpath("string(//*[@id='fault'])")
    assert text(visitor) == before
