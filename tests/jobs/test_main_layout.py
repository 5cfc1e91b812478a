"""A main closed to a ring: the whole plan, its choice, its numbers, and what the other jobs make of it."""

from dataclasses import replace
from functools import cache

import networkx as nx
import pytest

from looped_yards import far_lawns, pipework
from plan_inspector import INSPECTIONS
from plan_yards import CATALOGUE, small_yard
from rillwright.exchange.yard_file import validated
from rillwright.jobs.case import QUICK_EFFORT, make_case
from rillwright.jobs.checks import inspect
from rillwright.jobs.move import Workbench
from rillwright.jobs.plan import plan_case
from rillwright.jobs.progress import silent
from rillwright.jobs.settle import ZoneSolver
from rillwright.model.ground import resolve_ground
from rillwright.report.page import render_page
from rillwright.report.workings import all_workings
from rillwright.solvers.mains import ring_of
from rillwright.solvers.supply import fit_supply


def main_of(pipes):
    return [pipe for pipe in pipes if pipe.role == "main"]


@cache
def quick(layout, *, draws=0, small=False):
    """A plan without the long searches for even water and low cost."""
    document = small_yard(pipes={"main_layout": layout}) if small else far_lawns(layout)
    yard = validated(document, source="test")
    fit = fit_supply(yard, CATALOGUE, seed=0)
    case = make_case(yard, CATALOGUE, fit=fit, seed=0, effort=QUICK_EFFORT, draws=draws)
    return plan_case(case, progress=silent, pool=None)


def looped():
    plan = quick("looped", draws=256)
    assert len(plan.places) >= 2, "this yard must have two valve places, or it shows nothing"
    return plan


def test_each_place_is_fed_from_two_sides():
    plan = looped()
    main = main_of(plan.pipes)
    assert ring_of(main) == main
    for shut in main:
        net = nx.Graph((pipe.start, pipe.end) for pipe in main if pipe is not shut)
        assert all(nx.has_path(net, "entry", place.id) for place in plan.places)
    dug = [trench.pipes for trench in plan.trenches]
    assert all(sum(name.startswith("M") for name in pipes) <= 1 for pipes in dug), "two sides of a ring in one trench"


@pytest.mark.parametrize("inspection", INSPECTIONS, ids=lambda inspection: inspection.__name__)
def test_a_looped_plan_passes_inspection(inspection):
    inspection(looped())


def test_a_looped_plan_fits_and_says_what_the_ring_does():
    plan = looped()
    assert plan.verdict != "does not fit"
    assert not [f for f in plan.findings if f.rule in ("velocity", "head-pressure-low", "ring-closed", "surge")]
    assert plan.main.laid == plan.main.asked == "looped"
    branched, ring = plan.main.trials
    assert (branched.layout, ring.layout) == ("branched", "looped")
    assert ring.cost == pytest.approx(plan.cost.total)
    assert ring.least == pytest.approx(min(zone.cautious_low for zone in plan.zones))
    assert {shut.pipe for shut in plan.main.shut} == {pipe.id for pipe in main_of(plan.pipes)}
    assert all(0 < shut.fall < shut.before for shut in plan.main.shut)


def test_the_flows_of_the_ring_are_the_most_of_any_zone_and_balance_at_its_nodes():
    """In each zone what enters the ring leaves at one place: the runs at the entry carry at least the largest zone."""
    plan = looped()
    at_entry = [pipe for pipe in main_of(plan.pipes) if pipe.start == "entry"]
    largest = max(zone.flow for zone in plan.zones)
    assert len(at_entry) == 2
    assert sum(pipe.flow for pipe in at_entry) >= largest * (1 - 1e-6)
    assert all(pipe.flow <= largest * (1 + 1e-6) for pipe in main_of(plan.pipes))


def test_every_number_of_the_ring_has_a_working_and_stands_on_the_page():
    plan, workings = looped(), all_workings(looped())
    for shut in plan.main.shut:
        assert workings[f"main.shut.{shut.pipe}.fall"].again == pytest.approx(shut.fall)
    gain = workings["main.gain"]
    assert gain.again == gain.value == plan.main.trials[1].least - plan.main.trials[0].least
    page = render_page(plan, drawing='<svg width="1" height="1"></svg>', depth_drawing=None)
    assert 'id="main"' in page
    assert "isolating valves at both ends" in page


def test_a_gap_in_the_ring_is_told():
    plan, ground = looped(), resolve_ground(looped().yard)
    for one in main_of(plan.pipes):
        broken = plan.model_copy(update={"pipes": tuple(pipe for pipe in plan.pipes if pipe.id != one.id)})
        assert "ring-closed" in {finding.rule for finding in inspect(broken, ground, CATALOGUE)}


def test_a_head_can_be_tried_elsewhere_behind_a_ring():
    bench = Workbench(looped(), CATALOGUE)
    head = bench.plan.heads[0]
    moved = bench.move(head.id, at=head.at)
    for old, new in zip(looped().zones, moved.plan.zones, strict=True):
        assert new.pressure_low == pytest.approx(old.pressure_low, abs=50)
        assert new.cautious_low == pytest.approx(old.cautious_low, abs=50)


def test_one_valve_place_has_no_ring():
    plan = quick("looped", small=True)
    assert plan.main.laid == "branched"
    assert "one place" in plan.main.why
    assert "main-layout" in {finding.rule for finding in plan.findings}
    assert plan.pipes == quick("branched", small=True).pipes


def test_the_cheapest_is_the_cheaper_of_both():
    plan = quick("cheapest")
    branched, ring = plan.main.trials
    cheaper = min((branched, ring), key=lambda trial: trial.cost)
    assert plan.main.laid == cheaper.layout
    assert plan.cost.total == pytest.approx(cheaper.cost)
    assert (plan.main.shut == ()) == (cheaper.layout == "branched")


def test_three_places_close_to_a_ring_that_keeps_every_head_its_pressure():
    case, members, places, work = pipework(looped=True)
    main = main_of(work.pipes)
    assert not work.trouble
    assert {node for pipe in ring_of(main) for node in (pipe.start, pipe.end)} >= {place.id for place in places}
    settled = ZoneSolver(members, places, work, case).settle()
    assert not settled.short
    for pipe in main:
        assert pipe.velocity <= case.yard.rules.highest_velocity
    again = pipework(looped=True)[3]
    assert again == work
    tree = pipework(looped=False)[3]
    assert not ring_of(main_of(tree.pipes))
    assert {proof.stage: proof.status for proof in work.proofs}["sizes"] in ("optimal", "feasible")


def test_a_shut_stretch_is_solved_as_the_tree_that_is_left():
    case, members, places, work = pipework(looped=True)
    shut = main_of(work.pipes)[0]
    left = replace(work, pipes=tuple(pipe for pipe in work.pipes if pipe.id != shut.id))
    whole = ZoneSolver(members, places, work, case)
    part = ZoneSolver(members, places, left, case)
    for zone in members:
        before = whole.solve(zone, case.limits.cautious, 0.0)
        after = part.solve(zone, case.limits.cautious, 0.0)
        assert after.pressure_low <= before.pressure_low + 1.0
