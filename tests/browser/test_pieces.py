"""Pieces at the desk: a new one from its photos, its facts, story, photos, hours, standing and sale."""

from __future__ import annotations

import io
import json
import re
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import Browser

from sitegen.browser.forms import kept_under, let_go
from sitegen.jobs.fields_page import fields_of
from tests.browser.conftest import Got, Visitor, by_keyboard, looking, opened

BOUNDARY = "--------------------------made-by-hand"


def jpeg(colour: str = "teal", size: tuple[int, int] = (1600, 2000)) -> bytes:
    made = io.BytesIO()
    exif = Image.Exif()
    exif[0x0112] = 6  # turned, as a phone leaves it
    Image.new("RGB", size, colour).save(made, "JPEG", exif=exif)
    return made.getvalue()


def with_files(visitor: Visitor, path: str, fields: dict[str, str], files: list[tuple[str, bytes]]) -> Got:
    """Send a form with files, as RFC 7578 writes it."""
    parts = [
        f'--{BOUNDARY}\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n{value}\r\n'.encode()
        for name, value in fields.items()
    ]
    parts += [
        f'--{BOUNDARY}\r\nContent-Disposition: form-data; name="photos"; filename="{name}"\r\n'
        "Content-Type: application/octet-stream\r\n\r\n".encode()
        + content
        + b"\r\n"
        for name, content in files
    ]
    body = b"".join(parts) + f"--{BOUNDARY}--\r\n".encode()
    kind = f"multipart/form-data; boundary={BOUNDARY}"
    return visitor.ask("POST", path, body, Origin=visitor.address, Content_Type=kind)


def text_of(visitor: Visitor, slug: str) -> str:
    return (visitor.desk.folder / "pieces" / slug / "piece.yaml").read_text("utf-8")


NEW = "/pieces/new/photos"


def new(visitor: Visitor, **values: str) -> dict[str, str]:
    return visitor.filled("/pieces/new", NEW, **values)


def test_a_piece_comes_in_with_its_photos(visitor: Visitor) -> None:
    fields = new(visitor, title="The Night Porter", price="640", alts="He waits.\nHis keys.")

    got = with_files(visitor, NEW, fields, [("IMG 1.JPG", jpeg()), ("IMG 2.JPG", jpeg("maroon"))])

    page = visitor.after(got)
    assert got.to.startswith("/pieces/the-night-porter?")
    assert "The Night Porter" in page.words
    assert "He waits." in text_of(visitor, "the-night-porter")
    photos = sorted((visitor.desk.folder / "pieces" / "the-night-porter").glob("*.jpg"))
    assert [photo.read_bytes() for photo in photos] == [jpeg(), jpeg("maroon")]
    assert not list((visitor.desk.folder / "out" / ".incoming").glob("*"))


def test_photos_are_sent_once_however_often_the_form_is(visitor: Visitor) -> None:
    wrong = with_files(
        visitor, NEW, new(visitor, title="The Night Porter", price="a lot"), [("a.jpg", jpeg())]
    )

    assert wrong.status == 422
    assert "a.jpg" in wrong.words
    assert not (visitor.desk.folder / "pieces" / "the-night-porter").exists()

    again = visitor.filled(wrong, NEW, price="640")
    assert with_files(visitor, NEW, again, []).status == 303
    assert (visitor.desk.folder / "pieces" / "the-night-porter").is_dir()


@pytest.mark.parametrize(
    "name",
    ["../../people.csv", "..\\..\\people.csv", "/etc/passwd", "C:\\x\\a.jpg", "\x00.jpg", ".", "", "a" * 300],
)
def test_a_files_name_leads_nowhere(visitor: Visitor, name: str) -> None:
    people = (visitor.desk.folder / "people.csv").read_bytes()
    before = {path for path in visitor.desk.folder.parent.rglob("*") if "out" not in path.parts}

    with_files(visitor, NEW, new(visitor, title="x", price="z"), [(name.replace("\x00", "%00"), jpeg())])

    assert (visitor.desk.folder / "people.csv").read_bytes() == people
    assert {path for path in visitor.desk.folder.parent.rglob("*") if "out" not in path.parts} == before


