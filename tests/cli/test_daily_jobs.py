"""The three daily jobs, from the outside."""

from __future__ import annotations

import csv
import email
import email.policy
from pathlib import Path

import pytest
from pypdf import PdfReader

from tests import makers
from tests.cli.runner import contents, run, times


def test_a_second_build_writes_nothing(tmp_path: Path) -> None:
    """Promise 5: same files in, same bytes out; nothing changed, nothing written."""
    folder = makers.studio(tmp_path / "s")
    assert run(folder, "build").exit_code == 0
    before = times(folder / "out")

    again = run(folder, "build")

    assert again.exit_code == 0
    assert "Files:   0 written, 0 taken away" in again.output
    assert times(folder / "out") == before


def test_a_sold_piece_vanishes_from_every_offer_and_other_pages_stay(tmp_path: Path) -> None:
    """Promise 1."""
    pieces = {
        "ferry-ghost": makers.piece_yaml("The Ferry Ghost", price="480"),
        "toad-bailiff": makers.piece_yaml("The Toad Bailiff", number="2026-02", price="731", series=""),
        "old-hare": makers.piece_yaml(
            "The Old Hare", number="2025-09", finished="2025-01-01", series="", status="sold"
        ),
    }
    folder = makers.studio(tmp_path / "s", pieces)
    run(folder, "build")
    before = contents(folder / "out" / "site")
    assert any(b"731" in page for name, page in before.items() if name.endswith((".html", ".xml")))

    assert run(folder, "piece", "mark", "toad-bailiff", "sold").exit_code == 0
    assert run(folder, "build").exit_code == 0

    after = contents(folder / "out" / "site")
    for name, page in after.items():
        if name.endswith((".html", ".xml")):
            assert b"731" not in page, name
    assert b"InStock" not in after["pieces/toad-bailiff/index.html"]
    assert b"Toad Bailiff" in after["pieces/toad-bailiff/index.html"]
    assert b"Toad Bailiff" not in after["gallery/available/index.html"]
    assert b"Toad Bailiff" not in after["available.xml"]
    for untouched in ("about/index.html", "privacy/index.html", "shows/index.html", "style.css"):
        assert after[untouched] == before[untouched]


def test_marking_a_piece_changes_one_line(tmp_path: Path) -> None:
    folder = makers.studio(tmp_path / "s")
    file = folder / "pieces" / "ferry-ghost" / "piece.yaml"
    file.write_bytes(file.read_bytes().replace(b"status: available", b"status: 'available'  # since May"))
    before = file.read_bytes()

    result = run(folder, "piece", "mark", "ferry-ghost", "on", "hold")

    assert result.output.startswith("ferry-ghost is now on hold.")
    assert file.read_bytes() == before.replace(b"'available'  # since May", b"'on hold'  # since May")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["ferry-gost", "sold"], "there is no piece 'ferry-gost'; did you mean 'ferry-ghost'?"),
        (["ferry-ghost", "solt"], "status: 'solt' is not one of in progress, available, on hold, sold"),
    ],
)
def test_marking_what_is_not_there_says_so(tmp_path: Path, words: list[str], said: str) -> None:
    folder = makers.studio(tmp_path / "s")

    result = run(folder, "piece", "mark", *words)

    assert result.exit_code == 1
    assert said in result.output
    assert "did you mean" in result.output


