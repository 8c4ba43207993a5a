"""A piece is away, at a gallery, in an exhibition, on loan, or rests: what the public is told, and what not."""

from __future__ import annotations

import csv
import io
import json
import shutil
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest
from lxml import html

from sitegen.letters.announce import Writing
from sitegen.letters.kinds import announce_pieces
from sitegen.paper.cards import cards, certificate
from sitegen.paper.press import Printer
from sitegen.sources import read
from sitegen.studio.asked import Fault, LetterFault
from sitegen.studio.workload import workload
from tests import makers
from tests.cli.runner import on, own, run
from tests.letters.studio import PEOPLE, room
from tests.paper.reading import flowing
from tests.site.studio import DUBLIN, front, make_site, pages, theme

GHOST = "pieces/ferry-ghost/index.html"
AT_THE_GALLERY = (
    "piece", "out", "ferry-ghost", "--to", "The Heron Room", "--town", "Lower Tansey", "--link",
    "https://heron-room.example/", "--until", "2027-01-31", "--share", "37.5%", "--lowest", "457.13",
)  # fmt: skip


@pytest.fixture
def studio(tmp_path: Path) -> Path:
    """Two pieces of one series, both to be had."""
    heron = makers.piece_yaml("Heron", number="2026-02", price="260")
    return makers.studio(tmp_path / "s", {"ferry-ghost": makers.piece_yaml(), "heron": heron})


def done(studio: Path, *words: str) -> str:
    result = run(studio, *words)
    assert result.exit_code == 0, result.output
    return result.output


def offer_of(page: html.HtmlElement) -> dict[str, Any] | None:
    (block,) = page.xpath("//script[@type='application/ld+json']")
    (piece,) = [load for load in json.loads(block.text)["@graph"] if load["@type"] == "VisualArtwork"]
    offer: dict[str, Any] | None = piece.get("offers")
    return offer


@pytest.mark.parametrize(
    ("name", "language", "said"),
    [("case", "en", "It can be seen and bought at The Heron Room, Lower Tansey, until 31 January 2027."),
     ("handbill", "de", "Zu sehen und zu kaufen: The Heron Room, Lower Tansey, bis 31. Januar 2027.")],
)  # fmt: skip
def test_a_piece_at_a_gallery_is_bought_there_and_nowhere_else(
    studio: Path, name: str, language: str, said: str
) -> None:
    """On its page, in the feed, in the letter, on its card; InStoreOnly is schema.org's word (release 30.0)."""
    file = studio / "studio.yaml"
    buy = f"language: {language}\nbuy_at: 'https://shop.example/{{slug}}'"
    file.write_text(file.read_text("utf-8").replace("language: en", buy), "utf-8")
    done(studio, *AT_THE_GALLERY)
    make_site(studio, name)
    page = pages(studio / "out/site")[GHOST]
    view = front(studio)
    letter = announce_pieces(Writing(view, PEOPLE, room(studio)), ("ferry-ghost",))
    text = (letter.folder / "letter.txt").read_text("utf-8")

    for words in (page.text_content(), text, (studio / "out/site/feed.xml").read_text("utf-8")):
        assert said in " ".join(words.split())
    assert said in " ".join(
        flowing(cards(Printer(view, theme(name), "a4"), [view.pieces[1], view.pieces[0]])).split()
    )
    assert "shop.example" not in (studio / "out/site" / GHOST).read_text("utf-8")
    assert "https://heron-room.example/" in page.xpath("//main//a/@href")
    assert page.xpath("//table[@class='plan']") == []
    assert offer_of(page) == {
        "@type": "Offer", "availability": "https://schema.org/InStoreOnly", "price": "480.00",
        "priceCurrency": "EUR", "itemCondition": "https://schema.org/NewCondition",
        "url": "https://lantern.example/pieces/ferry-ghost/",
        "seller": {"@type": "Organization", "name": "The Heron Room", "url": "https://heron-room.example/"},
        "availableAtOrFrom": {"@type": "Place", "name": "The Heron Room", "address": "Lower Tansey"},
    }  # fmt: skip
    heron = pages(studio / "out/site")["pieces/heron/index.html"]
    assert (offer_of(heron) or {})["availability"] == "https://schema.org/InStock"
    assert "shop.example/heron" in "".join(heron.xpath("//main//a/@href"))
    assert "There is one of it" not in text
    assert "Es gibt nur dieses eine" not in text


