"""Today: each errand comes when something is lost by waiting, and goes by the thing done."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from sitegen.desk.errands import ErrandKind
from sitegen.jobs.letters import leave_key
from sitegen.jobs.today import errands
from sitegen.letters.folder import make_token
from sitegen.letters.record import PostingEvent, Record
from tests import makers
from tests.cli.runner import run

DAY = "2026-11-25"  # a Wednesday
TIERS = """\
tiers:
  - name: Small figure
    from_price: 420
    private: {hours: {low: 14, usual: 20, high: 32}}
"""
SHOW = makers.SHOW.replace("2027-02-27", "2026-12-05").replace("2027-02-28", "2026-12-06")
PLAN = "price: 431, deposit: 30%, instalments: 2"
OFFER = f"{PLAN}, postage: included, brief: A hare., promised: 2027-06-01"
LETTER = "commissions-winter-2026"
ANA = "ana@mail.example"


def order(step: str, moves: str, private: str = PLAN, **more: str) -> str:
    """Write a queue of one order; the last of its moves is its step."""
    lines = "".join(f"    {name}: {text}\n" for name, text in more.items())
    who = "name: A. Collector, email: collector@mail.example"
    return (
        f"{TIERS}queue:\n  - code: A-1\n    tier: Small figure\n    step: {step}\n    since: {moves[-11 - len(step) :][:10]}\n"
        f"    moves: {moves}\n{lines}    private: {{{who}{', ' + private if private else ''}}}\n"
    )


def book(text: str) -> Callable[[Path], None]:
    return lambda at: _write(at / "commissions.yaml", text)


def _write(file: Path, text: str) -> None:
    makers.write(file, text)


def typed(*words: str) -> Callable[[Path], None]:
    """Do something at the terminal."""

    def do(at: Path) -> None:
        result = run(at, "--today", DAY, *words)
        assert result.exit_code == 0, result.output

    return do


def many(*steps: Callable[[Path], Any]) -> Callable[[Path], None]:
    def do(at: Path) -> None:
        for step in steps:
            step(at)

    return do


ROUND = f"""{TIERS}rounds:
  - name: Winter 2026
    opens: 2026-12-05 12:00
    closes: 2026-12-12 20:00
    slots: 5
    way: draw
