"""Text from elsewhere: shown, never obeyed; quoted, never whole; and the same to a machine."""

from __future__ import annotations

import json
import re
import unicodedata

from hypothesis import given
from hypothesis import strategies as st

from sitegen.studio.text import fit, for_machines, quoted, short, unfit_for_text, without_unfit

ANY = st.text(st.characters(exclude_categories=()))
# ECMA-48: C0, DEL, C1. Unicode annex 9, table 4 and the marks: what steers the direction of writing.
ORDERS = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]")


@given(ANY)
def test_nothing_that_a_terminal_obeys_gets_through(text: str) -> None:
    """Neither in lines nor in a quotation; and what is shown can be encoded."""
    for shown in (fit(text), short(text), quoted(text)):
        assert not ORDERS.search(shown)
        shown.encode("utf-8")


@given(st.text(st.characters(categories=["L", "N", "P", "S", "Zs"]), max_size=80))
def test_what_people_write_stays_as_it_is(text: str) -> None:
    """In any script."""
    assert fit(text) == text


def test_joined_signs_of_living_scripts_stay_whole() -> None:
    """U+200D and U+200C join letters (and families of faces); they order nothing."""
    assert fit("می\u200cخواهم 👩\u200d🎨") == "می\u200cخواهم 👩\u200d🎨"


def test_orders_are_seen_instead_of_done() -> None:
    assert fit("red \x1b[31m, up \x9b1A\r\nback\rwards \u202egnp") == "red �[31m, up �1A\nback�wards �gnp"


@given(ANY)
def test_a_quotation_is_one_short_line(text: str) -> None:
    assert len(short(text)) <= 100
    assert "\n" not in short(text)


def test_a_value_as_long_as_a_book_is_cut() -> None:
    """Quoted by its beginning; a line of a message keeps its end, where the cure stands."""
    assert quoted("x" * 100_000) == f"'{'x' * 99}…'"
    assert len(fit("x" * 100_000 + "; write 5")) < 2_100
    assert fit("x" * 100_000 + "; write 5").endswith("; write 5")
    assert (
        fit(f"short\n{'x' * 2_001}\n{'y' * 2_000}") == f"short\n{'x' * 1_000} … {'x' * 1_000}\n{'y' * 2_000}"
    )


@given(st.recursive(ANY, lambda inner: st.lists(inner) | st.dictionaries(ANY, inner), max_leaves=5))
def test_json_says_the_same_and_orders_nothing(value: object) -> None:
    """RFC 8259: any character may be written as an escape."""
    written = for_machines(json.dumps(value, ensure_ascii=False))

    assert not ORDERS.search(written)
    assert json.loads(written) == json.loads(json.dumps(value))


@given(ANY)
def test_only_what_yaml_leaves_out_is_unfit_for_a_text(text: str) -> None:
    """YAML 1.2 section 5.1, c-printable, written out here once more in another way."""

    def printable(character: str) -> bool:
        code = ord(character)
        return character in "\t\n\r\x85" or (
            unicodedata.category(character) not in {"Cc", "Cs"} and code not in {0xFFFE, 0xFFFF}
        )

    assert (unfit_for_text(text) is None) == all(map(printable, text))
    assert unfit_for_text(without_unfit(text)) is None
