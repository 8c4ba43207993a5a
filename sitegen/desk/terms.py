"""Read the studio's terms of payment from its settings."""

from __future__ import annotations

from sitegen.desk.fault import told
from sitegen.studio import payment_terms
from sitegen.studio.payments import CancellationTerms
from sitegen.studio.plan import PlanTerms
from sitegen.studio.settings import Settings


def plan_terms(settings: Settings, deposit: str | None = None) -> PlanTerms:
    """Return the terms, with another deposit (`20%` or an amount) if one is given.

    Raises DeskFault for a deposit that's none.
    """
    with told("studio.yaml, payment_plan"):
        usual = payment_terms.plan_terms(settings.payment_plan, settings.digits)
    with told():
        return payment_terms.with_deposit(usual, deposit, settings.digits)


def cancellation_terms(settings: Settings) -> CancellationTerms:
    """Return what the written terms say about calling off."""
    return payment_terms.cancellation_terms(settings.payment_plan)