"""
A_LETTER = many(book(ROUND), typed("announce", "commissions"))


def noted(event: PostingEvent) -> Callable[[Path], None]:
    """Put a line about Ana into the record of the letter."""

    def do(at: Path) -> None:
        with closing(Record(at / "sent" / f"{LETTER}.jsonl")) as record:
            token = make_token(leave_key(at / "sent"), ANA)
            record.note(token, event, datetime(2026, 11, 25, 12, tzinfo=UTC), "550 5.7.1 no")

    return do


def replaced(file: str, old: str, new: str) -> Callable[[Path], None]:
    def do(at: Path) -> None:
        text = (at / file).read_text(encoding="utf-8")
        assert old in text
        (at / file).write_text(text.replace(old, new), encoding="utf-8")

    return do


def backed_up(day: str) -> Callable[[Path], None]:
    def do(at: Path) -> None:
        result = run(at, "--today", day, "backup", str(at.parent / "stick"))
        assert result.exit_code == 0, result.output

    return do


def WEB(at: Path) -> None:  # noqa: N802 (as the others that only do)
    """Say where the site lives."""
    (at.parent / "web").mkdir()
    file = at / "studio.yaml"
    block = f"publish: {{way: folder, folder: {at.parent / 'web'}}}\n"
    file.write_text(block + file.read_text("utf-8"), "utf-8")


OFFERED = "2026-11-01 request; 2026-11-{} offered"
ACCEPTED = "2026-10-01 request; 2026-10-02 offered; 2026-10-05 accepted"
BENCH = f"{ACCEPTED}; 2026-10-20 on the bench"
FINISHED = f"{BENCH}; 2026-11-20 finished"
ALL_PAID = f"{PLAN}, paid: 2026-11-02 431, promised: 2027-03-01"
SOLD = makers.piece_yaml("The Ferry Ghost", "sold")


@dataclass(frozen=True)
class Case:
    """When an errand comes and by what it goes."""

    kind: str
    target: tuple[str, str]
    before: Callable[[Path], Any]
    done: Callable[[Path], Any]
    said: str
    """Words of the sentence."""
    by: str | None = None


CASES = {
    "an offer that ran out": Case(
        "lapsed offer", ("order", "A-1"), book(order("offered", OFFERED.format("08"))),
        typed("order", "lapsed", "--yes"), "ran out 3 days ago, Sunday 22 November", "2026-11-22",
    ),
    "an offer that nobody was told of": Case(
        "offer", ("order", "A-1"), book(order("offered", OFFERED.format("24"), OFFER)),
        typed("order", "letter", "A-1"), "ends in 13 days, Tuesday 8 December, and no letter says so",
        "2026-12-08",
    ),
    "an offer that ends": Case(
        "offer", ("order", "A-1"),
        many(book(order("offered", OFFERED.format("12"), OFFER)), typed("order", "letter", "A-1")),
        typed("order", "move", "A-1", "accepted"), "ends tomorrow, Thursday 26 November; then the slot is free",
        "2026-11-26",
    ),
    "a late part": Case(
        "payment", ("order", "A-1"),
        book(order("on the bench", BENCH, f"{PLAN}, paid: 2026-10-05 129.30, promised: 2027-06-01")),
        typed("order", "paid", "A-1", "150.85", "--on", "2026-11-24"),
        "150.85 EUR for A-1 (Small figure, A. Collector) should have come", "2026-11-05",
    ),
    "a buyer's late part": Case(
        "payment", ("piece", "ferry-ghost"),
        lambda at: _write(at / "pieces/ferry-ghost/piece.yaml", makers.piece_yaml(
            "The Ferry Ghost", "on hold",
            private="\n  plan: {to: B. Uyer, from: 2026-10-01, price: 480, paid: 2026-10-01 144}")),
        replaced("pieces/ferry-ghost/piece.yaml", "144}", "480}"),
        "168.00 EUR for The Ferry Ghost should have come", "2026-11-01",
    ),
    "a piece due back": Case(
        "piece due back", ("piece", "ferry-ghost"),
        typed("piece", "out", "ferry-ghost", "--to", "The Long Room", "--since", "2026-10-01", "--until",
              "2026-11-23", "--share", "40%"),
        typed("piece", "back", "ferry-ghost"), "was due back from The Long Room 2 days ago, Monday 23 November", "2026-11-23",
    ),
    "money that goes back": Case(
        "money to go back", ("order", "A-1"),
        book(order("called off", f"{ACCEPTED}; 2026-11-23 called off",
                   f"{PLAN}, paid: 2026-10-05 129.30, called_off_by: maker, kept: 0, why: A kiln broke.")),
        typed("order", "refund", "A-1", "129.30"), "129.30 EUR go back for A-1", "2026-12-02",
    ),
    "a day that is gone": Case(
        "delivery", ("order", "A-1"),
        book(order("on the bench", BENCH, f"{PLAN}, paid: 2026-11-02 431, promised: 2026-11-20")),
        typed("order", "promise", "A-1", "2027-02-01"),
        "should have been sent 5 days ago, Friday 20 November", "2026-11-20",
    ),
    "no day was named": Case(
        "delivery", ("order", "A-1"), book(order("on the bench", BENCH, f"{PLAN}, paid: 2026-11-02 431")),
        typed("order", "promise", "A-1", "2027-02-01"), "1 order has no promised day (A-1)", "2026-11-04",
    ),
    "no day was named, and the rule's hardly holds": Case(
        "delivery", ("order", "A-1"),
        book(order("accepted", "2026-10-20 request; 2026-10-27 offered; 2026-10-28 accepted",
                   f"{PLAN}, paid: 2026-11-02 431")),
        typed("order", "promise", "A-1", "2027-02-01"), "for A-1 until Friday 27 November", "2026-11-27",
    ),
    "a day that hardly holds": Case(
        "promise", ("order", "A-1"),
        book(order("on the bench", BENCH, f"{PLAN}, paid: 2026-11-02 431, promised: 2026-11-27")),
        typed("order", "promise", "A-1", "2027-02-01"), "promised for in 2 days, Friday 27 November",
        "2026-11-27",
    ),
    "the bench is free": Case(
        "bench", ("order", "A-1"),
        book(order("accepted", ACCEPTED, f"{PLAN}, paid: 2026-10-05 431, promised: 2027-03-01")),
        typed("order", "move", "A-1", "on the bench"), "Nothing ordered lies on the bench, and A-1",
    ),
    "finished and nobody knows": Case(
        "finished", ("order", "A-1"),
        book(order("finished", FINISHED, f"{PLAN}, paid: 2026-10-05 129.30, promised: 2027-03-01")),
        typed("order", "letter", "A-1"), "is finished, and no letter says so",
    ),
    "paid and still here": Case(
        "shipping", ("order", "A-1"), book(order("paid", f"{FINISHED}; 2026-11-22 paid", ALL_PAID)),
        typed("order", "move", "A-1", "shipped"), "is paid in full and still here, to be sent by Monday 1 March 2027",
        "2027-03-01",
    ),
    "a request without an answer": Case(
        "request", ("order", "A-1"), book(order("request", "2026-11-10 request", "")),
        typed("order", "decline", "A-1", "--why", "No kiln."),
        "has waited for an answer since Tuesday 10 November, 15 days",
    ),
    "a round that nobody was told of": Case(
        "round", ("round", "Winter 2026"), book(ROUND), typed("announce", "commissions"),
        "Winter 2026 opens in 10 days, Saturday 5 December, and no letter says so", "2026-12-05",
    ),
    "a letter that isn't posted": Case(
        "letter", ("letter", LETTER), A_LETTER,
        lambda at: typed("send", LETTER, "--mbox", str(at.parent / "box"))(at),
        "is made and not posted; 1 person gets it", "2026-12-05",
    ),
    "a letter nobody knows of": Case(
        "letter in doubt", ("letter", LETTER), many(A_LETTER, noted(PostingEvent.HANDING)),
        typed("send", LETTER, "--has", ANA), "Whether 1 person got “Commissions open",
    ),
    "a letter that was refused": Case(
        "letter refused", ("letter", LETTER), many(A_LETTER, noted(PostingEvent.REFUSED)),
        typed("people", "leave", ANA), "for 1 person on your list",
    ),
    "nobody is invited": Case(
        "invitation", ("show", "quayside-2027"),
        lambda at: _write(at / "shows/quayside-2027.yaml", SHOW), typed("announce", "show", "quayside-2027"),
        "begins in 10 days, Saturday 5 December, and nobody is invited", "2026-12-05",
    ),
    "nobody is invited to a class": Case(
        "invitation", ("class", "heads-2027"),
        lambda at: _write(at / "shows/heads-2027.yaml", makers.CLASS.replace("2027-03-0", "2026-12-0")),
        many(replaced("people.csv", "commissions; new pieces", "classes"), typed("announce", "class", "heads-2027")),
        "Heads in Two Days begins in 11 days, Sunday 6 December, and nobody is invited", "2026-12-06",
    ),
    "no sheet is printed": Case(
        "sheet", ("show", "quayside-2027"), lambda at: _write(at / "shows/quayside-2027.yaml", SHOW),
        typed("sheet", "quayside-2027"), "its sign-up sheet isn't printed", "2026-12-05",
    ),
    "a consent that ends": Case(
        "consent", ("people", ""), replaced("people.csv", "2026-02-01,web", "2024-12-01,purchase"),
        replaced("people.csv", "2024-12-01,purchase", "2026-11-25,web"),
        "One person's consent ends in 6 days, Tuesday 1 December", "2026-12-01",
    ),
    "a sale that isn't noted": Case(
        "sale", ("piece", "ferry-ghost"), lambda at: _write(at / "pieces/ferry-ghost/piece.yaml", SOLD),
        typed("piece", "mark", "ferry-ghost", "sold", "--price", "480", "--on", DAY),
        "The Ferry Ghost is sold, and nothing says for how much",
    ),
    "an order sent off without a sale": Case(
        "sale", ("order", "A-1"),
        many(book(order("shipped", f"{FINISHED}; 2026-11-22 paid; 2026-11-23 shipped", ALL_PAID)),
             replaced("pieces/ferry-ghost/piece.yaml", "\nprivate:", "\nprivate:\n  order: A-1")),
        typed("piece", "mark", "ferry-ghost", "commissioned", "--price", "431", "--on", "2026-11-23"),
        "is shipped, and no piece says that it was sold",
    ),
    "a licence to renew": Case(
        "checklist", ("checklist", ""),
        replaced("studio.yaml", "  rate: 28", "  checklist: [{what: licence, due: 2026-12-10}]\n  rate: 28"),
        replaced("studio.yaml", "due: 2026-12-10", "due: 2027-12-10"), "Licence is due on 2026-12-10.", "2026-12-10",
    ),
    "a checklist without days": Case(
        "checklist", ("checklist", ""),
        replaced("studio.yaml", "  rate: 28", "  checklist: [{what: licence}, {what: tax}]\n  rate: 28"),
        replaced("studio.yaml", "[{what: licence}, {what: tax}]", "[]"), "2 things of your checklist without a day",
    ),
    "terms that changed": Case(
        "terms", ("terms", ""), replaced("pages/commission-terms.md", "written down", "written"),
        typed("terms", "keep"), "have changed since version 2026-09",
    ),
    "a book that can't be right": Case(
        "books", ("books", ""),
        many(lambda at: _write(at / "pieces/ferry-ghost/piece.yaml", makers.piece_yaml(
                "The Ferry Ghost", "sold", private="\n  sold: {on: 2026-10-01, price: 480, stream: shows}")),
             replaced("shows/quayside-2027.yaml", "  costs:",
                      "  sales:\n    - {what: ferry-ghost, price: 490}\n  costs:"),
             replaced("shows/quayside-2027.yaml", "2027-02-2", "2026-10-0")),
        replaced("shows/quayside-2027.yaml", "490", "480"), "1 thing in the books can't be quite right",
    ),
    "a line that doesn't say enough": Case(
        "files", ("order", "A-1"),
        book(order("on the bench", BENCH, f"{PLAN}, promised: 2026-09-01")),
        book(order("on the bench", BENCH, f"{PLAN}, promised: 2027-09-01")), "lies before the order",
    ),
    "a price that was to change": Case(
        "price step", ("prices", ""),
        replaced(
            "pieces/ferry-ghost/piece.yaml", "\nprivate:", "\nprivate:\n  next_prices: 2026-11-20 540; 2026-11-24 555"
        ),
        typed("piece", "reprice", "--yes"),
        "1 price was to change 5 days ago, Friday 20 November: The Ferry Ghost to 555.00 EUR.",
        "2026-11-20",
    ),
    "a site that was never built": Case(
        "site", ("site", ""), lambda at: None, typed("build"), "The site isn't built yet",
    ),
    "a site that isn't what the files say": Case(
        "site", ("site", ""), many(typed("build"), replaced("pages/about.md", "window", "door")),
        typed("build"), "Something has changed since the site was built",
    ),
    "a site that isn't on the web": Case(
        "web", ("web", ""), many(WEB, typed("build")), typed("publish"), "The site isn't on the web yet",
    ),
    "a site that was built anew since": Case(
        "web", ("web", ""),
        many(WEB, typed("publish"), replaced("pages/about.md", "window", "door"), typed("build")),
        typed("publish"), "visitors get the earlier one",
    ),
    "a starter without a name": Case(
        "beginning", ("studio", ""), replaced("studio.yaml", "studio: ", "studio: <a name> "),
        replaced("studio.yaml", "studio: <a name> ", "studio: "), "no name or address of its own",
    ),
    "a starter without a piece": Case(
        "beginning", ("pieces", ""), replaced("pieces/ferry-ghost/piece.yaml", "title: ", "title: <your piece> "),
        replaced("pieces/ferry-ghost/piece.yaml", "title: <your piece> ", "title: "), "No piece of yours",
    ),
    "no backup yet": Case(
        "backup", ("backup", ""), A_LETTER, backed_up(DAY), "There's no backup of this studio yet",
    ),
    "an old backup": Case(
        "backup", ("backup", ""), backed_up("2026-10-01"), backed_up(DAY), "The last backup is 55 days old",
    ),
}  # fmt: skip


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A studio in which nothing waits but its site."""
    made = makers.studio(tmp_path / "s")
    _write(made / "commissions.yaml", TIERS)
    return made


