"""The ledger of a plan: parts and receipts, charges, water, phases."""

import json
import math
import uuid
from datetime import UTC, datetime

import pytest

from drawn_plans import CATALOGUE, plan_named
from rillwright.errors import InputError
from rillwright.exchange.yard_file import validated, yard_text
from rillwright.jobs.guide import plan_steps
from rillwright.jobs.money import make_ledger, make_phases, with_money_of
from rillwright.jobs.money.charges import ground_of
from rillwright.jobs.money.phased import job_of
from rillwright.jobs.replan.state import state_of
from rillwright.model.field_log import Entry
from rillwright.model.guide import BuildTerms
from rillwright.model.money import MoneyFacts, Tariff
from rillwright.model.plan import Node
from rillwright.model.site import Origin
from rillwright.report.workings.money import ledger_workings
from rillwright.solvers.money import price_split


def with_facts(plan, *, budget=None, units=None, **facts):
    money = MoneyFacts.model_validate(facts, context={"units": units or plan.yard.units})
    return plan.model_copy(update={"yard": plan.yard.model_copy(update={"money": money, "budget": budget})})


def crowded():
    """The crowded plan with a node at every head, which its drawings do without."""
    plan = plan_named("crowded")
    heads = tuple(Node(id=head.id, at=head.at, ground=head.ground) for head in plan.heads)
    return plan.model_copy(update={"nodes": (*plan.nodes, *heads)})


def entries(*whats):
    return [
        Entry.model_validate({"id": uuid.UUID(int=n), "made": datetime(2027, 5, n, tzinfo=UTC), "what": what})
        for n, what in enumerate(whats, start=1)
    ]


def line_of(ledger, part):
    return next(one for one in ledger.parts if one.part == part)


def test_with_nothing_said_the_ledger_is_the_parts_list_and_the_rent():
    plan = plan_named("small")
    ledger = make_ledger(plan)
    assert ledger.parts_due == pytest.approx(plan.cost.parts)
    assert ledger.paid == 0
    assert {charge.kind for charge in ledger.charges} <= {"rental", "trenches"}
    assert ledger.total == pytest.approx(ledger.parts_due + sum(charge.due for charge in ledger.charges))
    assert ledger.band.low < ledger.band.middle < ledger.band.high
    assert sum("Nobody has said" in text for text in ledger.assumed) == 6  # trenches, four fees and taxes, tariff
    by_metre = make_ledger(with_facts(plan, trenches="by the metre"))
    assert by_metre.total == pytest.approx(plan.cost.total)  # what the plan itself counts


def test_the_machine_s_hours_are_those_of_the_build_guide_s_steps():
    plan = plan_named("small")
    ground = ground_of(plan)
    steps = plan_steps(plan, CATALOGUE, BuildTerms(start="2027-05-01"))
    guide = sum(s.duration(2).mean for s in steps if s.kind in ("fetch", "dig by machine", "return"))
    assert ground.hours == pytest.approx(guide, rel=1e-9)
    by_hand = plan_steps(plan, CATALOGUE, BuildTerms(start="2027-05-01", digging="hand"))
    digs = sum(s.duration(2).mean for s in by_hand if s.kind == "dig by hand")
    assert sum(one.by_hand for one in ground.machine) == pytest.approx(digs, rel=1e-9)


def test_receipts_fill_the_columns():
    plan = plan_named("crowded")  # 32 heads, 2 of them owned, and some pipe
    pipe = plan.parts[1]
    log = entries(
        {"kind": "parts bought", "parts": [{"part": "head rotary", "pieces": 34, "price": 4.0}], "given_back": 0.5},
        {"kind": "parts bought", "parts": [{"part": pipe.part, "length": 30, "price": 1.0}]},
        {"kind": "parts returned", "parts": [{"part": "head rotary", "pieces": 3, "price": 3.0}]},
        {"kind": "parts bought", "parts": [{"part": "hose", "pieces": 1, "price": 12.0}]},
        {"kind": "money paid", "of": "permit", "amount": 55},
    )
    ledger = make_ledger(with_facts(plan, permit=60, budget=900), entries=log)
    heads = line_of(ledger, "head rotary")
    assert (heads.needed, heads.owned, heads.bought, heads.returned, heads.to_buy, heads.spare) == (32, 2, 34, 3, 0, 1)
    assert heads.paid == 34 * 4 - 3 * 3
    lot = line_of(ledger, pipe.part)
    assert lot.to_buy == pytest.approx(pipe.quantity - 30)
    assert lot.due == pytest.approx((pipe.quantity - 30) * pipe.price)
    assert line_of(ledger, "hose").spare == 1
    assert any("hose" in text for text in ledger.doubts)
    permit = ledger.charge("permit")
    assert (permit.paid, permit.due) == (55, 0)  # settled
    assert ledger.paid == pytest.approx(34 * 4 - 9 + 30 + 12 + 55)
    assert [day.paid for day in ledger.spent] == pytest.approx([136, 166, 157, 169, 224])
    assert state_of(plan, log).bought("head rotary") == 31  # what a change of the job may count on


