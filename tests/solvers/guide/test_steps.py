"""The steps of unlike small yards: nothing before its time, no part lost, cautions where the work is."""

from datetime import date

import networkx as nx
import pytest

from plan_yards import planned, rectangle, small_yard
from rillwright.jobs.guide import plan_steps
from rillwright.model.catalogue import load_catalogue
from rillwright.model.guide import BuildTerms
from rillwright.model.plan import Plan

CATALOGUE = load_catalogue()
TERMS = BuildTerms(start=date(2027, 5, 1))
LAWN = {"id": "lawn", "kind": "lawn", "outline": rectangle(0, 0, 9, 7)}
HOUSE = {"id": "house", "kind": "building", "outline": rectangle(0, -4, 9, 4)}
PATH = {"id": "path", "kind": "paving", "outline": rectangle(4, 0, 1, 7)}
ROOTS = {"id": "old tree", "kind": "roots", "outline": rectangle(-1, 2, 11, 6)}
ENTRY = {"at": [2, 0], "height": -0.4, "pipe": {"material": "copper L", "size": "1 in", "length": 45}}
YARDS = {
    "plain": {},
    "glued": {"pipes": {"main": ["PVC schedule 40"], "laterals": ["PVC SDR-21"]}, "areas": [LAWN, HOUSE, PATH]},
    "roots": {"areas": [LAWN, HOUSE, ROOTS], "rules": {"trench_depth": 1.3}},
    "steep": {"spot_heights": [{"at": [x, y], "height": 0.4 * y} for x in (0, 9) for y in (-4, 7)]},
    "breakers": {"backflow": {"allowed": ["atmospheric vacuum breaker"]}},
    "outside": {"water_entry": ENTRY | {"at": [9, 5]}, "backflow": {"allowed": ["double check"]}},
}


def plan_of(name):
    return planned(small_yard(**YARDS[name]))


def steps_of(name, terms=TERMS):
    return plan_steps(plan_of(name), CATALOGUE, terms)


def cautions(name, kind):
    return {caution.name for step in steps_of(name) if step.kind == kind for caution in step.cautions}


def before_of(steps):
    """Ids of all steps that come before each step, whatever the order found."""
    graph = nx.DiGraph((after.step, step.id) for step in steps for after in step.after)
    graph.add_nodes_from(step.id for step in steps)
    return {step.id: nx.ancestors(graph, step.id) for step in steps}


@pytest.fixture(scope="module", params=YARDS)
def name(request):
    return request.param


def test_the_steps_stand_in_an_order_that_they_allow(name):
    known = set()
    for step in steps_of(name):
        assert {after.step for after in step.after} <= known
        known.add(step.id)
        assert step.items
        assert step.ends
        assert step.tools
        assert step.source
        assert step.duration(2).low < step.duration(2).high or step.kind == "main"  # that may have no length


def test_nothing_is_done_before_its_time(name):
    steps = steps_of(name)
    plan, before = plan_of(name), before_of(steps)
    for step in steps:
        if step.kind in ("dig by machine", "dig by hand", "sleeves"):
            assert {"locate", "permit", "expose"} <= before[step.id]
        if step.kind in ("main", "wall"):
            assert "parts" in before[step.id]
    for zone in plan.zones:
        assert {"test", "join", f"lay:{zone.id}"} <= before[f"flush:{zone.id}"]
        assert f"flush:{zone.id}" in before[f"heads:{zone.id}"]
        assert {"settle", "controller"} <= before[f"tune:{zone.id}"]
    assert {step.id for step in steps} == before["record"] | {"record"}


def test_no_trench_is_filled_before_all_in_it_is_tested(name):
    steps = steps_of(name)
    plan, before = plan_of(name), before_of(steps)
    filled = {item.name: step.id for step in steps if step.kind == "fill" for item in step.items if item.name}
    zone_of = {pipe.id: pipe.zone for pipe in plan.pipes}
    for trench in plan.trenches:
        if trench.sleeve:
            continue
        for pipe in trench.pipes:
            zone = zone_of[pipe]
            needed = {f"flush:{zone}", f"heads:{zone}"} if zone else {"test", "wire", "main"}
            assert needed <= before[filled[trench.id]], trench.id


