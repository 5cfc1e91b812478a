"""The front between few heads and even water, against plain enumeration and a distance worked by vectors."""

import itertools
import math

import numpy as np
import pytest

from coverage_yards import head
from plan_yards import planned, planned_example, small_yard
from rillwright.exchange.yard_file import validated
from rillwright.jobs import combine
from rillwright.jobs.front import extra_water, front_of, knee
from rillwright.model.plan import Evenness, Lawn
from rillwright.model.site import Watering
from rillwright.solvers.coverage import LawnLayout

CAPACITY = {"rotary": 6e-4, "spray": 6e-4}
YARD = validated(small_yard(), source="test")


def layout(name, heads, du, *, scheduling=1.2, area=100.0, missing=0.0, paving=0.0, nozzle="rotary 20 ft"):
    flow = heads * 5e-5
    lawn = Lawn(
        id=name,
        area=area,
        head_class="rotary",
        hydrozone="sun, turf, level",
        evenness=Evenness(cu=0.8, du=du, scheduling=scheduling, mean_rate=1e-6, driest=(0.0, 0.0)),
        water=flow,
        on_lawn=flow * (1 - missing - paving),
        on_paving=flow * paving,
        on_building=0.0,
        off_site=flow * missing,
        elsewhere=0.0,
    )
    own = head(nozzle, at=(0.0, 0.0), arc_start=0.0, arc=360.0, radius=5.0, flow=5e-5)
    return LawnLayout((own.model_copy(update={"lawn": name}),) * heads, lawn)


def random_lawns(rng, count, each):
    """Lawns whose layouts get more even with more heads, but not by one rule."""
    lawns = []
    for i in range(count):
        area = float(rng.uniform(50, 300))
        heads = rng.integers(4, 20, each)
        du = 0.9 - 1.0 / heads + rng.uniform(-0.03, 0.03, each)
        lawns.append([layout(f"L{i}", int(n), float(d), area=area) for n, d in zip(heads, du, strict=True)])
    return lawns


def figures(combination):
    """Heads, money, extra water and stations missing of a combination, worked from the definitions alone."""
    heads = sum(len(one.heads) for one in combination)
    zones = math.ceil(heads * 5e-5 / (0.95 * CAPACITY["rotary"]))
    area = sum(one.lawn.area for one in combination)
    extra = 0.0
    for lawn in (one.lawn for one in combination):
        longer = 0.75 / (0.4 + 0.6 * lawn.evenness.du) + 0.25 * lawn.evenness.scheduling
        extra += lawn.area * (longer * lawn.water / lawn.on_lawn - 1)
    return heads, 35 * heads + 180 * zones, extra / area, max(0, zones - YARD.controller.stations)


@pytest.mark.parametrize("seed", range(4))
def test_the_front_is_what_plain_enumeration_leaves(seed):
    lawns = random_lawns(np.random.default_rng(seed), 3, 5)
    all_of_them = [figures(c) for c in itertools.product(*lawns)]
    least = min(f[3] for f in all_of_them)
    sound = [f[:3] for f in all_of_them if f[3] == least]
    left = {
        tuple(np.round(f, 6))
        for f in sound
        if not any(all(a <= b for a, b in zip(g, f, strict=True)) and g != f for g in sound)
    }
    front = front_of(lawns, yard=YARD, capacity=CAPACITY)
    assert {tuple(np.round((c.heads, c.cost, c.extra), 6)) for c in front.choices} == left
    assert front.named["fewest heads"].heads == min(f[0] for f in sound)
    assert front.named["most even"].extra == pytest.approx(min(f[2] for f in sound))


@pytest.mark.parametrize("seed", range(4))
def test_the_balanced_one_is_where_money_stops_paying_back_in_water(seed):
    """Within 2 % of the least of money, water and 200 for each lawn under DU 0.70, and nothing there has a better DU.

    Water: 12 weeks of 33 mm, at 2.5 a cubic metre, in each of twenty years at 3 %; the present value year by year.
    """
    front = front_of(random_lawns(np.random.default_rng(seed), 3, 5), yard=YARD, capacity=CAPACITY)
    years = sum(1.03**-year for year in range(1, 21))
    spent = []
    for choice in front.choices:
        poor = sum(one.lawn.evenness.du < 0.70 for one in choice.layouts)
        spent.append(choice.cost + years * 2.5 * 12 * 0.033 * choice.area * choice.extra + 200 * poor)
    near = [choice for choice, sum_ in zip(front.choices, spent, strict=True) if sum_ <= 1.02 * min(spent)]
    assert front.named["balanced"] in near
    means = [sum(x.lawn.area * x.lawn.evenness.du for x in c.layouts) / c.area for c in near]
    assert means[near.index(front.named["balanced"])] == pytest.approx(max(means))


def test_a_lawn_that_is_large_enough_pays_for_more_heads():
    few, many = ([layout("L", 6, 0.7, area=a), layout("L", 9, 0.85, area=a)] for a in (20.0, 2000.0))
    assert [knee(front_of([o], yard=YARD, capacity=CAPACITY).choices).heads for o in (few, many)] == [6, 9]


def test_faults_are_kept_off_the_front():
    options = [
        layout("L", 3, 0.5),  # under the yard's lowest DU
        layout("L", 4, 0.7, scheduling=3.5),  # a dry spot
        layout("L", 5, 0.7, paving=0.2),
        layout("L", 8, 0.7),
    ]
    front = front_of([options], yard=YARD, capacity=CAPACITY)
    assert [c.heads for c in front.choices] == [8]
    alone = front_of([options[:1]], yard=YARD, capacity=CAPACITY)
    assert [c.heads for c in alone.choices] == [3]  # no other way: better a fault than no plan


