"""announce pieces: only what's available, with pictures inside a budget."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from sitegen import pictures
from sitegen.letters.announce import Writing
from sitegen.letters.cautions import refuse_if_untrue
from sitegen.letters.kinds import announce_commissions, announce_pieces, announce_show
from sitegen.letters.note import Hanging, Showing, grown
from sitegen.sources import read
from sitegen.studio.asked import LetterFault
from sitegen.studio.front import front_of_house
from sitegen.studio.picture import PictureSet, Rendition
from sitegen.studio.public import FrontOfHouse
from tests import makers
from tests.letters.studio import MOMENT, PEOPLE, front, messages, room, text_of

PIECES = {
    "ferry-ghost": makers.piece_yaml(),
    "tea-smuggler": makers.piece_yaml("The Tea Smuggler", number="2026-02", price="1250.50", finished="2026-11-01"),
    "sold-one": makers.piece_yaml("The Sold One", "sold", number="2026-03", finished="2026-12-01"),
    "held-one": makers.piece_yaml("The Held One", "on hold", number="2026-04", finished="2026-12-01"),
}  # fmt: skip


def house(folder: Path, **changed: str) -> FrontOfHouse:
    whole = makers.studio(folder, {**PIECES, **changed})
    return front_of_house(read(whole).sound(), MOMENT)


def photo_sets(
    folder: Path, *slugs: str, size: tuple[int, int] = (1600, 2000)
) -> dict[tuple[str, str], PictureSet]:
    """Make the web pictures of photos full of detail, so that their sizes differ."""
    from PIL import Image  # noqa: PLC0415

    wishes = {}
    for slug in slugs:
        photo = folder / "pieces" / slug / "front.jpg"
        Image.effect_noise(size, 60).convert("RGB").save(photo, quality=90)
        wishes[slug] = pictures.Wish(photo, slug, None, False)
    harvest = pictures.make(list(wishes.values()), folder / "cache")
    assert harvest.faults == ()
    return {(slug, "front.jpg"): harvest.sets[wish.path] for slug, wish in wishes.items()}


def test_the_label_is_in_the_trades_order(tmp_path: Path) -> None:
    """Title; year and materials; base and height; status and price; then the page."""
    made = announce_pieces(Writing(house(tmp_path / "s"), PEOPLE, room(tmp_path)), ("tea-smuggler",))

    text = (made.folder / "letter.txt").read_text(encoding="utf-8").replace("\u00a0", " ")
    assert made.subject == "The Tea Smuggler"
    assert text.startswith("""\
Hello,

The Tea Smuggler
2026 · clay, glass, silk
lime wood · 32 cm (12½ in)
available, €1,250.50
https://lantern.example/pieces/tea-smuggler/

She never pays the fare.

