"""Letters about an order say what is true that day, in both themes and languages, and leave no draft behind."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import yaml

from sitegen.letters.client import CIRCUMSTANCES, Matter
from sitegen.studio.text import slug
from tests import makers
from tests.cli.runner import contents, on

WORDS = Path(__file__).resolve().parents[2] / "themes" / "base" / "words"
# By hand: 30 % of 440 is 132, then 154 on 1 March and 154 on 1 April 2027; seven days of grace.
ORDER = """\
tiers:
  - {{name: Small figure, from_price: 420, height_mm: 250, includes: One prop.}}
queue:
  - code: Q-1
    tier: Small figure
    step: {step}
    since: {since}
    moves: 2027-01-20 offered; {moves}
    private: {{name: Ana Example, email: ana@mail.example, price: 440, {private}}}
"""
FULL = 'postage: 24, brief: "A hare, in mourning.", promised: 2027-06-30'


@pytest.fixture(params=[("case", "en"), ("handbill", "de")], ids=["case-en", "handbill-de"])
def studio(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    theme, language = request.param
    made = makers.studio(tmp_path / "s")
    settings = (
        (made / "studio.yaml").read_text().replace("language: en", f"language: {language}\ntheme: {theme}")
    )
    makers.write(made / "studio.yaml", f"how_to_pay: By transfer, with the code of the order.\n{settings}")
    return made


def book(folder: Path, step: str, since: str, moves: str, private: str = FULL) -> None:
    text = ORDER.format(step=step, since=since, moves=moves, private=private)
    makers.write(folder / "commissions.yaml", text)


def letter(folder: Path, day: str, kind: str, *words: str) -> str:
    result = on(day, folder, "order", "letter", "Q-1", *words)
    assert result.exit_code == 0, result.output
    return (folder / "out" / "letters" / f"order-q-1-{kind}" / "letter.txt").read_text(encoding="utf-8")


def said(text: str, *patterns: str) -> list[str]:
    """Return the patterns that a letter doesn't say, its lines joined."""
    joined = re.sub(r"\s+", " ", text)
    return [pattern for pattern in patterns if not re.search(pattern, joined)]


ACCEPTED = ("accepted", "2027-02-01", "2027-02-01 accepted")


AT_ONCE = ("on the bench", "2027-02-02", "2027-02-01 accepted; 2027-02-02 on the bench")


@pytest.mark.parametrize(
    ("day", "state"),
    [("2027-02-01", ACCEPTED), ("2027-02-08", ACCEPTED), ("2027-02-02", AT_ONCE), ("2027-02-08", AT_ONCE)],
)
def test_a_yes_is_confirmed_and_not_reminded_of(studio: Path, day: str, state: tuple[str, str, str]) -> None:
    """What, price, each part's amount and day, month, terms accepted and where to read them, how to pay."""
    book(studio, *state)
    file = studio / "commissions.yaml"
    makers.write(
        file,
        file.read_text().replace(
            "    private:", "    terms: {version: 2026-09, on: 2027-02-01}\n    private:"
        ),
    )

    text = letter(studio, day, "confirmation")

    assert said(
        text, "Small figure", "25", "A hare, in mourning.", "440", "24", "132", "(June|Juni) 2027",
        r"1\.? (February|Februar) 2027", r"1\.? (March|März) 2027", r"1\.? April 2027",
        "2026-09", "terms/commission/2026-09/", "By transfer, with the code of the order.",
    ) == []  # fmt: skip
    assert not re.search("remind|Erinnerung|arrived|angekommen", text)
    assert re.search(r"25 cm \(9¾ (in|Zoll)\)", text.replace("\u00a0", " "))
    page = (studio / "out" / "letters" / "order-q-1-confirmation" / "letter.html").read_text(encoding="utf-8")
    address = re.search(r'(https?://[^"<]+/terms/commission/2026-09/)"[^>]*>([^<]+)</a>', page)
    assert address is not None
    assert address[1] == address[2]


def test_what_a_confirmation_lacks_is_said_beside_it(studio: Path) -> None:
    makers.write(studio / "studio.yaml", (studio / "studio.yaml").read_text().partition("\n")[2])
    book(studio, *ACCEPTED, private="paid: 2027-02-01 132")

    result = on("2027-02-02", studio, "order", "letter", "Q-1")

    for lacking in ("how_to_pay:", "terms: {", "order promise Q-1", "postage:", "brief:"):
        assert lacking in result.output
    text = letter(studio, "2027-02-02", "confirmation")
    assert said(text, r"132\s?€? (has arrived|sind hier)|€132 has arrived") == []