def test_a_fault_is_borne_where_being_rid_of_it_costs_more_than_it_is_worth():
    """Sixteen heads and a zone more are 740, over the 500 of a fault; eight and a zone are 460."""
    faulty = layout("L", 6, 0.55)
    front = front_of([[faulty, layout("L", 22, 0.8)]], yard=YARD, capacity=CAPACITY)
    assert [c.heads for c in front.choices] == [6, 22]
    front = front_of([[faulty, layout("L", 14, 0.8)]], yard=YARD, capacity=CAPACITY)
    assert [c.heads for c in front.choices] == [14]


def test_water_that_misses_counts_as_extra():
    """Run time 1 / (0.4 + 0.6 · 0.75) at DU 0.75; a fifth of the water lost asks for a quarter more."""
    plain, lost = layout("L", 5, 0.75, scheduling=1.0), layout("L", 5, 0.75, scheduling=1.0, missing=0.2)
    assert extra_water(plain) == pytest.approx(0.75 / 0.85 + 0.25 - 1)
    assert 1 + extra_water(lost) == pytest.approx(1.25 * (1 + extra_water(plain)))


def test_a_poor_lawn_is_lifted_over_seventy_where_that_is_not_dear():
    """On 20 m² the water saved is worth 20; three heads are 105, under the 200 of a poor lawn, and eight are 280."""
    poor = layout("L", 5, 0.69, area=20.0)
    for more, wanted in ((3, 8), (8, 5)):
        choices = front_of([[poor, layout("L", 5 + more, 0.71, area=20.0)]], yard=YARD, capacity=CAPACITY).choices
        assert knee(choices).heads == wanted


def test_a_season_of_water_is_told():
    yard = YARD.model_copy(update={"watering": Watering(peak_need=0.04)})
    (point,) = front_of([[layout("L", 8, 0.75, area=150.0)]], yard=yard, capacity=CAPACITY).points("balanced")
    assert point.season_water == pytest.approx(12 * 0.04 * 150 * (1 + point.extra_water))


def many_lawns(seed):
    """Six lawns of five layouts, 15,625 combinations, and stations enough."""
    yard = YARD.model_copy(update={"controller": YARD.controller.model_copy(update={"stations": 99})})
    return random_lawns(np.random.default_rng(seed), 6, 5), yard


def test_nothing_is_missed_among_many_lawns():
    lawns, yard = many_lawns(5)
    all_of_them = np.round([figures(c)[:3] for c in itertools.product(*lawns)], 6)
    front = front_of(lawns, yard=yard, capacity=CAPACITY)
    ours = np.array([(c.heads, c.cost, c.extra) for c in front.choices])
    for point in all_of_them:
        assert (ours <= point + 1e-5).all(axis=1).any()
    for point in ours:
        assert np.abs(all_of_them - point).max(axis=1).min() < 1e-5


@pytest.mark.parametrize("seed", range(5, 9))
def test_where_combinations_are_cut_the_balanced_one_is_nearly_as_good(seed, monkeypatch):
    lawns, yard = many_lawns(seed)
    whole = front_of(lawns, yard=yard, capacity=CAPACITY).named["balanced"]
    monkeypatch.setattr(combine, "MOST", 400)
    cut = front_of(lawns, yard=yard, capacity=CAPACITY).named["balanced"]
    assert cut.spent <= 1.02 * whole.spent


def test_a_plan_builds_what_its_front_names():
    plan = planned_example("demo.yard.json")
    (own,) = [point for point in plan.front if point.chosen]
    assert own.aim == "balanced"
    assert own.heads == len(plan.heads)
    assert dict(own.classes) == {lawn.id: lawn.head_class for lawn in plan.lawns}
    assert {point.aim for point in plan.front} >= {"balanced"}
    assert [point.cost for point in plan.front] == sorted(point.cost for point in plan.front)


def test_the_user_picks_from_the_front():
    few, even = (planned(small_yard(heads={"aim": aim, "allowed": ["spray"]})) for aim in ("fewest heads", "most even"))
    assert [point.aim for point in few.front if point.chosen] == ["fewest heads"]
    assert [point.aim for point in even.front if point.chosen] == ["most even"]
    assert len(few.heads) < len(even.heads)


def test_a_head_in_the_ground_costs_its_lateral_when_kept_and_its_moving_when_given_up():
    """Kept: 15 without a lateral beside it, nothing with one; given up: its moving cost; all beside 35 a new head."""
    spots = {"fed": [1.0, 1.0], "dry": [8.0, 6.0], "gone": [5.0, 3.5]}
    heads = [{"id": name, "at": at, "head_class": "rotary", "moving_cost": 20} for name, at in spots.items()]
    lateral = {"id": "l", "role": "lateral", "material": "PE", "size": "1 in", "path": [[1, 0.7], [4, 0.7]]}
    yard = validated(small_yard(existing={"heads": heads, "pipes": [lateral]}), source="test")
    plain = layout("lawn", 4, 0.8)
    places = [tuple(spots["fed"]), tuple(spots["dry"]), (3.0, 6.5), (8.5, 0.5)]
    stood = [plain.heads[0].model_copy(update={"at": at, "id": f"H{k}"}) for k, at in enumerate(places)]
    (choice,) = front_of([[LawnLayout(tuple(stood), plain.lawn)]], yard=yard, capacity=CAPACITY).choices
    assert (choice.heads, choice.kept, choice.standing) == (4, 2, 15 + 0 + 20)
    assert choice.cost == 35 * 2 + 35 + 180
