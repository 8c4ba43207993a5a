"""What changes in the order book is written into one person's lines; everybody else's stay byte for byte."""

from __future__ import annotations

import os
import re
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from sitegen.sources import StudioFault
from sitegen.sources import read as read_studio
from sitegen.sources.changes import rewritten, write_orders
from sitegen.sources.edit import append, put, take_out
from sitegen.sources.yaml_script import opened
from sitegen.studio.commission import Commissions, Order
from sitegen.studio.offers import offer, with_order
from sitegen.studio.order_lines import Receipt, Step
from sitegen.studio.order_steps import FOLLOWING, When, moved
from sitegen.studio.plan import CalledOffBy
from tests import makers

DAY = date(2027, 3, 1)
WORDS = st.text(st.characters(exclude_categories=["Cs", "Cc", "Zl", "Zp"]), max_size=20)
COMMENTS = st.text(st.characters(codec="ascii", exclude_categories=["Cc"]), max_size=12)


def read(text: str) -> Commissions:
    """Read the file with the reference loader of the YAML library, and type it by the studio's model."""
    value = yaml.load(text, Loader=yaml.BaseLoader)  # noqa: S506 (makes text, lists and dicts only)
    return Commissions.model_validate(without_empty(value), context={"digits": 2})


def without_empty(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: without_empty(part) for key, part in value.items() if part != ""}
    return [without_empty(part) for part in value] if isinstance(value, list) else value


