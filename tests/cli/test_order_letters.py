"""Letters about an order: to that client alone, with the postal address, in the studio's language, drafts only."""

from __future__ import annotations

import email
import email.policy
import re
from email.message import EmailMessage
from pathlib import Path

import pytest
from fast_mail_parser import parse_email

from tests import makers
from tests.cli.runner import contents, run

# By hand: 30 % of 440 is 132, then 154 and 154; on 25 November the second part, due on the 15th, is late.
BOOK = """\
tiers:
  - name: Small figure
    from_price: 420
queue:
  - code: Q-1
    tier: Small figure
    step: on the bench
    since: 2026-10-20
    moves: 2026-10-15 accepted; 2026-10-20 on the bench
    private: {name: Ana <b>Å</b>, email: ana@mail.example, price: 440, paid: 2026-10-15 132; 2026-11-01 100}
  - {code: Q-2, tier: Small figure, step: offered, since: 2026-11-20, private: {name: Ben Other, email: ben@mail.example, price: 431, postage: 18.50, brief: "A hare, in mourning.", promised: 2027-06-30}}
  - {code: Q-3, tier: Small figure, step: lapsed, since: 2026-11-20, moves: 2026-11-01 offered; 2026-11-20 lapsed, private: {email: cara@mail.example}}
  - {code: Q-4, tier: Small figure, step: declined, since: 2026-11-20, private: {email: dan@mail.example, why: "It would need a kiln & a permit."}}
  - code: Q-5
    tier: Small figure
    step: called off
    since: 2026-11-20
    moves: 2026-10-15 accepted; 2026-11-20 called off
    private: {email: eva@mail.example, price: 440, paid: 2026-10-15 200, kept: 132, called_off_by: client}
  - code: Q-6
    tier: Small figure
    step: finished
    since: 2026-11-20
    moves: 2026-11-01 accepted; 2026-11-20 finished
    private: {email: fay@mail.example, price: 440, paid: 2026-11-01 132}
"""
LETTERS = {
    "Q-1": "order-q-1-reminder", "Q-2": "order-q-2-offer", "Q-3": "order-q-3-lapsed",
    "Q-4": "order-q-4-declined", "Q-5": "order-q-5-called-off", "Q-6": "order-q-6-finished",
}  # fmt: skip
WHO = {"Q-1": "ana", "Q-2": "ben", "Q-3": "cara", "Q-4": "dan", "Q-5": "eva", "Q-6": "fay"}


