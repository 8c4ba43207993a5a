"""What is brought to the desk from elsewhere: a table, looked at before anything is written; and replies."""

from __future__ import annotations

import secrets
import threading
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser

from sitegen.browser.screens import people as screen
from sitegen.studio.asked import Said
from tests.browser.conftest import Got, Visitor, looking, too_wide, violations
from tests.letters.test_inbox import serving
from tests.letters.test_replies import mail

TABLE = (
    "E-mail,Full name,Shoe size,joined\r\n"
    "zoe@mail.example,Zoë,38,2026-10-04\r\n"
    "bo@gmial.com,Bo,40,2026-10-04\r\n"
    "gone@mail.example,G,40,2025-10-04\r\n"
    "nobody,N,40,2026-10-04\r\n"
    "ana@mail.example,Ana,40,2026-10-04\r\n"
).encode()


def bring(visitor: Visitor, path: str, field: str, files: dict[str, bytes], **fields: str) -> Got:
    """Send a form with files as a browser does (RFC 7578)."""
    edge = secrets.token_hex(8)
    parts = [
        f'--{edge}\r\ncontent-disposition: form-data; name="{name}"\r\n\r\n{value}\r\n'.encode()
        for name, value in ({"mark": visitor.desk.mark} | fields).items()
    ]
    parts += [
        f'--{edge}\r\ncontent-disposition: form-data; name="{field}"; filename="{name}"\r\n\r\n'.encode()
        + content + b"\r\n"
        for name, content in files.items()
    ]  # fmt: skip
    body = b"".join(parts) + f"--{edge}--\r\n".encode()
    kind = f"multipart/form-data; boundary={edge}"
    return visitor.ask("POST", path, body, Origin=visitor.address, Content_Type=kind)


def the_list(visitor: Visitor) -> bytes:
    return (visitor.desk.folder / "people.csv").read_bytes()


def incoming(visitor: Visitor) -> list[Path]:
    return [file for file in (visitor.desk.folder / "out").glob(".incoming/**/*") if file.is_file()]


def look(visitor: Visitor, table: bytes = TABLE, **fields: str) -> Got:
    return bring(
        visitor,
        "/people/table",
        "table",
        {"../old.csv": table},
        **({"source": "web", "interests": "commissions"} | fields),
    )


def test_a_table_is_looked_at_before_anything_is_written(visitor: Visitor) -> None:
    before = the_list(visitor)

    got = look(visitor)

    assert got.status == 200
    assert the_list(visitor) == before
    words = got.words
    assert "2 would be added, 0 changed; 1 are on the list already, 2 would be left out" in words
    columns = dict(zip(got.page.xpath("//dt/text()"), got.page.xpath("//dd/text()"), strict=True))
    assert columns == {
        "E-mail": "the address", "Full name": "name", "Shoe size": "not used", "joined": "the day they agreed",
    }  # fmt: skip
    assert "Line 4: gone@mail.example; left on 5 January 2026" in words
    assert "Line 3: bo@gmial.com, did they mean @gmail.com?" in words


def test_the_file_isnt_asked_for_again_and_goes_when_all_is_done(visitor: Visitor) -> None:
    got = look(visitor)
    assert [file.read_bytes() for file in incoming(visitor)] == [TABLE]

    done = visitor.after(visitor.do(got, "/people/table"))

    assert "1 added, 0 changed, 1 on the list already, 3 left out." in done.words
    assert b"zoe@mail.example" in the_list(visitor)
    assert b"gmial" not in the_list(visitor)
    assert incoming(visitor) == []
    visitor.do(done, "/do/undo.undo")
    assert b"zoe@mail.example" not in the_list(visitor)


def test_a_likely_slip_that_is_ticked_is_taken_as_written(visitor: Visitor) -> None:
    got = look(visitor)

    visitor.send("/people/table", visitor.filled(got, "/people/table") | {"keep": "bo@gmial.com"})

    assert b"bo@gmial.com,Bo" in the_list(visitor)


