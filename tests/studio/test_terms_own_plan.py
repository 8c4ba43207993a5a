"""Whether the payments of an agreement are those of the terms printed below them; amounts worked out by hand."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from sitegen.studio.plan import PaymentPlan, make
from sitegen.studio.terms import differs
from sitegen.studio.whole import KeptTerms
from tests.desk.studios import studio

STUDIO = studio()


@pytest.mark.parametrize(
    ("text", "deposit", "count", "unlike"),
    [
        ("A deposit of 30% holds the piece.", "30%", 3, False),
        ("A deposit of 25% holds the piece.", "30%", 3, True),
        ("A deposit of 30 % holds the piece.", "132", 3, False),  # 30 % of 440 are 132
        ("A deposit of 30% holds the piece.", "131.99", 3, True),
        ("Die Anzahlung beträgt 12,5 %.", "55", 3, False),  # 12.5 % of 440 are 55
        ("Die Anzahlung beträgt 12,5 Prozent.", "56", 3, True),
        ("I pay 19% tax. The deposit holds the piece.", "30%", 3, False),
        ("You pay in at most 3 instalments.", "30%", 4, True),
        ("You pay in at most 3 instalments.", "30%", 3, False),
        ("You pay in at most\nthree monthly instalments.", "30%", 2, False),
        ("Sie zahlen in höchstens drei Raten.", "30%", 4, True),
        ("Bis zu 4 monatlichen Raten sind möglich.", "30%", 4, False),
        ("Paid in three equal instalments.", "30%", 4, True),
        ("Paid in three equal instalments.", "30%", 3, False),
        ("Paid in three instalments, or in four instalments from 500 on.", "30%", 4, False),
        ("Monthly instalments: 2 for a price up to €300, 3 up to €600, 4 above that.", "30%", 4, False),
        ("Monthly instalments: 2 for a price up to €300, 3 above that.", "30%", 4, True),
        ("Raten: 2 bei einem Preis bis 300 €, 3 darüber.", "30%", 4, True),
        ("It is late after 7 days. The first instalment is due a month later.", "30%", 4, False),
        ("Nothing of money.", "30%", 4, False),
    ],
)
def test_an_older_version_is_taken_at_its_words(text: str, deposit: str, count: int, unlike: bool) -> None:
    """440 in parts; the version isn't today's, so only its words say what was agreed on."""
    terms = PaymentPlan(deposit=deposit)
    plan = make(Decimal(440), date(2027, 1, 1), 2, terms, count)

    assert differs(STUDIO, plan, [KeptTerms("payment-terms", "2026-07", "Paying", text)], "2026-11") is unlike
