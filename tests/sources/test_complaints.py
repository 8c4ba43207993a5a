"""Every fault is told at once, with file, line, the wrong value and the cure."""

from __future__ import annotations

from pathlib import Path

import pytest

from sitegen.pictures import look as look_into
from sitegen.sources import StudioFault, read
from tests import makers


def complaints(folder: Path) -> list[str]:
    def look(path: Path) -> str | None:
        fault = look_into(path)
        return fault.message if fault else None

    return [str(complaint) for complaint in read(folder, look).complaints]


def of_piece(folder: Path, text: str) -> list[str]:
    return complaints(makers.studio(folder, {"ghost": text}))


def test_a_whole_studio_has_nothing_to_complain_of(tmp_path: Path) -> None:
    assert complaints(makers.studio(tmp_path)) == []


def test_a_misspelt_status_gets_the_list_and_the_likely_word(tmp_path: Path) -> None:
    assert of_piece(tmp_path, makers.piece_yaml(status="availible")) == [
        "pieces/ghost/piece.yaml, line 2: status 'availible' is not one of in progress, available, on hold, "
        "sold, commissioned, not for sale; did you mean 'available'?"
    ]


def test_a_key_given_twice_is_told_with_both_lines(tmp_path: Path) -> None:
    assert of_piece(tmp_path, makers.piece_yaml() + "title: Another\n") == [
        "pieces/ghost/piece.yaml, line 18: 'title' stands twice, here and in line 1; keep one of them"
    ]


def test_tabs_are_told_line_by_line_beside_the_other_faults(tmp_path: Path) -> None:
    text = "title: G\nstatus: gone\nprivate:\n\thours:\n\t\tsculpting: 3\n"

    found = of_piece(tmp_path, text)

    tab = "there is a tab before the text; use spaces instead (two for each step to the right)"
    assert found[1:3] == [
        f"pieces/ghost/piece.yaml, line 4: {tab}",
        f"pieces/ghost/piece.yaml, line 5: {tab}",
    ]
    assert found[0].startswith("pieces/ghost/piece.yaml, line 2: status 'gone' is not one of")


def test_a_missing_photo_is_told_with_the_nearest_name(tmp_path: Path) -> None:
    text = makers.piece_yaml(photos="\n  - file: fornt.jpg\n    alt: A figure.")

    assert of_piece(tmp_path, text) == [
        "pieces/ghost/piece.yaml, line 11: photo 'front.jpg' lies in the folder but isn't listed",
        "pieces/ghost/piece.yaml, line 12: photo 'fornt.jpg' isn't in the folder; did you mean 'front.jpg'?",
    ]


def test_a_photo_whose_letters_are_stored_otherwise_is_told(tmp_path: Path) -> None:
    """Unicode annex 15: `ä` is one sign or two, and looks the same."""
    makers.photo(tmp_path / "pieces/ghost/Ka\u0308the.jpg")
    found = of_piece(tmp_path, makers.piece_yaml(photos="\n  - file: K\xe4the.jpg\n    alt: A figure."))

    assert any("its letters are stored otherwise there" in said for said in found), found


def test_a_photo_spelt_in_other_case_is_told(tmp_path: Path) -> None:
    text = makers.piece_yaml(photos="\n  - file: Front.JPG\n    alt: A figure.")

    assert "it is spelt 'front.jpg' there" in of_piece(tmp_path, text)[1]


@pytest.mark.parametrize("content", [b"not a picture", b"", b"\xff\xd8\xff\xe0 broken"])
def test_a_photo_that_is_no_picture_is_told(tmp_path: Path, content: bytes) -> None:
    folder = makers.studio(tmp_path)
    (folder / "pieces" / "ferry-ghost" / "front.jpg").write_bytes(content)

    found = complaints(folder)

    assert len(found) == 1
    assert found[0].startswith("pieces/ferry-ghost/piece.yaml, line 12: photo 'front.jpg': ")


def test_a_photo_outside_its_folder_is_refused(tmp_path: Path) -> None:
    folder = makers.studio(tmp_path)
    makers.photo(folder / "secret.jpg")
    makers.write(
        folder / "pieces" / "ferry-ghost" / "piece.yaml",
        makers.piece_yaml(photos="\n  - file: ../../secret.jpg\n    alt: A figure."),
    )

    assert any("photo '../../secret.jpg' isn't in the folder" in one for one in complaints(folder))