def test_nothing_is_written_if_the_answer_is_another_one_by_now(visitor: Visitor) -> None:
    """Who was to be added has left meanwhile: the page is shown anew, and only that is agreed to."""
    got = look(visitor)
    visitor.do("/do/people.add", "/do/people.add", address="zoe@mail.example", source="web", evidence="x")
    visitor.do("/people/one?address=zoe@mail.example", "/do/people.leave")
    before = the_list(visitor)

    again = visitor.do(got, "/people/table")

    assert again.status == 422
    assert "The list was changed since you looked last" in again.words
    assert the_list(visitor) == before
    visitor.after(visitor.do(again, "/people/table"))
    assert the_list(visitor) == before


def test_a_change_that_changes_nothing_of_the_answer_doesnt_hold_it_up(visitor: Visitor) -> None:
    got = look(visitor)
    visitor.do("/do/people.add", "/do/people.add", address="eva@mail.example", source="web", evidence="x")

    assert visitor.do(got, "/people/table").status == 303
    assert b"zoe@mail.example" in the_list(visitor)


@pytest.mark.parametrize(
    ("table", "said"), [(b"name\r\nZoe\r\n", "no column is headed"), (b"", "empty"), (b"\xff\xfea", "UTF-16")]
)
def test_a_table_that_is_none_is_said_beside_the_form(visitor: Visitor, table: bytes, said: str) -> None:
    got = look(visitor, table, evidence="the old book")

    assert got.status == 422
    assert said in got.page.xpath("string(//*[@role='alert'])")
    assert got.page.xpath("//input[@name='evidence']/@value") == ["the old book"]
    mended = bring(
        visitor, "/people/table", "table", {"new.csv": TABLE}, source="web",
        kept=got.page.xpath("//input[@name='kept']/@value")[0],
    )  # fmt: skip
    assert "2 would be added" in mended.words


def test_without_a_table_or_with_a_foreign_mark_nothing_happens(visitor: Visitor) -> None:
    nothing = bring(visitor, "/people/table", "table", {}, source="web")
    foreign = bring(visitor, "/people/table", "table", {"a.csv": TABLE}, source="web", mark="x")

    assert (nothing.status, foreign.status) == (422, 422)
    assert "Choose the table first" in nothing.words
    assert incoming(visitor) == []


def test_who_is_forgotten_isnt_kept_in_a_table_that_waits(visitor: Visitor) -> None:
    """Of what was brought and not taken over, only a file that names them goes."""
    look(visitor)
    look(visitor, b"email\r\neva@mail.example\r\n")

    visitor.do("/do/people.erase?address=Zoe@mail.example", "/do/people.erase")

    assert [file.read_bytes() for file in incoming(visitor)] == [b"email\r\neva@mail.example\r\n"]


def test_hostile_cells_are_only_text(visitor: Visitor) -> None:
    got = look(visitor, b'email,<script>x</script>\r\n"<script>alert(1)</script>",1\r\n')

    assert not got.page.xpath("//script[not(@src)]")


LEAVES = mail("unsubscribe", sender="ana@mail.example")


def heard(visitor: Visitor, got: Got) -> Got:
    """Follow the reading to its end."""
    assert got.status == 303, got.words
    for _ in range(1000):
        page = visitor.get(got.to)
        if page.status != 200:
            return page
    raise AssertionError("the messages are still being read")


@pytest.mark.parametrize(
    "files", [{"1.eml": LEAVES}, {"1.eml": LEAVES, "2.eml": mail("hello", sender="b@x.example")}]
)
def test_replies_that_were_saved_are_read(visitor: Visitor, files: dict[str, bytes]) -> None:
    assert b"asked\r\n" in the_list(visitor)

    end = heard(visitor, bring(visitor, "/people/replies", "letters", files))

    page = visitor.after(end)
    assert "1 row of the mailing list changed" in page.words
    assert b",form on the site,2026-11-24 asked" in the_list(visitor)
    assert incoming(visitor) == []
    assert page.page.xpath("//main//form[@action='/do/undo.undo']")