def test_adding_a_piece_copies_its_photos_and_builds(tmp_path: Path) -> None:
    folder = makers.studio(tmp_path / "s")
    photos = [makers.photo(tmp_path / "card" / "IMG 0041.JPG"), makers.photo(tmp_path / "card" / "Face.jpeg")]

    result = run(
        folder, "piece", "add", *map(str, photos), "--title", 'Zoë: "the # Clerk"', "--price", "612.50",
        "--alt", "She holds a key: a big one.",
    )  # fmt: skip

    assert result.exit_code == 0, result.output
    made = folder / "pieces" / "zoe-the-clerk"
    assert sorted(path.name for path in made.iterdir()) == ["face.jpeg", "img-0041.jpg", "piece.yaml"]
    assert (
        (made / "piece.yaml")
        .read_text(encoding="utf-8")
        .startswith(
            "title: 'Zoë: \"the # Clerk\"'\nnumber: 2026-02\nstatus: available\nprice: 612.50\nfinished: 2026-11-25\n"
        )
    )
    built = run(folder, "build")
    assert built.exit_code == 0, built.output
    page = (folder / "out" / "site" / "pieces" / "zoe-the-clerk" / "index.html").read_text(encoding="utf-8")
    assert "612.50" in page
    assert "She holds a key: a big one." in page


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--price", "480"], "the piece needs a title"),
        (["--title", "X", "--price", "1,200"], '1,200" has a comma'),
        (["--title", "X", "--status", "avail"], "status: 'avail' is not one of"),
        (["--title", "X", "--series", "Night Fery"], "did you mean 'Night Ferry'?"),
        (["--title", "X", "--finished", "2026-02-30"], "finished: '2026-02-30' is a date that doesn't exist"),
        (["--title", "The Ferry Ghost", "--slug", "ferry-ghost"], "pieces/ferry-ghost exists already"),
        (["--title", "X", "--slug", "../x"], "--slug '../x' may hold"),
    ],
)
def test_a_piece_that_cannot_be_added_leaves_nothing_behind(
    tmp_path: Path, words: list[str], said: str
) -> None:
    folder = makers.studio(tmp_path / "s")
    photo = makers.photo(tmp_path / "a.jpg")
    before = contents(folder)

    result = run(folder, "piece", "add", str(photo), *words)

    assert result.exit_code == 1
    assert said in result.output
    assert contents(folder) == before


def test_a_text_file_is_no_photo(tmp_path: Path) -> None:
    folder = makers.studio(tmp_path / "s")
    before = contents(folder)

    result = run(folder, "piece", "add", str(makers.write(tmp_path / "a.jpg", "hello")), "--title", "X")

    assert result.exit_code == 1
    assert "a.jpg: " in result.output
    assert contents(folder) == before


def test_a_title_in_another_script_gets_a_folder_by_its_number(tmp_path: Path) -> None:
    folder = makers.studio(tmp_path / "s")

    result = run(folder, "piece", "add", str(makers.photo(tmp_path / "a.jpg")), "--title", "月の守")

    assert result.exit_code == 0, result.output
    assert (folder / "pieces" / "piece-2026-02" / "piece.yaml").exists()
    assert run(folder, "build").exit_code == 0


def test_the_letter_goes_to_who_asked_and_to_nobody_who_left(tmp_path: Path) -> None:
    """Promise 3; Python's own parser reads the message."""
    folder = makers.studio(tmp_path / "s")

    result = run(folder, "announce", "commissions")

    assert result.exit_code == 0, result.output
    letter = folder / "out" / "letters" / "commissions-winter-2027"
    with (letter / "recipients.csv").open(encoding="utf-8", newline="") as file:
        assert [row["email"] for row in csv.DictReader(file)] == ["ana@mail.example"]
    with (letter / "skipped.csv").open(encoding="utf-8", newline="") as file:
        assert {row["email"] for row in csv.DictReader(file)} == {"ben@post.example", "gone@mail.example"}
    messages = [
        email.message_from_bytes(file.read_bytes(), policy=email.policy.default)
        for file in letter.glob("eml/*.eml")
    ]
    assert [str(message["To"].addresses[0].addr_spec) for message in messages] == ["ana@mail.example"]
    assert all(not part.defects for message in messages for part in message.walk())


def test_the_sheet_is_a_pdf_of_so_many_pages(tmp_path: Path) -> None:
    """pypdf is the independent reader."""
    folder = makers.studio(tmp_path / "s")

    result = run(folder, "sheet", "quayside-2027", "--paper", "letter", "--pages", "3")

    assert result.exit_code == 0, result.output
    pages = PdfReader(folder / "out" / "paper" / "sheet-quayside-2027.pdf").pages
    assert len(pages) == 3
    assert [round(float(side)) for side in pages[0].mediabox[2:]] == [612, 792]
    assert "Quayside Doll Fair" in pages[2].extract_text()


