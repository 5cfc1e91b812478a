"""The ledger of a plan: parts bought, owned, still to buy and returned; charges; the total with its band; water."""

from collections.abc import Iterable, Mapping, Sequence

import numpy as np

from rillwright.errors import InputError
from rillwright.jobs.money.charges import Ground, charges_of, ground_of
from rillwright.jobs.money.prices import Asked, asked_prices, priced_names
from rillwright.jobs.money.receipts import Receipts, Stock, read_receipts
from rillwright.jobs.money.water import SOURCE, choice_costs, season_shares, season_volume, usual_shares, water_bill
from rillwright.model.field_log import Entry
from rillwright.model.ledger import Band, Charge, DayMoney, KindBand, Ledger, PartMoney
from rillwright.model.plan import PartLine, Plan
from rillwright.solvers.money import Digging, Fee, Priced, Totals, draw_totals

__all__ = ["ledger_parts", "make_ledger"]

CHANCES = (0.1, 0.5, 0.9)
_JOT = 1e-9  # of a piece or a metre


def make_ledger(
    plan: Plan,
    *,
    entries: Iterable[Entry] = (),
    coming: Sequence[DayMoney] = (),
    season: Mapping[int, float] | None = None,
    seed: int = 0,
) -> Ledger:
    """Make the ledger of a plan.

    Parameters: plan, with a parts list, in whose yard the money facts are; entries, of the field log; coming, what is
    to be paid on which day, if that was asked for; season, water [m³] by number of the month where a watering
    programme says it, else the plan's own season counts; seed of the draws.
    Errors: InputError for a plan without cost, or a price that does not go with its part.
    """
    if plan.cost is None:
        raise InputError(
            "this plan has no parts list, so nothing can be priced: mend what its findings say, plan again"
        )
    facts = plan.yard.money
    receipts = read_receipts(plan, entries)
    asked = asked_prices(plan)
    parts = tuple(ledger_parts(plan, asked, receipts.stock))
    ground = ground_of(plan)
    charges = charges_of(
        plan,
        ground,
        parts_whole=sum(max(0.0, one.needed - one.owned) * one.price for one in parts),
        parts_due=sum(one.due for one in parts),
        parts_paid=sum(one.paid for one in parts),
        paid=receipts.paid,
    )
    paid = sum(one.paid for one in parts) + sum(one.paid for one in charges)
    due = sum(one.due for one in parts) + sum(one.due for one in charges)
    volume, shares = (season_volume(plan), usual_shares(plan.yard)) if season is None else season_shares(season)
    source = SOURCE if season is None else "the watering programme: mean of its seasons, by month"
    times = volume / season_volume(plan) if season_volume(plan) else 1.0
    band, kinds = _band(plan, parts, charges, ground, paid=paid, seed=seed)
    return Ledger(
        currency=plan.yard.currency,
        parts=parts,
        charges=charges,
        paid=paid,
        due=due,
        total=paid + due,
        budget=plan.yard.budget,
        planned=plan.cost.total,
        band=band,
        kinds=kinds,
        spent=tuple(receipts.days),
        coming=tuple(coming),
        water=water_bill(facts.tariff, volume, by_month=shares, source=source) if facts.tariff else None,
        choices=tuple(choice_costs(plan, facts.tariff, times=times, by_month=shares)),
        assumed=tuple(_assumed(plan, parts)),
        doubts=tuple(_doubts(plan, parts, receipts)),
    )


def ledger_parts(plan: Plan, asked: Mapping[str, Asked], stock: Mapping[str, Stock]) -> Iterable[PartMoney]:
    """Every line of the parts list with what was bought of it, then what was bought besides."""
    listed = {line.part for line in plan.parts}
    for line in plan.parts:
        yield _listed(line, asked[line.part], stock.get(line.part))
    for number, part in enumerate((name for name in stock if name not in listed), start=1):
        own = stock[part]
        yield PartMoney(
            id=f"X{number}",
            part=part,
            unit=own.unit,
            needed=0.0,
            owned=0.0,
            bought=own.bought,
            returned=own.returned,
            to_buy=0.0,
            spare=max(0.0, own.bought - own.returned),
            price=own.paid / own.bought if own.bought else 0.0,
            price_source="receipts",
            price_from="owner",
            paid=own.paid,
            due=0.0,
        )


