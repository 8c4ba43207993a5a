"""A piece whose status, price, photos and sales don't tell one story gets a sentence, and only that."""

from __future__ import annotations

from pathlib import Path

import pytest

from sitegen.sources import read
from tests import makers

SOLD = "\n  sold: {on: 2026-06-01, price: 480}"
BACK = "\n  sold: [{on: 2026-06-01, price: 480, returned: 2026-06-20, refund: 480}]"
NOT_NOTED = (
    "the piece is sold, but what it was sold for isn't noted, so the books may not count it; "
    "`sitegen piece mark ghost sold --price 480.00 --on DATE` adds that"
)


@pytest.mark.parametrize(
    ("lines", "line", "said"),
    [
        ({}, 0, ""),
        ({"price": "0"}, 4, "the piece is offered for nothing; is that meant?"),
        ({"price": "0.01"}, 0, ""),
        ({"price": ""}, 2, "the piece is available but has no price; add a line like `price: 480`"),
        ({"status": "on hold", "price": "0"}, 0, ""),
        ({"status": "on hold", "price": ""}, 0, ""),
        ({"status": "not for sale", "price": ""}, 0, ""),
        ({"status": "in progress", "price": "", "finished": ""}, 0, ""),
        ({"status": "sold"}, 2, NOT_NOTED),
        ({"status": "sold", "private": SOLD}, 0, ""),
        ({"status": "commissioned", "private": SOLD}, 0, ""),
        ({"status": "commissioned"}, 2, NOT_NOTED.replace(" sold,", " commissioned,").replace("ghost sold", "ghost commissioned")),
        ({"status": "on hold", "private": SOLD}, 2, "status is 'on hold', but `private: sold:` says it was sold on 2026-06-01; mark it sold, or take those lines out"),
        ({"status": "sold", "private": BACK}, 2, "the piece is sold, but its latest sale says it came back on 2026-06-20; `sitegen piece mark ghost sold --price … --on DATE` notes the sale after that"),
        ({"status": "available", "private": BACK}, 0, ""),
    ],
)  # fmt: skip
def test_what_a_piece_says_of_itself_agrees(
    tmp_path: Path, lines: dict[str, str], line: int, said: str
) -> None:
    made = makers.studio(tmp_path, {"ghost": makers.piece_yaml(**lines)})

    found = [(complaint.line, complaint.message) for complaint in read(made).complaints]

    assert found == ([(line, said)] if said else [])


@pytest.mark.parametrize("status", ["available", "on hold"])
def test_a_piece_is_offered_with_a_photo(tmp_path: Path, status: str) -> None:
    made = makers.studio(tmp_path, {"ghost": makers.piece_yaml(status=status, photos=" []")})
    (made / "pieces" / "ghost" / "front.jpg").unlink()
    # What a disk or a phone leaves beside the photos is no photo that was forgotten.
    for name in ("notes.txt", ".front.jpg"):
        (made / "pieces" / "ghost" / name).write_text("x")

    found = [complaint.message for complaint in read(made).complaints]

    assert found == (
        ["the piece is available but has no photo; list one under `photos:`"] if status == "available" else []
    )


def test_near_names_are_looked_for_only_where_a_name_is_wrong(monkeypatch: pytest.MonkeyPatch) -> None:
    """Among 400 orders that takes milliseconds a piece."""

    def looked(*_: object) -> str:
        raise AssertionError("nothing is wrong")

    monkeypatch.setattr("sitegen.sources.cross_check.did_you_mean", looked)
    assert read(Path(__file__).parents[2] / "demo").studio is not None