def test_nothing_agreed_on_reaches_the_public(studio: Path, tmp_path: Path) -> None:
    """Share, lowest price, net and buyer are looked for in every byte of site, letters and paper."""
    done(studio, *AT_THE_GALLERY)
    done(
        studio,
        "piece",
        "mark",
        "ferry-ghost",
        "sold",
        "--price",
        "461.77",
        "--on",
        "2026-11-25",
        "--to",
        "Quillon Buyer",
    )
    done(studio, "piece", "out", "heron", "--to", "The Long Room", "--as", "exhibition", "--share", "41.5%")
    done(studio, "build")
    done(studio, "announce", "pieces", "heron")
    done(studio, "cards", "heron")
    done(studio, "certificate", "ferry-ghost")
    files = [path for path in (studio / "out").rglob("*") if path.is_file() and "/." not in path.as_posix()]
    papers = "".join(flowing(path.read_bytes()) for path in files if path.suffix == ".pdf")
    whole = b"\n".join(path.read_bytes() for path in files) + papers.encode()

    assert len(files) > 40
    # By hand: 37.5 % of 461.77 is 173.16375, to the coin 173.16; 288.61 is hers.
    for secret in ("37.5", "457.13", "461.77", "173.16", "288.61", "Quillon", "41.5"):
        assert secret.encode() not in whole, secret
    assert b"The Long Room" in whole


def test_what_is_only_shown_elsewhere_is_bought_from_the_artist(studio: Path) -> None:
    said = "On show at The Long Room, until 1 March 2027."
    done(
        studio,
        "piece",
        "out",
        "ferry-ghost",
        "--to",
        "The Long Room",
        "--as",
        "exhibition",
        "--until",
        "2027-03-01",
    )
    make_site(studio)
    page = pages(studio / "out/site")[GHOST]

    assert said in page.text_content().replace("\N{NO-BREAK SPACE}", " ")
    assert "stays in the studio" not in page.text_content()
    assert (offer_of(page) or {})["availability"] == "https://schema.org/InStock"
    assert "I%20would%20like%20The%20Ferry%20Ghost" in (studio / "out/site" / GHOST).read_text("utf-8")
    done(studio, "piece", "back", "ferry-ghost")
    make_site(studio)
    assert "Long Room" not in pages(studio / "out/site")[GHOST].text_content()


@pytest.mark.parametrize(("name", "status"), [("case", "available"), ("handbill", "sold")])
def test_a_piece_that_rests_hangs_nowhere_and_keeps_its_page(studio: Path, name: str, status: str) -> None:
    """Whoever holds its certificate finds it; no price, no offer, no way there from any other page."""
    private = (
        "\n  sold: {on: 2026-06-01, price: 480, to: Quillon Buyer}" if status == "sold" else "\n  tier: x"
    )
    makers.add_piece(studio, "ferry-ghost", makers.piece_yaml(status=status, private=private))
    done(studio, "piece", "out", "ferry-ghost", "--as", "resting")
    make_site(studio, name)
    site = studio / "out/site"
    page = pages(site)[GHOST]

    naming = [
        path.relative_to(site).as_posix() for path in site.rglob("*")
        if path.suffix in {".html", ".xml"} and b"ferry-ghost/" in path.read_bytes().replace(b"pictures/ferry-ghost/", b"")
    ]  # fmt: skip
    assert naming == [GHOST]
    assert page.xpath("//meta[@name='robots']/@content") == ["noindex"]
    assert "This piece is resting and isn’t on show just now." in page.text_content()
    assert offer_of(page) is None
    assert "480" not in page.text_content()
    assert "Quillon" not in html.tostring(page, encoding="unicode")
    view = front(studio)
    with pytest.raises(LetterFault, match="only what is available can be offered"):
        announce_pieces(Writing(view, PEOPLE, room(studio)), ("ferry-ghost",))
    address = "lantern.example/pieces/ferry-ghost"
    piece = view.piece("ferry-ghost")
    assert piece is not None
    assert address in flowing(certificate(Printer(view, theme(name), "a4"), piece)).replace("\n", "")
    done(studio, "piece", "back", "ferry-ghost")
    make_site(studio, name)
    assert b"ferry-ghost/" in (site / "gallery/index.html").read_bytes()


