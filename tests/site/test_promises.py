"""The promises that a site makes to collectors and to the artist, seen from outside."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from lxml import html

from sitegen.site import build
from sitegen.studio.asked import Fault
from sitegen.studio.piece import Status
from sitegen.voice.theme_files import ThemeFiles
from tests import makers
from tests.site.studio import THEMES, front, make_site, pages, pictures, snapshot, theme
from tests.themes import theme_in

PRICE = "4871"


def two_pieces(folder: Path) -> Path:
    """Write a studio with one piece on offer at a price that is found nowhere else, and one other."""
    return makers.studio(
        folder,
        {
            "night-nurse": makers.piece_yaml("The Night Nurse", price=PRICE, number="2026-02"),
            "ferry-ghost": makers.piece_yaml("The Ferry Ghost", "sold", series=""),
        },
    )


def offers(page: html.HtmlElement) -> list[object]:
    """Return every offer in a page's structured data."""
    found: list[object] = []
    for block in page.xpath("//script[@type='application/ld+json']"):
        found += [load["offers"] for load in json.loads(block.text)["@graph"] if "offers" in load]
    return found


@pytest.mark.parametrize("name", THEMES)
def test_what_is_not_available_is_offered_nowhere(tmp_path: Path, name: str) -> None:
    """No price, no way to buy and no offer, on any page, in any feed, in any file."""
    hidden = [status.value for status in Status if not status.offered]
    made = {
        f"night-nurse-{number}": makers.piece_yaml("The Night Nurse", status, price=PRICE, number="")
        for number, status in enumerate(hidden)
    }
    studio = makers.studio(
        tmp_path, made | {"ferry-ghost": makers.piece_yaml("The Ferry Ghost", "sold", series="")}
    )
    make_site(studio, name)
    site = studio / "out" / "site"

    shown = [file for file in site.rglob("*") if file.suffix in {".html", ".xml", ".ics", ".css", ".txt"}]
    texts = {file.relative_to(site).as_posix(): file.read_text("utf-8") for file in shown}
    assert len(texts) > 15
    assert [path for path, text in texts.items() if PRICE in text or "4,871" in text] == []
    there = pages(site)
    assert [path for path, page in there.items() if offers(page)] == []
    assert not any("I%20would%20like%20The%20Night%20Nurse" in text for text in texts.values())
    assert "night-nurse" not in texts["available.xml"]
    hung = there["gallery/available/index.html"].xpath("//main//a/@href | //main//img/@src")
    assert [link for link in hung if "night-nurse" in link] == []
    own = [text for path, text in texts.items() if path.startswith("pieces/night-nurse-")]
    assert len(own) == len(hidden)
    assert not any("Sent insured" in text for text in own)


@pytest.mark.parametrize("name", THEMES)
def test_what_is_available_is_offered_wherever_it_hangs(tmp_path: Path, name: str) -> None:
    """The same look at a piece that can be bought finds what the test above must not find."""
    studio = two_pieces(tmp_path)
    make_site(studio, name)
    site = studio / "out" / "site"

    for path in (
        "gallery/index.html",
        "gallery/available/index.html",
        "gallery/series/night-ferry/index.html",
        "pieces/night-nurse/index.html",
    ):
        assert "€4,871" in pages(site)[path].text_content()
    assert "€4,871" in (site / "available.xml").read_text("utf-8")
    assert "€4,871" in (site / "feed.xml").read_text("utf-8")
    assert "Sent insured" in pages(site)["pieces/night-nurse/index.html"].text_content()
    assert offers(pages(site)["pieces/night-nurse/index.html"])[0]["price"] == "4871.00"  # type: ignore[index]
    assert "I%20would%20like%20The%20Night%20Nurse" in (site / "pieces/night-nurse/index.html").read_text(
        "utf-8"
    )


@pytest.mark.parametrize("name", THEMES)
def test_neighbours_say_their_standing_and_the_foot_the_address(tmp_path: Path, name: str) -> None:
    """Beside a sold piece hangs one that can be bought, at its price; beside that one, a sold one."""
    other = makers.piece_yaml("The Ferry Ghost", "sold")
    bought = makers.piece_yaml("The Night Nurse", "available", price=PRICE, number="2026-02")
    studio = makers.studio(tmp_path, {"night-nurse": bought, "ferry-ghost": other})
    make_site(studio, name)
    shown = pages(studio / "out" / "site")

    for slug, said in (("ferry-ghost", "€4,871"), ("night-nurse", "sold")):
        assert said in shown[f"pieces/{slug}/index.html"].xpath("string(//main/section[last()])")
    address = ", ".join(front(studio).card.postal_address.splitlines())
    assert [
        path
        for path, page in shown.items()
        if address not in " ".join(page.xpath("string(//footer)").split())
    ] == []


