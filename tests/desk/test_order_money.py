"""Orders at random, all money counted: what came in is what went back, what was earned, and what is held."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from itertools import pairwise

import pytest
from hypothesis import settings as profile
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from sitegen.desk import order_money, orders
from sitegen.desk.ahead import ahead
from sitegen.desk.books import books
from sitegen.desk.order_money import Changed
from sitegen.desk.plan import standing_of
from sitegen.studio import money
from sitegen.studio.asked import Fault
from sitegen.studio.commission import Order
from sitegen.studio.order_lines import Receipt, Step
from sitegen.studio.order_steps import UNDER_WAY, When
from sitegen.studio.piece import BuyerPlan, Piece, Sold
from sitegen.studio.plan import CalledOffBy, CallingOff, PaymentPlan, Standing
from sitegen.studio.purses import purses
from sitegen.studio.settings import Settings
from sitegen.studio.whole import Studio
from tests.desk.studios import piece, queued, settings, studio

# ISO 4217: no decimals, two, three.
CURRENCIES = {"JPY": 0, "EUR": 2, "KWD": 3}


def studio_of(currency: str, queue: list[dict[str, object]], **calling_off: bool | int) -> Studio:
    terms = PaymentPlan(deposit="30%", calling_off=CallingOff.model_validate(calling_off))
    own: Settings = settings().model_copy(update={"currency": currency, "payment_plan": terms})
    pieces = [
        piece(f"p-{number}", status="available", price="500", finished="2025-11-01") for number in range(3)
    ]
    return studio(pieces, queue, own=own)


class Money(RuleBasedStateMachine):
    """A few orders and pieces, each sold, paid, refunded, ended and returned at random, over several years."""

    day = date(2026, 1, 5)

    @initialize(
        currency=st.sampled_from(sorted(CURRENCIES)),
        keep=st.booleans(), charge=st.booleans(), claim=st.booleans(), free=st.sampled_from([0, 14]),
    )  # fmt: skip
    def begin(self, currency: str, keep: bool, charge: bool, claim: bool, free: int) -> None:
        queue = [
            queued(f"Q-{number}", "offered", since="2026-01-02", private={"email": f"{number}@mail.example"})
            for number in range(3)
        ]
        terms = {"keep_deposit": keep, "charge_work": charge, "claim_missing": claim, "free_days": free}
        self.studio = studio_of(currency, queue, **terms)
        self.digits = CURRENCIES[currency]
        self.came = self.went = Decimal(0)

    def amount(self, units: int) -> Decimal:
        return Decimal(units).scaleb(-self.digits)

    def take(self, changed: Changed) -> None:
        self.studio = replace(self.studio, commissions=changed.book)

    def one(self, data: st.DataObject, steps: frozenset[Step]) -> Order | None:
        found = [order for order in self.studio.commissions.queue if order.step in steps]
        return data.draw(st.sampled_from(found)) if found else None

    @rule(data=st.data(), units=st.integers(1_000, 2_000_000))
    def accept(self, data: st.DataObject, units: int) -> None:
        if one := self.one(data, frozenset({Step.OFFERED})):
            self.take(orders.move(self.studio, one.code, Step.ACCEPTED, When(self.day), self.amount(units)))

    @rule(days=st.integers(1, 40))
    def wait(self, days: int) -> None:
        self.day += timedelta(days=days)

    @rule(data=st.data(), units=st.integers(1, 2_500_000))
    def pay(self, data: st.DataObject, units: int) -> None:
        if one := self.one(data, UNDER_WAY):
            self.came += self.amount(units)
            receipt = Receipt(on=self.day, amount=self.amount(units))
            self.take(order_money.pay(self.studio, one.code, receipt, self.day, again=True))

    @rule(data=st.data())
    def pay_all(self, data: st.DataObject) -> None:
        if one := self.one(data, UNDER_WAY):
            missing = standing_of(self.studio, one, self.day).balance
            if missing > 0:
                self.came += missing
                receipt = Receipt(on=self.day, amount=missing)
                self.take(order_money.pay(self.studio, one.code, receipt, self.day, again=True))

    @rule(data=st.data(), units=st.integers(1, 2_500_000))
    def send_back(self, data: st.DataObject, units: int) -> None:
        one = self.one(data, UNDER_WAY | {Step.CALLED_OFF, Step.SHIPPED})
        if one is None:
            return
        receipt = Receipt(on=self.day, amount=self.amount(units))
        kept = one.private.kept if one.step is Step.CALLED_OFF else None
        if receipt.amount > one.paid - (kept or 0):
            with pytest.raises(Fault, match="can't go back"):
                order_money.refund(self.studio, one.code, receipt, self.day)
        else:
            self.take(order_money.refund(self.studio, one.code, receipt, self.day))
            self.went += receipt.amount

    @rule(data=st.data())
    def work(self, data: st.DataObject) -> None:
        one = self.one(data, UNDER_WAY)
        following = {
            Step.ACCEPTED: Step.ON_THE_BENCH, Step.ON_THE_BENCH: Step.FINISHED,
            Step.FINISHED: Step.PAID, Step.PAID: Step.SHIPPED,
        }  # fmt: skip
        if one is None:
            return
        owes = standing_of(self.studio, one, self.day).balance > 0
        step = following[one.step]
        if owes and step in {Step.PAID, Step.SHIPPED}:
            with pytest.raises(Fault, match=r"isn't paid in full: .* is still owed"):
                orders.move(self.studio, one.code, step, When(self.day))
        else:
            self.take(orders.move(self.studio, one.code, step, When(self.day)))

    @precondition(lambda self: any(one.step in UNDER_WAY for one in self.studio.commissions.queue))
    @rule(data=st.data(), by=st.sampled_from(CalledOffBy), share=st.integers(0, 100))
    def call_off(self, data: st.DataObject, by: CalledOffBy, share: int) -> None:
        one = self.one(data, UNDER_WAY)
        assert one is not None
        before = one.paid
        ending = order_money.Ending(by, self.day, "as it goes", Decimal(share) / 100)
        changed = order_money.cancel(self.studio, one.code, ending)
        kept = changed.order.private.kept
        assert kept is not None
        assert 0 <= kept <= max(before, Decimal(0))
        assert Decimal(changed.more["kept"]) + Decimal(changed.more["returned"]) == before
        assert by is CalledOffBy.CLIENT or kept == 0
        self.take(changed)

    def piece(self, data: st.DataObject, *, sold: bool) -> Piece | None:
        found = [one for one in self.studio.pieces if (one.private.sold is not None) is sold]
        return data.draw(st.sampled_from(found)) if found else None

    def put(self, piece: Piece, **private: object) -> None:
        after = piece.model_copy(update={"private": piece.private.model_copy(update=private)})
        pieces = tuple(after if one.slug == after.slug else one for one in self.studio.pieces)
        self.studio = replace(self.studio, pieces=pieces)

    @rule(data=st.data(), units=st.integers(1, 600_000))
    def pay_for_a_piece_in_parts(self, data: st.DataObject, units: int) -> None:
        """Before it's sold; what comes in may be less or more than its price."""
        piece = self.piece(data, sold=False)
        if piece is None or piece.private.sales:
            return
        plan = piece.private.plan or BuyerPlan.model_validate(
            {"to": "Ada", "from": str(self.day), "price": "500"}
        )
        receipt = Receipt(on=self.day, amount=self.amount(units))
        self.put(piece, plan=plan.model_copy(update={"paid": (*plan.paid, receipt)}))
        self.came += receipt.amount

    @rule(data=st.data(), units=st.integers(1, 900_000))
    def sell_a_piece(self, data: st.DataObject, units: int) -> None:
        """At once, or when part of it or too much was paid by then."""
        piece = self.piece(data, sold=False)
        last = piece.private.sales[-1].returned if piece and piece.private.sales else None
        if piece is None or (last is not None and last >= self.day):
            return
        price = self.amount(units)
        self.put(piece, sales=(*piece.private.sales, Sold(on=self.day, price=price)))
        if piece.private.sales or piece.private.plan is None:
            self.came += price

    @rule(data=st.data(), share=st.integers(0, 100))
    def take_a_piece_back(self, data: st.DataObject, share: int) -> None:
        """Part of the price or all of it goes back; with what was paid in parts that's the plan's affair."""
        piece = self.piece(data, sold=True)
        if piece is None or (piece.private.plan is not None and len(piece.private.sales) == 1):
            return
        *earlier, sold = piece.private.sales
        refund = money.share(sold.price, Decimal(share), self.digits)
        back = sold.model_copy(update={"returned": self.day, "refund": refund})
        self.put(piece, sales=(*earlier, back))
        self.went += refund

    @invariant()
    def every_year_goes_on_where_the_last_one_ended(self) -> None:
        if not hasattr(self, "studio"):
            return
        years = [books(self.studio, year, self.day) for year in range(2026, self.day.year + 1)]
        for one, following in pairwise(years):
            assert one.after == following.before
        for one in years:
            before, after = one.before, one.after
            stood, stands = (end.advance + end.back - end.open for end in (before, after))
            assert stood + one.received == one.total + stands
            assert sum((part.amount for part in one.results), Decimal(0)) == one.left
            unshared = one.costs["overhead"] + one.costs["expenses"]
            assert sum((part.earned for part in one.streams), Decimal(0)) - unshared == one.left
            assert sum((part.sales for part in one.streams), Decimal(0)) == one.total
            assert sum((part.hours for part in one.streams), Decimal(0)) == one.hours

    @invariant()
    def every_coin_is_somewhere_once(self) -> None:
        if not hasattr(self, "studio"):
            return
        years = [books(self.studio, year, self.day) for year in range(2026, self.day.year + 1)]
        earned = sum((year.total for year in years), Decimal(0))
        after = years[-1].after
        assert self.came - self.went == earned + after.advance + after.back - after.open
        assert self.went == sum((year.sent_back for year in years), Decimal(0))
        assert min(earned, after.advance, after.back, after.open) >= 0

    @invariant()
    def what_is_to_come_is_all_that_is_owed(self) -> None:
        if not hasattr(self, "studio"):
            return
        found = ahead(self.studio, purses(self.studio), self.day)
        owed = books(self.studio, self.day.year, self.day).owed
        assert found.all.sum_of() == sum((owed.balance for owed in owed), Decimal(0))
        assert found.all.sum_of(Standing.LATE, Standing.DUE) == sum((owed.now for owed in owed), Decimal(0))
        assert sum((month.sum_of() for month in found.months), Decimal(0)) == found.all.sum_of()


TestMoney = Money.TestCase
TestMoney.settings = profile(max_examples=40, stateful_step_count=25)