def test_cards_for_a_table_leave_out_what_is_elsewhere(studio: Path) -> None:
    done(studio, *AT_THE_GALLERY)
    view = front(studio)

    printed = flowing(cards(Printer(view, theme(), "a4"), None))
    assert "Heron" in printed
    assert "Ferry Ghost" not in printed
    done(studio, "piece", "out", "heron", "--to", "The Long Room", "--as", "loan")
    with pytest.raises(Fault, match="no piece is available just now"):
        cards(Printer(front(studio), theme(), "a4"), None)


def test_a_day_that_is_over_is_not_told_the_public_and_is_named_to_the_artist(studio: Path) -> None:
    done(studio, *AT_THE_GALLERY)
    file = "pieces/ferry-ghost/piece.yaml"
    late = "2027-02-01"

    assert "due back" not in on("2027-01-31", studio, "check").output
    (named,) = [one for one in on(late, studio, "check").output.splitlines() if "due back" in one]
    line = (studio / file).read_text("utf-8").splitlines().index("    until: 2027-01-31") + 1
    assert named.startswith(
        f"{file}, line {line}: it was due back from The Heron Room on 2027-01-31; `sitegen"
    )
    (errand,) = [
        load
        for load in json.loads(on(late, studio, "today", "--json").stdout)["errands"]
        if load["kind"] == "piece due back"
    ]
    assert (errand["by"], errand["target"]) == ("2027-01-31", {"kind": "piece", "name": "ferry-ghost"})
    assert "sitegen piece back ferry-ghost" in on(late, studio, "today").output
    make_site(studio, moment=datetime(2027, 2, 1, 12, tzinfo=DUBLIN))
    said = (studio / "out/site" / GHOST).read_text("utf-8")
    assert "It can be seen and bought at The Heron Room, Lower Tansey.<" in said
    on(late, studio, "piece", "out", "ferry-ghost", "--until", "2027-03-31")
    assert "due back" not in on(late, studio, "check").output


REFUSED = {
    ("piece", "out", "ferry-ghost"): "where does ferry-ghost go?",
    ("piece", "back", "heron"): "heron isn't out",
    ("piece", "out", "heron", "--to", "X", "--until", "2020-01-01"): "lies before since",
    ("piece", "out", "heron", "--to", "X", "--share", "140%"): "is not between 0% and 100%",
    ("piece", "out", "herron", "--to", "X"): "did you mean",
    ("piece", "out", "owl", "--to", "X"): "was sold on 2026-06-01, so no gallery can sell it",
    ("piece", "mark", "heron", "sold", "--price", "10", "--fee", "11"): "more than it was sold for",
}  # fmt: skip


@pytest.mark.parametrize("words", REFUSED)
def test_what_cannot_be_is_refused_and_nothing_is_written(studio: Path, words: tuple[str, ...]) -> None:
    private = "\n  sold: {on: 2026-06-01, price: 480}"
    makers.add_piece(studio, "owl", makers.piece_yaml("Owl", "sold", number="2026-03", private=private))
    before = own(studio)
    result = run(studio, *words)

    assert result.exit_code == 1
    assert REFUSED[words] in " ".join(result.output.split())
    assert own(studio) == before


def test_a_piece_in_one_place_cannot_go_to_another(studio: Path) -> None:
    done(studio, *AT_THE_GALLERY)
    before = own(studio)

    assert (
        "at The Heron Room, out since 2026-11-25"
        in run(studio, "piece", "out", "ferry-ghost", "--to", "Y").output
    )
    assert own(studio) == before
    file = studio / "pieces/ferry-ghost/piece.yaml"
    file.write_text(
        file.read_text("utf-8").replace("private: \n", "  - {place: Y, since: 2026-12-01}\nprivate: \n"),
        "utf-8",
    )
    assert (
        "away since 2026-12-01, but out since 2026-11-25 too (The Heron Room)" in run(studio, "check").output
    )


def test_a_sale_there_that_tells_of_no_fee_is_named(studio: Path) -> None:
    done(studio, *AT_THE_GALLERY)
    done(studio, "piece", "mark", "ferry-ghost", "sold", "--price", "450", "--yes")
    file = studio / "pieces/ferry-ghost/piece.yaml"

    assert "the lowest price agreed on is 457.13" in " ".join(run(studio, "check").output.split())
    file.write_text(file.read_text("utf-8").replace("    fee: 168.75\n", ""), "utf-8")
    assert "nothing says what they kept" in run(studio, "check").output