@pytest.mark.parametrize("token", ["../../x", "..", "/etc", "a" * 11, "a/b" * 8])
def test_a_word_for_kept_files_is_no_path(tmp_path: Path, token: str) -> None:
    assert kept_under(tmp_path, token) == ()
    let_go(tmp_path, token)


def test_what_is_no_photo_is_said(visitor: Visitor) -> None:
    got = with_files(visitor, NEW, new(visitor, title="The Night Porter"), [("a.jpg", b"no picture at all")])

    assert got.status == 422
    assert "a.jpg" in got.page.xpath("string(//*[@role='alert'])")


def test_facts_change_and_all_else_of_the_file_stays(demo: Visitor) -> None:
    before = text_of(demo, "star-darner")

    page = demo.after(demo.do("/pieces/star-darner", "/sheet/piece", price="2500", base="Ash"))

    assert text_of(demo, "star-darner") == before.replace("price: 2400", "price: 2500").replace(
        "base: Turned pear, stained, 175 mm across", "base: Ash"
    )
    demo.do(page, "/do/undo.undo")
    assert text_of(demo, "star-darner") == before


def test_what_was_written_elsewhere_meanwhile_is_shown_beside_mine(demo: Visitor) -> None:
    form = demo.filled("/pieces/star-darner", "/sheet/piece", price="2500")
    file = demo.desk.folder / "pieces" / "star-darner" / "piece.yaml"
    by_hand = text_of(demo, "star-darner").replace("price: 2400", "price: 2450")
    file.write_text(by_hand, "utf-8")

    got = demo.send("/sheet/piece", form)

    assert got.status == 422
    assert "It says now: 2450" in got.words
    assert "2500" in got.page.xpath("//input[@name='price']/@value")
    assert text_of(demo, "star-darner") == by_hand

    assert demo.do(got, "/sheet/piece").status == 303
    assert "price: 2500" in text_of(demo, "star-darner")


def test_another_field_changed_meanwhile_is_no_matter(demo: Visitor) -> None:
    form = demo.filled("/pieces/star-darner", "/sheet/piece", price="2500")
    file = demo.desk.folder / "pieces" / "star-darner" / "piece.yaml"
    file.write_text(text_of(demo, "star-darner").replace("base: Turned", "base: Black"), "utf-8")

    assert demo.send("/sheet/piece", form).status == 303
    assert "price: 2500" in text_of(demo, "star-darner")
    assert "base: Black" in text_of(demo, "star-darner")


def test_a_photo_that_is_not_there_is_said(demo: Visitor) -> None:
    """Python itself refuses to read a number of more than 4,300 digits."""
    fields = demo.filled("/pieces/star-darner", "/sheet/piece")
    before = text_of(demo, "star-darner")

    for number in ("9" * 5000, "99", "٣", "-1"):
        got = demo.send("/sheet/photo", {**fields, "number": number, f"photos.{number}.alt": "x", "back": ""})

        assert got.status == 422, number
        assert text_of(demo, "star-darner") == before, number


def test_what_the_reader_refuses_is_not_written(demo: Visitor) -> None:
    before = text_of(demo, "star-darner")

    got = demo.do("/pieces/star-darner", "/sheet/piece", price="twelve")

    assert got.status == 422
    assert "twelve" in got.page.xpath("//input[@name='price']/@value")
    assert text_of(demo, "star-darner") == before


def test_every_field_of_a_piece_has_a_place(demo: Visitor) -> None:
    """The sale and the time away apart, which are noted by their own deeds, and names, which are the files'."""
    page = demo.get("/pieces/star-darner").page
    shown = {re.sub(r"\.[0-9]+\.", ".*.", str(name)) for name in page.xpath("//form//@name")}
    shown |= {"private.supplies.*." + str(name) for name in shown}
    known = {
        one.path for one in fields_of("pieces/*/piece.yaml") if one.kind != "block" and one.each != "block"
    }

    own = ("private.sold", "away.")
    left = {name for name in known - shown if not name.startswith(own) and name != "photos.*.file"}
    assert left == set()


