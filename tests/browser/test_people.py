"""The mailing list at the desk: found among thousands, one person's record, in and out by their own wish."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from sitegen.jobs.people import PickPeople, pick
from tests import makers
from tests.browser.conftest import TODAY, Got, Visitor


def rows(visitor: Visitor) -> list[dict[str, str]]:
    text = (visitor.desk.folder / "people.csv").read_text("utf-8-sig")
    return list(csv.DictReader(text.splitlines()))


def addresses(visitor: Visitor) -> list[str]:
    return [row["email"] for row in rows(visitor)]


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ("", ["ana@mail.example", "ben@post.example", "gone@mail.example"]),
        ("ANA", ["ana@mail.example"]),
        ("a, the", ["ana@mail.example"]),
        ("post.example", ["ben@post.example"]),
        ("shows or left", ["ben@post.example", "gone@mail.example"]),
        ("can be written to and commissions", ["ana@mail.example"]),
        ("nobody of this name", []),
    ],
)
def test_a_part_of_a_name_or_words_find_people(visitor: Visitor, words: str, found: list[str]) -> None:
    """An umlaut or a ring isn't needed: the name is `Ana Å, the elder`."""
    folder = visitor.desk.folder
    assert [person.email for person in pick(folder, PickPeople(find=words), TODAY).people] == found
    page = visitor.get(f"/people?find={words.replace(' ', '+')}")
    assert page.page.xpath("//td[contains(@class,'address')]/a/text()") == found


def test_the_list_says_in_sentences_how_it_stands(visitor: Visitor) -> None:
    """Counts are of addresses, by the rules that choose who gets a letter."""
    file = visitor.desk.folder / "people.csv"
    more = (
        "bounced@mail.example,,,2025-03-01,web,form,2026-01-05 bounced\r\n"
        "buyer@mail.example,,shows,2024-12-01,purchase,bought a heron,\r\n"
        "late@mail.example,,shows,2024-11-01,purchase,bought a toad,\r\n"
        "BUYER@mail.example,,shows,2022-11-01,purchase,bought a moth,\r\n"
    )
    file.write_bytes(file.read_bytes() + more.encode())

    words = visitor.get("/people").words

    assert "3 of 6 can be written to now. 1 left, 1 can't be reached any more, for 1 no consent" in words
    assert "For 1 person consent ends within 60 days" in words


def test_a_hundred_a_page(studio: Path, visitor: Visitor) -> None:
    file = studio / "people.csv"
    many = "".join(f"n{i:04d}@mail.example,N {i},,2026-01-01,web,form,\r\n" for i in range(250))
    file.write_bytes(file.read_bytes() + many.encode())

    last = visitor.get("/people?page=3")
    beyond = visitor.get("/people?page=99999999999&find=mail.example")

    assert len(last.page.xpath("//tbody/tr")) == 53
    assert "201 to 253 here" in last.words
    assert last.page.xpath("//a[@rel='prev']/@href") == ["/people?page=2"]
    assert beyond.page.xpath("//a[@rel='next']/@href") == ["/people?find=mail.example&page=2"]


def test_one_person_is_put_on_the_list(visitor: Visitor) -> None:
    before = addresses(visitor)

    done = visitor.do(
        "/do/people.add", "/do/people.add", address="zoe@mail.example", name="Zoë", source="in person",
        evidence="at the table", interests="shows",
    )  # fmt: skip

    assert "zoe@mail.example is on the list now" in visitor.after(done).words
    assert addresses(visitor) == [*before, "zoe@mail.example"]
    assert rows(visitor)[-1] == {
        "email": "zoe@mail.example", "name": "Zoë", "interests": "shows", "joined": TODAY,
        "consent": "in person", "evidence": "at the table", "left": "",
    }  # fmt: skip


def doubtful(visitor: Visitor) -> tuple[list[str], Got]:
    before = addresses(visitor)
    asked = visitor.do(
        "/do/people.add", "/do/people.add", address="zoe@gmial.com", source="web", evidence="form"
    )
    assert asked.status == 422
    assert "did they mean @gmail.com?" in asked.words
    assert addresses(visitor) == before
    return before, asked