def found(folder: Path, kind: str) -> list[dict[str, Any]]:
    answer = json.loads(run(folder, "--today", DAY, "today", "--json").stdout)
    return [one for one in answer["errands"] if one["kind"] == kind]


@pytest.mark.parametrize("name", CASES)
def test_an_errand_comes_and_goes_by_the_thing_done(folder: Path, name: str) -> None:
    case = CASES[name]
    case.before(folder)

    (there,) = found(folder, case.kind)
    case.done(folder)

    assert case.said in there["sentence"]
    assert there["by"] == case.by
    assert there["target"] == {"kind": case.target[0], "name": case.target[1]}
    assert found(folder, case.kind) == []


def test_every_kind_of_errand_is_tried() -> None:
    assert {case.kind for case in CASES.values()} == set(map(str, ErrandKind))


def test_a_day_on_which_nothing_is_lost_says_so(folder: Path) -> None:
    typed("build")(folder)

    assert run(folder, "--today", DAY, "today").output == "Nothing is lost by waiting today.\n"
    assert errands(folder, DAY).as_answer() == {"today": DAY, "errands": []}


def test_what_is_lost_first_comes_first_and_each_has_a_command(folder: Path) -> None:
    """Lost already, then this week, then this month; within that by what can't be made good again."""
    typed("build")(folder)
    makers.write(folder / "commissions.yaml", order("offered", OFFERED.format("08")) + "\n")
    makers.write(folder / "shows/quayside-2027.yaml", SHOW)
    replaced("people.csv", "2026-02-01,web", "2024-11-27,purchase")(folder)

    lines = run(folder, "--today", DAY, "today").output.splitlines()

    assert lines == [
        "The offer to A-1 (Small figure, A. Collector) ran out 3 days ago, Sunday 22 November, and nobody "
        "is in line for that slot.",
        "  Let it lapse; the slot is free then.  sitegen order lapsed",
        "One person's consent ends in 2 days, Friday 27 November, two years after a purchase; then you may "
        "not write to them.",
        "  Ask them for a plain yes before that day.  sitegen people list",
        "Quayside Doll Fair begins in 10 days, Saturday 5 December, and nobody is invited yet.",
        "  Write the invitation, look at it, and post it.  sitegen announce show quayside-2027",
        "Quayside Doll Fair begins in 10 days, Saturday 5 December, and its sign-up sheet isn't printed: "
        "whom you meet there you can't write to.",
        "  Print the sheet.  sitegen sheet quayside-2027",
        "Something has changed since the site was built; it shows how things were then.",
        "  Build the site.  sitegen build",
    ]


