"""What a form changes: the place it means and nothing else, only over what it showed, and undone in one step."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from sitegen.disk.pen import PenMissing
from sitegen.jobs import diary, edits
from sitegen.jobs.undo import UndoWish, undo
from sitegen.sources import StudioFault, read
from sitegen.studio.asked import ChangedMeanwhile, Fault, Said
from tests import makers
from tests.cli.runner import contents, own
from tests.sources.test_edit_any_file import TEXTS

PIECE = "pieces/ferry-ghost/piece.yaml"


@pytest.fixture
def studio(tmp_path: Path) -> Path:
    return makers.studio(tmp_path / "studio")


def change(folder: Path, file: str, **values: Any) -> Said:
    """Fill in a form with what stands there, change some fields and send it; `__` stands for a point."""
    wanted = {path.replace("__", "."): value for path, value in values.items()}
    shown = edits.stands(folder, file, *wanted)
    return edits.change(folder, file, wanted, {path: one.seen for path, one in shown.items()})


def lines_of(text: str, had: str) -> tuple[list[str], list[str]]:
    """Return the lines that a text has and another hadn't, and the other way round."""
    now, before = text.splitlines(), had.splitlines()
    return [one for one in now if one not in before], [one for one in before if one not in now]


def test_a_form_with_several_fields_is_one_edit_that_undo_takes_back(studio: Path) -> None:
    before = own(studio)

    said = change(
        studio,
        PIECE,
        title="Moth: a #1",
        price="512.50",
        photos__0__alt="نص",
        base=None,
        buy_at="https://a.example/",
    )

    text = (studio / PIECE).read_text(encoding="utf-8")
    assert lines_of(text, before[PIECE].decode()) == (
        ["title: 'Moth: a #1'", "price: 512.50", "buy_at: https://a.example/", "    alt: نص"],
        ["title: The Ferry Ghost", "price: 480", "base: lime wood", "    alt: A pale figure with a lantern."],
    )
    assert "price: 512.50\nbuy_at: https://a.example/\nfinished:" in text  # in the model's order
    assert said.facts == {"file": PIECE, "changed": True}
    undo(studio, UndoWish())
    assert own(studio) == before
    with pytest.raises(Fault, match="nothing to take back"):
        undo(studio, UndoWish())


def test_what_was_changed_meanwhile_is_told_with_what_stands_there_now(studio: Path) -> None:
    shown = edits.stands(studio, PIECE, "title", "price")
    change(studio, PIECE, title="By another window")
    before = own(studio)

    with pytest.raises(
        ChangedMeanwhile, match=r"piece.yaml was changed meanwhile.* title is 'By another"
    ) as caught:
        edits.change(
            studio, PIECE, {"title": "Mine", "price": "500"}, {path: one.seen for path, one in shown.items()}
        )

    assert caught.value.now == {"title": "By another window"}
    assert own(studio) == before


FIELDS = [
    "title",
    "size",
    "base",
    "materials",
    "story",
    "photos.0.alt",
    "private.supplies.0.what",
    "private.tier",
]


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@example({"title": "a\tb\n\tc", "story": "Verse:\n\n  \tby the sea\n"}, b"", b"\n")
@given(
    st.dictionaries(st.sampled_from(FIELDS), TEXTS.map(lambda text: text[:100]), min_size=1),
    st.sampled_from([b"", b"\xef\xbb\xbf"]),
    st.sampled_from([b"\n", b"\r\n"]),
)
def test_whatever_is_typed_reads_back_and_undo_brings_the_bytes_back(
    studio: Path, typed: dict[str, str], mark: bytes, newline: bytes
) -> None:
    (studio / PIECE).write_bytes(mark + makers.piece_yaml().encode().replace(b"\n", newline))
    before = own(studio)
    shown = edits.stands(studio, PIECE, *typed)

    edits.change(studio, PIECE, typed, {path: field_standing.seen for path, field_standing in shown.items()})

    now = edits.stands(studio, PIECE, *typed)
    assert {path: field_standing.value for path, field_standing in now.items()} == {
        path: text.replace("\r\n", "\n") for path, text in typed.items()
    }
    piece = read(studio).sound().pieces[0]
    assert piece.story == typed.get("story", "She never pays the fare.").replace("\r\n", "\n")
    assert (studio / PIECE).read_bytes().startswith(mark)
    undo(studio, UndoWish())
    assert own(studio) == before


