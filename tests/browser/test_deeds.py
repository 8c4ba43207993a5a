"""A deed at the desk: a form made out of a wish, done once, never to something else than what was looked at."""

from __future__ import annotations

import re
from dataclasses import fields
from importlib import import_module
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitegen.browser import deeds
from sitegen.browser.app import app_for
from sitegen.browser.desk import Workplace
from sitegen.browser.forms import said_of, wish_from
from sitegen.browser.frame import ROUTES
from sitegen.browser.words import told
from sitegen.jobs import wish_of
from sitegen.jobs.orders import AddOrder
from sitegen.studio.asked import Fault
from tests.browser.conftest import Visitor, opened

app_for(Workplace(Path()))


@pytest.mark.parametrize("path", sorted(deeds.DEEDS))
def test_a_deed_is_a_job_and_asks_for_what_its_wish_has(path: str) -> None:
    """What the page says of a field is said of one that's there."""
    module, _, name = path.rpartition(".")

    assert callable(getattr(import_module(f"sitegen.jobs.{module}"), name))
    kind = wish_of(path)
    asked = {field.name for field in fields(kind)} if kind else set()
    assert {name for name in said_of(path) if name not in said_of(module)} <= asked
    assert set(deeds.DEEDS[path].hidden.split()) <= asked


def test_screens_have_no_address_twice() -> None:
    paths = [(route.path, method) for route in ROUTES for method in route.methods or ()]
    assert len(paths) == len(set(paths))


def orders(visitor: Visitor) -> str:
    return (visitor.desk.folder / "commissions.yaml").read_text("utf-8")


def test_what_is_noted_can_be_taken_back(demo: Visitor) -> None:
    before = orders(demo)

    done = demo.do("/orders/A26-3", "/do/orders.pay", amount="133.00", on="2026-11-24")
    page = demo.after(done)
    assert "133.00" in page.words
    assert orders(demo) != before

    back = demo.do(page, "/do/undo.undo")
    assert "Taken back" in demo.after(back).words
    assert orders(demo) == before


def test_what_is_wrong_is_said_beside_the_form_with_all_that_was_typed(demo: Visitor) -> None:
    before = orders(demo)

    got = demo.do("/orders/A26-3", "/do/orders.pay", amount="12,5 euro", on="2026-11-20")

    assert got.status == 422
    assert got.page.xpath("//*[@role='alert']//text()")
    assert "12,5 euro" in got.page.xpath("//input[@name='amount']/@value")
    assert "2026-11-20" in got.page.xpath("//input[@name='on']/@value")
    assert "--" not in got.page.xpath("string(//*[@role='alert'])")
    assert orders(demo) == before


CANCEL = {"by": "client", "why": "They moved abroad.", "work": "40%"}


def test_a_job_that_asks_shows_first_and_writes_what_was_shown(demo: Visitor) -> None:
    before = orders(demo)

    shown = demo.do("/orders/A26-1", "/do/orders.cancel", **CANCEL)
    assert shown.status == 200
    assert "Nothing is written yet" in shown.words
    assert orders(demo) == before

    done = demo.do(shown, "/do/orders.cancel")
    assert "called off" in demo.after(done).words
    assert "called off" in orders(demo)


def test_what_changed_between_the_steps_is_not_agreed_to(demo: Visitor) -> None:
    shown = demo.do("/orders/A26-1", "/do/orders.cancel", **CANCEL)
    agreed = demo.filled(shown, "/do/orders.cancel")
    demo.after(demo.do("/orders/A26-1", "/do/orders.pay", amount="219.33"))
    before = orders(demo)

    got = demo.send("/do/orders.cancel", agreed)

    assert got.status == 422
    assert "changed meanwhile" in got.words
    assert orders(demo) == before


def test_agreeing_to_other_sums_than_those_shown_shows_the_new_ones(demo: Visitor) -> None:
    """Without the word of the form's state, the answer itself is what is compared."""
    shown = demo.do("/orders/A26-1", "/do/orders.cancel", **CANCEL)
    agreed = demo.filled(shown, "/do/orders.cancel") | {"work": "90%", "seen": ""}
    before = orders(demo)

    got = demo.send("/do/orders.cancel", agreed)

    assert got.status == 200
    assert "Nothing is written yet" in got.words
    assert orders(demo) == before