def test_selling_one_piece_leaves_pages_that_do_not_speak_of_it_alone(tmp_path: Path) -> None:
    """Only pages that show the piece's standing, or count what is available, get other bytes."""
    studio = two_pieces(tmp_path)
    make_site(studio)
    file = studio / "pieces" / "night-nurse" / "piece.yaml"
    file.write_text(file.read_text("utf-8").replace("status: available", "status: sold"), "utf-8")
    built = make_site(studio)

    assert set(built.written) == {
        "index.html",
        "gallery/index.html",
        "gallery/available/index.html",
        "gallery/2026/index.html",
        "gallery/series/night-ferry/index.html",
        "pieces/night-nurse/index.html",
        "available.xml",
        "feed.xml",
        # The day of its last change isn't public any more.
        "sitemap.xml",
    }
    assert built.removed == ()


def test_nothing_private_reaches_the_site(tmp_path: Path) -> None:
    """Every private value of every file is looked for in every byte of the output."""
    secrets = [
        "Quillon Buyer",
        "98765",
        "777.77",
        "eel-skin gloves",
        "1313",
        "4242",
        "whisper",
        "22.75",
        "84.19",
        "1052.21",
        "by the sack",
        "priced",
        "2026-06-07",
        "harbour-dues",
        "2031-05-05",
        "star-on-loan",
    ]
    studio = makers.studio(
        tmp_path,
        {
            "ferry-ghost": makers.piece_yaml(
                status="sold",
                private=(
                    "\n  priced: 2026-06-07\n  hours: {whisper: 777.77}\n  supplies:\n    - {what: eel-skin gloves, cost: 13.13}"
                    "\n  sold: {on: 2026-06-01, price: 98765, stream: shows, to: Quillon Buyer}"
                ),
            )
        },
    )
    makers.write(studio / "shows" / "quayside-2027.yaml", makers.SHOW.replace("137", "4242"))
    makers.write(studio / "shows" / "heads-2027.yaml", makers.CLASS)
    show = studio / "shows" / "quayside-2027.yaml"
    makers.write(show, show.read_text() + "bring: ferry-ghost, star-on-loan\n")
    makers.write(studio / "pieces" / "star-on-loan" / "piece.yaml", "title: <not yet>\nstatus: in progress\n")
    file = studio / "studio.yaml"
    makers.write(
        file, f"{file.read_text()}  checklist: [{{what: harbour-dues, due: 2031-05-05}}]\nconfirm: yes\n"
    )
    make_site(studio)
    whole = b"\n".join(file.read_bytes() for file in (studio / "out" / "site").rglob("*") if file.is_file())

    people = ["ana@mail.example", "Ana Å", "ben@post.example", "gone@mail.example"]
    clients = ["Secret Client", "secret.client", "Waiting Client", "waiting.client", "A-1", "431"]
    for secret in [*secrets, *people, *clients, "overhead", "310"]:
        assert secret.encode() not in whole.replace(b"1080", b""), secret


def test_a_second_build_writes_nothing(tmp_path: Path) -> None:
    """Not a file and not a folder of the out folder gets a new time."""
    studio = makers.studio(tmp_path)
    make_site(studio)
    before = snapshot(studio / "out")
    built = make_site(studio)

    assert (built.written, built.removed) == ((), ())
    assert built.unchanged > 20
    assert snapshot(studio / "out") == before


def test_the_same_files_give_the_same_bytes_anywhere(tmp_path: Path) -> None:
    """Two studios with the same files, written in another order, become the same site."""
    first_piece = {"a": makers.piece_yaml("A")}
    second_piece = {"b": makers.piece_yaml("B", number="2026-02")}
    one = makers.studio(tmp_path / "one", first_piece | second_piece)
    other = makers.studio(tmp_path / "other", second_piece | first_piece)
    for studio in (one, other):
        make_site(studio)

    first, second = (
        {path: data for path, (_, data) in snapshot(studio / "out" / "site").items()}
        for studio in (one, other)
    )
    assert first == second


def test_the_page_does_not_know_when_it_was_built(tmp_path: Path) -> None:
    """A day on which no round and no show changes its state leaves every byte alone."""
    studio = makers.studio(tmp_path)
    make_site(studio)
    view = front(studio).moment
    built = make_site(studio, moment=view.replace(day=26, hour=3))

    assert (built.written, built.removed) == ((), ())


def test_an_opening_changes_what_it_must(tmp_path: Path) -> None:
    """Once the round opens, home and commissions say so."""
    studio = makers.studio(tmp_path)
    make_site(studio)
    site = studio / "out" / "site"
    assert "Winter 2027 opens Saturday 16 January 2027, 12:00 Dublin time (12:00 UTC)" in " ".join(
        pages(site)["index.html"].text_content().split()
    )
    assert "next round" in pages(site)["commissions/index.html"].text_content()
    built = make_site(studio, moment=front(studio).moment.replace(year=2027, month=1, day=17))

    assert "next round" not in pages(site)["commissions/index.html"].text_content()
    assert {"index.html", "commissions/index.html"} <= set(built.written)
    assert "Winter 2027 is open until Saturday 23 January 2027, 20:00 Dublin time (20:00 UTC)" in " ".join(
        pages(site)["index.html"].text_content().split()
    )


