"""The coming weeks at the desk: every hour as the JSON and the CSV have it, a day lost, the letter that follows."""

from __future__ import annotations

import csv
import io
import json
from decimal import Decimal
from pathlib import Path
from typing import Any
from urllib.parse import quote

from icalendar import Calendar

from tests import makers
from tests.browser.conftest import Visitor
from tests.cli.runner import run

EARLIER = ("promised: 2027-07-02", "promised: 2027-01-22")


def _promised_early(folder: Path) -> None:
    """Let the last order in line be promised before it can be done, so that the two orders differ."""
    file = folder / "commissions.yaml"
    file.write_text(file.read_text("utf-8").replace(*EARLIER), "utf-8")


def _answer(visitor: Visitor, *words: str) -> Any:
    return json.loads(run(visitor.desk.folder, "--today", "2026-11-24", "week", *words, "--json").stdout)


def test_every_hour_of_the_page_is_the_answers_and_the_tables(demo: Visitor) -> None:
    _promised_early(demo.desk.folder)
    got, told = demo.get("/weeks?weeks=8"), _answer(demo, "--weeks", "8")
    typed = run(demo.desk.folder, "--today", "2026-11-24", "week", "--weeks", "8", "--csv")

    shown = [
        [[cell.text_content().strip() for cell in row] for row in week.xpath(".//tr[td]")]
        for week in got.page.xpath("//section[@class='week']")
    ]
    for rows, week in zip(shown, told["weeks"], strict=True):
        assert [(row[1], row[2]) for row in rows[:-1]] == [
            (one["step"], one["hours"]) for one in week["work"]
        ]
        assert [row[2] for row in rows[-1:]] == [week["planned"]] * bool(rows)
    hours = sum(Decimal(row[2]) for rows in shown for row in rows[:-1])
    table = [row for row in csv.DictReader(io.StringIO(typed.stdout)) if row["kind"] == "work"]
    assert hours == Decimal(told["hours"]) == sum(Decimal(row["hours"]) for row in table)
    for one in told["lost"]["slips"] + told["orders"]:
        for plan in {"planned", "then", "as booked", "by promised day"} & one.keys():
            kept = f"{100 * one[plan]['kept']:.0f}"
            assert ("nearly certain" if kept == "100" else f"{kept}% sure") in got.words
    assert "sitegen" not in got.page.xpath("string(//main)")
    assert "The coming weeks" in demo.get("/").words


def test_a_lost_day_leads_to_the_letter_that_names_the_later_day(demo: Visitor) -> None:
    got = demo.get("/weeks?lost=2026-11-30&days=60")
    told = _answer(demo, "--lost", "2026-11-30", "--days", "60")["lost"]

    assert told["becomes_unlikely"] == ["A26-1"]
    (link,) = got.page.xpath("//main//p[@class='do-it']/a/@href")
    form = demo.get(link).page
    assert form.xpath("//input[@name='new_day']/@value") == [told["write_to"]["A26-1"]]
    letter = demo.after(demo.do(link, "/do/order_letters.letter"))
    assert letter.status == 200
    assert "Gwendal" in letter.words


def test_the_calendar_is_the_terminals_to_the_byte_and_hidden_from_others(demo: Visitor) -> None:
    got = demo.get("/weeks/week.ics?weeks=8")
    run(demo.desk.folder, "--today", "2026-11-24", "week", "--weeks", "8", "--calendar")

    assert got.text.encode() == (demo.desk.folder / "out" / "week.ics").read_bytes()
    assert got.headers["content-type"].startswith("text/calendar")
    assert [*Calendar.from_ical(got.text).walk("VEVENT")]
    assert demo.ask("GET", "/weeks/week.ics", Cookie="").status == 403


def test_what_cannot_be_planned_is_said_on_the_page(visitor: Visitor) -> None:
    for asked in ("weeks=99999999", "lost=tomorrow", "days=0", "weeks=%3Cb%3E"):
        got = visitor.get(f"/weeks?{asked}")
        assert got.status == 422
        assert got.page.xpath("//main//*[@role='alert']")
    makers.write(visitor.desk.folder / "studio.yaml", makers.STUDIO.replace("  weekly_hours: 24\n", ""))
    assert "how much you work" in visitor.get("/weeks").page.xpath("string(//*[@role='alert'])")


def test_a_wrong_number_of_lost_days_is_said_beside_its_field(demo: Visitor) -> None:
    weeks = len(demo.get("/weeks").page.xpath("//section[@class='week']"))
    for days in ("0", "-3", "a week", "400"):
        got = demo.get(f"/weeks?lost=2026-11-30&days={quote(days)}")

        (form,) = got.page.xpath("//form[@action='/weeks#lost']")
        assert got.status == 422, days
        assert form.xpath(".//input[@name='days']/@value") == [days]
        assert "“How many days”" in got.page.xpath("string(//*[@role='alert'])"), days
        assert len(got.page.xpath("//section[@class='week']")) == weeks
