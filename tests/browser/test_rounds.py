"""Rounds and slots at the desk: days as the job has them, a round set up, offered, drawn; who waits."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml
from playwright.sync_api import Browser

from sitegen.jobs.answers import SlotsWish, slots
from tests import makers
from tests.browser.conftest import TODAY, Visitor, looking, opened, too_wide, violations

# The worked example of RFC 3797, section 6: 25 of them at most, three sources.
SOURCES = """\
    sources:
      - {name: US Gov't debt, due: 2027-01-25}
      - {name: Evening Pick 4, due: 2027-01-26}
      - {name: Saturday numbers, due: 2027-01-27}
"""
REQUESTS = "".join(
    f"  - {{code: W27-{number}, tier: Small figure, step: request, since: 2027-01-17, "
    f"moves: 2027-01-17 request, round: Winter 2027, private: {{name: N{number}, email: n{number}@mail.example}}}}\n"
    for number in range(1, 8)
)


def book(visitor: Visitor) -> dict[str, list[dict[str, Any]]]:
    text = (visitor.desk.folder / "commissions.yaml").read_text("utf-8")
    found: dict[str, list[dict[str, Any]]] = yaml.load(text, yaml.BaseLoader)  # noqa: S506 (texts only)
    return found


def rounds(visitor: Visitor) -> list[dict[str, Any]]:
    return book(visitor)["rounds"]


@pytest.fixture
def closed(studio: Path) -> Iterator[Visitor]:
    """Somebody at the desk after a round that seven people asked in has closed."""
    text = makers.COMMISSIONS.replace("    way: draw\n", f"    way: draw\n{SOURCES}")
    makers.write(studio / "commissions.yaml", text.replace("queue:\n", f"queue:\n{REQUESTS}"))
    with opened(studio, "2027-01-24") as found:
        yield found


def test_days_are_those_of_the_job_in_the_table_and_in_the_picture(demo: Visitor) -> None:
    found = slots(demo.desk.folder, SlotsWish(), TODAY).as_answer()
    got = demo.get("/rounds")

    (svg,) = got.page.xpath("//*[local-name()='svg' and @role='img']")
    rows = [
        [cell.text_content() for cell in row.xpath("*")]
        for row in got.page.xpath("//h2[@id='done']/following::tbody[1]/tr")
    ]
    assert [row[0].split()[0] for row in rows][: len(found["codes"])] == found["codes"]
    for row, place in zip(rows, found["queue"], strict=False):
        for cell, day in zip(row[1:4], (place["p50"], place["p80"], place["p90"]), strict=True):
            year, _, number = day.split("-")
            assert f"{int(number)} " in cell
            assert year in cell
    starts = [float(bar.get("x")) for bar in svg.xpath(".//*[@class='likely']")]
    assert starts == sorted(starts)
    assert len(starts) == len(rows)
    assert [float(one.get("width")) >= 0 for one in svg.xpath(".//*[local-name()='rect']")].count(False) == 0
    assert "sitegen" not in got.page.xpath("string(//main)")


def test_surer_days_and_other_windows_are_worked_out(demo: Visitor) -> None:
    sure, unsure = (demo.get(f"/rounds?confidence={one}&last_day=2027-12-31").words for one in ("0.9", "0.5"))

    assert "90% sure" in sure
    assert int(unsure.split(" new slot")[0].rpartition(" ")[2]) > 0
    assert "One more week away" in sure
    wrong = demo.get("/rounds?first_day=2027-05-01&last_day=2027-01-01")
    assert "the window ends" in wrong.page.xpath("string(//*[@role='alert'])")
    assert wrong.status == 200


def test_a_round_is_set_up_with_comments_left_alone(visitor: Visitor) -> None:
    file = visitor.desk.folder / "commissions.yaml"
    makers.write(file, f"# mine\n{file.read_text('utf-8')}# last\n")
    values = {"name": "Spring: 2027", "opens": "2027-03-06T12:00", "closes": "2027-03-13T20:00", "slots": "3"}

    refused = visitor.do("/rounds/new", "/sheet/round", **values | {"closes": "2027-03-01T20:00"})
    assert refused.status == 422
    assert visitor.filled(refused, "/sheet/round")["name"] == "Spring: 2027"
    assert len(rounds(visitor)) == 1
    done = visitor.do("/rounds/new", "/sheet/round", **values)

    assert visitor.after(done).status == 200
    assert rounds(visitor)[1] == {
        "name": "Spring: 2027", "opens": "2027-03-06 12:00", "closes": "2027-03-13 20:00", "slots": "3",
    }  # fmt: skip
    text = file.read_text("utf-8")
    assert text.startswith("# mine\n")
    assert text.endswith("# last\n")
    page = visitor.after(
        visitor.do("/rounds/spring-2027", "/sheet/round_as_it_is", **{"rounds.1.slots": "4"})
    )
    assert (page.page.xpath("string(//h1)"), rounds(visitor)[1]["slots"]) == ("Spring: 2027", "4")
    assert rounds(visitor)[1]["opens"] == "2027-03-06 12:00"


def test_a_source_is_named(visitor: Visitor) -> None:
    visitor.after(
        visitor.do("/rounds/winter-2027", "/sheet/source", name="Example Lottery, main", due="2027-01-30")
    )

    assert rounds(visitor)[0]["sources"] == [{"name": "Example Lottery, main", "due": "2027-01-30"}]
    assert (
        "Example Lottery, main, published on Saturday 30 January 2027"
        in visitor.get("/rounds/winter-2027").words
    )


def test_how_a_round_stands_is_said(visitor: Visitor) -> None:
    assert "Opens in 53 days, Saturday 16 January 2027, at 12:00" in visitor.get("/rounds").words
    for moment, said in (
        ("2027-01-16 12:00", "Open; closes in 7 days, Saturday 23 January, at 20:00."),
        ("2027-01-23 20:00", "Closed today, Saturday 23 January, at 20:00."),
    ):
        visitor.desk.today = moment
        assert said in visitor.get("/rounds").words


def test_a_draw_is_announced_then_made_once(closed: Visitor) -> None:
    where = "/rounds/winter-2027"
    announced = closed.after(closed.do(where, "/do/draws.draw"))
    assert "W27-7" in announced.page.xpath("string(//textarea[@id='announcement'])")
    assert not announced.page.xpath("//form[@action='/sheet/source']")

    closed.desk.today = "2027-01-28"
    form = closed.filled(where, "/do/draws.draw") | {
        "sources": "9319\n2, 5, 12, 8, 10\n9, 18, 26, 34, 41, 45"
    }
    done = closed.after(closed.send("/do/draws.draw", form))

    record = done.page.xpath("string(//textarea[@id='record'])")
    # The key string as RFC 3797 section 4 has it: numbers in order, points between, a slash after each.
    assert "9319./2.5.8.10.12./9.18.26.34.41.45./" in record
    assert not done.page.xpath("//form[@action='/do/draws.draw']")
    before = closed.desk.folder / "commissions.yaml"
    text = before.read_text("utf-8")
    shown = closed.do(done, "/do/orders.offer")
    assert (shown.status, before.read_text("utf-8")) == (200, text)
    after = closed.after(closed.do(shown, "/do/orders.offer"))
    assert after.page.xpath("string(//h1)") == "Winter 2027"
    assert before.read_text("utf-8").count("offered") == 2 * 5


def test_numbers_before_their_day_are_refused(closed: Visitor) -> None:
    closed.after(closed.do("/rounds/winter-2027", "/do/draws.draw"))
    form = closed.filled("/rounds/winter-2027", "/do/draws.draw")

    got = closed.send("/do/draws.draw", form | {"sources": "1\n2\n3"})

    assert got.status == 422
    assert "can’t be known before" in got.page.xpath("string(//*[@role='alert'])")
    assert "1\n2\n3" in closed.filled(got, "/do/draws.draw")["sources"].replace("\r", "")


def test_who_waits_is_listed_oldest_first(demo: Visitor) -> None:
    got = demo.get("/rounds")
    rows = got.page.xpath("//h2[@id='waiting']/following-sibling::table//th[@scope='row']")
    assert [row.text_content().strip() for row in rows][:3] == [
        "Hester Quill", "Yusuf Brennagh", "Odile Marchbanks",
    ]  # fmt: skip


def test_todays_errand_leads_to_its_round(demo: Visitor) -> None:
    got = demo.get("/rounds?round=Winter+2027")

    assert (got.status, got.to) == (303, "/rounds/winter-2027")
    assert demo.get("/rounds/no-such").status == 422


HOSTILE = "<script>alert(1)</script>\"'><b>{{ 1 }}"


def test_hostile_names_are_only_text(visitor: Visitor) -> None:
    visitor.after(
        visitor.do(
            "/rounds/new", "/sheet/round", name=HOSTILE, opens="2027-03-06T12:00", slots="1", note=HOSTILE
        )
    )
    for path in ("/rounds", visitor.get("/rounds").page.xpath("//tbody//a[contains(., 'alert')]/@href")[0]):
        got = visitor.get(path)
        assert got.status == 200
        assert not got.page.xpath("//script[not(@src)]|//main//b")
        assert HOSTILE in got.words


@pytest.mark.slow
def test_a_round_by_the_keyboard_alone(browser: Browser, visitor: Visitor) -> None:
    with looking(browser, visitor) as page:
        page.goto(f"{visitor.address}/rounds/new")
        page.get_by_role("textbox", name="Name").focus()
        page.keyboard.type("Spring 2027")
        page.keyboard.press("Tab")
        for part in ("03", "06", "2027", "\t", "12", "00", "PM"):
            page.keyboard.press("Tab") if part == "\t" else page.keyboard.type(part)
        page.get_by_role("textbox", name="Slots").focus()
        page.keyboard.type("2")
        page.keyboard.press("Enter")
        page.wait_for_url("**said=**")
    assert rounds(visitor)[1] == {"name": "Spring 2027", "opens": "2027-03-06 12:00", "slots": "2"}


@pytest.mark.slow
def test_a_drawn_round_is_for_everyone(browser: Browser, closed: Visitor) -> None:
    closed.after(closed.do("/rounds/winter-2027", "/do/draws.draw"))
    with looking(browser, closed, 320) as page:
        page.goto(f"{closed.address}/rounds/winter-2027")
        assert (violations(page), too_wide(page)) == ([], 0)


def test_who_waits_comes_on_the_list_is_put_right_and_goes_off_again(visitor: Visitor) -> None:
    def waiting() -> list[str]:
        return [one["private"]["name"] for one in book(visitor)["waiting"]]

    more = {"private.name": "Ada <b>Early</b>", "private.email": "ada@mail.example", "since": "2026-07-01"}
    got = visitor.after(visitor.do("/rounds", "/sheet/waits", tier="Small figure", **more))
    assert waiting() == ["Waiting Client", "Ada <b>Early</b>"]
    assert [one.text_content() for one in got.page.xpath("//h2[@id='waiting']/following::table[1]/tbody//th")] == [
        "Ada <b>Early</b>", "Waiting Client",
    ]  # fmt: skip

    visitor.after(
        visitor.do("/rounds/waiting/1", "/sheet/waits_as_it_is", **{"waiting.1.since": "2026-09-01"})
    )
    assert str(book(visitor)["waiting"][1]["since"]) == "2026-09-01"

    (first, _) = visitor.get("/rounds").page.xpath("//form[@action='/do/edits.remove']")
    visitor.after(visitor.send("/do/edits.remove", {name: str(value) for name, value in first.form_values()}))
    assert waiting() == ["Ada <b>Early</b>"]


def test_a_source_that_was_named_is_taken_out_again(visitor: Visitor) -> None:
    visitor.do("/rounds/winter-2027", "/sheet/source", name="Example Lottery, main", due="2027-01-30")
    got = visitor.get("/rounds/winter-2027")
    assert "Example Lottery, main, published on" in got.words

    assert "main, published on" not in visitor.after(visitor.do(got, "/do/edits.remove")).words
    assert not book(visitor)["rounds"][0].get("sources")
