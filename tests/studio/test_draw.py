"""A draw is fair to everyone on the list, refuses what can't be checked and can be worked out again."""

import hashlib
import math
import re
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitegen.studio import draw, draw_text
from sitegen.studio.draw_source import Source, rough_bits, settle

CODES = [f"W27-{number}" for number in range(1, 13)]
LOTTERY = Source("Invented lottery, six numbers", numbers="4, 17, 23, 31, 40, 44")
KEYS = st.lists(st.integers(0, 99), min_size=1, max_size=6).map(
    lambda numbers: "".join(f"{n}." for n in numbers) + "/"
)


@given(KEYS, st.integers(1, 80))
def test_every_entrant_is_drawn_exactly_once(key: str, pool: int) -> None:
    """A whole draw is a permutation of the list."""
    assert sorted(number for *_, number in draw.selection(key, pool)) == list(range(1, pool + 1))


@given(st.integers(1, 15), st.sets(st.integers(1, 12)))
def test_withdrawing_moves_nobody_else(slots: int, withdrawn: set[int]) -> None:
    """Whoever drops out is passed over; the others keep their order and the next in line moves up."""
    everyone = draw.run(CODES, slots, [LOTTERY])
    without = draw.run(CODES, slots, [LOTTERY], withdrawn)
    present = [number for number in everyone.order if number not in withdrawn]

    assert without.order == everyone.order
    assert [*without.winners, *without.reserves] == present
    assert len(without.winners) == min(slots, len(present))


def test_more_slots_than_entrants_means_all_get_one() -> None:
    """Nobody is left out when there's room for all, and no randomness is needed."""
    record = draw.run(CODES[:3], 5, [LOTTERY])

    assert sorted(record.winners) == [1, 2, 3]
    assert record.reserves == ()
    assert record.needed == 0


@pytest.mark.parametrize(
    ("pool", "slots", "sources", "withdrawn", "sentence"),
    [
        ([], 1, [LOTTERY], [], "nobody has entered; a draw needs at least one entrant"),
        (CODES, 0, [LOTTERY], [], "a draw for 0 slots gives nothing away; the smallest number is 1"),
        (CODES, 1, [], [], "no source of randomness is given; name at least one, three or four are better"),
        (
            CODES,
            1,
            [LOTTERY, Source("Second", numbers=" ")],
            [],
            "source 2 (Second) has no numbers yet; write them as published, as 2, 5, 12",
        ),
        (
            CODES,
            1,
            [Source("", numbers="3/5")],
            [],
            'source 1 is "3/5"; write its numbers with commas between them, as 2, 5, 12 '
            "(digits and a decimal point, no other signs)",
        ),
        (CODES, 1, [LOTTERY], [13], "number 13 withdrew, but the list runs from 1 to 12"),
        (
            ["x"] * 65537,
            1,
            [LOTTERY],
            [],
            "65537 entrants are too many; RFC 3797 counts no further than 65536",
        ),
    ],
)
def test_run_refuses(
    pool: list[str], slots: int, sources: list[Source], withdrawn: list[int], sentence: str
) -> None:
    """What can't be drawn or checked is refused in a sentence."""
    with pytest.raises(ValueError, match=f"^{re.escape(sentence)}$"):
        draw.run(pool, slots, sources, withdrawn)


def test_entrants_are_numbered_by_line() -> None:
    """Empty lines at the end are dropped, spaces don't count."""
    assert draw.entrants(["W27-1 ", "  W27-2", "", ""]) == ("W27-1", "W27-2")


@pytest.mark.parametrize(
    ("lines", "sentence"),
    [
        (["", ""], "nobody has entered; a draw needs at least one entrant"),
        (["a", "", "b"], "line 2 is empty; put one entrant on each line, since lines are numbers"),
        (["Ada", "b", "ADA "], 'line 3 enters "ADA" again after line 1; one entry a person'),
        (["Zo\u0308e", "Z\u00f6e"], 'line 2 enters "Z\u00f6e" again after line 1; one entry a person'),
    ],
)
def test_entrants_refuses(lines: list[str], sentence: str) -> None:
    """A gap or a second entry is found before anything is drawn."""
    with pytest.raises(ValueError, match=f"^{re.escape(sentence)}$"):
        draw.entrants(lines)


def test_one_entry_each_keeps_the_first_request() -> None:
    """A second request of the same person is set aside, whatever capitals the address has."""
    entries = [("W27-1", "ada@example.com"), ("W27-2", "bo@example.com"), ("W27-3", "Ada@example.com")]

    assert draw.one_entry_each(entries) == (("W27-1", "W27-2"), ("W27-3",))


def test_a_source_that_never_came_counts_as_nought() -> None:
    """The rule announced beforehand decides, and only after the days of waiting."""
    source = Source("Weather reading", due=date(2027, 1, 20))

    assert settle(source, date(2027, 1, 27), 7).numbers == ""
    assert settle(source, date(2027, 1, 28), 7).numbers == "0"
    assert settle(LOTTERY, date(2027, 1, 28), 7) == LOTTERY


def test_cautions_name_what_is_weak() -> None:
    """Too little randomness, words and a thin last source are all said."""
    sources = [LOTTERY, Source("Name of the day", numbers="Ada")]
    record = draw.run([f"c{number}" for number in range(60)], 10, sources)

    assert record.cautions == (
        'source 2 is read as words, "Ada"; numbers are harder to dispute',
        "the sources give about 23 bits and a fair choice takes 36; "
        "some outcomes can't happen, so add a source or one with more numbers",
        "the last source gives only about 0 bits; whoever knows the others first could foresee much of the "
        "result, so put the richest source last",
    )
    assert draw.run(CODES, 3, [LOTTERY]).cautions == ()


