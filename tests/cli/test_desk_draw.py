"""`draw`, from the outside. RFC 3797 section 6 is the worked example; its rows stand in tests/reference too."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from sitegen.terminal.main import main
from tests import makers
from tests.cli.runner import on, run

# RFC 3797 section 6: the pool, the sources as they came in, and the sixteen printed selections.
POOL = [
    "John", "Mary", "Bashful", "Dopey", "Sleepy", "Grouchy", "Doc", "Sneazy", "Handsome", "Cassandra",
    "Pollyanna", "Pendragon", "Pandora", "Faith", "Hope", "Charity", "Lee", "Longsuffering", "Chastity",
    "Smith", "Pride", "Sloth", "Envy", "Anger", "Kasczynski",
]  # fmt: skip
SOURCES = ["9319", "2, 5, 12, 8, 10", "9, 18, 26, 34, 41, 45"]
KEY = "9319./2.5.8.10.12./9.18.26.34.41.45./"
PRINTED = [17, 7, 2, 16, 25, 23, 8, 24, 19, 13, 22, 5, 18, 9, 1, 4]

ROUND = """\
  - name: Winter 2026
    opens: 2026-11-01 12:00
    closes: 2026-11-20 20:00
    slots: 2
    way: draw
    sources:
      - {name: Example Lottery 28 November, due: 2026-11-28}
      - {name: Example Numbers 29 November, due: 2026-11-29}