def test_before_the_yes_there_is_nothing_to_confirm(studio: Path) -> None:
    book(studio, "offered", "2027-01-20", "2027-01-20 offered")

    result = on("2027-01-21", studio, "order", "letter", "Q-1", "--confirm")

    assert result.exit_code == 1
    assert "Q-1 is offered; an accepted order is what can be confirmed" in result.stderr


BENCH = ("on the bench", "2027-02-10", "2027-02-01 accepted; 2027-02-10 on the bench")


@pytest.mark.parametrize(
    ("day", "kind", "words"),
    [
        ("2027-02-15", "payment-ahead", "Nothing is late|nichts überfällig"),
        ("2027-02-28", "payment-ahead", "Nothing is late|nichts überfällig"),
        ("2027-03-01", "payment-due", "is due today|heute"),
        ("2027-03-02", "payment-due", "has been due since|seit"),
        ("2027-03-08", "payment-due", "has been due since|seit"),
        ("2027-03-09", "reminder", "A reminder|Eine Erinnerung"),
    ],
)
def test_a_part_to_come_due_and_late_have_words_of_their_own(
    studio: Path, day: str, kind: str, words: str
) -> None:
    """Fourteen days ahead; due through the seven days of grace, 8 March; late from the ninth."""
    book(studio, *BENCH, private=f"{FULL}, paid: 2027-02-01 132")

    text = letter(studio, day, kind)

    assert said(text, words, "154", r"1\.? (March|März) 2027", "By transfer") == []
    assert (kind == "reminder") == bool(re.search("A reminder|Eine Erinnerung", text))


def test_nothing_is_written_fifteen_days_ahead(studio: Path) -> None:
    book(studio, *BENCH, private=f"{FULL}, paid: 2027-02-01 132")

    result = on("2027-02-14", studio, "order", "letter", "Q-1")

    assert result.exit_code == 1
    assert (
        "Q-1 is on the bench; the next part is due on 2027-03-01. There's nothing to remind" in result.stderr
    )
    assert letter(studio, "2027-02-14", "confirmation", "--confirm")


@pytest.mark.parametrize(
    ("day", "there", "not_there"),
    [
        ("2027-02-20", "at once or on the days|sofort bezahlen oder", "late|überfällig"),
        ("2027-03-02", "Of that, €154 has been due|Davon sind 154 € fällig", "late|überfällig:"),
        ("2027-03-09", "Of that, €154 is late|Davon sind 154 € überfällig", "All of that|Das alles"),
        # The second part is due on 1 April, and not late yet.
        ("2027-04-02", "Of that, €154 is late|Davon sind 154 € überfällig", "All of that|Das alles"),
        ("2027-04-09", "All of that is late|Das alles ist überfällig", "Of that|Davon"),
    ],
)
def test_a_finished_piece_with_a_late_part_says_both(
    studio: Path, day: str, there: str, not_there: str
) -> None:
    moves = "2027-02-01 accepted; 2027-02-10 on the bench; 2027-02-18 finished"
    book(studio, "finished", "2027-02-18", moves, private=f"{FULL}, paid: 2027-02-01 132")

    text = letter(studio, day, "finished").replace("\u00a0", " ")

    assert said(text, "is finished|ist fertig", there, "308", r"€24\b|24 €") == []
    assert not re.search(
        not_there, re.sub(r"\s+", " ", text.split("The payments")[0].split("Die Zahlungen")[0])
    )


OFFERED = ("offered", "2027-01-20", "2027-01-20 offered")


@pytest.mark.parametrize(
    ("gone", "named"),
    [
        ("postage: 24, ", "the postage (`postage: 24` there if it comes on top, or `postage: included`)"),
        ('brief: "A hare, in mourning.", ', "what you'll make (`brief:"),
        (", promised: 2027-06-30", "the day promised (`sitegen order promise Q-1 2027-06-30`)"),
    ],
)
def test_an_offer_that_lacks_what_the_terms_promise_is_not_made(studio: Path, gone: str, named: str) -> None:
    book(studio, *OFFERED, private=FULL.replace(gone, ""))

    result = on("2027-01-21", studio, "order", "letter", "Q-1")

    assert result.exit_code == 1
    assert f"the offer Q-1 isn't complete, so there's no letter yet. It lacks {named}" in result.stderr
    assert not (studio / "out" / "letters").exists()


