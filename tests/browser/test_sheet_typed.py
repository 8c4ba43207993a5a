"""A sign-up sheet typed in at the desk: by plain forms, and by the keys alone, row by row as on paper."""

from __future__ import annotations

import csv
from pathlib import Path
from urllib.parse import urlencode

import pytest
from playwright.sync_api import Browser, Page, expect

from tests import makers
from tests.browser.conftest import Got, Visitor, looking, too_wide, violations

SHEET = "/people/sheets/HDF26-1"


@pytest.fixture
def studio(tmp_path: Path) -> Path:
    """A studio whose last show has been."""
    folder = makers.studio(tmp_path / "studio")
    makers.write(
        folder / "shows" / "quayside-2026.yaml",
        makers.SHOW.replace("2027-02-27", "2026-10-03")
        .replace("2027-02-28", "2026-10-04")
        .replace("Quayside", "Harbour"),
    )
    return folder


def rows(visitor: Visitor) -> list[dict[str, str]]:
    text = (visitor.desk.folder / "people.csv").read_text("utf-8-sig")
    return list(csv.DictReader(text.splitlines()))


def new(visitor: Visitor) -> list[tuple[str, str, str, str, str, str]]:
    return [
        (row["email"], row["name"], row["interests"], row["joined"], row["consent"], row["evidence"])
        for row in rows(visitor)[3:]
    ]


def state(got: Got, row: int) -> str:
    return " ".join(got.page.xpath(f"string(//td[@id='state-{row}'])").split())


def send(visitor: Visitor, page: str | Got = SHEET, **values: str) -> Got:
    fields = {name.replace("_", "-"): value for name, value in values.items()}
    return visitor.send(SHEET, visitor.filled(page, SHEET) | fields)


def test_the_shows_that_have_been_are_offered_with_their_codes(visitor: Visitor) -> None:
    """The code is the one that stands on the paper; a show to come has no sheet to type in."""
    page = visitor.get("/people/sheets")

    assert page.page.xpath("//tbody//a/text()") == ["HDF26"]
    assert "Nothing of it is typed in yet" in page.words
    refused = visitor.get("/people/sheets/QDF27-1")
    assert refused.status == 422
    assert "no sheet of a show that has begun" in refused.words


def test_a_page_has_the_rows_of_the_paper(visitor: Visitor) -> None:
    """As many as the printed page: counted by the template itself, and numbers run on."""
    first = visitor.get(SHEET).page.xpath("//tbody/tr/td[1]/text()")
    second = visitor.get("/people/sheets/HDF26-2").page.xpath("//tbody/tr/td[1]/text()")

    assert first == [str(one) for one in range(1, len(first) + 1)]
    assert len(first) > 10
    assert second[0] == str(len(first) + 1)
    assert len(second) == len(first)


def test_rows_go_onto_the_list_with_their_evidence(visitor: Visitor) -> None:
    done = send(
        visitor, name_1="Ada Example", address_1="ada@Mail.example", boxes_1="1", address_3="cy@mail.example",
        unreadable_2="yes", name_4="?",
    )  # fmt: skip

    page = visitor.after(done)
    assert new(visitor) == [
        ("ada@mail.example", "Ada Example", "commissions", "2026-10-03", "show sheet", "sheet HDF26-1 row 1"),
        ("cy@mail.example", "", "", "2026-10-03", "show sheet", "sheet HDF26-1 row 3"),
    ]
    assert "4 rows are typed in: 2 on the list, 2 can't be read." in page.words
    assert [state(page, row) for row in (1, 2, 3, 4, 5)] == [
        "on the list", "can’t be read", "on the list", "can’t be read", "",
    ]  # fmt: skip
    assert page.page.xpath("//input[@name='address-1']/@value") == ["ada@mail.example"]


def test_the_page_sent_again_changes_nothing(visitor: Visitor) -> None:
    page = visitor.after(send(visitor, name_1="Ada", address_1="ada@mail.example", unreadable_2="yes"))
    before = (visitor.desk.folder / "people.csv").read_bytes()

    again = visitor.after(send(visitor, page))

    assert (visitor.desk.folder / "people.csv").read_bytes() == before
    assert not again.page.xpath("//main//section//form[@action='/do/undo.undo']") or "2 rows" in again.words


