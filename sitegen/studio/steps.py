"""Which step of the work comes next, and how many hours each still takes (common practice, no source).

A kind of piece has the steps that more than half of its finished pieces have, each with its mean share of
their hours, in the order in which they're written down. Of a piece under way, a step is done once a later one
is begun and it has had half its usual hours or more; the others share what is left by what each still lacks.
"""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from fractions import Fraction

Steps = Sequence[tuple[str, Fraction]]
"""Steps in the order of the work, each with an amount."""
Noted = Mapping[str, Decimal]
"""Hours by step."""


def usual_steps(records: Sequence[Noted]) -> Steps:
    """Return the usual steps with their shares of the whole; none where nothing is on record."""
    told = [record for record in records if sum(record.values())]
    shares: dict[str, list[Fraction]] = {}
    places: dict[str, list[Fraction]] = {}
    for one in told:
        whole = Fraction(sum(one.values()))
        for place, (step, hours) in enumerate(one.items()):
            shares.setdefault(step, []).append(Fraction(hours) / whole)
            places.setdefault(step, []).append(Fraction(place + 1, len(one) + 1))
    usual = [step for step in shares if 2 * len(shares[step]) > len(told)]
    usual.sort(key=lambda step: sum(places[step]) / len(places[step]))
    return [(step, sum(shares[step], Fraction(0)) / len(told)) for step in usual]


def left_by_step(usual: Steps, noted: Noted, left: Fraction) -> Steps:
    """Share what is left of a piece over its steps; together exactly `left`, in any unit of hours."""
    begun = max((place for place, (step, _) in enumerate(usual) if noted.get(step)), default=0)
    whole = Fraction(sum(noted.values(), Decimal(0))) + left
    wanted = [
        (step, max(share * whole - Fraction(noted.get(step, 0)), Fraction(0)))
        for place, (step, share) in enumerate(usual)
        if place >= begun or 2 * Fraction(noted.get(step, 0)) < share * whole
    ]
    lacking = sum((hours for _, hours in wanted), Fraction(0))
    if not lacking:
        return [(wanted[-1][0] if wanted else ["", *noted][-1], left)]
    return [(step, hours * left / lacking) for step, hours in wanted if hours]