def test_a_form_sent_twice_changes_nothing_the_second_time(studio: Path) -> None:
    seen = {"title": edits.stands(studio, PIECE, "title")["title"].seen}

    assert edits.change(studio, PIECE, {"title": "Mine"}, seen).facts["changed"] is True
    assert edits.change(studio, PIECE, {"title": "Mine"}, seen).facts["changed"] is False


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ({"price": "4,800"}, r'piece.yaml, line 4: price "4,800" has a comma'),
        ({"status": "gone"}, r"piece.yaml, line 2: status 'gone' is not one of in progress, available"),
        (
            {"series": "Day Ferry"},
            r"line 6: series 'Day Ferry' isn't in studio.yaml; did you mean 'Night Ferry'",
        ),
        ({"title": ""}, r"title is missing; add a line like `title: The Moth Clerk`"),
        ({"photos__0__file": "side.jpg"}, r"photo 'side.jpg' isn't in the folder"),
        ({"title": "a\0b"}, r"this text holds a character that can't be shown \(U\+0000\); take it out"),
        ({"wings": "two"}, r"unknown key 'wings'"),
        (
            {"private__sold": {"on": "2026-06-01", "price": "480"}},
            "status is 'available', but `private: sold:` says",
        ),
    ],
)
def test_what_the_reader_would_complain_of_is_not_written(
    studio: Path, values: dict[str, Any], said: str
) -> None:
    before = contents(studio)

    with pytest.raises(StudioFault, match=said):
        change(studio, PIECE, base="oak", **values)

    assert contents(studio) == before


def test_an_error_that_was_there_before_stops_no_edit_and_what_it_hid_neither(studio: Path) -> None:
    text = (studio / PIECE).read_text("utf-8").replace("price: 480", "price: 4,800").replace("Night", "Day")
    makers.write(studio / PIECE, text)

    change(studio, PIECE, title="Other")  # the price is wrong still
    change(studio, PIECE, price="480")  # now the series is met, which was hidden

    assert [complaint.message[:18] for complaint in read(studio).errors] == ["series 'Day Ferry'"]
    with pytest.raises(StudioFault, match="line 3: number 'x'"):  # mended one, made another
        change(studio, PIECE, series="Night Ferry", number="x")


@pytest.mark.parametrize(
    "file",
    [
        "people.csv", "pieces/../studio.yaml", "../studio.yaml", "/etc/passwd", "pieces/ferry-ghost/front.jpg", "pages/a/b.md",
        "pieces/ferry-ghost/../ferry-ghost/piece.yaml", "pages/../commissions.yaml", "shows/.x.yaml", "shows/_x.yaml", "shows\\x.yaml",
        "shows/a\\..\\b.yaml", "", "studio.yaml/", "./studio.yaml", "shows/x.yaml\n", "pages/x\0.md", "closed/2025.json", ".kept/x.yaml",
    ],
)  # fmt: skip
def test_no_other_file_is_shown_or_written(studio: Path, file: str) -> None:
    with pytest.raises(StudioFault, match="is none of the files that a form changes"):
        edits.stands(studio, file, "title")
    with pytest.raises(StudioFault, match="is none of the files that a form changes"):
        edits.append(studio, file, "a", "x")


