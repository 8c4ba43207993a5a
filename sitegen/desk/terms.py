"""Read the studio's terms of payment from its settings."""

from __future__ import annotations

from sitegen.desk.fault import told
from sitegen.studio.payments import CancellationTerms
from sitegen.studio.plan import PlanBand, PlanTerms, read_deposit
from sitegen.studio.settings import Settings


def plan_terms(settings: Settings, deposit: str | None = None) -> PlanTerms:
    """Return the terms, with another deposit (`20%` or an amount) if one is given.

    Raises DeskFault for a deposit that's none.
    """
    written = settings.payment_plan
    usual = PlanTerms()
    with told("studio.yaml, payment_plan"):
        own = read_deposit(written.deposit, settings.digits) if written else usual.deposit
    with told():
        taken = own if deposit is None else read_deposit(deposit, settings.digits)
    if written is None:
        return PlanTerms(deposit=taken)
    return PlanTerms(
        deposit=taken,
        bands=tuple(PlanBand(band.instalments, band.up_to) for band in written.bands) or usual.bands,
        weekend=written.weekend,
        largest_last=written.largest_last,
        smallest_part=written.smallest_part,
        grace_days=written.grace_days,
    )


def cancellation_terms(settings: Settings) -> CancellationTerms:
    """Return what the written terms say about calling off."""
    if settings.payment_plan is None:
        return CancellationTerms()
    written = settings.payment_plan.calling_off
    return CancellationTerms(
        keep_deposit=written.keep_deposit,
        charge_work=written.charge_work,
        claim_missing=written.claim_missing,
        free_days=written.free_days,
    )
