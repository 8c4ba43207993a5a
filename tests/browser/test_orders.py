"""The order book at the desk: found, late first; a request out of a mail; money, letters, an early end."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import yaml
from playwright.sync_api import Browser

from sitegen.jobs.orders import ReadMail, read_mail
from sitegen.studio.order_lines import Step
from tests import makers
from tests.browser.conftest import TODAY, Got, Visitor, looking, opened

# A message in the form of RFC 5322 and RFC 2047, from invented people; the post office took it in a minute
# after it was written, in another zone (RFC 5321 section 4.4 puts its own stamp first).
SAVED = """\
Received: from mx.mail.example by in.lantern.example; Mon, 23 Nov 2026 21:05:00 +0100
Received: from laptop.mail.example by mx.mail.example; Mon, 23 Nov 2026 21:01:00 +0100
From: =?utf-8?q?Zo=C3=AB_Marlowe?= <zoe@mail.example>
To: hello@lantern.example
Date: Mon, 23 Nov 2026 12:00:00 +0100
Subject: Re: a small figure
MIME-Version: 1.0
Content-Type: text/plain; charset=utf-8
Content-Transfer-Encoding: quoted-printable

A hare in mourning, please =E2=80=93 a Small figure.

On Sun, 22 Nov 2026 at 10:00, Ottoline wrote:
> The round opens in January.
"""
PASTED = """\
Von: Zoë Marlowe <zoe@mail.example>
Gesendet: Montag, 23. November 2026 20:05
An: hello@lantern.example
Betreff: AW: Ein Hase

Ein Hase in Trauer, bitte.

-----Ursprüngliche Nachricht-----
Von: Ottoline
Im Januar.
"""
WINDOW = """\
Zoë Marlowe <zoe@mail.example>
Nov 23, 2026, 8:05 PM
to me

A hare in mourning.

--\x20
Zoë
"""
SENT_ON = """\
From: Ottoline <hello@lantern.example>
Date: Tue, 24 Nov 2026 08:00:00 +0000
Subject: Fwd: a hare

---------- Forwarded message ---------
From: Zoë Marlowe <zoe@mail.example>
Date: Mon, 23 Nov 2026 at 20:05
Subject: a hare