def test_a_likely_slip_is_asked_about_and_taken_as_written(visitor: Visitor) -> None:
    before, asked = doubtful(visitor)

    done = visitor.send("/do/people.add", visitor.sure(asked, "/do/people.add"))

    assert visitor.after(done).status == 200
    assert addresses(visitor) == [*before, "zoe@gmial.com"]


def test_a_likely_slip_is_mended_by_the_other_button(visitor: Visitor) -> None:
    before, asked = doubtful(visitor)
    fields = visitor.filled(asked, "/do/people.add")

    visitor.send("/do/people.add", fields | {"better": "zoe@gmail.com"})

    assert addresses(visitor) == [*before, "zoe@gmail.com"]


def test_a_question_agreed_to_for_one_address_isnt_for_another(visitor: Visitor) -> None:
    before, asked = doubtful(visitor)
    fields = visitor.sure(asked, "/do/people.add")

    again = visitor.send("/do/people.add", fields | {"address": "zoe@hotmial.com"})

    assert "did they mean @hotmail.com?" in again.words
    assert addresses(visitor) == before


def test_who_left_stays_out_and_it_is_said_beside_the_form(visitor: Visitor) -> None:
    got = visitor.do(
        "/do/people.add", "/do/people.add", address="gone@mail.example", source="purchase", evidence="x"
    )

    assert got.status == 422
    assert "left on 5 January 2026" in got.page.xpath("string(//*[@role='alert'])")


def test_a_record_is_shown_whole_and_who_asks_leaves(visitor: Visitor) -> None:
    page = visitor.get("/people/one?address=ANA@mail.example")
    assert "Can be written to" in page.words
    assert "form on the site" in page.words

    done = visitor.do(page, "/do/people.leave")

    after = visitor.after(done)
    assert "asked to be" not in after.words
    assert "No letter is sent: asked to leave on 24 November 2026." in after.words
    assert rows(visitor)[0]["left"] == "2026-11-24 asked"


def test_to_forget_takes_two_steps_and_cant_be_taken_back(visitor: Visitor) -> None:
    page = visitor.get("/people/one?address=ana@mail.example")
    (step,) = page.page.xpath("//a[contains(@href,'people.erase')]/@href")
    assert "ana@mail.example" in addresses(visitor)

    form = visitor.get(step)
    assert "can't be taken back" in form.words
    gone = visitor.after(visitor.do(form, "/do/people.erase"))

    assert "ana@mail.example" not in addresses(visitor)
    assert not gone.page.xpath("//main//form[@action='/do/undo.undo']")
    again = visitor.do(
        "/do/people.add", "/do/people.add", address="ana@mail.example", source="web", evidence="x"
    )
    assert "asked to be forgotten" in again.page.xpath("string(//*[@role='alert'])")


def test_a_form_about_a_person_who_changed_meanwhile_is_shown_anew(visitor: Visitor) -> None:
    page = visitor.get("/people/one?address=ana@mail.example")
    file = visitor.desk.folder / "people.csv"
    file.write_text(file.read_text("utf-8").replace("form on the site", "another form"), "utf-8")

    got = visitor.do(page, "/do/people.leave")

    assert got.status == 422
    assert "changed meanwhile" in got.words
    assert rows(visitor)[0]["left"] == ""


HOSTILE = '<script>alert(1)</script>"><b>'


def test_hostile_names_are_only_text(visitor: Visitor) -> None:
    makers.write(
        visitor.desk.folder / "people.csv",
        makers.PEOPLE
        + f'evil@mail.example,"{HOSTILE.replace(chr(34), chr(34) * 2)}",,,web,"{{{{ 1 }}}}",\r\n',
    )
    for path in ("/people", "/people/one?address=evil@mail.example", "/people?find=%3Cscript%3E"):
        page = visitor.get(path)
        assert page.status == 200
        assert not page.page.xpath("//script[not(@src)]")
    assert HOSTILE in visitor.get("/people").words
