"""`agreement`, from the outside: what two people sign, read back with libraries that had no part in it."""

from __future__ import annotations

import re
from pathlib import Path

import pypdfium2
import pytest
from pypdf import PdfReader

from tests import makers
from tests.cli.runner import run

QUEUE = """\
  - code: W27-1
    tier: Small figure
    step: accepted
    moves: 2026-09-01 request; 2026-11-30 accepted
    terms: {version: 2026-07, on: 2026-11-30}
    private: {name: Ines Corvane, email: ines@mail.example, price: 1000.01, promised: 2027-04-30, notes: KEEP-OUT}
  - code: W27-2
    tier: Small figure
    step: offered
    since: 2026-11-20
    private: {name: Someone Else, email: else@mail.example, price: 500}
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A studio with two commissions more, two versions of its terms and a piece paid for in parts."""
    buyer = (
        "\n  plan: {to: Ruth Lantern, from: 2026-11-25, price: 450, paid: 2026-11-25 135, "
        "terms: {version: 2026-07, on: 2026-11-24}}"
    )
    folder = makers.studio(
        tmp_path / "studio",
        {
            "ferry-ghost": makers.piece_yaml("The Ferry Ghost"),
            "old-hare": makers.piece_yaml("The Old Hare", "on hold", number="2025-09", private=buyer),
        },
    )
    text = (folder / "commissions.yaml").read_text("utf-8")
    makers.write(folder / "commissions.yaml", text.replace("waiting:\n", f"{QUEUE}waiting:\n"))
    for name, words in (("commission", "Early words."), ("payment", "A deposit of 25%.")):
        file = folder / "pages" / f"{name}-terms" / "2026-07.md"
        makers.write(file, f"# {name.title()} terms\n\n{words}\n")
    return folder


def by_pypdf(file: Path) -> str:
    return " ".join(" ".join(page.extract_text() for page in PdfReader(file, strict=True).pages).split())


def by_pdfium(file: Path) -> str:
    document = pypdfium2.PdfDocument(file)
    try:
        pages = [document[n].get_textpage().get_text_bounded() for n in range(len(document))]
    finally:
        document.close()
    return " ".join(" ".join(pages).split())


@pytest.mark.parametrize("read", [by_pypdf, by_pdfium])
def test_a_commission_has_its_schedule_its_version_and_two_lines(folder: Path, read: object) -> None:
    """The parts by hand: 30 % of 1,000.01 is 300.003, so 300.00; 700.01 in three is 233.34, 233.34, 233.33.

    From 30 November the months go 30 December, 30 January, 28 February.
    """
    result = run(folder, "agreement", "w27-1")
    file = folder / "out" / "paper" / "agreement-w27-1.pdf"
    words = read(file)  # type: ignore[operator]

    assert result.output == f"Agreement:  {file}\n"
    for row in (
        r"deposit 30 November 2026 €300\.00",
        r"first instalment 30 December 2026 €233\.34",
        r"second instalment 30 January 2027 €233\.34",
        r"third instalment 28 February 2027 €233\.33",
        r"Together €1,000\.01",
    ):
        assert re.search(row, words), row
    assert "version 2026-07, accepted on 30 november 2026" in words.lower()
    assert "Early words." in words
    assert "A deposit of 25%." in words
    assert "Ready by 30 April 2027" in words
    assert "The client, Ines Corvane Date" in words
    assert "The maker, Ottoline Example Date" in words


def test_nothing_private_but_this_client_is_in_it(folder: Path) -> None:
    """Not the artist's notes, not another client, not a mail address, not what an hour must earn."""
    run(folder, "agreement", "W27-1")
    words = by_pdfium(folder / "out" / "paper" / "agreement-w27-1.pdf")

    for secret in ("KEEP-OUT", "Someone Else", "Secret Client", "Waiting Client", "ines@mail.example", "137"):
        assert secret not in words


def test_before_acceptance_the_terms_in_force_are_printed(folder: Path) -> None:
    """The deposit is due today unless another day is named."""
    run(folder, "agreement", "W27-2", "--start", "2027-01-31")
    words = by_pypdf(folder / "out" / "paper" / "agreement-w27-2.pdf")

    assert "version 2026-09" in words.lower()
    assert "accepted on" not in words
    assert re.search(r"deposit 31 January 2027 €150\.00 2 first instalment 28 February 2027", words)