def test_several_requests_of_a_round_are_one_errand_once_it_is_drawn_from(folder: Path) -> None:
    text = ROUND.replace("2026-12-05", "2026-11-01").replace("2026-12-12", "2026-11-XX")
    asked = "".join(
        f"  - {{code: W-{n}, tier: Small figure, step: request, since: 2026-11-0{n}, "
        f"moves: 2026-11-0{n} request}}\n"
        for n in (2, 3)
    )
    makers.write(folder / "commissions.yaml", text.replace("XX", "30") + "queue:\n" + asked)
    before = found(folder, "request")
    makers.write(folder / "commissions.yaml", text.replace("XX", "08") + "queue:\n" + asked)

    (after,) = found(folder, "request")

    assert before == [], "as long as it takes requests, nobody can be answered"
    assert after["target"] == {"kind": "round", "name": "Winter 2026"}
    assert after["sentence"] == (
        "2 requests of Winter 2026 wait, the longest, W-2, for an answer since Monday 2 November, 23 days."
    )


OVER = ROUND.replace("2026-12-05", "2026-10-20").replace("2026-12-12", "2026-11-12").replace("s: 5", "s: 1")


@pytest.mark.parametrize(
    ("rounds", "asked", "passes", "offers"),
    [
        (TIERS, "2026-11-14", False, True),  # no round to wait for
        (ROUND, "2026-11-14", False, False),  # one is to come
        (OVER, "2026-11-10", True, False),  # its one slot is offered, and somebody waits for it
        (OVER.replace("s: 1", "s: 2"), "2026-11-10", True, True),
    ],
)
def test_a_slot_is_passed_on_or_offered_only_where_there_is_one(
    folder: Path, rounds: str, asked: str, *, passes: bool, offers: bool
) -> None:
    who = "private: {name: B. Other, email: other@mail.example}"
    queue = order("offered", OFFERED.format("08")).removeprefix(TIERS)
    queue += f"  - {{code: B-1, tier: Small figure, step: request, moves: {asked} request, {who}}}\n"
    makers.write(folder / "commissions.yaml", rounds + queue)

    (lapsed,), (waits,) = found(folder, "lapsed offer"), found(folder, "request")

    assert ("nobody is in line" not in lapsed["sentence"], "Pass it on" in lapsed["do"]) == (passes, passes)
    assert waits["do"].startswith("Offer a slot") == offers