def quoted(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"


@dataclass(frozen=True)
class Written:
    """One place as some artist might have written it."""

    chunk: str
    comments: tuple[str, ...]


@st.composite
def orders(draw: st.DrawFn, number: int) -> Written:
    """Write a place in one of the ways YAML knows, with comments where an artist puts them."""
    step = draw(st.sampled_from([step for step in Step if FOLLOWING[step]]))
    said = [f"# {draw(COMMENTS)} {number}.{at}" for at in range(3)]
    notes = quoted(draw(WORDS) or "none")
    mail = f"who{number}@mail.example"
    flow = f"{{name: N {number}, email: {mail}, price: 431, notes: {notes}}}"
    block = f"\n      name: N {number}\n      email: {mail} {said[2]}\n      price: 431\n      notes: {notes}"
    folded = f"\n      notes: |\n        Two lines, and\n        # not a comment\n      name: N {number}\n      price: 431"
    private = draw(st.sampled_from([f" {flow}", block, folded, "", " {}", "  "]))
    private_line = "" if private == "" else f"    private:{private}\n"
    word = draw(st.sampled_from([str(step), quoted(step), f'"{step}"']))
    head = f"  - code: C-{number}  {said[0]}\n    tier: Small\n    step: {word} {said[1]}\n"
    since = draw(st.sampled_from(["", "    since: 2027-01-02\n"]))
    layouts = {
        "block": f"{head}{since}{private_line}",
        "private first": f"  - private: {flow}\n    code: C-{number} {said[0]}\n    tier: Small\n    step: {step}\n",
        "flow": f"  - {{code: C-{number}, tier: Small, step: {step}, private: {flow}}} {said[0]}\n",
    }
    chunk = layouts[draw(st.sampled_from(sorted(layouts)))]
    after = draw(st.sampled_from(["", "\n", "  # --- \n", "\n# a line between\n"]))
    chunk += after
    return Written(chunk, tuple(one for one in said if one in chunk))


@st.composite
def books(draw: st.DrawFn) -> tuple[str, list[Written], str, str]:
    """Write a whole file: what stands before the queue, the places, what stands after; and its line ends."""
    written = [draw(orders(number)) for number in range(draw(st.integers(1, 4)))]
    head = "# The order book\ntiers:\n  - {name: Small, from_price: 420} # one size\n\nqueue:\n"
    tail = draw(st.sampled_from(["", "\nwaiting:\n  - since: 2026-08-02   # long\n    private: {name: W}\n"]))
    return head, written, tail, draw(st.sampled_from(["\n", "\r\n"]))


def changed(order: Order) -> Order:
    """Take a step, note money with a refund, and write a reason that is hard to quote."""
    step = FOLLOWING[order.step][0]
    after = moved(order, step, When(DAY))
    paid = (Receipt(on=DAY, amount=Decimal("130.50")), Receipt(on=DAY, amount=Decimal("-0.50")))
    update = {
        "paid": paid, "why": "It's late: {no}, #1", "kept": Decimal("3.00"), "hours": {"sculpting": Decimal("2.5")},
        "called_off_by": CalledOffBy.CLIENT,
    }  # fmt: skip
    return after.model_copy(update={"private": order.private.model_copy(update=update)})


@settings(max_examples=30)
@given(books(), st.data())
def test_only_the_lines_of_the_one_who_moved_change(
    book: tuple[str, list[Written], str, str], data: st.DataObject
) -> None:
    head, written, tail, newline = book
    at = data.draw(st.integers(0, len(written) - 1))
    text = (head + "".join(written.chunk for written in written) + tail).replace("\n", newline)
    before = read(text)
    after = with_order(before, changed(before.queue[at]))

    result = rewritten(text, before, after, 2)

    first = (head + "".join(written.chunk for written in written[:at])).replace("\n", newline)
    last = ("".join(written.chunk for written in written[at + 1 :]) + tail).replace("\n", newline)
    assert read(result) == after
    assert result.startswith(first)
    assert result.endswith(last)
    inside = result[len(first) : len(result) - len(last)]
    assert [comment for comment in written[at].comments if comment not in inside] == []
    assert "\n" not in result.replace("\r\n", "") or newline == "\n"


@settings(max_examples=30)
@given(books())
def test_nothing_changed_writes_the_same_bytes(book: tuple[str, list[Written], str, str]) -> None:
    head, written, tail, newline = book
    text = (head + "".join(written.chunk for written in written) + tail).replace("\n", newline)

    assert rewritten(text, read(text), read(text), 2) == text


DEMO = Path(__file__).resolve().parents[2] / "demo" / "commissions.yaml"


EVERY_FIELD = {
    "code": "W27-9", "tier": "Small", "step": "called off", "since": "2027-03-05",
    "moves": "2027-01-04 10:30 request; 2027-03-05 called off", "round": "Spring: 2027",
    "terms": {"version": "2026-11", "on": "2027-01-20"},
    "private": {
        "name": "Ada \"Moth\" Lovelock", "email": "ada@example.com", "price": "640.50", "postage": "18.20",
        "brief": "a wren, in felt # not paint", "notes": "{asked: twice}", "promised": "2027-06-01",
        "new_days": "2027-07-01; 2027-08-01", "deposit": "30%", "instalments": "3", "plan_from": "2027-01-21",
        "paid": "2027-01-21 192.15; 2027-02-21 -20", "hours": {"sculpting": "3.5"}, "worked": "2027-03-01 3.5", "why": "moved away",
        "called_off_by": "client", "kept": "100", "claimed": "12.34",
    },
}  # fmt: skip


def test_every_field_of_an_order_is_written_and_reads_back() -> None:
    """A field that the model has and the writer doesn't would be lost in silence."""
    model = Order.model_validate(EVERY_FIELD, context={"digits": 2})
    for entry in (model, model.private):
        unused = [
            name
            for name, field in type(entry).model_fields.items()
            if field.get_default() == getattr(entry, name)
        ]
        assert unused == [], "fill it in above"

    text = rewritten("queue:\n", Commissions(), Commissions(queue=(model,)), 2)

    assert read(text).queue == (model,)


def test_in_the_demos_book_every_order_can_move_without_touching_another() -> None:
    text = DEMO.read_text(encoding="utf-8")
    chunks = re.split(r"(?m)^(?=  - code: |waiting:)", text)
    before = read(text)
    for at, order in enumerate(before.queue, start=1):
        if not FOLLOWING[order.step]:
            continue
        after = moved(order, FOLLOWING[order.step][0], When(DAY))
        paid = (*order.private.paid, Receipt(on=DAY, amount=Decimal("10.50")))
        after = after.model_copy(update={"private": order.private.model_copy(update={"paid": paid})})

        result = rewritten(text, before, with_order(before, after), 2)

        now = re.split(r"(?m)^(?=  - code: |waiting:)", result)
        assert [number for number, chunk in enumerate(chunks) if chunk != now[number]] == [at]
        assert chunks[at].count("#") == now[at].count("#")
        assert read(result).queue[at - 1] == after


WAITING_ROUND = """\
# Mine
tiers: [{name: Small, from_price: 420}]
rounds:
  - {name: Winter 2027, opens: 2027-01-16, slots: 1, way: waiting list}
queue:   # nobody yet
waiting:
  - since: 2026-08-02  # from the fair
    tier: Small
    # she has the mouse
    private: {name: "Ana: A", email: ana@mail.example, notes: "a # in it"}
  - since: 2026-09-02
    private: {name: Ben}   # no hurry
"""


def test_whoever_leaves_the_waiting_list_takes_their_comments_along() -> None:
    before = read(WAITING_ROUND)
    after, _ = offer(before, before.rounds[0], None, 1, DAY)

    result = rewritten(WAITING_ROUND, before, after, 2)

    assert read(result) == after
    assert result == WAITING_ROUND.split("queue:", maxsplit=1)[0] + (
        "queue:   # nobody yet\n"
        "  # from the fair\n"
        "  # she has the mouse\n"
        "  - code: W27-1\n"
        "    tier: Small\n"
        "    step: offered\n"
        "    since: 2027-03-01\n"
        "    moves: 2026-08-02 waiting; 2027-03-01 offered\n"
        "    round: Winter 2027\n"
        "    private:\n"
        "      name: 'Ana: A'\n"
        "      email: ana@mail.example\n"
        "      notes: 'a # in it'\n"
        "waiting:\n"
        "  - since: 2026-09-02\n"
        "    private: {name: Ben}   # no hurry\n"
    )


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("queue:\n", "queue:\n  - code: A\n"),
        ("queue: []\nwaiting: x\n", "queue:\n  - code: A\nwaiting: x\n"),
        ("queue: ~  # none\n", "queue:  # none\n  - code: A\n"),
        ("tiers: x", "tiers: x\nqueue:\n  - code: A"),
        ("", "queue:\n  - code: A\n"),
        ("queue:\n- code: B\n# end\n", "queue:\n- code: B\n- code: A\n# end\n"),
        ("queue:\n  - code: B\n    notes: |\n      two\n      lines\n\n# end", "queue:\n  - code: B\n    notes: |\n      two\n      lines\n  - code: A\n\n# end"),
        ("queue:\r\n  - code: B", "queue:\r\n  - code: B\r\n  - code: A"),
    ],
)  # fmt: skip
def test_one_more_entry_stands_where_it_belongs(before: str, after: str) -> None:
    assert append(before, "x.yaml", ["queue"], {"code": "A"}) == after


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("a:\n  b: 1  # d\n", "a:\n  b: 1  # d\n  c: x\n"),
        ("a:\n  b: [1]\n", "a:\n  b: [1]\n  c: x\n"),
        ("a: {b: 1}  # d\n", "a: {b: 1, c: x}  # d\n"),
        ("a:\ne: 1\n", "a: {c: x}\ne: 1\n"),
        ("a: {}\n", "a: {c: x}\n"),
        ("a: ~  # d\n", "a: {c: x}  # d\n"),
        ("a: {c: }\n", "a: {c: x}\n"),
        ("a: {c: 1}\n", "a: {c: x}\n"),
    ],
)
def test_a_line_is_put_in_where_there_was_none(before: str, after: str) -> None:
    assert put(before, "x.yaml", ["a", "c"], "x") == after


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("queue: [{code: B}] # one\n", "queue: [{code: B}, {code: A}] # one\n"),
        (
            "queue: [{code: B},\n  {code: C} # c\n  ]\n",
            "queue: [{code: B},\n  {code: C}, {code: A} # c\n  ]\n",
        ),
        ("queue: {code: B}\n", "queue: [{code: B}, {code: A}]\n"),
    ],
)
def test_a_list_in_brackets_stays_in_brackets(before: str, after: str) -> None:
    assert append(before, "commissions.yaml", ["queue"], {"code": "A"}) == after
    assert opened(take_out(after, "commissions.yaml", ["queue", 1]), "").values != opened(after, "").values