def test_terms_that_nobody_kept_are_not_signed(folder: Path) -> None:
    """Otherwise nobody could look up later what was agreed on; an accepted version still prints."""
    text = (folder / "studio.yaml").read_text("utf-8")
    makers.write(folder / "studio.yaml", text.replace("deposit: 30%", "deposit: 35%"))
    result = run(folder, "agreement", "W27-2")

    assert result.exit_code == 1
    assert result.output == (
        "the terms as they are now aren't kept; `sitegen terms keep` keeps them, so that both sides can look up "
        "later what was agreed on\n"
    )
    assert run(folder, "agreement", "W27-1").exit_code == 0


@pytest.mark.parametrize(("size", "points"), [("a4", (595, 842)), ("letter", (612, 792))])
def test_a_finished_piece_paid_for_in_parts(folder: Path, size: str, points: tuple[int, int]) -> None:
    """The payment's terms only; the size asked for (ISO 216 and ASME Y14.1 sizes in points)."""
    run(folder, "agreement", "old-hare", "--paper", size)
    file = folder / "out" / "paper" / "agreement-old-hare.pdf"
    words = by_pypdf(file)
    box = PdfReader(file).pages[0].mediabox

    assert "Payment agreement" in words
    assert "The Old Hare" in words
    assert "The client, Ruth Lantern" in words
    assert re.search(r"deposit 25 November 2026 €135\.00", words)
    assert "Together €450.00" in words
    assert "A deposit of 25%." in words
    assert "Early words." not in words
    assert (round(float(box.width)), round(float(box.height))) == points


def test_how_a_buyers_plan_stands(folder: Path) -> None:
    """`plan` knows what came in; `books` what is still to come: 450 less 135."""
    stands = run(folder, "plan", "old-hare").output
    owed = run(folder, "books", "--year", "2026", "--why").output

    assert "Paid 135.00 EUR, still to pay 315.00 EUR." in stands
    assert re.search(r"old-hare +135\.00 EUR +315\.00 EUR", owed)


def test_a_place_that_is_not_there_is_said_so(folder: Path) -> None:
    """A sentence with the nearest code, and no file."""
    result = run(folder, "agreement", "W27-9")

    assert result.exit_code == 1
    assert "there is no order or piece 'W27-9'; did you mean" in result.output
    assert not (folder / "out").exists()


OWN = "In this agreement a deposit of €300.00 and 3 instalments are agreed on; where the terms below say otherwise about either, the payments above hold."  # fmt: skip


def test_where_the_terms_say_otherwise_the_agreement_says_which_holds(folder: Path) -> None:
    """The version that was accepted speaks of 25 %, the plan has 30 %: 300.00 of 1,000.01."""
    run(folder, "agreement", "W27-1")
    words = by_pypdf(folder / "out" / "paper" / "agreement-w27-1.pdf")
    assert OWN in words

    kept = folder / "pages" / "payment-terms" / "2026-07.md"
    kept.write_text("# Paying\n\nA deposit of 30%, then at most 3 instalments.\n", "utf-8")
    run(folder, "agreement", "W27-1")
    assert "In this agreement" not in by_pypdf(folder / "out" / "paper" / "agreement-w27-1.pdf")


def test_an_order_with_its_own_instalments_is_told_when_it_is_accepted_and_by_check(folder: Path) -> None:
    """500 has 3 instalments by the usual bands; W27-2 gets 5 and the deposit of 30 % that the terms name."""
    book = folder / "commissions.yaml"
    text = book.read_text("utf-8").replace("price: 500}", "price: 500, instalments: 5}")
    makers.write(book, text)

    run(folder, "agreement", "W27-2")
    words = by_pypdf(folder / "out" / "paper" / "agreement-w27-2.pdf")
    assert "a deposit of €150.00 and 5 instalments are agreed on" in words
    said = run(folder, "order", "move", "W27-2", "accepted").output
    assert "deposit or instalments of W27-2 aren't those of the terms" in said
    line = next(n for n, one in enumerate(book.read_text("utf-8").splitlines(), 1) if "W27-2" in one)
    checked = [one for one in run(folder, "check").output.splitlines() if "W27-2" in one]
    assert len(checked) == 1
    assert "deposit or instalments of W27-2 aren't those of version 2026-09" in checked[0]
    assert int(checked[0].split("line ")[1].split(":")[0]) > line