def test_rough_bits_of_a_described_lottery() -> None:
    """Six of 49 are 13,983,816 combinations, 23.7 bits (counted by hand)."""
    assert rough_bits(Source("", drawn=6, highest=49)) == pytest.approx(23.737, abs=0.001)


def test_announcement_shows_list_slots_sources_and_rules() -> None:
    """What is published before the numbers exist, line by line."""
    source = Source("Invented lottery", due=date(2027, 1, 30), drawn=6, highest=49)
    announcement = draw_text.announce("Winter 2027", ["W27-1", "W27-2"], 1, [source], date(2027, 1, 24))

    assert draw_text.announcement_lines(announcement) == (
        "Winter 2027",
        "Announced on 2027-01-24.",
        "Slots: 1. Entrants: 2.",
        "",
        "Entrants, numbered once and for all:",
        "    1 W27-1",
        "    2 W27-2",
        # sha256sum of the two lines, made with GNU coreutils
        "SHA-256 of the list: 336d583b00a3a58072ffb66bdd7f6df8323094446534888e5e2011cc325d25bf",
        "",
        "Sources of randomness, in this order:",
        "  1. Invented lottery, published on 2027-01-30",
        "The draw is made once all are published, on 2027-01-30 at the earliest.",
        "A source more than 7 days late counts as the single number 0.",
        "Nobody is added, removed or renumbered from now on. "
        "Whoever withdraws is passed over and the next one picked gets the place.",
        "This choice takes 1.0 bits of randomness.",
    )


@pytest.mark.parametrize(
    ("source", "sentence"),
    [
        (
            LOTTERY,
            'source "Invented lottery, six numbers" has its numbers already; '
            "announce one nobody can know yet",
        ),
        (Source("Rain"), 'source "Rain" has no day; say when its numbers are published'),
        (
            Source("Rain", due=date(2027, 1, 24)),
            'source "Rain" is published on 2027-01-24, not after the announcement of 2027-01-24; '
            "take a later one",
        ),
    ],
)
def test_announce_refuses_a_source_that_could_be_known(source: Source, sentence: str) -> None:
    """Only numbers nobody can have looked up are fair."""
    with pytest.raises(ValueError, match=f"^{re.escape(sentence)}$"):
        draw_text.announce("Winter 2027", CODES, 3, [source], date(2027, 1, 24))


def test_record_can_be_recomputed_from_its_text_alone() -> None:
    """A reader with only the text file, following its instructions, finds every pick."""
    text = draw_text.record_lines("Winter 2027", draw.run(CODES, 3, [LOTTERY], {5}))
    key = next(line for line in text if line.startswith("Key string: ")).removeprefix("Key string: ")
    left = [line.split()[1] for line in text[text.index("Entrants:") + 1 :][: len(CODES)]]
    steps = [line.split() for line in text if line.startswith("0x")]
    for counter, digest, divisor, _, code, *_ in steps:
        edge = bytes.fromhex(counter[2:])
        computed = hashlib.md5(edge + key.encode() + edge, usedforsecurity=False).hexdigest()
        assert (computed.upper(), str(len(left))) == (digest, divisor)
        assert left.pop(int(digest, 16) % len(left)) == code

    assert left == []
    assert sum("(withdrawn, passed over)" in line for line in text) == 1


@pytest.mark.parametrize(("slots", "withdrawn"), [(1, set()), (3, {1, 2, 3}), (2, {3}), (9, set())])
def test_a_record_is_written_line_by_line(slots: int, withdrawn: set[int]) -> None:
    """The three digests and whom they pick are recomputed here, from the key 2.5./ alone."""
    digests = [hashlib.md5(bytes([0, n]) + b"2.5./" + bytes([0, n]), usedforsecurity=False) for n in range(3)]
    left, picked = ["a", "b", "c"], []
    for digest in digests:
        picked.append(left.pop(int(digest.hexdigest(), 16) % len(left)))
    record = draw.run(["a", "b", "c"], slots, [Source("", numbers="5, 02")], withdrawn)

    text = draw_text.record_lines("Winter", record)

    number = {"a": 1, "b": 2, "c": 3}
    free, said = slots, []
    for code in picked:
        gone = number[code] in withdrawn
        said.append("withdrawn, passed over" if gone else "slot" if free else "reserve")
        free -= not gone and free > 0
    won = [code for code, how in zip(picked, said, strict=True) if how == "slot"]
    later = [code for code, how in zip(picked, said, strict=True) if how == "reserve"]
    assert text[: len(text) - len(draw_text.HOW_TO_CHECK) - 1] == (
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
        *(f"Note: {one}." for one in record.cautions),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("numbers", "combinations"),
    [
        ("1, 2, 3", 1),  # three of three
        ("2, 5", 10),  # two of five: 10 pairs
        ("5, 5, 5, 5, 5, 5", 0),  # more numbers than the highest: no lottery
        ("0", 0),
        ("7", 0),  # a lone digit is easy to guess
        ("9319", 1000),  # three digits below the first
        ("0.25", 0),
        ("Ada", 0),
    ],
)
def test_rough_bits_of_numbers_as_they_are_published(numbers: str, combinations: int) -> None:
    """Logarithms of what can be counted by hand; a fraction's digits below the first count too."""
    expected = math.log2(combinations) if combinations else 0
    expected = math.log2(100) if numbers == "0.25" else expected

    assert rough_bits(Source("", numbers=numbers)) == pytest.approx(expected)