def test_postage_on_top_and_postage_included_are_told_apart(studio: Path) -> None:
    book(studio, *OFFERED)
    extra = letter(studio, "2027-01-21", "offer")
    book(studio, *OFFERED, private=FULL.replace("postage: 24", "postage: included"))

    within = letter(studio, "2027-01-21", "offer-2")

    assert said(extra, "24.{0,3} on top of the price|24.{0,3} zusätzlich zum Preis") == []
    assert said(within, "included in the price|im Preis enthalten") == []
    assert "24" not in within


def test_an_offer_that_ran_out_is_no_longer_made(studio: Path) -> None:
    """Fourteen days from 20 January: the last day is 3 February."""
    book(studio, *OFFERED)

    assert letter(studio, "2027-02-03", "offer")
    result = on("2027-02-04", studio, "order", "letter", "Q-1")

    assert "Q-1: the offer stood until 2027-02-03, which has gone by" in result.stderr


def test_no_draft_is_written_over(studio: Path) -> None:
    """The same letter again leaves the folder as it is; the artist's own words and another day's letter stay."""
    book(studio, *BENCH, private=f"{FULL}, paid: 2027-02-01 132")
    letter(studio, "2027-03-02", "payment-due")
    first = contents(studio / "out" / "letters")
    letter(studio, "2027-03-03", "payment-due")
    assert contents(studio / "out" / "letters") == first
    edited = studio / "out" / "letters" / "order-q-1-payment-due" / "letter.txt"
    makers.write(edited, "My own words.\n")
    before = contents(studio / "out" / "letters")

    letter(studio, "2027-03-03", "payment-due-2")

    after = contents(studio / "out" / "letters")
    assert {name: after[name] for name in before} == before
    assert len(after) == 2 * len(before)


def test_a_second_delay_needs_a_yes_before_the_last_promised_day(studio: Path) -> None:
    """16 CFR 435.2(b)(2)(ii): even for a day more; both the first promise and the last are named."""
    book(studio, *BENCH, private=f"{FULL}, paid: 2027-02-01 132")
    letter(studio, "2027-06-01", "delay", "--new-day", "2027-07-30")
    on("2027-06-01", studio, "order", "promise", "Q-1", "2027-07-30")

    text = letter(studio, "2027-07-20", "renewed-delay", "--new-day", "2027-08-02")

    assert said(
        text, r"30\.? (June|Juni) 2027.*30\.? (July|Juli) 2027.*2\.? August 2027",
        r"(by|bis) \w+, 30\.? Juli 2027 nicht|by \w+ 30 July 2027, and the piece isn’t sent", "132",
        "called off by itself|von selbst aufgehoben",
    ) == []  # fmt: skip
    assert not re.search("If I hear nothing, I take it|Höre ich nichts", text)


def test_a_long_delay_says_until_when_the_yes_is_needed(studio: Path) -> None:
    """16 CFR 435.2(b)(1)(iii): without consent and unsent 30 days after the first day, the order is cancelled."""
    book(studio, *BENCH, private=f"{FULL}, paid: 2027-02-01 132")

    text = letter(studio, "2027-06-01", "long-delay", "--new-day", "2027-07-31")

    assert (
        said(text, r"(by|bis) \w+,? 30\.? (July|Juli) 2027", "called off by itself|von selbst aufgehoben")
        == []
    )


def test_an_unknown_day_needs_a_reason_and_a_yes(studio: Path, tmp_path: Path) -> None:
    """16 CFR 435.2(b)(1)(i), (iii): the reason is given, and who waits may still cancel."""
    book(studio, *BENCH, private=FULL)
    refused = on("2027-06-01", studio, "order", "letter", "Q-1", "--new-day", "unknown")
    makers.write(tmp_path / "why.md", "The kiln is broken.")

    text = letter(
        studio, "2027-06-01", "long-delay", "--new-day", "unknown", "--note", str(tmp_path / "why.md")
    )

    assert "a letter that names no new day must give the reason" in refused.stderr
    assert said(
        text, "The kiln is broken.", "can’t name a new day|neuen Termin kann ich noch nicht nennen",
        "at any time until|jederzeit vom Auftrag zurücktreten", "owe nothing|schulden Sie nichts",
    ) == []  # fmt: skip
    assert not re.search(r"€0\b|\b0\s€", text)


