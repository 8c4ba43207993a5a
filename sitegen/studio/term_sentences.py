"""What the settings say in whole sentences, in the languages that have them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sitegen.studio.payments import CancellationTerms
from sitegen.studio.plan import PlanTerms, Weekend


@dataclass(frozen=True)
class Sentences:
    """The sentences of one language; `{}` is where a number goes."""

    up_to: str
    """A number of instalments for prices up to a limit; the first band says what the number is of."""
    up_to_first: str
    above: str
    any_price: str
    joint: str
    keep_weekend: str
    next_weekday: str
    odd_first: str
    odd_last: str
    free: str
    after_free: str
    """Joins the days of grace with what comes after them."""
    larger: str
    deposit: str
    work: str
    nothing: str
    claimed: str
    not_claimed: str


ENGLISH = Sentences(
    up_to_first="{} for a price up to {}",
    up_to="{} up to {}",
    above="{} above that",
    any_price="{}, whatever the price",
    joint=", ",
    keep_weekend="A due date on a Saturday or Sunday stays where it is.",
    next_weekday="A due date on a Saturday or Sunday moves to the Monday after it.",
    odd_first="Where the sum can't be divided evenly, the first instalments are the smallest coin larger.",
    odd_last="Where the sum can't be divided evenly, the last instalments are the smallest coin larger.",
    free="If you call off within {} days of the day your deposit is due, everything you've paid comes back.",
    after_free="Later than that:",
    larger=(
        "I keep the deposit, or the share of the price for the work done up to that day where that is more; "
        "the deposit counts towards it. The rest of what you've paid comes back."
    ),
    deposit="I keep the deposit. The rest of what you've paid comes back.",
    work=(
        "I keep the share of the price for the work done up to that day. The rest of what you've paid comes "
        "back."
    ),
    nothing="Everything you've paid comes back.",
    claimed="If you've paid less than that, I ask for the difference.",
    not_claimed="If you've paid less than that, I ask for nothing more.",
)
GERMAN = Sentences(
    up_to_first="{} bei einem Preis bis {}",
    up_to="{} bis {}",
    above="{} darüber",
    any_price="{}, gleich bei welchem Preis",
    joint=", ",
    keep_weekend="Ein Termin am Samstag oder Sonntag bleibt, wo er ist.",
    next_weekday="Ein Termin am Samstag oder Sonntag rückt auf den Montag danach.",
    odd_first=(
        "Lässt sich die Summe nicht gleichmäßig teilen, sind die ersten Raten um die kleinste Münze größer."
    ),
    odd_last=(
        "Lässt sich die Summe nicht gleichmäßig teilen, sind die letzten Raten um die kleinste Münze größer."
    ),
    free=(
        "Treten Sie innerhalb von {} Tagen nach dem Tag zurück, an dem die Anzahlung fällig ist, bekommen "
        "Sie alles zurück, was Sie gezahlt haben."
    ),
    after_free="Danach gilt:",
    larger=(
        "Ich behalte die Anzahlung oder, wo das mehr ist, den Teil des Preises für die bis dahin getane "
        "Arbeit; die Anzahlung wird darauf angerechnet. Was Sie sonst gezahlt haben, bekommen Sie zurück."
    ),
    deposit="Ich behalte die Anzahlung. Was Sie sonst gezahlt haben, bekommen Sie zurück.",
    work=(
        "Ich behalte den Teil des Preises für die bis dahin getane Arbeit. Was Sie sonst gezahlt haben, "
        "bekommen Sie zurück."
    ),
    nothing="Sie bekommen alles zurück, was Sie gezahlt haben.",
    claimed="Haben Sie weniger gezahlt, bitte ich um den Unterschied.",
    not_claimed="Haben Sie weniger gezahlt, verlange ich nichts weiter.",
)
BY_LANGUAGE: Mapping[str, Sentences] = {"en": ENGLISH, "de": GERMAN}


def instalments(own: Sentences, bands: Sequence[tuple[int, str | None]]) -> str:
    """Say how many instalments a price gets; each band has a number and its highest price, if any."""
    said = []
    for place, (count, limit) in enumerate(bands):
        if limit is not None:
            said.append((own.up_to if place else own.up_to_first).format(count, limit))
        else:
            said.append((own.above if place else own.any_price).format(count))
    return own.joint.join(said)


def weekend_rule(own: Sentences, terms: PlanTerms) -> str:
    """Say what becomes of a due date on a weekend."""
    return own.next_weekday if terms.weekend is Weekend.NEXT_WEEKDAY else own.keep_weekend


def odd_coins(own: Sentences, terms: PlanTerms) -> str:
    """Say which instalments get what can't be divided."""
    return own.odd_last if terms.largest_last else own.odd_first


def calling_off(own: Sentences, terms: CancellationTerms) -> str:
    """Say what is kept and returned when the client calls off, as `payments.call_off` works it out."""
    said = [own.free.format(terms.free_days), own.after_free] if terms.free_days else []
    kept = {
        (True, True): own.larger,
        (True, False): own.deposit,
        (False, True): own.work,
        (False, False): own.nothing,
    }[terms.keep_deposit, terms.charge_work]
    if kept == own.nothing and terms.free_days:
        return kept
    said.append(kept)
    if terms.charge_work:
        said.append(own.claimed if terms.claim_missing else own.not_claimed)
    return " ".join(said)