def _listed(line: PartLine, asked: Asked, stock: Stock | None) -> PartMoney:
    stock = stock if stock is not None and stock.unit == line.unit else Stock(line.unit)
    have = line.owned + stock.bought - stock.returned
    to_buy = max(0.0, line.quantity - have)
    to_buy = to_buy if to_buy > _JOT else 0.0
    spare = max(0.0, have - line.quantity)
    return PartMoney(
        id=line.id,
        part=line.part,
        unit=line.unit,
        needed=line.quantity,
        owned=line.owned,
        bought=stock.bought,
        returned=stock.returned,
        to_buy=to_buy,
        spare=spare if spare > _JOT else 0.0,
        price=asked.price,
        price_source=asked.source,
        price_from=asked.whose,
        paid=stock.paid,
        due=to_buy * asked.price,
    )


def _band(
    plan: Plan,
    parts: Sequence[PartMoney],
    charges: Sequence[Charge],
    ground: Ground,
    *,
    paid: float,
    seed: int,
) -> tuple[Band, tuple[KindBand, ...]]:
    facts, spreads = plan.yard.money, plan.yard.money.spreads
    priced = [
        Priced(one.due, spreads.listed if one.price_from == "list" else spreads.own, one.unit == "piece")
        for one in parts
        if one.due > 0
    ]
    due = {one.kind: one.due for one in charges}
    rent = next((one for one in charges if one.kind == "rental"), None)
    whole_rent = rent is not None and rent.due > 0 and rent.paid == 0
    digging = None
    if whole_rent:
        work = [(work, one.people) for one in ground.machine for work in one.work]
        digging = Digging(work, ground.errand, ground.day, ground.rent)
    rest = [] if whole_rent or not rent else [Fee("rental", rent.due, taxed=True)]
    by_metre = [Fee(kind, due[kind]) for kind in ("trenches", "moving") if due.get(kind)]
    fees = [Fee(kind, due[kind]) for kind in ("delivery", "permit", "other") if due.get(kind)]
    totals = draw_totals(
        priced,
        digging=digging,
        by_metre=[*by_metre, *rest],
        fees=fees,
        tax=facts.tax or 0.0,
        spreads=spreads,
        seed=seed,
    )
    return _told(totals, paid=paid, budget=plan.yard.budget)


def _told(totals: Totals, *, paid: float, budget: float | None) -> tuple[Band, tuple[KindBand, ...]]:
    whole = totals.total + paid
    low, middle, high = np.quantile(whole, CHANCES)
    within = None if budget is None else float(np.mean(whole <= budget))
    band = Band(
        low=float(low),
        middle=float(middle),
        high=float(high),
        mean=float(whole.mean()),
        within=within,
        samples=len(whole),
    )
    kinds = []
    for kind, drawn in totals.kinds.items():
        if drawn.any():
            points = dict(zip(("low", "middle", "high"), map(float, np.quantile(drawn, CHANCES)), strict=True))
            kinds.append(KindBand.model_validate({"kind": kind} | points))
    return band, tuple(kinds)


def _assumed(plan: Plan, parts: Sequence[PartMoney]) -> Iterable[str]:
    """What nobody has said, and what is counted for it."""
    facts = plan.yard.money
    listed = sum(one.price_from == "list" and one.due > 0 for one in parts)
    if listed:
        yield f"{listed} of {len(parts)} lines are at invented prices: put in what your shop asks, under money.prices."
    if facts.trenches is None and plan.trenches:
        yield "Nobody has said how trenches are paid for (money.trenches): a rented machine and own hands are counted."
    if facts.trenches in (None, "machine") and facts.rent_day is None and plan.trenches:
        yield "The machine's rent is invented: put in money.rent_day."
    for value, name, words in (
        (facts.tax, "tax", "no sales tax"),
        (facts.delivery, "delivery", "no delivery"),
        (facts.permit, "permit", "no permit fee"),
        (
            facts.contractor,
            "contractor",
            "nothing for licensed trades, such as who joins the supply or tests the device",
        ),
    ):
        if value is None:
            yield f"Nobody has said money.{name}: {words} is counted."
    if facts.tariff is None:
        yield "Nobody has said money.tariff: the season's water has no price."


def _doubts(plan: Plan, parts: Sequence[PartMoney], receipts: Receipts) -> Iterable[str]:
    """What in log or prices does not fit the plan."""
    yield from receipts.doubts
    names = priced_names(plan)
    for price in plan.yard.money.prices:
        if price.part not in names:
            yield f"money.prices has '{price.part}', which this plan's parts list does not: its price serves nothing."
    for one in parts:
        if one.price_from == "none":
            yield f"'{one.part}' has no price and is counted at 0: type one under money.prices."
        if one.id.startswith("X"):
            yield f"'{one.part}' was bought, and this plan's parts list does not have it."