def test_a_choice_offered_too_late_is_no_yes_by_silence(studio: Path) -> None:
    """16 CFR 435.2(b)(1): the option is offered in no event later than the promised time."""
    book(studio, *BENCH, private=f"{FULL}, paid: 2027-02-01 132")

    assert letter(studio, "2027-06-30", "delay", "--new-day", "2027-07-10")
    text = letter(studio, "2027-07-01", "long-delay", "--new-day", "2027-07-10")

    assert said(text, "has gone by|schon vorbei", "need your yes|brauche ich Ihr Ja") == []
    assert "by itself" not in text
    assert "von selbst" not in text


def test_a_day_that_nobody_named_is_not_called_a_promise(studio: Path) -> None:
    """Without a day it's 30 days from the yes, 16 CFR 435.2(a)(1): 3 March; the letter says that it's counted."""
    book(studio, *BENCH, private="postage: 24")

    text = letter(studio, "2027-02-20", "delay", "--new-day", "2027-03-20")

    assert said(text, "no day was agreed on|kein Tag vereinbart", r"3\.? (March|März) 2027", "30") == []
    assert not re.search("I promised|versprochen", text)


@pytest.mark.parametrize(
    ("new_day", "kind", "says"),
    [
        # Sooner than the 30 days, so it's the promise that counts; later, so it was put off once already.
        ("2027-02-25", "delay", r"(I promised|sollte) .*25\.? (February|Februar) 2027"),
        ("2027-04-01", "renewed-delay", r"(put off|verschoben).* 1\.? April 2027|1\.? April 2027 verschoben"),
    ],
)
def test_a_day_that_was_named_after_the_yes_is_told_as_what_it_was(
    studio: Path, new_day: str, kind: str, says: str
) -> None:
    book(studio, *BENCH, private=f"paid: 2027-02-01 132, new_days: {new_day}")

    text = letter(studio, "2027-02-20", kind, "--new-day", "2027-04-02")

    assert said(text, says) == []
    assert not re.search("no day was agreed on|kein Tag vereinbart|first promised|zuerst", text)


def test_a_lapsed_offer_is_told_with_the_day_it_was_made_or_not_at_all(studio: Path) -> None:
    """`since:` is the day it lapsed; without the step on record nobody knows when it was offered."""
    book(studio, "lapsed", "2027-02-04", "2027-02-04 lapsed")
    assert said(letter(studio, "2027-02-05", "lapsed"), r"20\.? (January|Januar) 2027") == []
    file = studio / "commissions.yaml"
    makers.write(file, file.read_text().replace("2027-01-20 offered; ", ""))

    result = on("2027-02-05", studio, "order", "letter", "Q-1")

    assert result.exit_code == 1
    assert "Q-1 doesn't say when it was offered; write `moves:`" in result.stderr


def test_what_is_still_to_be_filled_in_is_left_out_and_said(studio: Path) -> None:
    """A place to fill in, in angle brackets, is no brief and no way to pay."""
    settings = (
        (studio / "studio.yaml").read_text().replace("By transfer, with the code", "To <your bank, IBAN>")
    )
    makers.write(studio / "studio.yaml", settings)
    book(studio, *ACCEPTED, private='brief: "<what is made>", promised: 2027-06-30, postage: included')

    result = on("2027-02-02", studio, "order", "letter", "Q-1")

    assert ("how_to_pay:" in result.output, "write `brief:`" in result.output) == (True, True)
    text = letter(studio, "2027-02-02", "confirmation")
    assert ("IBAN" in text, "what is made" in text) == (False, False)
    file = studio / "commissions.yaml"
    makers.write(
        file, file.read_text().replace("step: accepted", "step: offered").replace("2027-02-01", "2027-01-20")
    )
    assert "It lacks what you'll make" in on("2027-01-21", studio, "order", "letter", "Q-1").stderr


def test_a_yes_is_confirmed_also_where_the_studio_has_no_plan_of_its_own(studio: Path) -> None:
    settings = re.sub(r"payment_plan:\n(?:  .*\n)+", "", (studio / "studio.yaml").read_text())
    makers.write(studio / "studio.yaml", settings)
    book(studio, *ACCEPTED)

    assert "payment_plan" not in settings
    assert letter(studio, "2027-02-08", "confirmation")
    assert said(letter(studio, "2027-02-09", "reminder"), "132") == []