def test_two_folders_with_one_address_are_told(tmp_path: Path) -> None:
    pieces = {"night owl": makers.piece_yaml("A"), "night-owl": makers.piece_yaml("B", number="2026-02")}

    assert complaints(makers.studio(tmp_path, pieces)) == [
        "pieces/night-owl/piece.yaml: this folder and pieces/night owl both make the address 'night-owl'; "
        "rename one of them"
    ]


def test_two_pieces_with_one_number_are_told(tmp_path: Path) -> None:
    pieces = {"owl": makers.piece_yaml("A"), "toad": makers.piece_yaml("B")}

    assert complaints(makers.studio(tmp_path, pieces)) == [
        "pieces/owl/piece.yaml, line 3: number '2026-01' also belongs to toad; each piece has its own",
        "pieces/toad/piece.yaml, line 3: number '2026-01' also belongs to owl; each piece has its own",
    ]


@pytest.mark.parametrize("price", ["1,200", "€480", "480 EUR", "-3", "4.805", "12e3", "٤٨٠", "four hundred"])
def test_a_price_that_is_not_digits_and_a_point_is_told(tmp_path: Path, price: str) -> None:
    found = of_piece(tmp_path, makers.piece_yaml(price=price))

    assert len(found) == 1
    assert found[0].startswith("pieces/ghost/piece.yaml, line 4: price ")
    assert price.split(maxsplit=1)[0] in found[0]


def test_the_decimals_of_a_price_follow_the_currency(tmp_path: Path) -> None:
    folder = makers.studio(tmp_path, {"ghost": makers.piece_yaml(price="480.50")})
    makers.write(folder / "studio.yaml", makers.STUDIO.replace("EUR", "JPY"))

    assert "pieces/ghost/piece.yaml, line 4: price" in "\n".join(complaints(folder))


def test_a_date_that_does_not_exist_is_told(tmp_path: Path) -> None:
    assert of_piece(tmp_path, makers.piece_yaml(finished="2026-02-30")) == [
        "pieces/ghost/piece.yaml, line 5: finished '2026-02-30' is a date that doesn't exist; look at a calendar"
    ]


def test_an_unknown_key_gets_the_nearest_known_one(tmp_path: Path) -> None:
    assert of_piece(tmp_path, makers.piece_yaml() + "matirials: wax\n") == [
        "pieces/ghost/piece.yaml, line 18: unknown key 'matirials'; did you mean 'materials'?"
    ]


def test_an_unknown_key_deep_inside_gets_its_own_block(tmp_path: Path) -> None:
    text = makers.piece_yaml(private="\n  hours: {}\n  supplies:\n    - {what: wax, prize: 3}")

    assert of_piece(tmp_path, text) == [
        "pieces/ghost/piece.yaml, line 17: private › supplies › entry 1 › cost is missing; "
        "add a line like `cost: 23.50`",
        "pieces/ghost/piece.yaml, line 17: unknown key 'prize'; known here: what, cost",
    ]


def test_an_unknown_series_gets_the_nearest_known_one(tmp_path: Path) -> None:
    assert of_piece(tmp_path, makers.piece_yaml(series="Night Fery")) == [
        "pieces/ghost/piece.yaml, line 6: series 'Night Fery' isn't in studio.yaml; did you mean 'Night Ferry'?"
    ]