def test_a_link_out_is_not_followed(studio: Path, tmp_path: Path) -> None:
    makers.write(tmp_path / "out.yaml", "name: X\nfrom: 2027-01-01\n")
    (studio / "shows" / "out.yaml").symlink_to(tmp_path / "out.yaml")
    (tmp_path / "away").mkdir()
    makers.write(tmp_path / "away" / "piece.yaml", "title: X\nstatus: in progress\n")
    (studio / "pieces" / "away").symlink_to(tmp_path / "away")

    for file in ("shows/out.yaml", "pieces/away/piece.yaml"):
        with pytest.raises(StudioFault, match=f"{file} is a link, or lies behind one"):
            edits.stands(studio, file, "name")


def test_the_studio_itself_may_be_a_link(studio: Path, tmp_path: Path) -> None:
    (tmp_path / "link").symlink_to(studio)

    change(tmp_path / "link", PIECE, title="Other")

    assert "title: Other\n" in (studio / PIECE).read_text("utf-8")


def test_lists_grow_shrink_and_change_their_order(studio: Path) -> None:
    file = "commissions.yaml"
    new = {
        "name": "Spring 2027",
        "opens": "2027-03-06 12:00",
        "slots": "2",
        "note": "",
        "tiers": ["Small figure"],
    }
    edits.append(studio, file, "rounds", new)
    text = (studio / file).read_text("utf-8")
    assert (
        "    way: draw\n  - name: Spring 2027\n    opens: 2027-03-06 12:00\n    slots: 2\n    tiers: [Small figure]\nqueue:"
        in text
    )

    seen = edits.stands(studio, file, "rounds")["rounds"].seen
    edits.move(studio, edits.MoveEntry(file=file, path="rounds.1", to=0, seen=seen), None)
    assert [held.name for held in read(studio).sound().commissions.rounds] == ["Spring 2027", "Winter 2027"]
    with pytest.raises(ChangedMeanwhile):  # it stands elsewhere by now
        edits.move(studio, edits.MoveEntry(file=file, path="rounds.1", to=0, seen=seen), None)

    gone = edits.stands(studio, file, "rounds.0")["rounds.0"].seen
    edits.remove(studio, edits.RemoveEntry(file=file, path="rounds.0", seen=gone), None)
    assert (studio / file).read_text("utf-8") == makers.COMMISSIONS
    with pytest.raises(ChangedMeanwhile):
        edits.remove(studio, edits.RemoveEntry(file=file, path="rounds.0", seen=gone), None)
    for _ in range(3):
        undo(studio, UndoWish())
    assert (studio / file).read_text("utf-8") == makers.COMMISSIONS


def test_a_list_as_it_is_to_be_keeps_the_lines_of_what_stays(studio: Path) -> None:
    text = (
        makers.STUDIO
        + "declined:\n  # none\n  - spiders  # ever\n  - 'clowns'   # sorry\n\n  - weapons # no\n"
    )
    makers.write(studio / "studio.yaml", text)

    change(studio, "studio.yaml", declined=["clowns", "hats: #1", "weapons", "", "flags"])

    assert (studio / "studio.yaml").read_text("utf-8") == makers.STUDIO + (
        "declined:\n  # none\n  - 'clowns'   # sorry\n\n  - 'hats: #1'\n  - weapons # no\n  - flags\n"
    )


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(*[st.lists(st.sampled_from("abcdefg"), min_size=1, max_size=6)] * 2, st.booleans())
def test_any_list_becomes_any_other(studio: Path, had: list[str], wanted: list[str], flow: bool) -> None:
    listed = (
        f" [{', '.join(had)}]\n"
        if flow
        else "\n" + "".join(f"- {one}  # {n}{one}\n" for n, one in enumerate(had))
    )
    makers.write(studio / "studio.yaml", f"{makers.STUDIO}declined:{listed}")

    change(studio, "studio.yaml", declined=wanted)

    assert edits.stands(studio, "studio.yaml", "declined")["declined"].value == wanted