def test_an_offer_promises_a_day_after_its_last_and_says_when_the_days_of_payment_move(studio: Path) -> None:
    book(studio, *OFFERED, private=FULL.replace("2027-06-30", "2027-02-03"))
    early = on("2027-01-21", studio, "order", "letter", "Q-1")
    book(studio, *OFFERED, private=FULL.replace("2027-06-30", "2027-02-04"))
    floating = letter(studio, "2027-01-21", "offer")
    book(studio, *OFFERED, private=f"{FULL}, plan_from: 2027-02-20")
    result = on("2027-01-21", studio, "order", "letter", "Q-1")
    fixed = (studio / "out" / "letters" / "order-q-1-offer-2" / "letter.txt").read_text(encoding="utf-8")

    assert "Q-1 is promised for 2027-02-03, and the offer can be answered until 2027-02-03" in early.stderr
    assert result.exit_code == 0
    moves = "they begin sooner|beginnen sie früher"
    assert (said(floating, moves), said(fixed, moves)) == ([], [moves])
    assert said(fixed, r"20\.? (February|Februar) 2027") == []


def test_a_new_day_is_later_than_the_promise_and_than_today(studio: Path) -> None:
    book(studio, *BENCH, private="promised: 2027-03-10")

    for new_day, day, told in [
        ("2027-04-09", "2027-04-10", "--new-day 2027-04-09 has gone by; today is 2027-04-10"),
        ("2027-03-10", "2027-03-01", "Q-1 is to be sent by 2027-03-10; 2027-03-10 isn't later than that"),
    ]:
        result = on(day, studio, "order", "letter", "Q-1", "--new-day", new_day)
        assert (result.exit_code, told in result.stderr) == (1, True)
    assert letter(studio, "2027-04-10", "long-delay", "--new-day", "2027-04-10")


def test_once_the_day_has_gone_by_the_artist_is_told_when_the_money_is_due_back(studio: Path) -> None:
    """16 CFR 435.2(b)(1)(iii): no yes cancels; 435.1(b): a refund within seven working days. On a calendar: Thursday
    1 April 2027, then Friday 2, Monday 5 to Friday 9, Monday 12."""
    book(studio, *BENCH, private="promised: 2027-03-10")

    late = on("2027-04-01", studio, "order", "letter", "Q-1", "--new-day", "2027-05-01").output
    early = on("2027-03-01", studio, "order", "letter", "Q-1", "--new-day", "2027-05-01").output

    assert "2027-03-10 has gone by. Without their yes" in late
    assert "by 2027-04-12, if that is today" in late
    assert "has gone by" not in early


def test_of_a_finished_piece_that_is_paid_there_is_nothing_to_ask(studio: Path) -> None:
    moves = "2027-02-01 accepted; 2027-02-10 on the bench; 2027-02-18 finished"
    book(studio, "finished", "2027-02-18", moves, private=f"{FULL}, paid: 2027-02-01 440")

    result = on("2027-02-20", studio, "order", "letter", "Q-1")

    assert result.exit_code == 1
    assert "Q-1 is finished, and paid in full. There's nothing to remind anybody of" in result.stderr


def test_an_offer_whose_terms_are_not_kept_says_so_beside_it(studio: Path) -> None:
    assert on("2027-01-20", studio, "terms", "keep").exit_code == 0
    book(studio, *OFFERED)
    kept = on("2027-01-21", studio, "order", "letter", "Q-1").output
    with (studio / "pages" / "payment-terms.md").open("a", encoding="utf-8") as page:
        page.write("\nAnd one sentence more.\n")

    assert "aren't kept as they are now" not in kept
    assert "aren't kept as they are now: `sitegen terms keep`" in on("2027-01-21", studio, "order", "letter", "Q-1").output  # fmt: skip


def test_an_offer_without_a_day_is_not_written(studio: Path) -> None:
    book(studio, "offered", "2027-01-20", "2027-01-20 offered")
    file = studio / "commissions.yaml"
    lines = [line for line in file.read_text().splitlines() if "since:" not in line and "moves:" not in line]
    makers.write(file, "\n".join(lines) + "\n")

    result = on("2027-01-21", studio, "order", "letter", "Q-1")

    assert result.exit_code == 1
    assert "Q-1 doesn't say when it was offered; write `since:`" in result.stderr