def test_a_days_sheet_is_taken_back_as_one(visitor: Visitor) -> None:
    before = (visitor.desk.folder / "people.csv").read_bytes()
    for row in range(1, 13):  # more turns than earlier states are kept
        page = visitor.after(send(visitor, **{f"name_{row}": "A", f"address_{row}": f"a{row}@mail.example"}))
    assert len(new(visitor)) == 12

    visitor.do(page, "/do/undo.undo")

    assert (visitor.desk.folder / "people.csv").read_bytes() == before
    assert "Nothing of it is typed in yet" in visitor.get(SHEET).words


def test_what_is_wrong_stands_beside_its_row_and_the_rest_is_saved(visitor: Visitor) -> None:
    got = send(
        visitor, name_1="Ada", address_1="ada@mail.example", name_2="Bo", address_2="bo at mail",
        name_3="Cy", address_3="cy@gmial.com", boxes_3="2", name_4="Gone", address_4="ben@post.example",
    )  # fmt: skip

    assert got.status == 422
    assert [one[0] for one in new(visitor)] == ["ada@mail.example"]
    assert "bo at mail" in got.page.xpath("//input[@name='address-2']/@value")
    assert state(got, 2)
    assert "did they mean @gmail.com?" in state(got, 3)
    assert state(got, 4).startswith("was on the list already")
    assert got.page.xpath("//input[@name='boxes-3'][@checked]/@value") == ["2"]
    # row 3 by its two buttons
    visitor.send(SHEET, visitor.filled(got, SHEET, **{"address-2": ""}) | {"name-2": "", "keep-3": "yes"})
    assert [one[0] for one in new(visitor)] == ["ada@mail.example", "cy@gmial.com"]


def test_the_other_button_takes_what_was_meant(visitor: Visitor) -> None:
    got = send(visitor, name_3="Cy", address_3="cy@gmial.com")
    better = got.page.xpath("//button[@name='better-3']/@value")

    visitor.send(SHEET, visitor.filled(got, SHEET) | {"better-3": better[0]})

    assert [one[0] for one in new(visitor)] == ["cy@gmail.com"]


def test_who_left_after_the_show_or_was_forgotten_stays_off(visitor: Visitor) -> None:
    file = visitor.desk.folder / "people.csv"
    file.write_text(
        file.read_text("utf-8").replace("2026-01-05 asked", "2026-10-20 asked"), "utf-8", newline=""
    )
    visitor.do("/do/people.erase?address=ana@mail.example", "/do/people.erase")
    before = file.read_bytes()

    page = visitor.after(
        send(visitor, name_1="G", address_1="gone@mail.example", name_2="A", address_2="ana@mail.example")
    )

    assert file.read_bytes() == before
    assert "stays off the list" in page.words


def test_who_left_before_and_signed_again_is_back_and_it_is_said(visitor: Visitor) -> None:
    """A signature on paper after the exit is a new yes; the row says so."""
    got = visitor.send(
        SHEET, visitor.filled(SHEET, SHEET) | {"name-1": "G", "address-1": "gone@mail.example", "name-2": "x"}
    )

    assert "left on 5 January 2026 and signed again" in state(got, 1)
    assert [one[0] for one in new(visitor)] == ["gone@mail.example"]