@pytest.fixture(params=[("case", "en"), ("handbill", "de")], ids=["case-en", "handbill-de"])
def studio(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    theme, language = request.param
    made = makers.studio(tmp_path / "s")
    settings = (
        (made / "studio.yaml").read_text().replace("language: en", f"language: {language}\ntheme: {theme}")
    )
    makers.write(made / "studio.yaml", settings)
    makers.write(made / "commissions.yaml", BOOK)
    return made


def letter_of(folder: Path, code: str) -> EmailMessage:
    result = run(folder, "order", "letter", code)
    assert result.exit_code == 0, result.output
    file = folder / "out" / "letters" / LETTERS[code] / "letter.eml"
    return email.message_from_bytes(file.read_bytes(), policy=email.policy.default)


@pytest.mark.parametrize("code", list(LETTERS))
def test_each_letter_is_for_one_client_and_carries_the_address(studio: Path, code: str) -> None:
    """Headers as RFC 5322 section 3.6 wants them; no list field of RFC 2369, for it's no letter of a list."""
    message = letter_of(studio, code)

    folder = studio / "out" / "letters" / LETTERS[code]
    text = (folder / "letter.txt").read_text(encoding="utf-8")
    page = (folder / "letter.html").read_text(encoding="utf-8")
    assert sorted(contents(folder)) == ["letter.eml", "letter.html", "letter.txt"]
    assert message["To"].addresses[0].addr_spec == f"{WHO[code]}@mail.example"
    assert (len(message["To"].addresses), message["Cc"], message["Bcc"]) == (1, None, None)
    assert [name for name in message if name.lower().startswith("list-")] == []
    assert [len(message.get_all(name, [])) for name in ("Date", "From", "Subject", "Message-ID")] == [1] * 4
    for said in (text, page):
        assert all(
            line in said.replace("&amp;", "&") for line in ("Lantern & Loam", "1 Example Lane", "Sampletown")
        )
        assert code in said
        assert [one for one in WHO.values() if f"{one}@" in said] == []
        assert "{" not in re.sub(r"<style>.*?</style>", "", said, flags=re.DOTALL)
    assert max(map(len, text.splitlines())) <= 78


@pytest.mark.parametrize("code", list(LETTERS))
def test_another_reader_finds_the_same_text(studio: Path, code: str) -> None:
    """fast_mail_parser is a parser of its own (Rust), not Python's."""
    letter_of(studio, code)

    folder = studio / "out" / "letters" / LETTERS[code]
    other = parse_email((folder / "letter.eml").read_bytes())
    assert (
        other.text_plain[0].replace("\r\n", "\n").strip()
        == (folder / "letter.txt").read_text("utf-8").strip()
    )
    assert (
        other.text_html[0].replace("\r\n", "\n").strip()
        == (folder / "letter.html").read_text("utf-8").strip()
    )


def test_a_reminder_names_what_is_owed_and_every_part(studio: Path) -> None:
    letter_of(studio, "Q-1")

    text = (studio / "out" / "letters" / LETTERS["Q-1"] / "letter.txt").read_text(encoding="utf-8")
    page = (studio / "out" / "letters" / LETTERS["Q-1"] / "letter.html").read_text(encoding="utf-8")
    # 132 + 154 were due by 15 November, 232 came: 54 is missing.
    assert re.search(r"€54\b|54\s€", text)
    assert [len(re.findall(word, text)) for word in (r"132", r"154")] == [1, 2]
    assert "<b>" not in page


def test_marks_in_the_order_book_are_words_in_a_letter(studio: Path) -> None:
    makers.write(studio / "commissions.yaml", BOOK.replace("a permit.", "a <b>permit</b>."))
    letter_of(studio, "Q-4")

    page = (studio / "out" / "letters" / LETTERS["Q-4"] / "letter.html").read_text(encoding="utf-8")
    assert "kiln &amp; a &lt;b&gt;permit&lt;/b&gt;." in " ".join(page.split())
    assert "<b>" not in page


def test_an_offer_says_until_when_and_what_it_would_cost(studio: Path) -> None:
    """Offered on 20 November, 14 days: until 4 December. 30 % of 431 is 129.30; twice 150.85 in the months after.

    Size, subject, price, postage, month, payments and last day: what content/pages/commission-terms.md promises.
    """
    letter_of(studio, "Q-2")

    text = (studio / "out" / "letters" / LETTERS["Q-2"] / "letter.txt").read_text(encoding="utf-8")
    assert [
        len(re.findall(amount, text.replace(",", "."))) for amount in ("431", r"129\.30", r"150\.85")
    ] == [1, 2, 2]
    assert len(re.findall(r"\b4\.?\s(December|Dezember)\s2026", text)) >= 4
    for said in (
        "A hare, in mourning.",
        r"18[.,]50",
        r"(June|Juni) 2027",
        r"30\.? (June|Juni) 2027",
        "Small figure",
    ):
        assert re.search(said, text), said


def test_the_reason_of_a_no_is_in_it_and_the_sums_of_an_end(studio: Path) -> None:
    for code in ("Q-4", "Q-5"):
        letter_of(studio, code)

    no = (studio / "out" / "letters" / LETTERS["Q-4"] / "letter.txt").read_text(encoding="utf-8")
    end = (studio / "out" / "letters" / LETTERS["Q-5"] / "letter.txt").read_text(encoding="utf-8")
    makers.write(studio / "commissions.yaml", BOOK.replace("kept: 132", "kept: 200, claimed: 64"))
    letter_of(studio, "Q-5")
    more = (studio / "out" / "letters" / f"{LETTERS['Q-5']}-2" / "letter.txt").read_text(encoding="utf-8")
    came = BOOK.replace(
        "paid: 2026-10-15 200, kept: 132", "paid: 2026-10-15 200; 2026-11-23 64, kept: 200, claimed: 64"
    )
    makers.write(studio / "commissions.yaml", came)
    letter_of(studio, "Q-5")
    last = (studio / "out" / "letters" / f"{LETTERS['Q-5']}-3" / "letter.txt").read_text(encoding="utf-8")
    assert [len(re.findall(r"\b64\b", said)) for said in (end, more, last)] == [0, 1, 0]
    assert (len(re.findall(r"\b264\b", last)), "200" in last) == (1, False)
    assert "It would need a kiln & a permit." in no
    assert [bool(re.search(rf"\b{amount}\b", end)) for amount in (200, 132, 68)] == [True] * 3


@pytest.mark.parametrize(("new_day", "named"), [("2027-01-05", "delay"), ("2027-01-06", "long-delay")])
def test_a_delay_offers_the_choice_and_says_what_silence_means(
    studio: Path, new_day: str, named: str
) -> None:
    """Promised for 6 December; a yes by silence for up to 30 days more, 16 CFR 435.2(b)(1)(ii)-(iii)."""
    makers.write(
        studio / "commissions.yaml",
        BOOK.replace("paid: 2026-10-15 132;", "promised: 2026-12-06, paid: 2026-10-15 132;"),
    )

    result = run(studio, "order", "letter", "Q-1", "--new-day", new_day)

    assert result.exit_code == 0, result.output
    text = (studio / "out" / "letters" / f"order-q-1-{named}" / "letter.txt").read_text(encoding="utf-8")
    assert re.search(r"\b6\.?\s(December|Dezember)\s2026", text)
    assert re.search(r"€232\b|232\s€", text)
    early = run(studio, "order", "letter", "Q-1", "--new-day", "2026-12-06")
    assert "Q-1 is to be sent by 2026-12-06; 2026-12-06 isn't later than that" in early.stderr
    assert (
        "Q-4 isn't an accepted order on its way"
        in run(studio, "order", "letter", "Q-4", "--new-day", new_day).stderr
    )


def test_whoever_is_forgotten_leaves_no_draft_behind(studio: Path) -> None:
    letter_of(studio, "Q-1")
    letter_of(studio, "Q-2")

    result = run(studio, "people", "forget", "ANA@mail.example", "--yes")

    assert result.exit_code == 0, result.output
    assert sorted(path.name for path in (studio / "out" / "letters").iterdir()) == [LETTERS["Q-2"]]


def test_the_same_files_make_the_same_bytes(studio: Path) -> None:
    letter_of(studio, "Q-1")
    before = contents(studio / "out" / "letters")

    letter_of(studio, "Q-1")

    assert contents(studio / "out" / "letters") == before


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (("paid: 2026-10-15 132; 2026-11-01 100", "paid: 2026-10-15 286"), "Q-1 is on the bench; the next part is due on 2026-12-15. There's nothing to remind anybody of"),
        (("email: ana@mail.example, ", ""), "Q-1 has no address to write to; add `email:` to its `private:`"),
        (("email: ana@mail.example", "email: ana"), "the address of Q-1 can't be written to"),
        (("since: 2026-10-20\n    moves: 2026-10-15 accepted; 2026-10-20 on the bench", "since: 2026-10-20"), None),
    ],
)  # fmt: skip
def test_a_letter_that_cannot_be_written_says_why(
    studio: Path, change: tuple[str, str], said: str | None
) -> None:
    makers.write(studio / "commissions.yaml", BOOK.replace(*change))

    result = run(studio, "order", "letter", "Q-1")

    assert (result.exit_code, said is None or said in result.stderr) == (0 if said is None else 1, True)
    assert said is None or not (studio / "out" / "letters").exists()


def test_without_a_postal_address_nothing_is_written(studio: Path) -> None:
    settings = (studio / "studio.yaml").read_text()
    makers.write(studio / "studio.yaml", re.sub(r"postal_address: \|\n(  .*\n)+", "", settings))

    result = run(studio, "order", "letter", "Q-2")

    assert result.exit_code == 1
    assert "studio.yaml has no postal_address" in result.stderr
    assert not (studio / "out").exists()