def test_a_sold_piece_offered_as_available_is_told(tmp_path: Path) -> None:
    text = makers.piece_yaml(private="\n  sold: {on: 2026-06-01, price: 480}")

    assert of_piece(tmp_path, text) == [
        "pieces/ghost/piece.yaml, line 2: status is 'available', but `private: sold:` says it was sold on "
        "2026-06-01; mark it sold, or take those lines out"
    ]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("title: *Ghost\nstatus: sold\n", "a text that starts with * must stand in quotes"),
        ("title: &Sons\nstatus: sold\n", "a text that starts with & must stand in quotes"),
        ("title: !Ghost\nstatus: sold\n", "a text that starts with ! must stand in quotes"),
        ("title: The Moth: a Clerk\nstatus: sold\n", "a colon and a space stand inside the text"),
        ('title: "Ghost\nstatus: sold\n', "a quote is opened here and never closed"),
        ("title Ghost\nstatus: sold\n", "the line lacks its colon"),
        ("title: @Ghost\nstatus: sold\n", "the text starts with a sign that means something else"),
        ("- Ghost\n", "the file must consist of lines like"),
        ("title: [Ghost\nstatus: sold\n", "never closed"),
        ("title: G\nstatus: sold\n---\ntitle: H\n", "splits the file in two"),
        ("", "title is missing"),
        ("".join(f"{' ' * depth}a:\n" for depth in range(600)), "nested too deeply"),
    ],
)
def test_what_yaml_trips_over_is_told_in_plain_words(tmp_path: Path, text: str, said: str) -> None:
    assert said in "\n".join(of_piece(tmp_path, text))


def test_brackets_without_end_are_told_with_their_file(tmp_path: Path) -> None:
    """How deep is too deep is the parser's affair, and its words are its own."""
    (told,) = of_piece(tmp_path, "a: " + "[" * 3000)

    assert told.startswith("pieces/ghost/piece.yaml")


def test_words_that_yaml_would_change_stay_words(tmp_path: Path) -> None:
    """`No`, `1984` and `12:30` are a boolean, a number and 750 to YAML 1.1; here they are titles."""
    pieces = {
        "a": makers.piece_yaml("No", number="2026-01"),
        "b": makers.piece_yaml("1984", number="2026-02"),
        "c": makers.piece_yaml("12:30", number="2026-03"),
    }

    studio = read(makers.studio(tmp_path, pieces)).sound()

    assert [piece.title for piece in studio.pieces] == ["No", "1984", "12:30"]


def test_a_file_in_another_encoding_is_told(tmp_path: Path) -> None:
    folder = makers.studio(tmp_path)
    (folder / "pieces" / "ferry-ghost" / "piece.yaml").write_bytes(
        "title: Zo\xeb\nstatus: sold\n".encode("cp1252")
    )

    assert complaints(folder) == [
        "pieces/ferry-ghost/piece.yaml, line 1: this isn't UTF-8 text; save the file again with the encoding UTF-8"
    ]


def test_faults_of_all_files_come_together(tmp_path: Path) -> None:
    folder = makers.studio(tmp_path, {"a": makers.piece_yaml(status="?"), "b": makers.piece_yaml(price="$3")})
    makers.write(folder / "studio.yaml", makers.STUDIO.replace("Europe/Dublin", "Europe/Dubln") + "them: x\n")
    makers.write(folder / "shows" / "x.yaml", "name: X\nfrom: 2027-03-02\nto: 2027-03-01\n")
    makers.write(folder / "pages" / "about.md", "No title\n")
    (folder / "people.csv").write_bytes(
        b"email,name,interests,joined,consent,evidence,left\r\nnobody,,,,,,\r\n"
    )
    makers.write(folder / "commissions.yaml", makers.COMMISSIONS.replace("way: draw", "way: drawn"))

    files = {complaint.file for complaint in read(folder).complaints}

    assert files == {
        "commissions.yaml", "pages/about.md", "people.csv", "pieces/a/piece.yaml", "pieces/b/piece.yaml",
        "shows/x.yaml", "studio.yaml",
    }  # fmt: skip


def test_rounds_shows_and_tiers_that_do_not_fit_are_told(tmp_path: Path) -> None:
    folder = makers.studio(tmp_path)
    text = makers.COMMISSIONS.replace("2027-01-23 20:00", "2027-01-15 20:00").replace(
        "tier: Small figure\n    step", "tier: Smal figure\n    step"
    )
    makers.write(folder / "commissions.yaml", text)

    found = complaints(folder)

    assert any("the round closes (2027-01-15 20:00) before it opens" in one for one in found)


def test_an_unknown_tier_is_told(tmp_path: Path) -> None:
    folder = makers.studio(tmp_path)
    text = makers.COMMISSIONS.replace("tier: Small figure\n    step", "tier: Smal figure\n    step")
    makers.write(folder / "commissions.yaml", text)

    assert complaints(folder) == [
        "commissions.yaml, line 14: tier 'Smal figure' is not one of Small figure; did you mean 'Small figure'?"
    ]


