"""Turn the settings into the terms that the arithmetic works with: one reading for desk, site and text."""

from __future__ import annotations

from dataclasses import replace

from sitegen.studio.payments import CancellationTerms
from sitegen.studio.plan import PlanBand, PlanTerms, read_deposit
from sitegen.studio.settings import PaymentPlan


def plan_terms(written: PaymentPlan | None, digits: int) -> PlanTerms:
    """Return the terms of payment; the usual ones where nothing is written.

    Raises ValueError for a deposit that's none.
    """
    usual = PlanTerms()
    if written is None:
        return usual
    return PlanTerms(
        deposit=read_deposit(written.deposit, digits),
        bands=tuple(PlanBand(band.instalments, band.up_to) for band in written.bands) or usual.bands,
        weekend=written.weekend,
        largest_last=written.largest_last,
        smallest_part=written.smallest_part,
        grace_days=written.grace_days,
    )


def with_deposit(usual: PlanTerms, deposit: str | None, digits: int) -> PlanTerms:
    """Return terms with another deposit (`20%` or an amount), if one is given. Raises ValueError for none."""
    return replace(usual, deposit=read_deposit(deposit, digits)) if deposit is not None else usual


def cancellation_terms(written: PaymentPlan | None) -> CancellationTerms:
    """Return what the written terms say about calling off."""
    if written is None:
        return CancellationTerms()
    calling_off = written.calling_off
    return CancellationTerms(
        keep_deposit=calling_off.keep_deposit,
        charge_work=calling_off.charge_work,
        claim_missing=calling_off.claim_missing,
        free_days=calling_off.free_days,
    )
