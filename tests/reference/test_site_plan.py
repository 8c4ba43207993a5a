"""The payment plan on a piece's page: sums by hand, days by dateutil (an independent library)."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from pathlib import Path

import pytest
from dateutil.parser import parse
from dateutil.relativedelta import relativedelta

from tests import makers
from tests.site.studio import DUBLIN, THEMES, make_site, pages


def rows(site: Path) -> list[list[str]]:
    """Return the cells of the plan's table."""
    page = pages(site)["pieces/ferry-ghost/index.html"]
    return [
        [cell.text_content().replace("\N{NO-BREAK SPACE}", " ").strip() for cell in row.xpath("./th | ./td")]
        for row in page.xpath("//table[contains(@class, 'plan')]//tr")
    ]


@pytest.mark.parametrize("name", THEMES)
def test_parts_have_days_and_sum_to_the_price(tmp_path: Path, name: str) -> None:
    """480.01 at 30 % and two instalments: 144.00, then 168.01 and 168.00; from the first of next month."""
    studio = makers.studio(tmp_path, {"ferry-ghost": makers.piece_yaml(price="480.01")})
    make_site(studio, name)
    *parts, total = rows(studio / "out" / "site")
    start = datetime(2026, 12, 1)  # noqa: DTZ001 (the build's moment is 25 November 2026; a plain day)

    assert [row[2] for row in parts] == ["€144", "€168.01", "€168"]
    assert [parse(row[1]) for row in parts] == [start + relativedelta(months=n) for n in range(3)]
    assert [row[0] for row in parts] == ["Deposit", "1 month later", "2 months later"]
    assert total == ["Together", "€480.01"]
    assert sum(Decimal(row[2].removeprefix("€")) for row in parts) == Decimal("480.01")


def test_the_days_follow_the_studios_own_terms(tmp_path: Path) -> None:
    """A Saturday moves to Monday where the terms say so: 1 May 2027 is a Saturday (ISO 8601 weekday 6)."""
    studio = makers.studio(tmp_path)
    terms = makers.STUDIO.replace("  deposit: 30%", "  weekend: next weekday\n  deposit: 30%")
    makers.write(studio / "studio.yaml", terms)
    make_site(studio, moment=datetime(2027, 4, 9, 12, tzinfo=DUBLIN))

    assert [row[1] for row in rows(studio / "out" / "site")[:3]] == [
        "3 May 2027",
        "1 June 2027",
        "1 July 2027",
    ]
    assert parse("3 May 2027").isoweekday() == 1


def test_the_example_moves_with_the_month_and_not_with_the_day(tmp_path: Path) -> None:
    """Within a month a build writes nothing; on the first the pages that show the example are written."""
    studio = makers.studio(
        tmp_path,
        {"ferry-ghost": makers.piece_yaml(), "gone": makers.piece_yaml("G", "sold", number="2026-02")},
    )
    make_site(studio, moment=datetime(2026, 11, 25, 12, tzinfo=DUBLIN))

    within = make_site(studio, moment=datetime(2026, 11, 30, 23, 59, tzinfo=DUBLIN))
    after = make_site(studio, moment=datetime(2026, 12, 1, 0, 0, tzinfo=DUBLIN))

    assert within.written == ()
    assert after.written == ("pieces/ferry-ghost/index.html",)