def test_all_else_of_a_piece_reads_back(demo: Visitor) -> None:
    fields = {
        "was": "darner-of-stars\nstar-mender", "private.hours": "face: 12.5\nsewing: 40", "private.tier": "Pocket figure",
        "private.plan.from": "2026-11-25", "private.plan.instalments": "3", "private.plan.to": "A. Collector",
    }  # fmt: skip
    demo.after(demo.do("/pieces/star-darner", "/sheet/rest", **fields))

    piece = demo.desk.read().piece("star-darner")
    assert piece is not None
    assert piece.was == ("darner-of-stars", "star-mender")
    assert {step: str(hours) for step, hours in piece.private.hours.items()} == {
        "face": "12.5",
        "sewing": "40",
    }
    assert piece.private.plan is not None
    assert piece.private.plan.instalments == 3


def test_supplies_come_and_go(demo: Visitor) -> None:
    before = text_of(demo, "star-darner")

    page = demo.after(demo.do("/pieces/star-darner", "/sheet/supply", what="gold leaf", cost="12.50"))
    assert "gold leaf" in page.words

    out = page.page.xpath("//form[@action='/do/edits.remove']")[-1]
    demo.after(demo.send("/do/edits.remove", dict(out.fields)))
    assert text_of(demo, "star-darner") == before


STORIES = (
    "Plain.",
    "One: two # three\n\n- a\n- b",
    '"quoted" & <b>bold</b>\n\n> said',
    "  led by blanks\n\nend",
    "夜 🎭 שלום",
)


def test_a_story_reads_back_as_it_was_typed(demo: Visitor) -> None:
    page = demo.get("/pieces/star-darner")
    for story in STORIES:
        page = demo.after(demo.do(page, "/sheet/story", story=story))

        assert page.page.xpath("//textarea[@name='story']")[0].text_content().strip("\n") == story
        assert demo.desk.read().piece("star-darner").story.strip("\n") == story  # type: ignore[union-attr]


def test_photos_change_places_go_and_come_back(demo: Visitor) -> None:
    def order() -> list[str]:
        return [photo.file for photo in demo.desk.read().piece("star-darner").photos]  # type: ignore[union-attr]

    page = demo.get("/pieces/star-darner")
    later = page.page.xpath("//form[@action='/do/edits.move']")[0]
    page = demo.after(demo.send("/do/edits.move", dict(later.fields)))
    assert order() == ["face.jpg", "figure.jpg", "hem.jpg"]

    out = page.page.xpath("//form[@action='/do/edits.take_photo_out']")[0]
    page = demo.after(demo.send("/do/edits.take_photo_out", dict(out.fields)))
    assert order() == ["figure.jpg", "hem.jpg"]
    assert not (demo.desk.folder / "pieces" / "star-darner" / "face.jpg").exists()

    demo.do(page, "/do/undo.undo")
    assert order() == ["face.jpg", "figure.jpg", "hem.jpg"]
    assert (demo.desk.folder / "pieces" / "star-darner" / "face.jpg").exists()


def test_more_photos_come_after_those_that_are_there(demo: Visitor) -> None:
    path = "/pieces/star-darner/photos"
    got = with_files(demo, path, demo.filled("/pieces/star-darner", path), [("figure.jpg", jpeg())])

    assert got.status == 303
    names = [photo.file for photo in demo.desk.read().piece("star-darner").photos]  # type: ignore[union-attr]
    assert names[:3] == ["figure.jpg", "face.jpg", "hem.jpg"]
    assert len(set(names)) == 4