def test_a_folder_without_a_studio_is_told(tmp_path: Path) -> None:
    with pytest.raises(StudioFault, match=r"there is no studio\.yaml in"):
        read(tmp_path)


def test_a_photo_without_alt_and_a_price_left_open_are_warnings(tmp_path: Path) -> None:
    folder = makers.studio(tmp_path, {"ghost": makers.piece_yaml(price="", photos="\n  - file: front.jpg")})

    reading = read(folder)

    assert reading.studio is not None
    assert [str(complaint) for complaint in reading.warnings] == [
        "pieces/ghost/piece.yaml, line 2: the piece is available but has no price; add a line like `price: 480`",
        "pieces/ghost/piece.yaml, line 11: photo 'front.jpg' has no `alt:`; say in a sentence what it shows",
    ]


def test_every_place_still_to_fill_is_told_with_its_line(tmp_path: Path) -> None:
    folder = makers.studio(tmp_path)
    text = makers.STUDIO.replace("Lantern & Loam\n  1 Example Lane", "<your street>\n  <your town>")
    makers.write(folder / "studio.yaml", text)
    makers.write(folder / "pages" / "about.md", "# About\n\nI am <your name> from <your town>.\n")

    assert complaints(folder) == [
        "pages/about.md, line 3: still to fill in: <your name>; until then the page isn't shown",
        "pages/about.md, line 3: still to fill in: <your town>; until then the page isn't shown",
        "studio.yaml, line 8: still to fill in: <your street>",
        "studio.yaml, line 9: still to fill in: <your town>",
    ]


def test_names_taken_from_another_file_are_told_with_the_nearest_one(tmp_path: Path) -> None:
    """A round, a tier and an order that aren't there: file, line, likely meaning."""
    private = "\n  tier: Smal figure\n  order: A-2\n  hours: {sculpting: 3}"
    folder = makers.studio(tmp_path, {"ghost": makers.piece_yaml(private=private)})
    text = (folder / "commissions.yaml").read_text("utf-8")
    makers.write(
        folder / "commissions.yaml", text.replace("    step: on", "    round: Winter 2072\n    step: on")
    )

    assert complaints(folder) == [
        "commissions.yaml, line 15: A-1 names the round 'Winter 2072', which isn't under `rounds:`; did you mean "
        "'Winter 2027'?",
        "pieces/ghost/piece.yaml, line 15: tier 'Smal figure' isn't under `tiers:` in commissions.yaml, so these "
        "hours speak for no tier; did you mean 'Small figure'?",
        "pieces/ghost/piece.yaml, line 16: order 'A-2' isn't in the queue of commissions.yaml; did you mean "
        "'A-1'?",
    ]


def test_pieces_may_outlive_their_tier_and_order(tmp_path: Path) -> None:
    """What was given up or tidied away is worth a look, and stops nothing."""
    private = "\n  tier: Miniature\n  order: Z-9"
    reading = read(makers.studio(tmp_path, {"ghost": makers.piece_yaml(private=private)}))

    assert not reading.errors
    assert [complaint.message for complaint in reading.warnings] == [
        "tier 'Miniature' isn't under `tiers:` in commissions.yaml, so these hours speak for no tier; there are "
        "Small figure",
        "order 'Z-9' isn't in the queue of commissions.yaml; there are A-1",
    ]


@pytest.mark.parametrize("count", [1, 8, 9])
def test_known_names_are_listed_while_they_are_few(tmp_path: Path, count: int) -> None:
    """And a piece whose tier and order are there is fine."""
    private = "\n  tier: {}\n  order: A-1"
    pieces = {"good": private.format("Small figure"), "bad": private.format("Quilt")}
    made = makers.studio(tmp_path, {
        name: makers.piece_yaml(name, number="", private=lines) for name, lines in pieces.items()
    })  # fmt: skip
    more = "".join(f"  - {{name: {word * 5}, from_price: 1}}\n" for word in "JKVWXYZB"[: count - 1])
    makers.write(made / "commissions.yaml", makers.COMMISSIONS.replace("rounds:", f"{more}rounds:"))

    names = ", ".join(["Small figure", *(word * 5 for word in "JKVWXYZB"[: count - 1])])
    assert complaints(made) == [
        "pieces/bad/piece.yaml, line 14: tier 'Quilt' isn't under `tiers:` in commissions.yaml, so these hours "
        f"speak for no tier{f'; there are {names}' if count < 9 else ''}"
    ]


