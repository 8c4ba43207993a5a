"""A draw is fair to everyone on the list, refuses what can't be checked and can be worked out again."""

import math
import re
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitegen.studio import draw
from sitegen.studio.draw import Source, rough_bits, settle
from tests.draws import announce, run

CODES = [f"W27-{number}" for number in range(1, 13)]
LOTTERY = Source(name="Invented lottery, six numbers", numbers="4, 17, 23, 31, 40, 44")
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
    everyone = run(CODES, slots, [LOTTERY])
    without = run(CODES, slots, [LOTTERY], withdrawn)
    present = [number for number in everyone.order if number not in withdrawn]

    assert without.order == everyone.order
    assert [*without.winners, *without.reserves] == present
    assert len(without.winners) == min(slots, len(present))


def test_more_slots_than_entrants_means_all_get_one() -> None:
    """Nobody is left out when there's room for all, and no randomness is needed."""
    record = run(CODES[:3], 5, [LOTTERY])

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
            [LOTTERY, Source(name="Second", numbers=" ")],
            [],
            "source 2 (Second) has no numbers yet; write them as published, as 2, 5, 12",
        ),
        (
            CODES,
            1,
            [Source(numbers="3/5")],
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
        run(pool, slots, sources, withdrawn)


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


def test_a_source_that_never_came_counts_as_nought() -> None:
    """The rule announced beforehand decides, and only after the days of waiting."""
    source = Source(name="Weather reading", due=date(2027, 1, 20))

    assert settle(source, date(2027, 1, 27), 7).numbers == ""
    assert settle(source, date(2027, 1, 28), 7).numbers == "0"
    assert settle(LOTTERY, date(2027, 1, 28), 7) == LOTTERY


def test_cautions_name_what_is_weak() -> None:
    """Too little randomness, words and a thin last source are all said."""
    sources = [LOTTERY, Source(name="Name of the day", numbers="Ada")]
    record = run([f"c{number}" for number in range(60)], 10, sources)

    assert record.cautions == (
        draw.Caution("words", {"number": 2, "text": "Ada"}),
        draw.Caution("few", {"given": 23, "needed": 36}),
        draw.Caution("last", {"given": 0}),
    )
    assert run(CODES, 3, [LOTTERY]).cautions == ()


def test_rough_bits_of_a_described_lottery() -> None:
    """Six of 49 are 13,983,816 combinations, 23.7 bits (counted by hand)."""
    assert rough_bits(Source(drawn=6, highest=49)) == pytest.approx(23.737, abs=0.001)


@pytest.mark.parametrize(
    ("source", "sentence"),
    [
        (
            LOTTERY,
            'source "Invented lottery, six numbers" has its numbers already; '
            "announce one nobody can know yet",
        ),
        (Source(name="Rain"), 'source "Rain" has no day; say when its numbers are published'),
        (
            Source(name="Rain", due=date(2027, 1, 24)),
            'source "Rain" is published on 2027-01-24, not after the announcement of 2027-01-24; '
            "take a later one",
        ),
    ],
)
def test_announce_refuses_a_source_that_could_be_known(source: Source, sentence: str) -> None:
    """Only numbers nobody can have looked up are fair."""
    with pytest.raises(ValueError, match=f"^{re.escape(sentence)}$"):
        announce("Winter 2027", CODES, 3, [source], date(2027, 1, 24))


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

    assert rough_bits(Source(numbers=numbers)) == pytest.approx(expected)


def test_an_announcement_warns_only_where_every_source_is_described() -> None:
    """One of six is 2.6 bits, and choosing 3 of 12 takes 7.8; of a source without numbers nothing is known."""
    dice, rain = (Source(name=name, due=date(2027, 1, 30)) for name in ("Dice", "Rain"))
    dice = dice.model_copy(update={"drawn": 1, "highest": 6})

    few, unknown = (
        announce("W", CODES, 3, sources, date(2027, 1, 24)).cautions for sources in ([dice], [dice, rain])
    )

    assert [caution.name for caution in few] == [caution.name for caution in draw.cautions([dice], 7.8)]
    assert few
    assert unknown == ()


@pytest.mark.parametrize(("drawn", "highest"), [(6, None), (None, 49)])
def test_half_a_description_tells_nothing_of_a_lottery(drawn: int | None, highest: int | None) -> None:
    assert rough_bits(Source(drawn=drawn, highest=highest)) == 0
    published = Source(numbers="2, 5", drawn=drawn, highest=highest)
    assert rough_bits(published) == pytest.approx(math.log2(10))


def test_two_rich_sources_bring_no_caution_and_one_poor_one_at_the_end_does() -> None:
    """Six of 44 numbers, the highest published, are 22.8 bits: log2(7,059,052)."""
    poor = Source(name="Dice", numbers="5")

    assert draw.cautions([LOTTERY, LOTTERY], 20) == ()
    assert draw.cautions([poor, LOTTERY], 20) == ()
    assert len(draw.cautions([LOTTERY, poor], 20)) == 1


def test_an_announcement_of_nobody_or_from_nothing_is_refused() -> None:
    rain = Source(name="Rain", due=date(2027, 1, 30))
    with pytest.raises(ValueError, match="nobody has entered"):
        announce("W", [], 3, [rain], date(2027, 1, 24))
    with pytest.raises(ValueError, match="no source of randomness is given"):
        announce("W", CODES, 3, [], date(2027, 1, 24))