def test_a_sale_takes_the_price_from_the_page(demo: Visitor) -> None:
    page = demo.after(
        demo.do("/pieces/star-darner", "/do/pieces.mark", status="sold", price="2400", on="2026-11-24")
    )

    assert "sold on 24 November 2026" in page.words
    assert demo.desk.read().piece("star-darner").status == "sold"  # type: ignore[union-attr]


def test_the_clock_counts_hours_and_forgets_none_that_nobody_worked(demo: Visitor, tmp_path: Path) -> None:
    demo.desk.today = "2026-11-24 09:00"
    demo.after(demo.do("/pieces/clock-winder", "/do/diary.start", step="sewing"))
    assert "The clock runs" in demo.get("/").words
    had = demo.desk.read().piece("clock-winder").private.hours.get("sewing", 0)  # type: ignore[union-attr]

    with opened(demo.desk.folder, "2026-11-24 11:30") as later:
        later.after(later.do("/pieces/clock-winder", "/do/diary.stop"))
        noted = later.desk.read().piece("clock-winder").private.hours["sewing"]  # type: ignore[union-attr]
        assert float(noted) - float(had) == 2.5
        later.do("/pieces/clock-winder", "/do/diary.start", step="sewing")
    with opened(demo.desk.folder, "2026-11-26 11:30") as forgotten:
        got = forgotten.do("/", "/do/diary.stop")
        assert got.status == 422
        assert forgotten.do(got, "/do/diary.stop", dropped="yes").status == 303
        assert "The clock runs" not in forgotten.get("/").words


def test_a_small_picture_is_upright_and_says_nothing_of_its_maker(visitor: Visitor) -> None:
    with_files(visitor, NEW, new(visitor, title="The Night Porter"), [("a.jpg", jpeg())])
    (photo,) = visitor.desk.read().piece("the-night-porter").photos  # type: ignore[union-attr]
    path = f"/photo/card/the-night-porter/{photo.file}"

    door = visitor.ask("GET", path)
    assert door.headers["content-type"] == "image/jpeg"
    assert visitor.ask("GET", "/photo/card/the-night-porter/piece.yaml").status == 422
    assert visitor.ask("GET", "/photo/9/the-night-porter/" + photo.file).status == 422


def test_the_page_shows_a_story_that_is_not_saved(visitor: Visitor) -> None:
    before = text_of(visitor, "ferry-ghost")
    fields = visitor.filled("/pieces/ferry-ghost", "/sheet/story", story="Not *yet* saved.")

    got = visitor.send("/pieces/ferry-ghost/as-written", fields)

    assert json.loads(got.text)["seen"].endswith("/-/now/pieces/ferry-ghost/index.html")
    assert b"Not <em>yet</em> saved." in visitor.desk.trials["pieces/ferry-ghost/index.html"]
    assert text_of(visitor, "ferry-ghost") == before


@pytest.mark.browser
def test_a_finished_piece_by_keyboard_alone(browser: Browser, visitor: Visitor, tmp_path: Path) -> None:
    """From the first page to the piece in the inventory, no pointer used."""
    photos = [tmp_path / f"{name}.jpg" for name in ("front", "face")]
    for photo in photos:
        photo.write_bytes(jpeg())
    with looking(browser, visitor) as page:
        page.context.clear_cookies()
        page.goto(f"{visitor.address}/in/{visitor.desk.key}")  # as the program itself opens it
        by_keyboard(page, "A new piece", 60)
        page.keyboard.press("Enter")
        page.wait_for_url("**/pieces/new")
        page.set_input_files("#photos", photos)  # the system's own window isn't the page's
        assert page.locator(".strip li").count() == 2
        by_keyboard(page, "Title", 60)
        page.keyboard.type("The Night Porter")
        by_keyboard(page, "Price", 60)
        page.keyboard.type("640")
        page.keyboard.press("Enter")
        page.wait_for_url("**/pieces/the-night-porter*")
        assert page.evaluate("document.activeElement.id") == "said"
    assert "640" in text_of(visitor, "the-night-porter")