There is one of it. If you’d like it, reply to this letter or write to
hello@lantern.example; the first to write has it.
""")


@pytest.mark.parametrize(
    ("slugs", "sentence"),
    [
        (("sold-one",), "only what is available can be offered: sold-one is sold."),
        (("ferry-ghost", "held-one", "sold-one"), "held-one is on hold, sold-one is sold."),
        (("fery-ghost",), "there is no piece 'fery-ghost'; did you mean 'ferry-ghost'?"),
    ],
)
def test_what_isnt_available_is_never_offered(tmp_path: Path, slugs: tuple[str, ...], sentence: str) -> None:
    """A piece that is gone stops the letter, and nothing is written."""
    with pytest.raises(LetterFault, match=re.escape(sentence)):
        announce_pieces(Writing(house(tmp_path / "s"), PEOPLE, room(tmp_path)), slugs)

    assert not (tmp_path / "out").exists()


def test_since_takes_what_is_available_and_finished_since(tmp_path: Path) -> None:
    """Sold and held pieces finished since then are passed over."""
    made = announce_pieces(Writing(house(tmp_path / "s"), PEOPLE, room(tmp_path)), since=date(2026, 6, 1))

    text = (made.folder / "letter.txt").read_text(encoding="utf-8").replace("\u00a0", " ")
    assert "The Tea Smuggler" in text
    assert "Ghost" not in text
    assert "Held" not in text
    assert "Sold" not in text
    with pytest.raises(LetterFault, match="no piece finished since 2027-01-01 is available"):
        announce_pieces(Writing(house(tmp_path / "s2"), PEOPLE, room(tmp_path)), since=date(2027, 1, 1))


def test_pictures_are_carried_within_the_budget(tmp_path: Path) -> None:
    """Each picture is in the message, named by the HTML, and the whole stays below 100 KB."""
    front_house = house(tmp_path / "s")
    sets = photo_sets(tmp_path / "s", "ferry-ghost", "tea-smuggler", size=(900, 1100))

    made = announce_pieces(
        Writing(front_house, PEOPLE, room(tmp_path), hanging=Hanging(sets, budget=400_000)),
        ("ferry-ghost", "tea-smuggler"),
    )

    assert made.largest <= 400_000
    for _, mail in messages(made.folder):
        shown = re.findall(r'src="cid:([^"]+)"', text_of(mail, "html"))
        carried = {
            part["Content-ID"].strip("<>"): part
            for part in mail.walk()
            if part.get_content_type() == "image/jpeg"
        }
        assert len(shown) == 2
        assert set(shown) == set(carried)
        for part in carried.values():
            assert part.get_content()[:2] == b"\xff\xd8"
            assert part.get_content_disposition() == "inline"
        assert 'alt="A pale figure with a lantern."' in text_of(mail, "html")


@pytest.mark.slow
def test_pictures_too_large_for_the_budget_are_left_to_the_site(tmp_path: Path) -> None:
    """The letter keeps its size, and the artist is told; all of them, since half would look like a mistake."""
    front_house = house(tmp_path / "s")
    slugs = ("ferry-ghost", "tea-smuggler")
    sets = photo_sets(tmp_path / "s", *slugs, size=(900, 1100))

    made = announce_pieces(
        Writing(front_house, PEOPLE, room(tmp_path), hanging=Hanging(sets, budget=60_000)), slugs
    )

    assert made.largest < 21_000
    shown = re.findall(r'src="([^"]+)"', (made.folder / "letter.html").read_text(encoding="utf-8"))
    assert [source.rsplit("/", 1)[0] for source in shown] == [
        f"https://lantern.example/pictures/{slug}" for slug in slugs
    ]
    assert made.cautions[0].startswith(
        "The pictures (2) don't fit into 100 KB, so the letter shows them from your site"
    )


def test_a_cut_pack_stops_the_letter_and_no_half_picture_is_carried(tmp_path: Path) -> None:
    """The stored pictures were cut short after they were looked at: the fault names their file and the cure."""
    view = house(tmp_path / "s")
    sets = photo_sets(tmp_path / "s", "tea-smuggler", size=(500, 600))
    (pack,) = (tmp_path / "s" / "cache").rglob("*.pack")
    pack.write_bytes(pack.read_bytes()[: pack.stat().st_size // 4])

    with pytest.raises(OSError, match="the stored pictures are cut short; run this again") as fault:
        announce_pieces(
            Writing(view, PEOPLE, room(tmp_path), hanging=Hanging(sets, budget=400_000)), ("tea-smuggler",)
        )

    assert fault.value.filename == str(pack)
    assert list(tmp_path.glob("out/**/*.eml")) == []


def rendition(width: int, size: int) -> Rendition:
    return Rendition("image/jpeg", width, width, f"x-{width}.jpg", size, bytes)


@pytest.mark.parametrize(
    ("budget", "widths"),
    [
        (30_000, None),
        (60_000, [400, 400]),
        (100_000, [640, 400]),
        (130_000, [640, 640]),
        (900_000, [1080, 640]),
    ],
)
def test_pictures_grow_in_turn(budget: int, widths: list[int] | None) -> None:
    """The smallest first, while the sum fits; octets grow by 4/3 and line ends (RFC 2045 section 6.8)."""
    sizes = [
        [rendition(400, 17_000), rendition(640, 42_000), rendition(1080, 110_000)],
        [rendition(400, 14_000), rendition(640, 31_000)],
    ]

    found = grown(sizes, budget)

    assert (None if found is None else [web.width for web in found]) == widths


def test_a_note_shows_pieces_in_letters_of_every_kind(tmp_path: Path) -> None:
    """By a piece's name, or one of its photos; carried inside, with the writer's words or the photo's as alt text;
    a picture from elsewhere stays its words."""
    front_house = house(tmp_path / "s")
    sets = photo_sets(tmp_path / "s", "ferry-ghost", "sold-one", size=(500, 600))
    note = (
        "On the bench:\n\n![The ghost, half painted](ferry-ghost)\n\n![](sold-one/front.jpg) "
        "![theirs](https://other.example/x.jpg)"
    )
    hanging = Hanging(sets, budget=900_000)

    for made in (
        announce_commissions(Writing(front_house, PEOPLE, room(tmp_path), note, hanging)),
        announce_show(Writing(front_house, PEOPLE, room(tmp_path), note, hanging), "quayside-2027"),
        announce_pieces(Writing(front_house, PEOPLE, room(tmp_path), note, hanging), ("tea-smuggler",)),
    ):
        _, mail = next(messages(made.folder))
        html = text_of(mail, "html")
        assert re.findall(r'<img [^>]*alt="([^"]*)"', html) == [
            "The ghost, half painted",
            "A pale figure with a lantern.",
        ]
        shown = set(re.findall(r'src="cid:([^"]+)"', html))
        carried = {
            part["Content-ID"].strip("<>") for part in mail.walk() if part.get_content_type() == "image/jpeg"
        }
        assert shown == carried
        assert len(shown) == 2
        assert "other.example" not in html
        plain = text_of(mail)
        assert "[Picture: The ghost, half painted]" in plain
        assert "[Picture: A pale figure with a lantern.] theirs" in plain


@pytest.mark.parametrize(
    ("source", "sentence"),
    [
        (
            "fery-ghost",
            "the note shows 'fery-ghost', but there is no piece 'fery-ghost'; did you mean 'ferry-ghost'",
        ),
        ("ferry-ghost/back.jpg", "but ferry-ghost has no such photo; it has front.jpg"),
    ],
)
def test_a_note_that_shows_what_isnt_there_is_named(tmp_path: Path, source: str, sentence: str) -> None:
    """Before anything is written."""
    with pytest.raises(LetterFault, match=sentence):
        announce_commissions(Writing(house(tmp_path / "s"), PEOPLE, room(tmp_path), f"![]({source})"))
    assert not (tmp_path / "out").exists()


def test_linked_pictures_come_from_the_artists_own_site(tmp_path: Path) -> None:
    """No other host is asked for anything."""
    front_house = house(tmp_path / "s")
    sets = photo_sets(tmp_path / "s", "ferry-ghost", size=(500, 600))

    made = announce_pieces(
        Writing(front_house, PEOPLE, room(tmp_path), hanging=Hanging(sets, Showing.LINKED, budget=400_000)),
        ("ferry-ghost",),
    )

    (source,) = re.findall(r'src="([^"]+)"', (made.folder / "letter.html").read_text(encoding="utf-8"))
    assert source.startswith("https://lantern.example/pictures/ferry-ghost/")
    assert source.endswith(".jpg")


def test_the_sample_shows_its_pictures_from_beside_it(tmp_path: Path) -> None:
    """A browser can't open what is inside a message, so the sample's pictures are files."""
    front_house = house(tmp_path / "s")
    sets = photo_sets(tmp_path / "s", "ferry-ghost", size=(500, 600))

    made = announce_pieces(
        Writing(front_house, PEOPLE, room(tmp_path), hanging=Hanging(sets, budget=400_000)), ("ferry-ghost",)
    )

    (source,) = re.findall(r'src="([^"]+)"', (made.folder / "letter.html").read_text(encoding="utf-8"))
    assert (made.folder / source).read_bytes()[:2] == b"\xff\xd8"


@pytest.mark.parametrize(
    ("changed", "now"),
    [
        ({"ferry-ghost": makers.piece_yaml(status="sold")}, "'sold'"),
        ({"ferry-ghost": makers.piece_yaml(status="on hold")}, "'on hold'"),
        ({"ferry-ghost": makers.piece_yaml(price="520")}, "'available, 520.00'"),
    ],
)
def test_what_changed_since_stops_the_posting(tmp_path: Path, changed: dict[str, str], now: str) -> None:
    """The studio is read again before posting: sold, held or dearer, the letter is no longer true."""
    facts = {"piece ferry-ghost": "available, 480.00"}
    refuse_if_untrue(facts, house(tmp_path / "before"))

    with pytest.raises(LetterFault, match=f"^piece ferry-ghost was 'available, 480.00' .* and is now {now}"):
        refuse_if_untrue(facts, house(tmp_path / "after", **changed))


def test_a_vanished_piece_stops_the_posting(tmp_path: Path) -> None:
    """Its folder was taken away."""
    bare = replace(front(tmp_path / "s"), pieces=())

    with pytest.raises(LetterFault, match="and is now 'no longer there'"):
        refuse_if_untrue({"piece ferry-ghost": "available, 480.00"}, bare)


def test_a_letter_is_called_by_its_day_and_first_piece(tmp_path: Path) -> None:
    inside = house(tmp_path / "s")

    named = [
        announce_pieces(Writing(inside, PEOPLE, room(tmp_path)), slugs).ident
        for slugs in (("ferry-ghost",), ("tea-smuggler", "ferry-ghost"))
    ]

    assert named == ["pieces-2027-01-09-ferry-ghost", "pieces-2027-01-09-tea-smuggler-and-1-more"]