def test_a_file_that_holds_no_messages_is_said(visitor: Visitor) -> None:
    end = heard(visitor, bring(visitor, "/people/replies", "letters", {"x.mbox": b"no mailbox"}))

    assert end.status == 422
    assert "isn't a mailbox file" in end.words


def test_neither_file_nor_server_is_said(visitor: Visitor) -> None:
    got = bring(visitor, "/people/replies", "letters", {})

    assert got.status == 422
    assert "Choose the file" in got.words


def test_a_password_is_never_shown_or_kept(visitor: Visitor, capfd: pytest.CaptureFixture[str]) -> None:
    """Nobody listens at that port; what is said of it has no password in it, nor has the page or any file."""
    secret = "correct-horse-7"
    end = heard(
        visitor,
        bring(visitor, "/people/replies", "letters", {}, host="127.0.0.1", user="ottoline", password=secret,
              security="none"),
    )  # fmt: skip

    assert end.status == 422
    assert "127.0.0.1" in end.words
    assert secret not in end.text
    assert secret not in "".join(capfd.readouterr())
    assert not [
        file
        for file in visitor.desk.folder.rglob("*")
        if file.is_file() and secret.encode() in file.read_bytes()
    ]


def test_a_mailbox_on_its_server_is_read(visitor: Visitor, tmp_path: Path) -> None:
    """Against Twisted's IMAP server; what came of it is said, and how many messages there were on the way."""
    (tmp_path / "box").mkdir()
    with serving(tmp_path / "box", [b"Date: Tue, 24 Nov 2026 10:00:00 +0000\r\n" + LEAVES]) as gate:
        way_in = {"host": gate.host, "port": str(gate.port), "user": gate.user, "password": gate.password}
        end = heard(
            visitor, bring(visitor, "/people/replies", "letters", {}, security="none", days="9000", **way_in)
        )

    assert end.status == 303, end.words
    assert "1 row of the mailing list changed" in visitor.after(end).words
    assert b",form on the site,2026-11-24 asked" in the_list(visitor)


def test_how_far_the_reading_is_can_be_seen(visitor: Visitor, monkeypatch: pytest.MonkeyPatch) -> None:
    """By count, on a page of its own, until it leads on by itself."""
    go_on = threading.Event()

    def slow(*given: Any) -> Said:
        given[-1](3, 12)
        assert go_on.wait(60)
        return Said(("Nobody left.",), {"rows": 0})

    monkeypatch.setattr("sitegen.jobs.posting.hear", slow)
    monkeypatch.setattr(screen, "_AT_ONCE", 0.2)
    begun = bring(visitor, "/people/replies", "letters", {"1.eml": LEAVES})

    page = visitor.get(begun.to)
    (ask,) = page.page.xpath("//@data-ask")
    count = visitor.get(ask).text
    go_on.set()

    assert "3 of 12" in page.words
    assert count == '{"done":3,"total":12,"waits":"","ended":false}'
    assert "Nobody left." in visitor.after(heard(visitor, begun)).words
    assert visitor.get(begun.to).status == 422


def test_what_is_wrong_with_the_way_there_is_said_in_the_forms_words(visitor: Visitor) -> None:
    """Over the net the way must be protected; no name of the terminal's settings is shown."""
    end = heard(
        visitor,
        bring(visitor, "/people/replies", "letters", {}, host="mail.example", user="o", password="x",
              security="none"),
    )  # fmt: skip

    said = end.page.xpath("string(//*[@role='alert'])")
    assert "show your password" in said
    assert "SITEGEN" not in said


@pytest.mark.slow
def test_a_table_on_its_way_in_is_for_everyone(browser: Browser, visitor: Visitor, tmp_path: Path) -> None:
    (tmp_path / "old.csv").write_bytes(TABLE)
    with looking(browser, visitor, 320) as page:
        page.goto(f"{visitor.address}/people/table")
        page.set_input_files("#table", tmp_path / "old.csv")
        page.get_by_role("button", name="Show what would happen").click()
        page.get_by_role("heading", name="The columns").wait_for()
        assert violations(page) == []
        assert too_wide(page) <= 0