def test_the_whole_list_bought_leaves_only_charges_to_pay():
    plan = plan_named("small")
    ledger = make_ledger(plan, entries=entries({"kind": "parts bought", "whole_list": True}))
    assert ledger.parts_due == pytest.approx(0, abs=1e-9)
    assert ledger.parts_paid == pytest.approx(plan.cost.parts, rel=1e-6)


@pytest.mark.parametrize("name", ["crowded", "crowded US"])
def test_a_typed_price_is_of_the_yard_s_own_unit(name):
    plan = plan_named(name)
    pipe = plan.parts[1]
    ledger = make_ledger(with_facts(plan, prices=[{"part": pipe.part, "price": 0.5, "source": "the shop"}]))
    per_metre = 0.5 / (0.3048 if name == "crowded US" else 1.0)
    line = line_of(ledger, pipe.part)
    assert line.due == pytest.approx(pipe.quantity * per_metre)
    assert (line.price_from, line.price_source) == ("owner", "the shop")


def test_a_price_of_the_wrong_measure_is_refused():
    plan = plan_named("crowded")
    with pytest.raises(InputError, match="goes by pieces"):
        make_ledger(with_facts(plan, prices=[{"part": "head rotary", "price": 4, "each": "ft"}]))
    with pytest.raises(InputError, match="goes by length"):
        make_ledger(with_facts(plan, prices=[{"part": plan.parts[1].part, "price": 4, "each": "piece"}]))


def test_tax_lies_on_parts_and_rent_and_a_large_order_is_carried_free():
    plan = plan_named("small")
    facts = {"tax": 0.08, "delivery": 70, "delivery_free_from": 1e6}
    ledger = make_ledger(with_facts(plan, **facts))
    rent = ledger.charge("rental")
    base = ledger.parts_due + (rent.due if rent else 0.0)
    assert ledger.charge("tax").due == pytest.approx(0.08 * base)
    assert ledger.charge("delivery").due == 70
    assert make_ledger(with_facts(plan, **facts | {"delivery_free_from": 1})).charge("delivery").due == 0


def test_the_mean_of_the_whole_is_the_closed_form_s_where_parts_alone_are_due():
    """Mean of a log-normal with median p: p exp(s²/2); mean of PERT: (low + 4 likely + high) / 6, from memory."""
    plan = plan_named("small")
    spreads = {"listed": 0.3, "shop": 0.1, "lost": {"low": 0.0, "likely": 0.03, "high": 0.12}}
    ledger = make_ledger(with_facts(plan, trenches="hand", tax=0.05, spreads=spreads))
    assert {charge.kind for charge in ledger.charges} <= {"tax"}
    lost = (0 + 4 * 0.03 + 0.12) / 6
    parts = sum(one.due * (1 + lost if one.unit == "piece" else 1.0) for one in ledger.parts)
    assert all(one.price_from == "list" for one in ledger.parts)
    exact = 1.05 * parts * math.exp((0.3**2 + 0.1**2) / 2)
    assert ledger.band.mean == pytest.approx(exact, rel=0.01)


def test_a_budget_in_the_middle_of_the_band_holds_half_the_time():
    plan = plan_named("small")
    middle = make_ledger(plan).band.middle
    ledger = make_ledger(with_facts(plan, budget=middle))
    assert ledger.band.within == pytest.approx(0.5, abs=0.001)
    assert ledger.left == pytest.approx(middle - ledger.total)


def test_every_sum_is_again_what_its_formula_gives():
    plan = plan_named("small")
    tariff = {"blocks": [{"price": 1.5, "up_to": "20 m3"}, {"price": 4}], "fixed": 9, "house": "12 m3"}
    ledger = make_ledger(with_facts(plan, budget=2000, tax=0.07, delivery=60, tariff=tariff))
    workings = list(ledger_workings(ledger, plan))
    keys = {working.key for working in workings}
    assert keys >= {
        "money.total",
        "money.due",
        "money.left",
        "money.within",
        "money.rental",
        "money.tax",
        "money.water.cost",
    }
    for working in workings:
        if working.again is not None:
            assert working.again == pytest.approx(working.value, rel=1e-6, abs=1e-6), working.key
        for given in working.inputs:
            assert not given.key.startswith("money.") or given.key in keys, (working.key, given.key)


def test_the_house_s_water_comes_first_and_months_add_up():
    plan = plan_named("small")
    blocks = [{"price": 2.0, "up_to": "10 m3"}, {"price": 6.0}]
    thrifty = make_ledger(with_facts(plan, tariff={"blocks": blocks})).water
    crowded = make_ledger(with_facts(plan, tariff={"blocks": blocks, "house": "10 m3"})).water
    assert sum(one.yard for one in thrifty.periods) == pytest.approx(thrifty.volume)
    assert crowded.cost == pytest.approx(6.0 * crowded.volume)
    assert 2.0 * thrifty.volume <= thrifty.cost < crowded.cost
    quarter = Tariff.model_validate({"blocks": [{"price": 2.0}], "months": 3, "fixed": 10}, context={"units": "metric"})
    bill = make_ledger(with_facts(plan, tariff=quarter.model_dump())).water
    assert bill.fixed == 10 * len(bill.periods) == 30  # April to June, July to September, October
    assert bill.cost == pytest.approx(2.0 * bill.volume)


