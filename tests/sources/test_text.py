"""Text files and pages: what stands where it shouldn't is told with its line; addresses that no mail reaches."""

from __future__ import annotations

from pathlib import Path

import pytest

from sitegen.sources.people import as_kept, fault_of
from sitegen.sources.text import Notebook, read_page, read_text


@pytest.mark.parametrize(
    ("text", "title", "rest", "line"),
    [
        ("# About\n\nOne bench.\n", "About", "One bench.\n", 0),
        ("\n\n#  The bench ##\r\nWords.\r\n\r\nMore.", "The bench", "Words.\n\nMore.\n", 0),
        ("", None, None, 1),
        ("\n \n", None, None, 1),
        ("About\n", None, None, 1),
        ("\n\nAbout\n# Later\n", None, None, 3),
        ("#About\n", None, None, 1),
        ("## About\n", None, None, 1),
    ],
)
def test_a_page_starts_with_its_title(text: str, title: str | None, rest: str | None, line: int) -> None:
    """A heading of the first level (CommonMark 0.31.2, section 4.2: a blank behind the sign)."""
    notes = Notebook("pages/about.md")
    page = read_page("about", text, notes)

    assert ((page.title, page.text) if page else (None, None)) == (title, rest)
    assert [complaint.line for complaint in notes.complaints] == ([line] if line else [])


@pytest.mark.parametrize(
    ("content", "text", "told"),
    [
        (b"\xef\xbb\xbfa\nb", "a\nb", []),
        (b"a\n\xffb\nc", None, [(2, "this isn't UTF-8 text; save the file again with the encoding UTF-8")]),
        (b"a\n\x00b\nc\x07\n", "a\n\ufffdb\nc\ufffd\n", [
            (2, "there is a character that doesn't belong in a text file (U+0000); take it out"),
            (3, "there is a character that doesn't belong in a text file (U+0007); take it out"),
        ]),
    ],
)  # fmt: skip
def test_what_belongs_in_no_text_is_named(
    tmp_path: Path, content: bytes, text: str | None, told: list[tuple[int, str]]
) -> None:
    """YAML 1.2 section 5.1, c-printable; the byte-order mark is no part of the text (Unicode 16.0 section 23.8)."""
    file, notes = tmp_path / "x.yaml", Notebook("x.yaml")
    file.write_bytes(content)

    assert read_text(file, notes) == text
    assert [(complaint.line, complaint.message) for complaint in notes.complaints] == told


def test_a_folder_in_a_files_place_is_told(tmp_path: Path) -> None:
    notes = Notebook("x.yaml")

    assert read_text(tmp_path, notes) is None
    assert [complaint.message for complaint in notes.complaints] == [
        "this is no ordinary file; put a text file in its place"
    ]


@pytest.mark.parametrize(
    ("address", "good"),
    [
        ("ada@studio.example", True), ("ada@example.com", True), ("ada@studio.test", True), ("zoë@studio.example", True),
        ("ada@bücher.example", True), ("ada@printer.local", False), ("ada@hidden.onion", False),
        ("ada@1.0.0.127.in-addr.arpa", False), ("ada@box.localhost", False), ("ada@Printer.LOCAL", False),
        ("ada@localhost", False), ("ada@-a.example", False), ("ada@a-.example", False), ("ada-@a.example", True),
        (f"{'a' * 64}@b.example", True), (f"{'a' * 65}@b.example", False), ("a..b@c.example", False), ("", False),
    ],
)  # fmt: skip
def test_an_address_that_no_mail_reaches_is_found(address: str, good: bool) -> None:
    """RFC 6761, 6762 and 7686 name what mail from outside never reaches; RFC 2606's examples are for first tries."""
    assert (fault_of(address) is None) is good


def test_an_address_is_kept_as_typed_but_for_its_domain() -> None:
    """RFC 5321 section 2.4."""
    assert as_kept(" Ada.Lovelock@Studio.EXAMPLE ") == "Ada.Lovelock@studio.example"