def test_the_file_on_disk_keeps_its_mark_and_is_untouched_after_a_refusal(tmp_path: Path) -> None:
    file = tmp_path / "commissions.yaml"
    content = (
        b"\xef\xbb\xbf"
        + WAITING_ROUND.replace(
            "queue:   # nobody yet", "queue: [{code: A, tier: Small, step: request}]"
        ).encode()
    )
    before = read(content.decode("utf-8-sig"))
    after, _ = offer(before, before.rounds[0], None, 1, DAY)
    twice = content.replace(b"queue:", b"queue: nobody\nqueue:")
    file.write_bytes(twice)

    with pytest.raises(StudioFault):
        write_orders(tmp_path, before, after, 2)
    assert file.read_bytes() == twice

    file.write_bytes(content)
    order = moved(before.queue[0], Step.WAITING, When(DAY))
    assert write_orders(tmp_path, before, with_order(before, order), 2) is True
    assert file.read_bytes().startswith(b"\xef\xbb\xbf# Mine")
    assert os.name != "posix" or file.stat().st_mode & 0o077 == 0  # clients' names: their owner's alone
    assert write_orders(tmp_path, with_order(before, order), with_order(before, order), 2) is False


@pytest.mark.parametrize(
    ("entries", "said"),
    [
        ("step: accepted, moves: 2026-01-02 request", "Q-1 is 'accepted', but its moves end with 'request'"),
        ("step: request, moves: 2026-01-02 offered; 2026-01-01 request", "the moves of Q-1 don't go forward in time"),
        ("step: called off, private: {paid: 2026-01-02 10}", "say in its `private:` what is kept of it, like `kept: 0`"),
        ("step: shipped, private: {price: 440, paid: 2026-01-02 439.99}", "but only 439.99 of 440.00 is noted under `paid:`"),
        ("step: accepted, private: {email: A@mail.example}}\n  - {code: Q-2, tier: Small figure, step: offered, private: {email: a@mail.example}", "whoever has the offer Q-2 holds Q-1 (accepted) already"),
        ("step: shipped, private: {price: 440, paid: 2026-01-02 440}", None),
        ("step: accepted, since: 2026-02-01, moves: 2026-01-02 request", "Q-1 is 'accepted', but its moves end with 'request'"),
        ("step: accepted, since: 2026-01-02, moves: 2026-01-02 accepted", None),
        ("step: accepted, since: 2026-01-03, moves: 2026-01-02 accepted", "its moves end with '2026-01-02 accepted'; write the day that's true"),
        ("step: shipped, since: 2026-02-01, private: {price: 440, paid: 2026-01-02 440; 2026-02-02 -30}", None),
        ("step: shipped, since: 2026-02-01, private: {price: 440, paid: 2026-01-02 440; 2026-01-03 -30}", "but only 410.00 of 440.00 is noted under `paid:`"),
        ("step: called off, private: {kept: 0}", None),
    ],
)  # fmt: skip
def test_what_the_book_says_twice_in_different_ways_is_worth_a_look(
    tmp_path: Path, entries: str, said: str | None
) -> None:
    made = makers.studio(tmp_path)
    tiers = makers.COMMISSIONS.split("queue:", maxsplit=1)[0]
    makers.write(
        made / "commissions.yaml", f"{tiers}queue:\n  - {{code: Q-1, tier: Small figure, {entries}}}\n"
    )

    told = [one.message for one in read_studio(made).complaints if one.file == "commissions.yaml"]

    assert len(told) == (said is not None)
    assert all(said in one for one in told if said)