def test_a_file_that_is_not_there_yet_is_begun(studio: Path) -> None:
    (studio / "commissions.yaml").unlink()

    edits.append(studio, "commissions.yaml", "tiers", {"name": "Big", "from_price": "900"})

    assert (studio / "commissions.yaml").read_text("utf-8") == "tiers:\n  - name: Big\n    from_price: 900\n"
    assert (studio / "commissions.yaml").stat().st_mode & 0o077 == 0
    undo(studio, UndoWish())
    assert not (studio / "commissions.yaml").exists()


def test_a_page_is_written_whole_and_keeps_its_line_ends(studio: Path) -> None:
    (studio / "pages" / "about.md").write_bytes(b"\xef\xbb\xbf# About\r\n\r\nOne bench.\r\n")
    now = edits.page_stands(studio, "about")
    assert (now.title, now.text) == ("About", "One bench.\n")

    page = edits.WritePage(name="about", title=" About  us ", text="Two\r\n\r\n* benches", seen=now.seen)
    edits.write_page(studio, page, None)

    assert (
        studio / "pages" / "about.md"
    ).read_bytes() == b"\xef\xbb\xbf# About us\r\n\r\nTwo\r\n\r\n* benches\r\n"
    with pytest.raises(ChangedMeanwhile) as caught:
        edits.write_page(studio, edits.WritePage(name="about", title="X", text="Y", seen=now.seen), None)
    assert caught.value.now == {"title": "About us", "text": "Two\n\n* benches\n"}


def test_a_new_page_and_a_new_show(studio: Path) -> None:
    before = own(studio)
    edits.write_page(studio, edits.WritePage(name="visits", title="Visits", text="By letter."), None)
    known = {"from": "2027-05-01", "name": "Fair: May", "about": "a\r\nb", "link": ""}
    said = edits.add_show(studio, known)

    assert (studio / "pages" / "visits.md").read_text("utf-8") == "# Visits\n\nBy letter.\n"
    assert said.facts["show"] == "fair-may"
    text = (studio / "shows" / "fair-may.yaml").read_text("utf-8")
    assert text == "name: 'Fair: May'\nfrom: 2027-05-01\nabout: |-\n  a\n  b\n"
    with pytest.raises(Fault, match=r"shows/fair-may\.yaml exists already"):
        edits.add_show(studio, {"from": "2027-05-01", "name": "Fair May"})
    with pytest.raises(ChangedMeanwhile):
        edits.write_page(studio, edits.WritePage(name="visits", title="Other", text="x"), None)
    undo(studio, UndoWish())
    undo(studio, UndoWish())
    assert own(studio) == before