def test_a_photo_that_could_not_be_made_is_left_out(tmp_path: Path) -> None:
    """The page goes without the picture; nothing else is missing."""
    studio = makers.studio(tmp_path)
    view = front(studio)
    build(view, {}, theme(), studio / "out")
    page = pages(studio / "out" / "site")["pieces/ferry-ghost/index.html"]

    assert page.xpath("//main//img") == []
    assert page.xpath("string(//h1)") == "The Ferry Ghost"


def test_a_fault_in_a_template_names_file_and_line_and_leaves_the_old_site(tmp_path: Path) -> None:
    """The artist's own theme is wrong: she's told where, and the site stays as it was."""
    studio = makers.studio(tmp_path / "studio")
    make_site(studio)
    before = snapshot(studio / "out")
    own = tmp_path / "mine"
    shutil.copytree(theme().folders[0], own)
    file = own / "site" / "piece.html"
    lines = file.read_text("utf-8").splitlines(keepends=True)
    view = front(studio)
    made = pictures(view, studio / "out" / "cache")
    at = next(number for number, line in enumerate(lines, start=1) if "block main" in line)

    file.write_text("".join([*lines[:at], "{{ piece.colour_of_eyes }}\n", *lines[at:]]), "utf-8")
    with pytest.raises(Fault, match=rf"^mine/site/piece\.html, line {at + 1}: .*colour_of_eyes"):
        build(view, made, theme_in(own), studio / "out")
    file.write_text("".join([*lines[:at], "{% fi %}\n", *lines[at:]]), "utf-8")
    with pytest.raises(Fault, match=rf"^mine/site/piece\.html, line {at + 1}: Encountered unknown tag 'fi'"):
        build(view, made, theme_in(own), studio / "out")

    assert snapshot(studio / "out") == before


def test_a_changed_template_shows(tmp_path: Path) -> None:
    """Though nothing else changed."""
    studio = makers.studio(tmp_path / "studio")
    own = tmp_path / "mine"
    shutil.copytree(theme().folders[0], own)
    view = front(studio)
    made = pictures(view, studio / "out" / "cache")
    build(view, made, theme_in(own), studio / "out")
    file = own / "site" / "piece.html"
    file.write_text(
        file.read_text("utf-8").replace("{% block main %}", "{% block main %}\n<p>New here.</p>"), "utf-8"
    )
    build(view, made, theme_in(own), studio / "out")

    assert "<p>New here.</p>" in (studio / "out/site/pieces/ferry-ghost/index.html").read_text("utf-8")


def test_a_missing_word_names_catalogue_and_key(tmp_path: Path) -> None:
    """A template that asks for a sentence nobody wrote is told apart from a broken template."""
    studio = makers.studio(tmp_path / "studio")
    own = tmp_path / "mine"
    for folder in reversed(theme().folders):
        shutil.copytree(folder, own, dirs_exist_ok=True)
    words = own / "words" / "en.yaml"
    text = words.read_text("utf-8")
    words.write_text(
        "".join(line for line in text.splitlines(keepends=True) if "buy_note" not in line), "utf-8"
    )

    with pytest.raises(Fault, match=r"^mine/words/en\.yaml: the words for 'piece\.buy_note' are missing"):
        build(front(studio), {}, ThemeFiles((own,)), studio / "out")


def test_a_link_to_nowhere_in_the_artists_words_is_told(tmp_path: Path) -> None:
    """Before anyone clicks it, with the file and the nearest page."""
    studio = makers.studio(tmp_path)
    makers.write(studio / "pages" / "about.md", "# About\n\nSee [the small print](privcy).\n")

    with pytest.raises(Fault, match=r"^pages/about\.md: the link to 'privcy' leads to no page"):
        make_site(studio)


def test_a_pale_accent_is_refused_with_a_readable_one(tmp_path: Path) -> None:
    """The accent carries text, so it must contrast with the ground."""
    studio = makers.studio(tmp_path)
    makers.write(studio / "studio.yaml", makers.STUDIO + 'accent: "#ffcc00"\n')

    with pytest.raises(Fault, match=r"'#ffcc00' is too pale .* use '#[0-9a-f]{6}'"):
        make_site(studio)


def test_a_language_without_words_is_told(tmp_path: Path) -> None:
    """The message says which languages there are and how to add one."""
    studio = makers.studio(tmp_path)
    text = makers.STUDIO.replace("language: en", "language: fi")
    makers.write(studio / "studio.yaml", text)

    with pytest.raises(
        Fault, match=r"no words for the language 'fi' .*copy \S+/words/en\.yaml to themes/case/words/fi\.yaml"
    ):
        make_site(studio)


@pytest.mark.parametrize("theme", THEMES)
def test_nobody_is_sent_to_an_address_that_isnt_there_yet(tmp_path: Path, theme: str) -> None:
    """A studio whose contact is still to be filled in asks nobody to write, and ends no sentence in the air."""
    studio = makers.studio(tmp_path / "s")
    text = makers.STUDIO.replace("hello@lantern.example", "<your mail address>")
    makers.write(studio / "studio.yaml", text)
    make_site(studio, theme)

    for name in ("letters/index.html", "pieces/ferry-ghost/index.html"):
        shown = (studio / "out" / "site" / name).read_text("utf-8")
        assert "mail program" not in shown
        assert "to ." not in shown