def test_a_broken_file_stops_the_build_and_leaves_the_old_site_whole(tmp_path: Path) -> None:
    """Promises 4 and 6."""
    folder = makers.studio(tmp_path / "s")
    run(folder, "build")
    before = times(folder / "out")
    makers.write(
        folder / "pieces" / "ferry-ghost" / "piece.yaml", makers.piece_yaml(status="gone", price="$3")
    )

    result = run(folder, "build")

    assert result.exit_code == 1
    assert "pieces/ferry-ghost/piece.yaml, line 2: status 'gone'" in result.output
    assert "pieces/ferry-ghost/piece.yaml, line 4: price" in result.output
    assert "Traceback" not in result.output
    assert times(folder / "out") == before


def test_check_prints_for_machines(tmp_path: Path) -> None:
    import json  # noqa: PLC0415

    folder = makers.studio(tmp_path / "s", {"ghost": makers.piece_yaml(status="gone")})

    result = run(folder, "check", "--json")

    assert result.exit_code == 1
    (complaint,) = json.loads(result.output)["complaints"]
    assert (complaint["file"], complaint["line"], complaint["level"]) == (
        "pieces/ghost/piece.yaml",
        2,
        "error",
    )
    assert complaint["message"].startswith("status 'gone' is not one of")


def test_wrong_usage_is_exit_code_two(tmp_path: Path) -> None:
    folder = makers.studio(tmp_path / "s")

    assert run(folder, "sheet", "--paper", "a3").exit_code == 2
    assert run(folder, "biuld").exit_code == 2


def test_a_folder_without_a_studio_is_exit_code_one(tmp_path: Path) -> None:
    result = run(tmp_path / "nowhere", "build")

    assert result.exit_code == 1
    assert "sitegen begin" in result.output


def test_nothing_private_reaches_anything_for_the_public(tmp_path: Path) -> None:
    """Promise 2: every private value of the made studio, looked for in every byte of out/site and paper."""
    folder = makers.studio(tmp_path / "s")
    run(folder, "build")
    run(folder, "sheet")
    secrets = [
        b"Secret Client",
        b"secret.client",
        b"Waiting Client",
        b"waiting.client",
        b"23.57",
        b"ana@mail",
        b"310",
    ]

    for name, content in contents(folder / "out" / "site").items():
        if name.endswith((".html", ".xml", ".ics", ".txt", ".json")):
            assert not [secret for secret in secrets if secret in content], name
    text = "".join(
        page.extract_text() for page in PdfReader(next((folder / "out" / "paper").glob("*.pdf"))).pages
    )
    assert not [secret for secret in secrets[:6] if secret.decode() in text]


def test_begin_gives_a_studio_that_builds_as_it_is(tmp_path: Path) -> None:
    made = run(tmp_path, "begin", str(tmp_path / "mine"))
    built = run(tmp_path / "mine", "build")
    checked = run(tmp_path / "mine", "check")

    assert made.exit_code == 0, made.output
    assert built.exit_code == 0, built.output
    assert checked.exit_code == 0
    assert "studio.yaml, line 5: still to fill in: <your name>" in checked.output
    assert "Nothing to mend." in checked.output


def test_begin_never_writes_over_what_is_there(tmp_path: Path) -> None:
    makers.write(tmp_path / "mine" / "precious.txt", "mine")

    result = run(tmp_path, "begin", str(tmp_path / "mine"))

    assert result.exit_code == 1
    assert "is not empty" in result.output
    assert contents(tmp_path / "mine") == {"precious.txt": b"mine"}


def test_the_starter_refuses_to_write_letters_before_it_is_filled_in(tmp_path: Path) -> None:
    run(tmp_path, "begin", str(tmp_path / "mine"))

    result = run(tmp_path / "mine", "announce", "commissions")

    assert result.exit_code == 1
    assert not (tmp_path / "mine" / "out" / "letters").exists()