def test_what_rests_on_the_bench_takes_no_time(studio: Path) -> None:
    """`slots` plans without it; back again, it plans with it."""
    text = makers.piece_yaml("Owl", "in progress", number="", price="", finished="")
    makers.add_piece(studio, "owl", text)

    def planned() -> list[str]:
        return [piece.slug for piece in workload(read(studio).sound(), date(2026, 11, 25)).own]

    assert planned() == ["owl"]
    done(studio, "piece", "out", "owl", "--as", "resting")
    assert planned() == []
    done(studio, "piece", "back", "owl")
    assert planned() == ["owl"]


# The register.


def register(studio: Path) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = json.loads(done(studio, "piece", "register", "--json"))["numbers"]
    return found


def test_a_number_is_never_given_twice(studio: Path, tmp_path: Path) -> None:
    """Not of a piece whose folder is gone, nor of one that was taken back; a renamed one keeps its own."""
    photo = str(makers.photo(tmp_path / "p.jpg"))
    done(studio, "piece", "add", photo, "--title", "Owl")
    shutil.rmtree(studio / "pieces/owl")
    done(studio, "piece", "add", photo, "--title", "Owl")
    done(studio, "undo")
    done(studio, "piece", "add", photo, "--title", "Toad")
    (studio / "pieces/heron").rename(studio / "pieces/grey-heron")

    told = [(one["number"], one["piece"], one["standing"]) for one in register(studio)]
    assert told == [
        ("2026-01", "ferry-ghost", "available"), ("2026-02", "grey-heron", "available"), ("2026-03", "owl", "gone"),
        ("2026-04", "owl", "gone"), ("2026-05", "toad", "available"),
    ]  # fmt: skip
    table = list(csv.DictReader(io.StringIO(done(studio, "piece", "register", "--csv"))))
    assert table == register(studio)
    screen = done(studio, "piece", "register").splitlines()
    assert [line.split()[0] for line in screen] == [one["number"] for one in register(studio)]


@pytest.mark.parametrize("words", [("build",), ("certificate", "heron")])
def test_a_number_that_went_out_into_the_world_is_known(
    studio: Path, tmp_path: Path, words: tuple[str, ...]
) -> None:
    done(studio, *words)
    shutil.rmtree(studio / "pieces/heron")
    done(studio, "piece", "add", str(makers.photo(tmp_path / "p.jpg")), "--title", "Owl")

    assert [one["number"] for one in register(studio)] == ["2026-01", "2026-02", "2026-03"]
    assert "backup" not in run(studio, "check").output  # nothing was posted yet


def test_check_complains_of_a_number_given_twice(studio: Path) -> None:
    done(studio, "build")
    twice = makers.piece_yaml("Toad", number="2026-02", price="10")
    makers.add_piece(studio, "toad", twice)
    assert "number '2026-02' also belongs to heron" in run(studio, "check").output
    shutil.rmtree(studio / "pieces/heron")
    (named,) = [one for one in run(studio, "check").output.splitlines() if "number 2026-02" in one]
    assert "was given to heron before (“Heron”)" in named
    assert named.startswith("pieces/toad/piece.yaml, line ")
    file = studio / "pieces/toad/piece.yaml"
    file.write_text(file.read_text("utf-8") + "was: heron\n", "utf-8")
    assert "number 2026-02" not in run(studio, "check").output


def test_a_register_that_cannot_be_read_gives_no_number(studio: Path, tmp_path: Path) -> None:
    done(studio, "build")
    (studio / "sent/register.csv").write_bytes(b"\xff\x00")
    before = own(studio)
    result = run(studio, "piece", "add", str(makers.photo(tmp_path / "p.jpg")), "--title", "Owl")

    assert result.exit_code == 1
    assert "sent/register.csv can't be read; bring it back from a backup" in " ".join(result.output.split())
    assert own(studio) == before
    assert "register.csv" in run(studio, "check").output