def test_two_windows_do_a_thing_once(demo: Visitor) -> None:
    one = demo.filled("/orders/A26-3", "/do/orders.pay", amount="133.00")
    two = demo.filled("/orders/A26-3", "/do/orders.pay", amount="133.00")

    assert demo.send("/do/orders.pay", one).status == 303
    after = orders(demo)
    late = demo.send("/do/orders.pay", two)
    assert late.status == 422
    assert "changed meanwhile" in late.words
    assert orders(demo) == after


def test_an_edit_by_hand_meanwhile_is_never_written_over(demo: Visitor) -> None:
    form = demo.filled("/orders/A26-3", "/do/orders.promise", day="2027-03-01")
    file = demo.desk.folder / "commissions.yaml"
    by_hand = orders(demo).replace("133.00", "134.00")
    file.write_text(by_hand, "utf-8")

    got = demo.send("/do/orders.promise", form)

    assert got.status in {303, 422}
    if got.status == 422:
        assert orders(demo) == by_hand
    else:
        assert by_hand.splitlines()[:20] == orders(demo).splitlines()[:20]


HOSTILE = "<script>alert(1)</script>\"'><img src=x onerror=alert(1)> {{ 7*7 }} ${x} \u202egnirts"


def test_a_hostile_name_is_words(visitor: Visitor) -> None:
    page = visitor.after(
        visitor.do("/orders/new", "/do/orders.add", tier="Small figure", name=HOSTILE, notes=HOSTILE)
    )

    assert "<script>alert" not in page.text
    assert not page.page.xpath("//img[@src='x']")
    assert "{{ 7*7 }}" in page.words


def test_files_at_fault_are_a_page_with_what_to_mend(visitor: Visitor) -> None:
    (visitor.desk.folder / "commissions.yaml").write_text("tiers: [", "utf-8")

    got = visitor.get("/orders")

    assert got.status == 422
    assert "the order book, line" in got.words
    assert "Traceback" not in got.text