def test_a_yard_of_the_south_is_billed_half_a_year_on():
    plan = with_facts(plan_named("small"), tariff={"blocks": [{"price": 2.0}]})
    north = make_ledger(plan).water
    yard = plan.yard.model_copy(update={"origin": Origin(lat=-36.0, lon=145.0)})
    south = make_ledger(plan.model_copy(update={"yard": yard})).water
    assert [one.months for one in north.periods] == ["Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct"]
    assert [one.months for one in south.periods] == ["Jan", "Feb", "Mar", "Apr", "Oct", "Nov", "Dec"]
    assert south.cost == pytest.approx(north.cost)


def test_a_watering_programme_s_season_takes_the_place_of_the_plan_s():
    plan = plan_named("small")
    told = with_facts(plan, tariff={"blocks": [{"price": 2.0, "up_to": "10 m3"}, {"price": 6.0}]})
    ledger = make_ledger(told, season={6: 12.0, 7: 20.0, 8: 4.0})
    assert ledger.water.volume == 36.0
    assert ledger.water.cost == pytest.approx((10 * 2 + 2 * 6) + (10 * 2 + 10 * 6) + 4 * 2)
    assert [period.months for period in ledger.water.periods] == ["Jun", "Jul", "Aug"]
    chosen = next(choice for choice in ledger.choices if choice.chosen)
    assert chosen.season_water == pytest.approx(36.0)
    assert chosen.season_cost == pytest.approx(ledger.water.cost)


def test_money_facts_are_read_written_and_checked():
    plan = plan_named("crowded US")
    document = json.loads(yard_text(plan.yard))
    document["money"] = {
        "tax": 0.06,
        "tariff": {"unit": "1000 gal", "blocks": [{"price": 4, "up_to": 8000}, {"price": 9}], "house": 5000},
    }
    yard = validated(document, source="test")
    assert yard.money.tariff.blocks[0].up_to == pytest.approx(8000 * 0.003785411784)
    assert json.loads(yard_text(yard))["money"] == document["money"]
    repriced = with_money_of(plan, yard, CATALOGUE)
    assert repriced.yard.money == yard.money
    document["money"]["tariff"]["blocks"] = [{"price": 4}, {"price": 9}]
    with pytest.raises(InputError, match="up_to"):
        validated(document, source="test")


def test_all_that_is_due_is_shared_among_the_phases():
    for bare in (plan_named("small"), crowded()):
        plan = with_facts(bare, tax=0.07, delivery=50, permit=40, price_rise=0.0)
        ledger = make_ledger(plan)
        job = job_of(plan, CATALOGUE, ledger)
        once = price_split(job, [[zone.id for zone in plan.zones]])
        assert once.total == pytest.approx(ledger.due, rel=1e-9)
        assert not once.phases[0].stubs


def test_a_crowded_yard_in_phases_digs_no_trench_twice():
    plan = with_facts(crowded(), delivery=50, price_rise=0.0)
    ledger = make_ledger(plan)
    phased = make_phases(plan, CATALOGUE, ledger, given=[["lawn number 1", "Z2"]], phases=2)
    first, second = phased.given.phases
    assert set(first.zones) == {"Z1", "Z2"}
    assert len(second.zones) == 14
    paving = {trench.id for trench in plan.trenches if trench.surface == "paving"}
    lawns = {trench.id for trench in plan.trenches if trench.pipes in (("Z1.1",), ("Z1.2",), ("Z2.1",), ("Z2.2",))}
    opened = set(phased.open_now)
    assert lawns <= opened <= lawns | paving
    assert first.stubs
    assert first.total + second.total == pytest.approx(phased.at_once.total + 50 + first.caps + second.rental, rel=1e-9)
    assert phased.best.total <= phased.given.total + 0.01
    assert phased.best.total >= phased.at_once.total
    dearest = [split.dearest for split in phased.front]
    assert dearest == sorted(dearest, reverse=True)
    assert dearest[-1] == pytest.approx(phased.least_yearly, abs=0.05)
    assert [split.total for split in phased.front] == sorted(split.total for split in phased.front)
    with pytest.raises(InputError, match="no zone or lawn"):
        make_phases(plan, CATALOGUE, ledger, given=[["the moon"]])
    with pytest.raises(InputError, match="two phases"):
        make_phases(plan, CATALOGUE, ledger, given=[["Z1"], ["lawn number 1"]])


def test_a_limit_that_no_split_keeps_is_told():
    plan = crowded()
    phased = make_phases(plan, CATALOGUE, make_ledger(plan), phases=2, yearly=5.0)
    assert phased.best is None
    assert phased.least_yearly > 5.0