def test_every_trench_is_dug_once_and_filled_once(name):
    steps = steps_of(name)
    plan = plan_of(name)
    digs = ("dig by machine", "dig by hand", "sleeves")
    dug = [item.name for step in steps if step.kind in digs for item in step.items]
    filled = [item.name for step in steps if step.kind == "fill" for item in step.items if item.name]
    assert sorted(dug) == sorted(trench.id for trench in plan.trenches)
    assert sorted(filled) == sorted(trench.id for trench in plan.trenches if not trench.sleeve)


def test_the_steps_use_up_the_parts_list(name):
    """All but spares and what is counted in bulk: clamps, rings, glue, primer, solder and tape go by the joint."""
    bulk = ("clamp", "crimp ring", "primer", "glue", "solder", "thread tape")
    used = {}
    for step in steps_of(name):
        for taken in step.parts:
            used[taken.part] = used.get(taken.part, 0.0) + taken.quantity
    lines = plan_of(name).parts
    listed = {line.part: line.quantity - line.spare for line in lines if not line.part.startswith(bulk)}
    assert used == pytest.approx(listed)


def test_keys_are_each_of_one_item(name):
    keys = [item.key for step in steps_of(name) for item in step.items]
    assert len(set(keys)) == len(keys)
    assert all(0 < len(key) <= 120 for key in keys)


def test_keys_do_not_know_the_names_of_one_plan(name):
    plan = plan_of(name)
    text = plan.model_dump_json()
    for letter in "ZHJTV":
        text = text.replace(f'"{letter}', f'"q{letter}')
    renamed = plan_steps(Plan.model_validate_json(text), CATALOGUE, TERMS)
    assert {i.key for s in renamed for i in s.items} == {i.key for s in steps_of(name) for i in s.items}


def test_glue_is_warned_of_where_it_is_used():
    assert "glue" in cautions("glued", "lay") & cautions("glued", "main")
    assert "glue" not in cautions("plain", "lay")
    assert "glue" in cautions("breakers", "valves")  # their risers are rigid, whatever the laterals are


def test_danger_of_the_ground_is_told_at_the_digging():
    assert {"gas and power", "located first", "trench"} <= cautions("plain", "dig by machine")
    assert "deep trench" in cautions("roots", "dig by hand")
    assert "deep trench" not in cautions("plain", "dig by machine")
    assert "steep" in cautions("steep", "dig by hand")
    assert not [step for step in steps_of("steep") if step.kind == "dig by machine"]
    assert "roots" in cautions("roots", "dig by hand")
    assert {"bore", "gas and power"} <= cautions("glued", "sleeves")


def test_danger_at_the_house_is_told_there():
    assert {"torch", "licensed", "drinking water"} <= cautions("plain", "join")
    assert "line voltage" in cautions("plain", "controller")
    assert "wall" in cautions("plain", "wall")
    assert "drinking water" in cautions("outside", "backflow")
    assert "drinking water" in cautions("breakers", "valves")
    assert {"water test", "pressure"} <= cautions("plain", "test") & cautions("plain", "flush")


def test_no_wall_is_passed_where_the_water_comes_in_outside():
    steps = steps_of("outside")
    assert not [step for step in steps if step.kind == "wall"]
    assert any("away from every building" in text for step in steps for text in step.assumed)
    assert [step for step in steps_of("plain") if step.kind == "wall"]


def test_a_machine_is_fetched_only_for_trenches_that_it_digs():
    by_hand = steps_of("plain", TERMS.model_copy(update={"digging": "hand"}))
    assert not [step for step in by_hand if step.kind in ("fetch", "return", "dig by machine")]
    hours = [sum(step.duration(2).mean for step in steps) for steps in (by_hand, steps_of("plain"))]
    assert hours[0] > hours[1]