"""


def list_of(folder: Path, lines: list[str]) -> list[str]:
    file = makers.write(folder / "list.txt", "\n".join(lines) + "\n")
    return ["draw", "--list", str(file)]


def sources(*numbers: str) -> list[str]:
    return [word for number in numbers for word in ("--source", number)]


def test_the_worked_example_of_the_rfc_to_the_digit(tmp_path: Path) -> None:
    words = [*list_of(tmp_path, POOL), "--slots", "10", *sources(*SOURCES)]

    answer = json.loads(CliRunner().invoke(main, [*words, "--json"]).stdout)
    told = CliRunner().invoke(main, words).output

    assert list(answer) == ["key", "order", "winners"]
    assert answer["key"] == KEY
    assert answer["order"][:16] == PRINTED
    assert answer["winners"] == PRINTED[:10]
    assert sorted(answer["order"]) == list(range(1, 26))
    assert "0x0000   990DD0A5692A029A98B5E01AA28F3459    25  17 Lee (slot)" in told
    assert "0x000F   3269E6CE559ABD57E2BA6AAB495EB9BD    10  4 Dopey (reserve)" in told


@pytest.mark.parametrize(
    ("lines", "words", "said"),
    [
        (["Ana", "Ben", "ana"], sources("1"), 'line 3 enters "ana" again after line 1; one entry a person'),
        (["Ana", "", "Ben"], sources("1"), "line 2 is empty"),
        (["Ana"], [], "no source of randomness is given"),
        (["Ana"], sources("1", ""), "source 2 has no numbers yet"),
        (["Ana"], sources("-3"), 'source 1 is "-3"; write its numbers with commas between them'),
    ],
)
def test_a_list_that_cannot_be_drawn_is_refused(
    tmp_path: Path, lines: list[str], words: list[str], said: str
) -> None:
    result = CliRunner().invoke(main, [*list_of(tmp_path, lines), "--slots", "1", *words])

    assert result.exit_code == 1
    assert said in result.output


@pytest.mark.parametrize("words", [["draw"], ["draw", "--list", "x.txt"], ["draw", "W", "--slots", "3"]])
def test_half_a_question_is_wrong_usage(
    words: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "x.txt").write_text("a\nb\n")

    assert CliRunner().invoke(main, words).exit_code == 2


def request(code: str, email: str, step: str = "request", since: str = "2026-11-05") -> str:
    private = f"{{name: Secret {code}, email: {email}}}"
    return f"  - {{code: {code}, tier: Small figure, step: {step}, since: {since}, private: {private}}}\n"


def studio(folder: Path, *entries: str, rounds: str = ROUND) -> Path:
    made = makers.studio(folder)
    tiers = makers.COMMISSIONS.split("rounds:")[0]
    makers.write(made / "commissions.yaml", f"{tiers}rounds:\n{rounds}queue:\n{''.join(entries)}")
    return made


@pytest.fixture
def four(tmp_path: Path) -> Path:
    """A closed round in which four people ask, one of them twice, and somebody asked before it opened."""
    return studio(
        tmp_path / "s",
        request("W-1", "ana@mail.example"),
        request("W-2", "ben@mail.example"),
        request("W-3", "ANA@mail.example"),
        request("W-4", "cara@mail.example"),
        request("W-5", "dan@mail.example"),
        request("R-1", "early@mail.example", since="2026-10-01"),
    )


def test_the_announcement_names_codes_sources_and_days_but_no_person(four: Path) -> None:
    result = run(four, "draw", "Winter 2026")

    text = (four / "out" / "draws" / "winter-2026" / "announcement.txt").read_text(encoding="utf-8")
    assert result.exit_code == 0
    assert [line.split() for line in text.splitlines() if line.startswith("    ")] == [
        ["1", "W-1"], ["2", "W-2"], ["3", "W-4"], ["4", "W-5"],
    ]  # fmt: skip
    assert hashlib.sha256(b"W-1\nW-2\nW-4\nW-5\n").hexdigest() in text
    assert "1. Example Lottery 28 November, published on 28 November 2026" in text
    assert "Left out, since the same person entered before: W-3." in text
    assert "The draw waits for Example Lottery 28 November (28 November 2026) and Example Numbers" in text
    assert "Secret" not in text
    assert "@" not in text


def test_the_record_can_be_recomputed_with_nothing_but_a_hash_function(four: Path) -> None:
    """The steps of RFC 3797 section 4, written out once more here."""
    run(four, "draw", "Winter 2026")

    result = on("2026-11-30", four, "draw", "winter-2026", *sources("23 7 11", "4821"), "--json")

    pool, picked = [1, 2, 3, 4], []
    for step in range(4):
        edge = step.to_bytes(2, "big")
        digest = hashlib.md5(edge + b"7.11.23./4821./" + edge, usedforsecurity=False).digest()
        picked.append(pool.pop(int.from_bytes(digest, "big") % len(pool)))
    answer = json.loads(result.stdout)
    assert answer == {"key": "7.11.23./4821./", "order": picked, "winners": picked[:2]}
    record = (four / "out" / "draws" / "winter-2026" / "record.txt").read_text(encoding="utf-8")
    codes = ["W-1", "W-2", "W-4", "W-5"]
    assert f"Slots go to: {', '.join(codes[number - 1] for number in picked[:2])}" in record
    assert "How to check this draw" in record
    assert "Secret" not in record


def test_who_withdraws_after_the_announcement_is_passed_over_and_nobody_is_renumbered(four: Path) -> None:
    run(four, "draw", "Winter 2026")
    file = four / "commissions.yaml"
    for number in ("W-1", "W-2"):
        file.write_text(
            file.read_text().replace(
                f"{number}, tier: Small figure, step: request",
                f"{number}, tier: Small figure, step: declined",
            )
        )

    answer = json.loads(on("2026-11-30", four, "draw", "Winter 2026", *sources("1", "2"), "--json").stdout)

    assert sorted(answer["order"]) == [1, 2, 3, 4]
    assert sorted(answer["winners"]) == [3, 4]


def test_whoever_asks_after_the_announcement_is_not_on_the_list(four: Path) -> None:
    run(four, "draw", "Winter 2026")
    with (four / "commissions.yaml").open("a") as file:
        file.write(request("W-9", "late@mail.example"))

    answer = json.loads(on("2026-11-30", four, "draw", "Winter 2026", *sources("1", "2"), "--json").stdout)

    assert sorted(answer["order"]) == [1, 2, 3, 4]


def test_a_draw_is_made_once(four: Path) -> None:
    run(four, "draw", "Winter 2026")
    first = on("2026-11-30", four, "draw", "Winter 2026", *sources("1", "2"), "--json").stdout

    again = on("2026-12-24", four, "draw", "Winter 2026", "--json")
    other = on("2026-12-24", four, "draw", "Winter 2026", *sources("1", "3"))

    assert again.stdout == first
    assert other.exit_code == 1
    assert "was drawn on 2026-11-30 from other numbers (1; 2); a draw is made once" in other.output


def test_a_source_that_never_comes_counts_as_nought_after_the_days_announced(four: Path) -> None:
    run(four, "draw", "Winter 2026")
    file = four / "commissions.yaml"
    file.write_text(file.read_text().replace("due: 2026-11-28}", "due: 2026-11-28, numbers: '4, 9'}"))

    waiting = json.loads(on("2026-12-06", four, "draw", "Winter 2026", "--json").stdout)
    late = json.loads(on("2026-12-07", four, "draw", "Winter 2026", "--json").stdout)

    assert waiting == {"key": None, "order": [], "winners": []}
    assert late["key"] == "4.9./0./"


@pytest.mark.parametrize(
    ("change", "words", "said"),
    [
        (("way: draw", "way: first come"), [], "goes by first come, so nothing is drawn"),
        (("2026-11-20", "2026-12-20"), [], "is open until 2026-12-20 20:00"),
        (("    closes: 2026-11-20 20:00\n", ""), [], "has no `closes:`, so its list is never final"),
        (
            ("due: 2026-11-29", "due: 2026-11-25"),
            [],
            "not after the announcement of 2026-11-25; take a later one",
        ),
        (("step: request", "step: declined"), [], "nobody asks in the round Winter 2026"),
        (
            ("way: draw", "way: draw"),
            sources("1", "2"),
            "hasn't been announced, so its numbers mustn't be known",
        ),
    ],
)
def test_an_announcement_that_would_not_be_fair_is_refused(
    four: Path, change: tuple[str, str], words: list[str], said: str
) -> None:
    file = four / "commissions.yaml"
    file.write_text(file.read_text().replace(*change))

    result = run(four, "draw", "Winter 2026", *words)

    assert result.exit_code == 1
    assert said in result.output
    assert not (four / "sent" / "draws").exists()


def test_whoever_is_on_the_list_stays_in_the_file(four: Path) -> None:
    run(four, "draw", "Winter 2026")
    file = four / "commissions.yaml"
    file.write_text("".join(line for line in file.read_text().splitlines(keepends=True) if "W-4" not in line))

    result = on("2026-11-30", four, "draw", "Winter 2026", *sources("1", "2"))

    assert result.exit_code == 1
    assert "W-4 stands on the announced list and is gone from `queue:`; put the entry back" in result.output


def test_a_draw_waits_for_numbers_that_are_still_to_come(four: Path) -> None:
    run(four, "draw", "Winter 2026")

    again = on("2026-11-26", four, "draw", "Winter 2026", "--json")

    assert json.loads(again.stdout) == {"key": None, "order": [], "winners": []}


@pytest.mark.parametrize(("moment", "code"), [("2026-11-20 19:59", 1), ("2026-11-20 20:00", 0)])
def test_a_list_is_final_at_the_minute_its_round_closes(four: Path, moment: str, code: int) -> None:
    assert on(moment, four, "draw", "Winter 2026").exit_code == code


def test_sources_may_not_change_once_announced_nor_be_known_before_their_day(four: Path) -> None:
    run(four, "draw", "Winter 2026")
    early = on("2026-11-28", four, "draw", "Winter 2026", *sources("1", "2"))
    file = four / "commissions.yaml"
    file.write_text(file.read_text().replace("Example Lottery 28 November", "Another Lottery"))
    changed = on("2026-11-30", four, "draw", "Winter 2026", *sources("1", "2"))

    assert "the numbers of Example Numbers 29 November can't be known before 2026-11-29" in early.output
    assert "aren't those announced on 2026-11-25; put back, in this order: Example Lottery" in changed.output
    assert (early.exit_code, changed.exit_code) == (1, 1)


def test_the_page_for_the_site_is_written_when_asked_for(four: Path) -> None:
    run(four, "draw", "Winter 2026", "--page")

    page = (four / "pages" / "draw-winter-2026.md").read_text(encoding="utf-8")
    assert page.startswith(
        "# The draw for Winter 2026\n\n    Lantern & Loam: draw for the round Winter 2026\n"
    )
    assert run(four, "check").exit_code == 0


def test_a_damaged_record_is_said_to_be_damaged(four: Path) -> None:
    run(four, "draw", "Winter 2026")
    kept = four / "sent" / "draws" / "winter-2026.json"
    kept.write_bytes(kept.read_bytes()[:40])

    result = run(four, "draw", "Winter 2026")

    assert result.exit_code == 1
    assert "is damaged; put it back from a copy" in result.output