def test_nothing_is_written_by_asking(folder: Path) -> None:
    A_LETTER(folder)
    before = {file: file.stat().st_mtime_ns for file in folder.rglob("*") if file.is_file()}

    found(folder, "letter")

    after = {file: file.stat().st_mtime_ns for file in folder.rglob("*") if file.is_file()}
    assert {file for file in after if before.get(file) != after[file]} <= {folder / "out/.reading.json"}


def test_a_reminder_that_lies_ready_is_named(folder: Path) -> None:
    CASES["a late part"].before(folder)
    typed("order", "letter", "A-1")(folder)

    (there,) = found(folder, "payment")

    assert there["do"] == "The reminder of Wednesday 25 November lies ready: post it."


def test_a_round_that_turned_since_the_build_is_a_reason_to_build(folder: Path) -> None:
    """Midnight alone is none: nobody should have to build each morning."""
    makers.write(folder / "commissions.yaml", ROUND)
    typed("build")(folder)

    assert not [errand for errand in errands(folder, "2026-12-04").errands if errand.kind == "site"]
    assert [errand.sentence for errand in errands(folder, "2026-12-06").errands if errand.kind == "site"] == [
        "Since the site was built something in it has begun or is over."
    ]


def test_letters_that_are_no_longer_true_are_not_to_be_posted(folder: Path) -> None:
    A_LETTER(folder)
    replaced("commissions.yaml", "slots: 5", "slots: 6")(folder)

    (told,) = found(folder, "letter")
    assert "can't be posted any more" in told["sentence"]
    assert (told["do"], told["target"]["name"]) == ("See what changed, and make it again.", LETTER)


def test_what_became_of_the_letters_folder_is_no_matter(folder: Path) -> None:
    """out/ may be deleted at any time, and strange things may lie in it."""
    A_LETTER(folder)
    letters = folder / "out" / "letters"
    (letters / "notes.txt").write_text("mine")
    (letters / "odd").mkdir()
    (letters / "odd" / "letter.json").write_text("{")
    (letters / "order-a-1-offer").mkdir()
    (letters / "order-a-1-offer" / "letter.eml").write_bytes(b"\xff\xfe")

    assert len(found(folder, "letter")) == 1
    shutil.rmtree(folder / "out")
    assert found(folder, "letter") == []


def test_terms_that_still_have_places_to_fill_in_cannot_be_kept_yet(folder: Path) -> None:
    replaced("pages/commission-terms.md", "written down", "written down by <whom you like>")(folder)

    assert found(folder, "terms") == []