def test_a_gallery_that_pays_later_is_asked_for_noted_and_reminded_of(studio: Path) -> None:
    """37.5 % of 480 is 180, so 300 is hers; sold on 20 November and paid after 30 days: due on 20 December."""
    file = studio / "pieces" / "ferry-ghost" / "piece.yaml"
    done(studio, *AT_THE_GALLERY, "--since", "2026-11-02", "--pays-in", "30")
    assert "pays_in: 30" in file.read_text("utf-8")

    said = done(studio, "piece", "mark", "ferry-ghost", "sold", "--price", "480", "--on", "2026-11-20")
    assert "The Heron Room keeps 180.00 EUR, 300.00 EUR is yours, due on 2026-12-20" in " ".join(said.split())
    assert "due: 2026-12-20" in file.read_text("utf-8")
    books = json.loads(done(studio, "books", "--json"))
    assert (books["income"]["originals"], books["received"], books["unpaid"]) == (
        "480.00",
        "180.00",
        "300.00",
    )
    assert {row["code"]: (row["balance"], row["due_now"]) for row in books["owed"]}["ferry-ghost"] == (
        "300.00",
        "0.00",
    )
    ahead = json.loads(done(studio, "money", "ahead", "--json"))
    (december,) = [one for one in ahead["months"] if one["month"] == "2026-12"]
    assert ("ferry-ghost", "2026-12-20", "to come", "300.00") in [
        tuple(one.values()) for one in december["parts"]
    ]

    assert "300.00 EUR for The Ferry Ghost" not in on("2026-12-20", studio, "today").output
    late = " ".join(on("2026-12-23", studio, "today").output.split())
    assert (
        "300.00 EUR for The Ferry Ghost should have come from The Heron Room 3 days ago, Sunday 20 December."
        in late
    )
    assert "sitegen piece mark ferry-ghost sold --paid DATE" in late

    before = own(studio)
    again = on(
        "2026-12-23", studio, "piece", "mark", "ferry-ghost", "sold", "--paid", "2026-12-22", "--price", "470"
    )
    assert "was sold on 2026-11-20 for 480.00 EUR already" in again.output
    early = on("2026-12-23", studio, "piece", "mark", "ferry-ghost", "sold", "--paid", "2026-11-19")
    assert "--paid 2026-11-19 lies before the sale, 2026-11-20" in early.output
    ahead_of = on("2026-12-23", studio, "piece", "mark", "ferry-ghost", "sold", "--paid", "2026-12-24")
    assert "lies ahead" in ahead_of.output
    assert (
        on(
            "2026-12-23", studio, "piece", "mark", "ferry-ghost", "available", "--paid", "2026-12-22"
        ).exit_code
        == 1
    )
    assert own(studio) == before

    at_once = on("2026-12-23", studio, "piece", "mark", "ferry-ghost", "sold", "--paid", "2026-11-20")
    assert at_once.exit_code == 0, at_once.output
    assert json.loads(on("2026-12-23", studio, "books", "--json").output)["unpaid"] == "0.00"
    came = on("2026-12-23", studio, "piece", "mark", "ferry-ghost", "sold", "--paid", "2026-12-22")
    assert "its money is noted as paid on 2026-12-22" in came.output
    assert "should have come from" not in on("2026-12-23", studio, "today").output
    year = json.loads(on("2026-12-23", studio, "books", "--json").output)
    assert (year["received"], year["unpaid"]) == ("480.00", "0.00")


def test_who_is_asked_about_a_sale_at_a_gallery_is_asked_when_it_pays(
    studio: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nothing typed: the money is here, as of any sale; elsewhere nobody is asked."""
    monkeypatch.setattr("sitegen.terminal.telling.someone_is_there", lambda: True)
    done(studio, *AT_THE_GALLERY)
    file = studio / "pieces" / "ferry-ghost" / "piece.yaml"

    asked = run(
        studio, "piece", "mark", "ferry-ghost", "sold", typed="480\n2026-11-25\noriginals\n\n2027-01-10\n"
    )
    assert "Its money comes on (Enter: it's here)" in asked.output
    assert "due: 2027-01-10" in file.read_text("utf-8")
    done(studio, "undo")
    run(studio, "piece", "mark", "ferry-ghost", "sold", typed="480\n2026-11-25\noriginals\n\n\n")
    assert "price: 480" in file.read_text("utf-8")
    assert "due:" not in file.read_text("utf-8")
    heron = run(studio, "piece", "mark", "heron", "sold", typed="260\n2026-11-25\noriginals\n\n")
    assert "Its money comes" not in heron.output