A hare in mourning.
"""


@pytest.mark.parametrize(
    ("mail", "on", "notes"),
    [
        (SAVED, "2026-11-23 20:05", "a small figure. A hare in mourning, please – a Small figure."),
        (SAVED.replace("\n", "\r\n"), "2026-11-23 20:05", "a small figure. A hare in mourning, please – a Small figure."),
        (PASTED, "2026-11-23 20:05", "Ein Hase. Ein Hase in Trauer, bitte."),
        (WINDOW, "2026-11-23 20:05", "A hare in mourning."),
        (SENT_ON, "2026-11-23 20:05", "a hare. A hare in mourning."),
        # Which month comes first isn't plain, so no day is taken.
        (WINDOW.replace("Nov 23, 2026, 8:05 PM", "11/12/2026"), "", "11/12/2026 to me A hare in mourning."),
        ("A hare please, write to zoe@mail.example", "", "A hare please, write to zoe@mail.example"),
    ],
)  # fmt: skip
def test_a_mail_says_who_asks_when_and_for_what(studio: Path, mail: str, on: str, notes: str) -> None:
    found, doubts = read_mail(studio, ReadMail(mail=mail), TODAY)

    assert (found.email, found.on or "", found.notes) == ("zoe@mail.example", on, notes)
    assert found.name == ("Zoë Marlowe" if "Zo" in mail else "")
    assert any("name" in doubt for doubt in doubts) == (found.name == "")
    assert any("day" in doubt for doubt in doubts) == (on == "")


@pytest.mark.parametrize(
    "mail",
    ["From: \n\n", "<style>" * 3000, "From: x\nContent-Type: multipart/mixed; boundary=a\n\n" + "--a\n" * 9,
     "On " + "x" * 300_000, "From: =?utf-8?b?!!!?= <\ud800@b>\n\nx", "0001-01-01 <a@b.example>", "\x00\x1b[2J", "From: a\n" + "-- forwarded message\n" * 9000,
     "---------- Forwarded message ---------\n" * 6000],
)  # fmt: skip
def test_whatever_is_pasted_is_read(studio: Path, mail: str) -> None:
    found, doubts = read_mail(studio, ReadMail(mail=mail), TODAY)

    assert doubts
    assert not any(sign in found.notes for sign in "\x00\x1b")


def test_a_day_to_come_is_left_open(studio: Path) -> None:
    found, doubts = read_mail(studio, ReadMail(mail=SAVED.replace("23 Nov 2026", "23 Nov 2027")), TODAY)

    assert found.on is None
    assert "The day it gives lies ahead; fill in when it came." in doubts


def book(visitor: Visitor) -> str:
    return (visitor.desk.folder / "commissions.yaml").read_text("utf-8")


def entry(visitor: Visitor, code: str) -> dict[str, object]:
    found = yaml.load(book(visitor), yaml.BaseLoader)["queue"]  # noqa: S506 (reads texts only)
    return next(one for one in found if one["code"] == code)


def private(visitor: Visitor, code: str) -> dict[str, str]:
    found = entry(visitor, code)["private"]
    assert isinstance(found, dict)
    return found


def test_a_request_goes_from_a_mail_into_the_book(visitor: Visitor) -> None:
    before = book(visitor)

    read = visitor.do("/orders/new", "/orders/new/read", mail=SAVED)
    assert (read.status, book(visitor)) == (200, before)
    done = visitor.do(read, "/do/orders.add")

    assert visitor.after(done).page.xpath("string(//h1)") == "Zoë Marlowe: Small figure"
    assert entry(visitor, "R26-1") == {
        "code": "R26-1", "tier": "Small figure", "step": "request", "since": "2026-11-23",
        "moves": "2026-11-23 20:05 request",
        "private": {
            "name": "Zoë Marlowe", "email": "zoe@mail.example",
            "notes": "a small figure. A hare in mourning, please – a Small figure.",
        },
    }  # fmt: skip
    assert book(visitor).startswith(before.partition("waiting:")[0])


def test_an_empty_box_is_told_beside_it_and_a_fault_keeps_what_was_typed(visitor: Visitor) -> None:
    empty = visitor.do("/orders/new", "/orders/new/read", mail=" ")
    assert empty.status == 422
    assert "nothing in it" in empty.page.xpath("string(//*[@role='alert'])")

    wrong = visitor.do("/orders/new", "/do/orders.add", tier="Small figure", email="nobody", notes="A hare.")

    assert wrong.status == 422
    assert wrong.page.xpath("string(//*[@role='alert'])").strip()
    assert visitor.filled(wrong, "/do/orders.add")["notes"] == "A hare."


def codes(got: Got) -> list[str]:
    return [href.rpartition("/")[2] for href in got.page.xpath("//tbody/tr/th/a/@href")]


def test_what_is_late_stands_first_and_the_sums_add_up(demo: Visitor) -> None:
    got = demo.get("/orders")

    assert codes(got)[:2] == ["A26-1", "A26-3"]
    cells = [cell.text_content() for cell in got.page.xpath("//tbody//td[last()]")]
    sums = [found[1] for cell in cells if (found := re.search(r"([\d.,]+)\s*$", cell))]
    assert (
        f"{sum(float(one.replace(',', '')) for one in sums):,.2f}"
        == got.page.xpath("string(//tfoot//td[last()])").strip()
    )
    assert "sitegen" not in got.page.xpath("string(//main)")


def test_orders_are_found_also_those_that_are_done(demo: Visitor) -> None:
    wanted = {"NGOZI": ["A26-2"], "a26-6": ["A26-6"], "inbox.example": ["A26-3", "A26-6"], "nobody": []}

    assert {part: codes(demo.get(f"/orders?find={part}")) for part in wanted} == wanted


def test_a_payment_is_filled_in_with_what_is_owed(demo: Visitor) -> None:
    page = demo.get("/orders/A26-1")
    assert demo.filled(page, "/do/orders.pay")["amount"] == "219.33"
    assert not page.page.xpath("//form[@action='/do/orders.pay']/ancestor::details")

    after = demo.after(demo.do(page, "/do/orders.pay"))

    paid = private(demo, "A26-1")["paid"]
    assert (paid.startswith("2026-09-16 282"), paid.rpartition("; ")[2]) == (True, "2026-11-24 219.33")
    assert not after.page.xpath("//main//td[contains(@class,'late')]")
    assert demo.filled(after, "/do/orders.pay")["amount"] == "219.33"
    assert after.page.xpath("//form[@action='/do/orders.pay']/ancestor::details")


def test_the_sheet_is_a_ledger_of_the_plan(demo: Visitor) -> None:
    """Sums by hand: 30 % of 940 is 282; of the 658 left a third is 219.33, and the first part takes the rest.

    Hours: 5 + 11 + 2 on the piece's own sheet.
    """
    got = demo.get("/orders/A26-1")
    (table,) = [one for one in got.page.xpath("//table") if "instalment" in one.text_content()]

    rows = [[cell.text_content().strip() for cell in row.xpath("*")] for row in table.xpath(".//tbody/tr")]
    assert rows == [
        ["15 September 2026", "deposit", "paid", "282.00"],
        ["15 October 2026", "instalment", "paid", "219.34"],
        ["15 November 2026", "instalment", "late, by 9 days", "219.33"],
        ["15 December 2026", "instalment", "to come, in 21 days", "219.33"],
    ]
    assert re.search(r"18 h of about \d+(\.\d)? h", got.words)
    assert "version 2026-09, on 15 September 2026" in got.words
    assert "16 CFR part 435" in got.words


def test_an_end_shows_its_sums_before_it_happens(demo: Visitor) -> None:
    before = book(demo)

    shown = demo.do("/orders/A26-2", "/do/orders.cancel", by="client", why="Moves abroad.")
    assert (shown.status, book(demo)) == (200, before)
    assert "Kept: 0.00 EUR. To be returned: 1,053.00 EUR." in shown.words
    after = demo.after(demo.do(shown, "/do/orders.cancel"))

    assert entry(demo, "A26-2")["step"] == "called off"
    assert demo.filled(after, "/do/orders.refund")["amount"] == "1053.00"
    demo.after(demo.do(after, "/do/undo.undo"))
    assert book(demo) == before


def test_an_offer_becomes_a_letter_and_then_a_yes(demo: Visitor) -> None:
    note = "Your father would have *liked* this one."

    written = demo.after(demo.do("/orders/A26-4", "/do/order_letters.letter", words=note))
    (text,) = written.page.xpath("//textarea[@readonly]")
    (where,) = written.page.xpath("//iframe[@sandbox='']/@src")
    assert "Your father would have" in text.text
    assert demo.get(where).status == 200
    assert (
        demo.get(written.page.xpath("string(//a[@download]/@href)")).headers["content-type"]
        == "message/rfc822"
    )
    assert demo.filled(written, "/do/order_letters.letter")["words"].strip() == note
    anew = demo.after(demo.do(written, "/do/order_letters.letter", words="Another word."))
    assert "Another word." in anew.page.xpath("string(//textarea[@readonly])")

    page = demo.get("/orders/A26-4")
    assert len(page.page.xpath("//a[contains(@href,'/letters/')]")) == 2
    demo.after(demo.do(page, "/do/orders.move", step="accepted", price="960"))
    assert entry(demo, "A26-4")["step"] == "accepted"


STEPS = [str(step) for step in Step]


@pytest.mark.parametrize("step", STEPS)
def test_every_order_has_a_page_with_what_it_is_open_to(studio: Path, step: str) -> None:
    """Also one that somebody wrote by hand, with a step and a day and no more."""
    by_hand = f"  - {{code: H-1, tier: Small figure, step: {step}, since: 2026-10-02}}\n"
    file = studio / "commissions.yaml"
    makers.write(file, file.read_text("utf-8").replace("queue:\n", f"queue:\n{by_hand}"))

    with opened(studio) as visitor:
        got = visitor.get("/orders/H-1")
        assert got.status == 200
        assert got.page.xpath("string(//h1)") == "No name noted: Small figure"
        done = {one.rpartition(".")[2] for one in got.page.xpath("//main//form/@action")}
    ends = {"decline", "cancel"} & done
    assert bool(ends) == (step not in {"shipped", "declined", "withdrawn", "lapsed", "called off"})
    assert ("pay" in done) == (
        step in {"accepted", "on the bench", "finished", "paid", "shipped", "called off"}
    )


def test_a_letter_of_another_order_isnt_shown(demo: Visitor) -> None:
    demo.after(demo.do("/orders/A26-4", "/do/order_letters.letter"))

    for path in (
        "/orders/A26-2/letters/order-a26-4-offer",
        "/orders/A26-4/letters/..",
        "/orders/X/letters/y",
    ):
        assert demo.get(path).status in {404, 422}


def test_a_form_for_an_order_that_moved_meanwhile_is_shown_anew(demo: Visitor) -> None:
    page = demo.get("/orders/R26-1")
    demo.after(demo.do(page, "/do/orders.move", step="waiting"))

    got = demo.do(page, "/do/orders.decline", why="No kiln.")

    assert (got.status, "changed meanwhile" in got.words) == (422, True)
    assert entry(demo, "R26-1")["step"] == "waiting"


HOSTILE = '<script>alert(1)</script>"><b>{{ 1 }}'


def test_hostile_names_are_only_text(visitor: Visitor) -> None:
    mail = f"From: {HOSTILE.replace('<', '(')} <evil@mail.example>\nSubject: {HOSTILE}\n\n{HOSTILE}"
    read = visitor.do("/orders/new", "/orders/new/read", mail=mail)
    page = visitor.after(visitor.do(read, "/do/orders.add", tier="Small figure", name=HOSTILE))

    for got in (read, page, visitor.get("/orders"), visitor.get("/orders?find=%3Cscript%3E")):
        assert got.status == 200
        assert not got.page.xpath("//script[not(@src)]|//main//b")
    assert HOSTILE in page.words


def test_a_payment_by_the_keyboard_alone(browser: Browser, demo: Visitor) -> None:
    with looking(browser, demo) as page:
        page.goto(f"{demo.address}/orders")
        page.locator("tbody a").first.focus()
        page.keyboard.press("Enter")
        page.wait_for_url("**/orders/A26-1")
        page.get_by_label("Amount").first.focus()
        page.keyboard.press("Enter")
        page.wait_for_url("**said=**")
        assert page.evaluate("document.activeElement.id") == "said"
    assert "2026-11-24 219.33" in book(demo)


@pytest.mark.slow
def test_a_letter_is_copied_by_its_button(browser: Browser, demo: Visitor) -> None:
    demo.after(demo.do("/orders/A26-4", "/do/order_letters.letter"))
    with looking(browser, demo, permissions=["clipboard-read", "clipboard-write"]) as page:
        page.goto(f"{demo.address}/orders/A26-4/letters/order-a26-4-offer")
        page.get_by_role("button", name="Copy the text").click()
        page.get_by_role("button", name="Copied").wait_for()
        assert page.evaluate("navigator.clipboard.readText()") == page.locator("#text").input_value()


def test_what_an_offer_lacks_is_filled_in_on_its_page(visitor: Visitor) -> None:
    """The letter of an offer needs price, postage and brief (the guide's page on orders): no file is opened."""
    visitor.after(
        visitor.do("/orders/new", "/do/orders.add", tier="Small figure", name="Zoë", email="zoe@mail.example")
    )
    code = visitor.desk.read().commissions.queue[-1].code
    where = f"/orders/{code}"
    visitor.after(visitor.do(where, "/do/orders.move", step="offered", price="440"))
    page = visitor.get(where)
    (form,) = page.page.xpath("//form[@action='/sheet/order']")
    assert form.xpath("count(preceding::form[starts-with(@action, '/do/order')])") == 0, "it comes first"
    within = str(form.xpath(".//input[@name='place']/@value")[0])

    typed = {f"{within}price": "440", f"{within}postage": "24", f"{within}brief": "A hare in mourning."}
    visitor.after(visitor.do(page, "/sheet/order", **typed))

    client = next(order.private for order in visitor.desk.read().commissions.queue if order.code == code)
    assert client.price == 440
    assert client.postage is not None
    assert client.postage.extra == 24
    assert client.brief == "A hare in mourning."


def test_an_order_s_fields_are_of_no_other_place(visitor: Visitor) -> None:
    assert (
        visitor.send("/sheet/order", {"mark": visitor.desk.mark, "code": "x", "place": "tiers.0."}).status
        == 422
    )


def test_a_page_of_the_book_that_is_not_there_is_one_that_is(demo: Visitor) -> None:
    for number in ("9" * 5000, "0", "-1", "x"):
        got = demo.get(f"/orders?page={number}")

        assert got.status == 200, number
        assert "Gwendal Ferrow" in got.words, number