def test_money_for_a_piece_is_noted_in_one_place_and_against_a_price(tmp_path: Path) -> None:
    """A plan beside an order under way would count twice; one of which nobody knows the price, not at all."""
    plan = "  plan: {to: Ada, from: 2026-11-01, paid: 2026-11-02 100}"
    folder = makers.studio(
        tmp_path,
        {
            "ghost": makers.piece_yaml(private=f"\n  order: A-1\n{plan}"),
            "moth": makers.piece_yaml(number="2026-02", price="", status="on hold", private=f"\n{plan}"),
        },
    )

    assert complaints(folder) == [
        "pieces/ghost/piece.yaml, line 16: what comes in for A-1 is noted with that order in commissions.yaml "
        "(`sitegen order paid A-1 AMOUNT`); take `plan:` out, or the order",
        "pieces/moth/piece.yaml, line 14: nothing says what is paid for in parts; add a line like `price: 480` to "
        "the plan or the piece",
    ]


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ({"price": "[3]"}, "line 4: price must be a number, not a list or a group of lines"),
        ({"base": "{a: b}"}, "line 8: base must be one text, not a list or a group of lines"),
        ({"photos": "front.jpg"}, "line 11: photos must be a list: one entry a line, each with a hyphen and a space"),
        ({"photos": "[front.jpg]"}, "line 11: photos › entry 1 must be a group of lines, each a word, a colon and a value"),
        ({"private": "\n  hours: {sculpting: [3]}"}, "line 15: private › hours › sculpting must be a number, not a list or a group of lines"),
        ({"private": "\n  hours: 3"}, "line 15: private › hours must be a group of lines, each a word, a colon and a value"),
        ({"private": "\n  sold: {on: [1], price: 480}"}, "line 15: private › sold › entry 1 › on must be a date, not a list or a group of lines, like `on: 2026-05-14`"),
        ({"private": "\n  hours: {sculpting: 3}\n  hour: 3"}, "line 16: unknown key 'hour'; did you mean 'hours'?"),
        ({"title": "x" * 121}, "line 1: title is too long; write at most 120 characters"),
        ({"slug": "owl"}, "line 14: 'slug' is not written here; it comes from the folder's or file's name"),
        ({"mattterials": "x"}, "line 14: unknown key 'mattterials'; did you mean 'materials'?"),
    ],
)  # fmt: skip
def test_a_value_of_another_shape_is_told_with_what_to_write(
    tmp_path: Path, lines: dict[str, str], said: str
) -> None:
    lines = {"private": "", **lines}
    title = lines.pop("title", "Ghost")

    assert of_piece(tmp_path, makers.piece_yaml(title, **lines))[-1:] == [f"pieces/ghost/piece.yaml, {said}"]


def test_of_many_alike_the_first_are_told_and_the_others_counted(tmp_path: Path) -> None:
    """Twenty thousand unknown keys, or rows that say one thing wrong, are no page that anybody reads."""
    keys = "".join(f"odd{number}: 1\n" for number in range(20_000))
    folder = makers.studio(tmp_path, {"ghost": makers.piece_yaml(price="many") + keys})
    rows = "".join(f"p{number}@example.com,,,2026-01-02,letter,,\n" for number in range(50))
    makers.write(folder / "people.csv", f"email,name,interests,joined,consent,evidence,left\n{rows}")

    found = complaints(folder)

    assert len(found) == 1 + 21 + 21
    assert [said for said in found if "price" in said.partition(";")[0]]
    assert [said.rpartition("; ")[2] for said in found if "more like it" in said] == [
        "and 29 more like it in this file",
        "and 19979 more like it in this file",
    ]
    assert "people.csv, line 22: consent 'letter'" in "".join(found)