@pytest.mark.parametrize(
    ("job", "said"),
    [
        (lambda folder: edits.write_page(folder, edits.WritePage(name="a", title="", text="x"), None), "needs a title"),
        (lambda folder: edits.write_page(folder, edits.WritePage(name="a", title="C #", text="x"), None), "needs a title"),
        (lambda folder: edits.write_page(folder, edits.WritePage(name="A b", title="C", text="x"), None), "a-z, 0-9"),
        (lambda folder: edits.write_page(folder, edits.WritePage(name="a", title="C", text="x\0"), None), "doesn't belong"),
        (lambda folder: edits.write_page(folder, edits.WritePage(name="payment-terms", title="C", text="{depsit}", seen=edits.page_stands(folder, "payment-terms").seen), None), "nothing is known of '{depsit}'"),
        (lambda folder: edits.add_show(folder, {"name": "寿"}), "needs a name"),
        (lambda folder: edits.add_show(folder, {"name": "Fair"}), "from is missing"),
        (lambda folder: diary.note_hours(folder, diary.NotePieceHours(slug="x", step="y", hours="1"), None), "no piece 'x'"),
        (lambda folder: diary.note_hours(folder, diary.NotePieceHours(slug="ferry-ghost", step=" ", hours="1"), None), "which step"),
        (lambda folder: edits.append(folder, PIECE, "photos", {"file": ""}), "fill it in"),
        (lambda folder: edits.append(folder, PIECE, "title.x", "y"), "no place for `x`"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_in_a_sentence(
    studio: Path, job: Callable[[Path], object], said: str
) -> None:
    before = contents(studio)

    with pytest.raises(Fault, match=said):
        job(studio)

    assert contents(studio) == before


def test_photos_come_under_safe_names_and_over_no_other(studio: Path, tmp_path: Path) -> None:
    before = own(studio)
    first = makers.photo(tmp_path / "Front.JPG", (9, 9, 9))
    second = makers.photo(tmp_path / "upload-7.jpg", (7, 7, 7))
    wish = edits.AddPhotos(
        slug="ferry-ghost",
        photos=(first, second),
        names=("Front.JPG", "../Hänge mat.jpg"),
        alts=("A  hand: left",),
    )

    said = edits.add_photos(studio, wish, None)

    names = said.facts["photos"]
    assert names == ["front-1.jpg", "hange-mat.jpg"]
    home = studio / "pieces" / "ferry-ghost"
    assert [(home / name).read_bytes() for name in names] == [first.read_bytes(), second.read_bytes()]
    text = (studio / PIECE).read_text("utf-8")
    assert (
        "lantern.\n  - file: front-1.jpg\n    alt: 'A hand: left'\n  - file: hange-mat.jpg\nprivate:" in text
    )
    undo(studio, UndoWish())
    assert own(studio) == before
    undo(studio, UndoWish(again=True))
    assert (home / "front-1.jpg").read_bytes() == first.read_bytes()


def test_photos_that_cannot_be_listed_are_not_left_in_the_folder(studio: Path, tmp_path: Path) -> None:
    photo = makers.photo(tmp_path / "side.jpg")
    makers.write(tmp_path / "text.jpg", "no photo")
    makers.write(studio / PIECE, makers.piece_yaml(story="x\nphotos: []"))
    before = contents(studio)

    for photos, names, said in (
        ((photo,), (), "can't be changed safely|can't be read"),
        ((photo, tmp_path / "text.jpg"), (), "isn't a photo that can be read"),
        ((photo,), ("side.txt",), "doesn't end like a photo"),
    ):
        with pytest.raises(Fault, match=said):
            edits.add_photos(studio, edits.AddPhotos(slug="ferry-ghost", photos=photos, names=names), None)
        assert contents(studio) == before


def test_a_photo_taken_out_comes_back_with_undo(studio: Path) -> None:
    before = own(studio)
    photo = studio / "pieces" / "ferry-ghost" / "front.jpg"
    photo.chmod(0o644)
    seen = edits.stands(studio, PIECE, "photos.0")["photos.0"].seen

    edits.take_photo_out(studio, edits.TakePhotoOut(slug="ferry-ghost", place=0, seen=seen), None)

    assert not photo.exists()
    assert "\nphotos: \nprivate:" in (studio / PIECE).read_text("utf-8")
    assert read(studio).sound().pieces[0].photos == ()
    for again in (False, True, False):
        undo(studio, UndoWish(again=again))
        assert photo.exists() != again
    assert own(studio) == before
    assert photo.stat().st_mode & 0o777 == 0o644


def test_hours_of_a_step_are_added_up(studio: Path) -> None:
    for step, hours in (("painting", "1.5"), ("sewing 2.0: hems", "2")):
        diary.note_hours(studio, diary.NotePieceHours(slug="ferry-ghost", step=step, hours=hours), None)

    text = (studio / PIECE).read_text("utf-8")
    assert "  hours: {sculpting: 12.5, painting: 10.5, 'sewing 2.0: hems': 2}\n" in text
    path = edits.joined(["private", "hours", "sewing 2.0: hems"])
    assert edits.stands(studio, PIECE, path)[path].value == "2"


def test_every_edit_holds_the_pen(studio: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without `@writes` the file is refused."""
    with pytest.raises(PenMissing):
        edits.change.__wrapped__(  # type: ignore[attr-defined]
            studio, PIECE, {"title": "x"}, {"title": edits.stands(studio, PIECE, "title")["title"].seen}
        )
