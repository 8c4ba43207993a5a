"""The texts of a draw, in the studio's language: each can be worked out again from its words alone."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from datetime import date

import pytest

from sitegen.studio.draw import Source
from sitegen.voice.draw import announcement_lines, record_lines, waiting_lines
from sitegen.voice.voice import Voice, english, open_voice
from tests.draws import announce, run
from tests.letters.test_words import CARD
from tests.themes import theme_named

CODES = [f"W27-{number}" for number in range(1, 13)]
LOTTERY = Source(name="Invented lottery, six numbers", numbers="4, 17, 23, 31, 40, 44")


def voice_of(language: str) -> Voice:
    return open_voice(theme_named("case"), replace(CARD, language=language))


def test_what_is_weak_about_the_sources_is_announced_with_them() -> None:
    """One of two numbers can't choose fairly among twelve: log2(12) bits are needed, and 1 is given."""
    coin = Source(name="Invented coin", due=date(2027, 1, 30), drawn=1, highest=2)
    rich = coin.model_copy(update={"name": "Invented lottery", "drawn": 6, "highest": 49})

    weak, sound = (
        announcement_lines(english(), announce("W", CODES, 1, [source], date(2027, 1, 24)))
        for source in (coin, rich)
    )

    assert [line for line in weak if line.startswith("Note: ")] == [weak[-1]]
    assert ("1 bit" in weak[-1], "4" in weak[-1]) == (True, True)
    assert not any(line.startswith("Note: ") for line in sound)


def test_announcement_shows_list_slots_sources_and_rules() -> None:
    """What is published before the numbers exist, line by line."""
    source = Source(name="Invented lottery", due=date(2027, 1, 30), drawn=6, highest=49)
    announcement = announce("Winter 2027", ["W27-1", "W27-2"], 1, [source], date(2027, 1, 24))

    assert announcement_lines(english(), announcement) == [
        "Winter 2027",
        "Announced on 24 January 2027.",
        "Slots: 1. Entrants: 2.",
        "",
        "Entrants, numbered once and for all:",
        "    1 W27-1",
        "    2 W27-2",
        # sha256sum of the two lines, made with GNU coreutils
        "SHA-256 of the list: 336d583b00a3a58072ffb66bdd7f6df8323094446534888e5e2011cc325d25bf",
        "",
        "Sources of randomness, in this order:",
        "  1. Invented lottery, published on 30 January 2027",
        "The draw is made once all are published, on 30 January 2027 at the earliest.",
        "A source more than 7 days late counts as the single number 0.",
        "Nobody is added, removed or renumbered from now on. "
        "Whoever withdraws is passed over and the next one picked gets the place.",
        "This choice takes 1.0 bits of randomness.",
    ]
    assert announcement_lines(voice_of("en-US"), announcement)[1] == "Announced on January 24, 2027."
    german = announcement_lines(voice_of("de"), announcement)
    assert german[1] == "Angekündigt am 24. Januar 2027."
    assert german[-1] == "Diese Auswahl braucht 1,0 Bit Zufall."
    assert waiting_lines(voice_of("de"), ["W27-3"], ["W27-4"], [source]) == [
        "Nicht dabei, weil dieselbe Person schon gefragt hatte: W27-3.",
        "Nicht dabei, weil außerhalb der Zeit oder nach einer anderen Größe gefragt wurde: W27-4.",
        "",
        "Die Auslosung wartet auf Invented lottery (30. Januar 2027).",
    ]


@pytest.mark.parametrize(
    ("language", "key_words", "heading", "withdrawn"),
    [
        ("en", "Key string: ", "Entrants:", "(withdrawn, passed over)"),
        ("de", "Schlüsseltext: ", "Teilnehmende:", "(zurückgetreten, übergangen)"),
    ],
)
def test_record_can_be_recomputed_from_its_text_alone(
    language: str, key_words: str, heading: str, withdrawn: str
) -> None:
    """A reader with only the text file, following its instructions (RFC 3797 section 4), finds every pick."""
    text = record_lines(voice_of(language), run(CODES, 3, [LOTTERY], {5}))
    key = next(line for line in text if line.startswith(key_words)).removeprefix(key_words)
    left = [line.split()[1] for line in text[text.index(heading) + 1 :][: len(CODES)]]
    steps = [line.split() for line in text if line.startswith("0x")]
    for counter, digest, divisor, _, code, *_ in steps:
        edge = bytes.fromhex(counter[2:])
        computed = hashlib.md5(edge + key.encode() + edge, usedforsecurity=False).hexdigest()
        assert (computed.upper(), str(len(left))) == (digest, divisor)
        assert left.pop(int(digest, 16) % len(left)) == code

    assert left == []
    assert sum(withdrawn in line for line in text) == 1


def test_what_is_weak_is_said_beside_the_result() -> None:
    """Too little randomness, words and a thin last source."""
    sources = [LOTTERY, Source(name="Name of the day", numbers="Ada")]
    record = run([f"c{number}" for number in range(60)], 10, sources)

    for language, start in (("en", "Note: "), ("de", "Anmerkung: ")):
        notes = [line for line in record_lines(voice_of(language), record) if line.startswith(start)]
        assert len(notes) == 3
        assert "Ada" in notes[0]
        assert "23" in notes[1]
        assert "36" in notes[1]


@pytest.mark.parametrize(("slots", "withdrawn"), [(1, set()), (3, {1, 2, 3}), (2, {3}), (9, set())])
def test_a_record_is_written_line_by_line(slots: int, withdrawn: set[int]) -> None:
    """The three digests and whom they pick are recomputed here, from the key 2.5./ alone."""
    digests = [hashlib.md5(bytes([0, n]) + b"2.5./" + bytes([0, n]), usedforsecurity=False) for n in range(3)]
    left, picked = ["a", "b", "c"], []
    for digest in digests:
        picked.append(left.pop(int(digest.hexdigest(), 16) % len(left)))
    record = run(["a", "b", "c"], slots, [Source(numbers="5, 02")], withdrawn)

    text = record_lines(english(), record)

    number = {"a": 1, "b": 2, "c": 3}
    free, said = slots, []
    for code in picked:
        gone = number[code] in withdrawn
        said.append("withdrawn, passed over" if gone else "slot" if free else "reserve")
        free -= not gone and free > 0
    won = [code for code, how in zip(picked, said, strict=True) if how == "slot"]
    later = [code for code, how in zip(picked, said, strict=True) if how == "reserve"]
    assert text[: len(text) - len(english().words.plain("draw.how").splitlines()) - 1] == [
        "Winter",
        f"Slots: {slots}. Entrants: 3.",
        "",
        "Entrants:", "    1 a", "    2 b", "    3 c",
        # sha256sum of the three lines, made with GNU coreutils
        "SHA-256 of the list: 880553fca8fcea94e325ee2cfb48e5a985cc797f39a14cc6d3cedecfeb2ae4d2",
        "",
        "Sources, as published:",
        "  1. unnamed: 5, 02   as key: 2.5./",
        "Key string: 2.5./",
        "",
        "counter  MD5 digest                        left  picked",
        *(
            f"0x000{n}   {digest.hexdigest().upper()}  {3 - n:4}  {number[code]} {code} ({how})"
            for n, (digest, code, how) in enumerate(zip(digests, picked, said, strict=True))
        ),
        "",
        f"Slots go to: {', '.join(won) or 'nobody'}",
        f"Reserves, in order: {', '.join(later) or 'none'}",
        f"Randomness: {record.needed:.1f} bits needed, about 3 given.",
        *[line for line in text if line.startswith("Note: ")][: len(record.cautions)],
    ]  # fmt: skip