def test_a_row_is_put_right_from_the_page_that_shows_it_and_from_no_older_one(visitor: Visitor) -> None:
    page = visitor.after(send(visitor, name_1="Ida", address_1="ida@mail.example"))
    fields = visitor.filled(page, SHEET)
    old = visitor.filled(SHEET, SHEET)

    visitor.send(SHEET, fields | {"address-1": "ira@mail.example", "name-1": "Ira"})
    assert [one[:2] for one in new(visitor)] == [("ira@mail.example", "Ira")]

    stale = visitor.send(SHEET, old | {"address-1": "eva@mail.example", "name-1": "Eva"})
    assert stale.status == 422 or "already, with" in stale.words
    late = visitor.send(SHEET, fields | {"address-1": "uta@mail.example", "name-1": "Uta"})
    assert late.status == 422
    assert "this row is in already, with ira@mail.example" in state(late, 1)
    assert [one[:2] for one in new(visitor)] == [("ira@mail.example", "Ira")]


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [("on", "2026-10-05", "was signed from"), ("on", "soon", "date"), ("mark", "x", "doesn't belong")],
)
def test_a_form_that_cant_hold_writes_nothing(visitor: Visitor, field: str, value: str, said: str) -> None:
    got = send(visitor, name_1="Ada", address_1="ada@mail.example", **{field: value})

    assert got.status == 422
    assert said in got.words
    assert new(visitor) == []


def test_a_look_at_a_row_writes_nothing(visitor: Visitor) -> None:
    """What the script asks while an address is typed."""
    fields = {"mark": visitor.desk.mark, "name-7": "", "address-7": "ana@mail.example", "look": "yes"}
    got = visitor.ask(
        "POST", SHEET, urlencode(fields).encode(), Origin=visitor.address, Accept="application/json",
        Content_Type="application/x-www-form-urlencoded",
    )  # fmt: skip

    assert '"is":"was on the list already"' in got.text
    visitor.do("/do/people.erase?address=ana@mail.example", "/do/people.erase")
    got = visitor.ask(
        "POST", SHEET, urlencode(fields).encode(), Origin=visitor.address, Accept="application/json",
        Content_Type="application/x-www-form-urlencoded",
    )  # fmt: skip
    assert "asked to be forgotten" in got.text
    assert "--" not in got.text
    assert not (visitor.desk.folder / "sent" / "sheets.json").exists()


def test_hostile_rows_are_only_text(visitor: Visitor) -> None:
    name = '"><script>alert(1)</script> | x | y'
    page = visitor.after(send(visitor, name_1=name, address_1="ada@mail.example"))

    assert not page.page.xpath("//script[not(@src)]")
    assert page.page.xpath("//input[@name='name-1']/@value") == ['"><script>alert(1)</script> x y']


PEOPLE = [
    ("Ada Quill", "ada.quill@mail.example", "13"), ("Bram Oster", "bram@post.example", "2"),
    ("Cleo Marsh", "cleo.marsh@mail.example", "1"), ("Dov Lantern", "dov@courier.example", "12"),
    ("?", "", ""), ("Esme Vale", "esme.vale@mail.example", "3"), ("Finn Harrow", "f.harrow@post.example", "4"),
    ("Gwen Ashby", "gwen@mail.example", "12"), ("Hal Thorne", "hal.thorne@mail.example", "2"),
    ("Iris Penn", "iris@post.example", ""), ("Jon Fell", "jonfell@mail.example", "1"),
    ("Kit Rowan", "kit.rowan@mail.example", "34"), ("Lena Brook", "lena@courier.example", "2"),
    ("Mo Sable", "mo.sable@mail.example", "12"), ("Nora Finch", "nora.finch@post.example", "1"),
    ("Orla Dunn", "orla@mail.example", "3"), ("Pia Crane", "pia.crane@mail.example", "2"),
    ("Quin Marlow", "quin@mail.example", "1"),
]  # fmt: skip
# Seconds a key of an average non-secretary typist, and to look at what is to be done next: keystroke-level
# model of Card, Moran and Newell, The Psychology of Human-Computer Interaction (1983), from memory.
A_KEY, A_LOOK = 0.28, 1.35


class Typist:
    """Types on the keyboard alone, and counts."""

    def __init__(self, page: Page) -> None:
        self.page, self.keys = page, 0

    def type(self, text: str) -> None:
        for letter in text:
            self.page.keyboard.type(letter)
        self.keys += len(text) + sum(letter.isupper() or letter in "?@" for letter in text)  # with Shift

    def press(self, key: str) -> None:
        self.page.keyboard.press(key)
        self.keys += 1

    def address(self, address: str) -> None:
        """Type no more of an address than is asked for: once the right end is offered, it's taken."""
        for letter in address:
            if self.page.evaluate("document.activeElement.value") == address:
                break
            self.type(letter)