@pytest.mark.parametrize(
    ("private", "there", "not_there"),
    [
        ("called_off_by: client", "As you wished.*paid nothing yet|Auf Ihren Wunsch.*noch nichts bezahlt", "goes back|an Sie zurück"),
        ("called_off_by: client, paid: 2027-02-01 132, kept: 0", "€132. All of it goes back|132 € bezahlt. Das geht ganz", "terms you accepted|Bedingungen, die Sie"),
        ("called_off_by: maker, why: The mould broke., paid: 2027-02-01 132; 2027-02-20 -132, kept: 0", "I have had to.*The mould broke.*sent back already|aufheben müssen.*The mould broke.*schon zurückgeschickt", "As you wished|Auf Ihren Wunsch"),
        ("called_off_by: client, paid: 2027-02-01 132; 2027-02-20 -32, kept: 60", "€60 of it stays.*€72 goes back.*€32 has been sent back already; €40 follows|davon 60 € in.*72 € gehen.*32 € sind schon.*40 € folgen", "All of it|Das geht ganz"),
        ("called_off_by: client, paid: 2027-02-01 132, kept: 132", "it stays with the studio|bleibt das in der Werkstatt", r"€0\b|\b0 €"),
    ],
)  # fmt: skip
def test_the_end_of_an_order_says_what_became_of_the_money(
    studio: Path, private: str, there: str, not_there: str
) -> None:
    moves = "2027-02-01 accepted; 2027-02-15 called off"
    book(studio, "called off", "2027-02-15", moves, private)

    text = letter(studio, "2027-02-21", "called-off").replace("\u00a0", " ")

    assert said(text, there) == []
    assert said(text, not_there) == [not_there]


@pytest.mark.parametrize(
    "picture",
    [
        "![](moth-queen)",
        "![A hare](https://other.example/x.jpg)",
        "![a][b]",
        '![a](x.jpg "t")',
        '<img src="x.jpg">',
        "![a]",
    ],
)
def test_a_picture_in_a_note_about_an_order_is_refused(studio: Path, tmp_path: Path, picture: str) -> None:
    book(studio, *OFFERED)
    makers.write(tmp_path / "words.md", f"Look:\n\n{picture}\n")

    result = on("2027-01-21", studio, "order", "letter", "Q-1", "--note", str(tmp_path / "words.md"))

    assert result.exit_code == 1
    assert f"the note shows a picture, '{picture}'" in result.stderr
    assert not (studio / "out" / "letters").exists()


@pytest.mark.parametrize(
    ("note", "noticed"),
    [
        ("Dear Ana,\n\nThe hare is done.", "Dear Ana"),
        ("**Liebe Ana,**\n\nDer Hase ist fertig.", "Liebe Ana"),
        ("Hello\n\nThe hare is done.", "Hello"),
        ("Hello! The hare is done.", "Hello"),
        ("Sehr geehrte Frau Example,\n\nDer Hase ist fertig.", "Sehr geehrte Frau Example"),
        ("Ana,\n\nthe hare is done.", "Ana"),
        ("Ana is what I call the hare.", None),
        ("The hare is dear to me, and done.", None),
        ("Highlights of the week: the hare is done.", None),
        ("Lieberman, the carter, came by.", None),
    ],
)
def test_a_note_that_greets_by_itself_is_noticed(
    studio: Path, tmp_path: Path, note: str, noticed: str | None
) -> None:
    book(studio, *OFFERED)
    makers.write(tmp_path / "words.md", note)

    result = on("2027-01-21", studio, "order", "letter", "Q-1", "--note", str(tmp_path / "words.md"))

    assert result.exit_code == 0
    assert ("the letter greets already" in result.output) == (noticed is not None)
    assert noticed is None or f"The note opens with '{noticed}'" in result.output


def test_both_languages_have_the_same_paragraphs_under_the_same_conditions() -> None:
    """A letter in German says what it says in English; each circumstance is asked for by some paragraph."""
    shapes, asked = [], set()
    for language in ("en", "de"):
        client = yaml.safe_load((WORDS / f"{language}.yaml").read_text(encoding="utf-8"))["client"]
        assert {slug(matter).replace("-", "_") for matter in Matter} <= client.keys()
        shapes.append(_shape(client))
        asked |= {word for shape in shapes for _, when, _ in shape for word in when.split()}
    assert shapes[0] == shapes[1]
    assert asked == CIRCUMSTANCES


def _shape(written: object, path: str = "") -> list[tuple[str, str, tuple[str, ...]]]:
    """List each sentence by its place, when it holds, and what it names."""
    if not isinstance(written, dict):
        return [(path, "", tuple(sorted(set(re.findall(r"\{\w+\}", str(written))))))]
    if "say" in written:
        return [
            (path, str(written.get("when", "")), tuple(sorted(set(re.findall(r"\{\w+\}", written["say"])))))
        ]
    return sorted(one for key, value in written.items() for one in _shape(value, f"{path}/{key}"))