def test_what_nobody_foresaw_is_a_page_too(visitor: Visitor, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError("secret of somebody")

    monkeypatch.setattr("sitegen.jobs.orders.book", broken)

    got = visitor.get("/orders")

    assert got.status == 500
    assert "secret" not in got.text
    assert "Something went wrong" in got.words


@given(
    st.dictionaries(
        st.sampled_from([field.name for field in fields(AddOrder)]),
        st.text(max_size=40).filter(lambda text: text.strip()),
    )
)
def test_a_wish_has_what_was_typed(typed: dict[str, str]) -> None:
    try:
        made = wish_from(AddOrder, typed)
    except Fault:
        assert "tier" not in typed
        return
    for name, value in typed.items():
        plain = value.replace("\r\n", "\n")
        assert getattr(made, name) == (plain if name == "mail" else plain.strip())  # a mail is read as it is


@given(st.text())
def test_words_of_a_job_are_never_markup(text: str) -> None:
    said = told(text)

    assert "<" not in said.replace("<a href=", "").replace("</a>", "")


def test_reopening_shows_what_was_said_to_this_session_only(demo: Visitor) -> None:
    page = demo.do("/orders/A26-3", "/do/orders.pay", amount="133.00").to.partition("#")[0]
    assert "380.00" in demo.get(page).page.xpath("string(//*[@id='said'])")

    with opened(demo.desk.folder) as other:
        assert not other.get(page).page.xpath("//*[@id='said']")


def test_what_was_taken_back_is_said_without_the_lines_of_its_file(demo: Visitor) -> None:
    page = demo.after(demo.do("/orders/A26-3", "/do/orders.pay", amount="133.00"))
    said = demo.after(demo.do(page, "/do/undo.undo")).page.xpath("string(//*[@id='said'])")

    assert "Taken back" in said
    assert "paid:" not in said


@pytest.mark.parametrize(
    ("said", "shown"),
    [
        ("It lacks the price (`price: 440` in its `private:`); the day", "It lacks the price; the day"),
        ("write `postage: 24` or `postage: included` under A-1", "fill in “Postage” under A-1"),
        ("write `brief:` under A-1", "fill in “What you make” under A-1"),
    ],
)
def test_a_line_to_write_into_a_file_is_a_field_of_the_desk(said: str, shown: str) -> None:
    assert str(told(said)) == shown


@pytest.mark.parametrize(
    ("path", "field", "odd"),
    [
        ("letters.commissions", "pictures", "sideways"),
        ("people.leave", "noted", "a\0b"),
        ("answers.books", "", ""),
    ],
)
def test_a_field_that_no_page_has_filled_in_so(visitor: Visitor, path: str, field: str, odd: str) -> None:
    got = visitor.send(f"/do/{path}", {"mark": visitor.desk.mark, field: odd})

    assert got.status in {303, 422}, got.words


def test_what_changed_nothing_offers_nothing_to_take_back(demo: Visitor) -> None:
    """The change before it stays what it is; its own button takes back that one or nothing."""
    page = "/pieces/beetle-with-good-references"
    saved = demo.after(demo.do("/settings/part/bench", "/sheet/setting", **{"private.rate": "31"}))
    again = demo.do(page, "/do/pieces.mark", status="available")

    assert "already was" in demo.after(again).words
    assert not demo.after(again).page.xpath("//*[@id='said']//button")
    demo.after(demo.do("/orders/A26-3", "/do/orders.pay", amount="133.00", on="2026-11-24"))
    late = demo.do(saved, "/do/undo.undo")
    assert late.status == 422
    assert "isn't the latest change" in late.words
    assert "rate: 31" in (demo.desk.folder / "studio.yaml").read_text("utf-8")


def test_the_day_a_piece_goes_out_is_called_so(demo: Visitor) -> None:
    labels = demo.get("/do/diary.out?slug=beetle-with-good-references").page.xpath("//label/text()")
    assert "Since" in " ".join(labels).split()
    assert not any("Finished" in label for label in labels)


def test_a_refusal_names_the_fields_that_are_on_the_page(demo: Visitor) -> None:
    both = demo.do("/do/pieces.reprice", "/do/pieces.reprice", by="5", to="400")
    said = both.page.xpath("string(//*[@id='fault'])")
    labels = {one.strip() for one in both.page.xpath("//label/text()")}

    assert both.status == 422
    named = re.findall("“([^”]+)”", said)
    assert named
    assert set(named) <= labels
    assert told("A26-1 has no price yet; add `--price 440`") == "A26-1 has no price yet; add “Price”"


def test_what_is_said_of_a_command_is_a_whole_sentence_as_a_link() -> None:
    said = told(
        "the books don't count it; `sitegen piece mark moth sold --price 480 --on 2026-05-14` adds that"
    )
    assert said.striptags() == "the books don't count it; the page of moth adds that"
    assert 'href="/pieces/moth"' in said
    assert told("`sitegen check` lists them.").striptags() == "The check of all files lists them."


def test_a_sale_of_which_nothing_was_said_is_asked_about(demo: Visitor) -> None:
    """Marked as sold without a sum: nothing is written before that is agreed to."""
    page = "/pieces/star-darner"
    asked = demo.do(page, "/do/pieces.mark", status="sold")

    assert asked.status == 422
    assert "the books would count no sale" in asked.words
    assert demo.desk.read().piece("star-darner").status == "available"  # type: ignore[union-attr]
    assert not asked.page.xpath("//input[@name='price'][@type='hidden']")  # it can be said there
    demo.after(demo.send("/do/pieces.mark", demo.sure(asked, "/do/pieces.mark")))
    piece = demo.desk.read().piece("star-darner")
    assert piece is not None
    assert (str(piece.status), piece.private.sold) == ("sold", None)


def test_more_than_is_owed_is_asked_about(demo: Visitor) -> None:
    before = orders(demo)

    asked = demo.do("/orders/A26-3", "/do/orders.pay", amount="9133,00", on="2026-11-24")
    assert asked.status == 422
    asked = demo.do("/orders/A26-3", "/do/orders.pay", amount="9,133.00", on="2026-11-24")
    assert "too much came in" in asked.words
    assert orders(demo) == before
    assert "Write it all the same" in asked.words
    assert "“" not in asked.page.xpath("string(//*[@id='fault'])")  # no field to tick is named
    done = demo.after(demo.send("/do/orders.pay", demo.sure(asked, "/do/orders.pay")))
    assert "too much" in done.words


def test_money_that_may_be_a_slip_is_asked_about_once_each(demo: Visitor) -> None:
    """The same line twice, and too much of it; also of an order whose money was settled."""
    before = orders(demo)
    asked = demo.do("/orders/A26-3", "/do/orders.pay", amount="133", on="2026-10-19")
    assert "has 133.00 EUR on 19 October 2026 already. " in asked.words
    twice = demo.sure(asked, "/do/orders.pay")
    more = demo.send("/do/orders.pay", {**twice, "amount": "633"})  # agreed to of another sum
    assert more.status == 422
    assert "500.00 EUR too much came in" in more.words
    ended = demo.do("/orders/A26-6", "/do/orders.pay", amount="500", on="2026-11-20")
    assert ended.status == 422
    assert "500.00 EUR too much came in" in ended.words

    assert orders(demo) == before
    assert demo.send("/do/orders.pay", twice).status == 303
    assert demo.send("/do/orders.pay", demo.sure(ended, "/do/orders.pay")).status == 303


def test_an_offer_says_its_price(demo: Visitor) -> None:
    book = demo.desk.folder / "commissions.yaml"
    book.write_text(orders(demo).replace("      price: 360\n", "", 1), "utf-8")
    before = orders(demo)
    asked = demo.do("/orders/R26-1", "/do/orders.move", step="offered")

    assert asked.status == 422
    assert "has no price yet" in asked.words
    assert orders(demo) == before
    assert demo.do(asked, "/do/orders.move", price="360").status == 303


def test_apostrophes_are_set_and_what_was_typed_stays(demo: Visitor) -> None:
    """U+2019 is the apostrophe of set text (the Unicode Standard, 6.2); a field shows what the file says."""
    got = demo.get("/pieces/star-darner")
    assert "I've made" in got.page.xpath("string(//textarea[@name='story'])")
    assert "this piece’s share" in got.page.xpath("string(//section[@aria-label='What it is worth'])")


def test_what_can_be_taken_back_is_listed_and_the_latest_has_its_button(demo: Visitor) -> None:
    """Nothing has to be ticked to see it."""
    before = orders(demo)
    assert "There is nothing to take back" in demo.get("/undo").words
    demo.do("/orders/A26-3", "/do/orders.pay", amount="100.00", on="2026-11-24")
    once = orders(demo)
    demo.do("/orders/A26-3", "/do/orders.pay", amount="33.00", on="2026-11-24")

    page = demo.get("/undo")
    assert len(page.page.xpath("//tbody/tr")) == 2
    assert len(page.page.xpath("//tbody/tr[1]//form")) == len(page.page.xpath("//tbody//form")) == 1
    assert not page.page.xpath("//main//input[@type='checkbox']")
    for state in (once, before):
        inputs = demo.get("/undo").page.xpath("//tbody//form//input")
        demo.send("/do/undo.undo", {field.get("name"): field.get("value") for field in inputs})
        assert orders(demo) == state


def test_new_prices_are_a_table_before_and_after(demo: Visitor) -> None:
    shown = demo.do("/do/pieces.reprice", "/do/pieces.reprice", by="5", nearest="10")
    said = demo.after(demo.do(shown, "/do/pieces.reprice"))

    for page, where in ((shown, "//*[@class='shown']"), (said, "//*[@id='said']")):
        head = [cell.text_content() for cell in page.page.xpath(f"{where}//thead//th")]
        assert head[:2] == ["EUR", "now"]
        rows = page.page.xpath(f"{where}//tbody/tr")
        assert rows
        assert all(len(row.xpath("td")) == len(head) for row in rows)
        assert not page.page.xpath(f"{where}//pre")


def test_a_link_that_begins_a_sentence_begins_it_in_capitals() -> None:
    assert 'rule. <a href="/rounds">The page on slots</a> says' in told(
        "By rule. `sitegen slots` says which."
    )
    assert 'plan: <a href="/money/plan?what=R26-2">part by part</a>' in told(
        "The plan: `sitegen plan R26-2`."
    )