def typed_in(browser: Browser, visitor: Visitor) -> int:
    file = visitor.desk.folder / "people.csv"
    known = "".join(
        f"k{place}@{domain},K,,2026-01-01,web,form,\r\n"
        for domain in ("mail.example", "post.example", "courier.example")
        for place in range(6)
    )
    file.write_bytes(file.read_bytes() + known.encode())
    with looking(browser, visitor) as page:
        page.goto(f"{visitor.address}{SHEET}?a_page=18")
        typist = Typist(page)
        for name, address, boxes in PEOPLE:
            typist.type(name)
            typist.press("Enter")
            if name != "?":
                typist.address(address)
                typist.press("Enter")
                typist.type(boxes)
                typist.press("Enter")
        expect(page.locator("#counted")).to_contain_text("18 rows are typed in")
        return typist.keys


@pytest.mark.slow
def test_eighteen_names_by_the_keys_alone_in_less_than_three_minutes(
    browser: Browser, visitor: Visitor
) -> None:
    keys = typed_in(browser, visitor)

    on = [row for row in rows(visitor) if row["evidence"].startswith("sheet HDF26-1 row ")]
    assert [(one["email"], one["name"]) for one in on] == [(one[1], one[0]) for one in PEOPLE if one[1]]
    ticks = ["commissions", "new pieces", "shows", "classes"]
    assert [one["interests"] for one in on] == [
        "; ".join(sorted(ticks[int(box) - 1] for box in one[2])) for one in PEOPLE if one[1]
    ]
    looks = 2 * len(PEOPLE)  # at the name, at the address
    assert keys * A_KEY + looks * A_LOOK < 180, keys


def test_closing_the_window_loses_no_row(browser: Browser, visitor: Visitor) -> None:
    """The row that is being typed is sent as the window closes; the page opened again goes on after it."""
    with looking(browser, visitor) as page:
        page.goto(visitor.address + SHEET)
        page.keyboard.type("Ada Quill")
        page.keyboard.press("Enter")
        page.keyboard.type("ada@quill.example")
        page.goto(visitor.address + "/people")
        for _ in range(100):  # the row is on its way while the next page opens already
            page.goto(visitor.address + SHEET)
            if page.locator("#state-1").inner_text():
                break
        expect(page.locator("#state-1")).to_contain_text("on the list")
        expect(page.locator("[name=name-2]")).to_be_focused()
    assert [one[0] for one in new(visitor)] == ["ada@quill.example"]


@pytest.mark.slow
def test_a_slip_is_said_while_typing_and_mended_by_one_button(browser: Browser, visitor: Visitor) -> None:
    with looking(browser, visitor) as page:
        page.goto(visitor.address + SHEET)
        page.locator("[name=address-1]").focus()
        page.keyboard.type("ada@gmial.com")
        expect(page.locator("#state-1")).to_contain_text("did they mean @gmail.com?")
        assert new(visitor) == []
        page.keyboard.press("Enter")
        page.keyboard.press("Enter")
        button = page.get_by_role("button", name="Take ada@gmail.com")
        button.focus()
        page.keyboard.press("Enter")
        expect(page.locator("#state-1")).to_have_text("on the list")
        page.locator("[name=address-2]").focus()
        page.keyboard.type("ANA@mail.example")
        expect(page.locator("#state-2")).to_contain_text("was on the list already")
        assert violations(page) == []
    assert [one[0] for one in new(visitor)] == ["ada@gmail.com"]


@pytest.mark.slow
def test_the_sheets_hold_to_the_rules_of_accessibility(browser: Browser, visitor: Visitor) -> None:
    send(visitor, name_1="Ada", address_1="ada@mail.example", unreadable_2="yes")
    with looking(browser, visitor, 320) as page:
        for path in ("/people/sheets", SHEET):
            page.goto(visitor.address + path)
            assert violations(page) == []
            assert too_wide(page) <= 0