_ROUNDS = """\
  - name: Winter 2027
    opens: 2027-01-16 12:00
    closes: 2027-01-23 20:00
    slots: 2
    way: first come
    tiers: [Small figure]
"""


@pytest.mark.parametrize(
    ("rounds", "entry", "line", "level", "said"),
    [
        ("", "step: request, moves: 2027-01-16 11:58 request", 12, "warning", "Q-1 is in no round: it asked on 2027-01-16 11:58, before Winter 2027 opens (2027-01-16 12:00)"),
        ("", "step: request, since: 2027-01-16", 12, "warning", "Q-1 has no time of day, and Winter 2027 opens that day"),
        ("", "step: request, round: Winter 2027, moves: 2027-01-23 20:00 request", 12, "warning", "Q-1 isn't in line for Winter 2027: it asked on 2027-01-23 20:00, when Winter 2027 was closed"),
        ("", "step: offered, round: Winter 2027, moves: 2027-01-16 11:58 request; 2027-01-25 offered", 12, "warning", "Q-1 isn't in line for Winter 2027"),
        ("", "step: request, round: Winter 2027", 12, "warning", "Q-1 has no day, so it's last in line"),
        ("", "step: accepted, round: Winter 2027, moves: 2027-01-16 11:58 request; 2027-01-25 offered; 2027-01-26 accepted", 0, "", None),
        ("", "step: request, moves: 2027-03-28 02:30 request", 12, "error", "'2027-03-28 02:30' is a time that doesn't exist in Europe/Berlin"),
        ("", "step: request, moves: 2026-10-25 02:30 request", 12, "warning", "Q-1: the clocks show 2026-10-25 02:30 twice, since they go back then; the first counts. If it was the second, write `2026-10-25 02:30B request`"),
        ("", "step: request, moves: 2026-10-25 02:30B request", 0, "", None),
        ("", "step: offered, since: 2027-02-02, moves: 2027-01-17 request; 2027-02-01 offered", 12, "error", "Q-1 is 'offered' since 2027-02-02, but its moves end with '2027-02-01 offered'; write the day that's true into both"),
        ("", "step: offered, since: 2027-01-31, moves: 2027-01-17 request; 2027-02-01 offered", 12, "error", "Q-1 is 'offered' since 2027-01-31"),
        ("", "step: accepted, since: 2027-01-31, moves: 2027-01-17 request; 2027-02-01 offered", 12, "error", "Q-1 is 'accepted' since 2027-01-31, but"),
        ("", "step: offered, moves: 2027-01-17 12:00 request; 2027-01-17 11:00 offered", 12, "error", "the moves of Q-1 don't go forward in time"),
        ("", "step: request, moves: 2027-01-17 offered; 2027-01-16 request", 12, "error", "the moves of Q-1 don't go forward in time"),
        ("", "step: waiting, moves: 2027-01-17 request; 2027-01-17 offered; 2027-01-17 waiting", 0, "", None),
        ("", "step: request, moves: 2027-01-17 offered; 2027-01-18 request", 12, "warning", "the moves of Q-1 go from 'offered' to 'request', which can't follow"),
        ("", "step: shipped, private: {price: 1, paid: 2027-01-19 1}, moves: 2027-01-17 request; 2027-01-18 shipped", 0, "", None),
        ("    head_start: 24\n", "step: request, since: 2027-01-18", 0, "", None),
        ("way: draw\n    head_start: 24\n", "step: request, since: 2027-01-18", 11, "warning", "a head start means nothing in Winter 2027, which goes by draw"),
        ("closes: 2027-01-23\n", "step: request, since: 2027-01-18", 7, "warning", "Winter 2027 closes at 2027-01-23 00:00, as that day begins; write the time, like `closes: 2027-01-23 20:00`"),
        ("opens: 2026-10-25 02:30\n", "step: request, since: 2027-01-18", 6, "warning", "the clocks show 2026-10-25 02:30 twice, since they go back then; the first counts"),
        ("opens: 2027-03-28 02:30\n", "step: request, since: 2027-01-18", 6, "error", "'2027-03-28 02:30' is a time that doesn't exist in Europe/Berlin"),
    ],
)  # fmt: skip
def test_times_and_records_that_need_a_look_are_told_with_their_line(
    tmp_path: Path, rounds: str, entry: str, line: int, level: str, said: str | None
) -> None:
    made = makers.studio(tmp_path)
    settings = (made / "studio.yaml").read_text(encoding="utf-8")
    makers.write(made / "studio.yaml", _with_zone(settings))
    one = _ROUNDS
    for changed in rounds.splitlines():
        key = changed.strip().partition(":")[0]
        kept = [had for had in one.splitlines() if not had.strip().startswith(f"{key}:")]
        at = next(
            (n for n, had in enumerate(one.splitlines()) if had.strip().startswith(f"{key}:")), len(kept)
        )
        kept.insert(at, f"    {changed.strip()}")
        one = "\n".join(kept) + "\n"
    text = "tiers:\n  - name: Small figure\n    from_price: 420\nrounds:\n"
    entries = f"queue:\n  - {{code: Q-1, tier: Small figure, {entry}}}\n"
    makers.write(made / "commissions.yaml", text + one + entries)

    told = [complaint for complaint in read_studio(made).complaints if complaint.file == "commissions.yaml"]

    wanted = line + (one.count("\n") - 6 if line == 12 else 0)
    assert [(one.line, str(one.level)) for one in told][:1] == ([(wanted, level)] if said else [])
    assert said is None or said in told[0].message


def _with_zone(settings: str) -> str:
    return "".join(
        "time_zone: Europe/Berlin\n" if line.startswith("time_zone:") else line
        for line in settings.splitlines(keepends=True)
    )


def test_an_amount_is_written_in_coins_and_what_is_dropped_is_left_to_the_artist() -> None:
    """An exponent would be no amount to read, and no line is ever taken out of the file unasked."""
    text = "queue:\n  - {code: Q-1, tier: Small, step: request, private: {price: 5, instalments: 2}}\n"
    before = read(text)

    def priced(**private: object) -> str:
        one = before.queue[0]
        after = one.model_copy(update={"private": one.private.model_copy(update=private)})
        return rewritten(text, before, with_order(before, after), 2)

    assert "price: 100.00," in priced(price=Decimal("1E+2"))
    with pytest.raises(StudioFault, match="take `instalments` out of Q-1 by hand"):
        priced(instalments=None)
