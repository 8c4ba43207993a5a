"""The worked example of RFC 3797 section 6, to the digit, and vectors that guard the byte order."""

import pytest

from sitegen.studio import draw
from sitegen.studio.draw import Source, key_string
from tests.draws import run

NAMES = (
    "John Mary Bashful Dopey Sleepy Grouchy Doc Sneazy Handsome Cassandra Pollyanna Pendragon Pandora Faith "
    "Hope Charity Lee Longsuffering Chastity Smith Pride Sloth Envy Anger Kasczynski"
)
SOURCES = [
    Source(name="first", numbers="9319"),
    Source(name="second", numbers="2, 5, 12, 8, 10"),
    Source(name="third", numbers="9, 18, 26, 34, 41, 45"),
]
KEY = "9319./2.5.8.10.12./9.18.26.34.41.45./"

# Source: RFC 3797 section 6, the sixteen printed rows. (The text says counters run to 0x0010; it prints
# 0x0000 to 0x000F.) The seventeenth was computed by the C program of section 8, memory fault mended.
ROWS = """
990DD0A5692A029A98B5E01AA28F3459 25 17 Lee
3691E55CB63FCC37914430B2F70B5EC6 24 7 Doc
FE814EDF564C190AC1D25753979990FA 23 2 Mary
1863CCACEB568C31D7DDBDF1D4E91387 22 16 Charity
F4AB33DF4889F0AF29C513905BE1D758 21 25 Kasczynski
13EAEB529F61ACFB9A29D0BA3A60DE4A 20 23 Envy
992DB77C382CA2BDB9727001F3CDCCD9 19 8 Sneazy
63AB4258ECA922976811C7F55C383CE7 18 24 Anger
DFBC5AC97CED01B3A6E348E3CC63F40D 17 19 Chastity
31CB111C4A4EBE9287CEAE16FE51B909 16 13 Pandora
07FA46C122F164C215BBC72793B189A3 15 22 Sloth
AC52F8D75CCBE2E61AFEB3387637D501 14 5 Sleepy
53306F73E14FC0B2FBF434218D25948E 13 18 Longsuffering
B5D1403501A81F9A47318BE7893B347C 12 9 Handsome
85B10B356AA06663EF1B1B407765100A 11 1 John
3269E6CE559ABD57E2BA6AAB495EB9BD 10 4 Dopey
7FC47794620E0330BE85CE056D6D5294 9 12 Pendragon
"""


def test_the_worked_example_of_the_rfc() -> None:
    """Source: RFC 3797 section 6: key string, every digest, divisor and selected name."""
    record = run(NAMES.split(), 10, SOURCES)

    assert record.key == KEY
    assert [
        f"{p.digest} {p.divisor} {p.number} {p.entrant}" for p in record.picks[:17]
    ] == ROWS.strip().splitlines()
    assert [pick.counter for pick in record.picks] == list(range(25))
    assert record.winners == (17, 7, 2, 16, 25, 23, 8, 24, 19, 13)
    assert record.reserves[0] == 22


# Source: computed twice outside this project, by a fresh implementation and by the RFC's own C program
# (the text source only by the former).
@pytest.mark.parametrize(
    ("key", "pool", "order"),
    [
        (KEY, 25, "17 7 2 16 25 23 8 24 19 13 22 5 18 9 1 4 12 15 20 14 11 3 6 21 10"),
        ("1./", 3, "3 1 2"),
        ("7.11.23./4821./", 12, "6 2 8 10"),
        ("MAZNAK./", 5, "2 5 1 4 3"),
    ],
)
def test_whole_orders(key: str, pool: int, order: str) -> None:
    """A pool drawn to the end comes out in the known order."""
    numbers = [number for *_, number in draw.selection(key, pool)]

    assert " ".join(map(str, numbers[: len(order.split())])) == order


# Source: computed twice, as above. Step 257 needs the high byte of the counter first.
@pytest.mark.parametrize(
    ("step", "digest", "divisor", "number"),
    [
        (256, "878AF54BCD193BB4DBA91C29CF5CF62C", 45, 204),
        (257, "2D1AA2FCC3E24AA3BF1798B06869ECFC", 44, 246),
        (300, "69B55CBBB1A0E0A4CA2BCB5DDB429640", 1, 39),
    ],
)
def test_the_counter_has_its_high_byte_first(step: int, digest: str, divisor: int, number: int) -> None:
    """Late steps of a pool of 300."""
    assert draw.selection(KEY, 300)[step - 1] == (step - 1, digest, divisor, number)


# Source: RFC 3797 section 4, steps 1 to 3 and last paragraph. Fractions follow the text, which sorts them.
@pytest.mark.parametrize(
    ("numbers", "key"),
    [
        (["9319"], "9319./"),
        (["23 7 11", "4821"], "7.11.23./4821./"),
        (["12.50, 3.00, 0.250"], "0.253.12.5/"),
        (["007, 0, 00.10"], "0.0.17./"),
        (["10, 9, 100"], "9.10.100./"),
        (["Mažňák"], "MAZNAK./"),
        (["W 4-1"], "W41./"),
    ],
)
def test_key_strings(numbers: list[str], key: str) -> None:
    """Zeros go, numbers sort by value within a source, sources keep their order."""
    assert key_string([Source(numbers=text) for text in numbers]) == key


# Source: RFC 3797 section 3.3, the printed row for choosing 10 (rounded up there).
@pytest.mark.parametrize(
    ("pool", "printed"),
    [(20, 18), (25, 22), (30, 25), (35, 28), (40, 30), (50, 34), (60, 37), (75, 40), (100, 44), (120, 47)],
)
def test_bits_needed(pool: int, printed: int) -> None:
    """Ten of a pool take as many bits as the RFC prints."""
    assert printed - 1 < draw.bits_needed(pool, 10) <= printed
