"""Long sections along any pipe: lines join, take what the pipes take, lead where they should. Yards are invented."""

import itertools
import threading

import pytest

from looped_yards import far_lawns
from plan_yards import CATALOGUE, planned, rectangle, small_yard
from rillwright.errors import InputError
from rillwright.exchange.yard_file import validated
from rillwright.jobs.adjust import Trays
from rillwright.jobs.case import QUICK_EFFORT, make_case
from rillwright.jobs.move import Workbench
from rillwright.jobs.pipework import ENTRY
from rillwright.jobs.plan import plan_case
from rillwright.jobs.progress import silent
from rillwright.jobs.section import section
from rillwright.model.regulation import Fitted
from rillwright.solvers.mains import ring_of
from rillwright.solvers.supply import fit_supply


def two_zones():
    return small_yard(
        areas=[
            {"id": "lawn", "kind": "lawn", "outline": rectangle(0, 0, 18, 10)},
            {"id": "house", "kind": "building", "outline": rectangle(0, -4, 18, 4)},
        ],
        supply=[{"kind": "static gauge", "pressure": 420}, {"kind": "gauge at a flow", "pressure": 280, "flow": 12}],
        heads={"allowed": ["rotary"]},
    )


@pytest.fixture(scope="module")
def bench():
    return Workbench(planned(two_zones()), CATALOGUE)


@pytest.fixture(scope="module")
def looped():
    yard = validated(far_lawns("looped"), source="test")
    case = make_case(yard, CATALOGUE, fit=fit_supply(yard, CATALOGUE, seed=0), seed=0, effort=QUICK_EFFORT, draws=0)
    return Workbench(plan_case(case, progress=silent, pool=None), CATALOGUE)


def passed(found):
    return [mark.label.split()[-1] for mark in found.marks if mark.kind == "pipe"]


def adds_up(found):
    """What the marks take is what the line of working pressure falls by, and the static line is level."""
    grade = [point.working + found.weight * point.pipe for point in found.points]
    assert grade[0] - grade[-1] == pytest.approx(sum(mark.loss for mark in found.marks), abs=2)
    still = [point.static + found.weight * point.pipe for point in found.points]
    assert max(still) - min(still) < 1e-6 * max(still)
    assert all(b.distance >= a.distance for a, b in itertools.pairwise(found.points))


def test_a_pipe_leads_on_to_the_farthest_head_beyond_it(bench):
    plan = bench.plan
    for pipe in plan.pipes:
        found = section(bench, pipe.id)
        adds_up(found)
        assert pipe.id in passed(found)
        assert (found.start, found.points[0].distance) == (ENTRY, 0.0)
        others = [section(bench, head.id) for head in plan.heads]
        beyond = [one for one in others if pipe.id in passed(one)]
        assert found.points[-1].distance == pytest.approx(max(one.points[-1].distance for one in beyond))


def test_a_valve_place_ends_the_section_in_the_main(bench):
    """The main's pipes take what the plan says that they take at their greatest flow: Darcy and Weisbach, and K."""
    plan = bench.plan
    place = plan.places[0]
    found = section(bench, place.id)
    adds_up(found)
    assert found.marks[-1].kind == "place"
    assert found.points[-1].at == pytest.approx(place.at)
    assert all(name.startswith("M") for name in passed(found))
    losses = {pipe.id: pipe.loss for pipe in plan.pipes}
    for mark in found.marks:
        if mark.kind == "pipe":
            assert mark.loss == pytest.approx(losses[mark.label.split()[-1]], rel=0.02)


def test_between_two_places_the_way_is_the_shortest_and_may_run_against_the_water(bench):
    plan = bench.plan
    zone = plan.zones[0]
    one, two = zone.heads[0], zone.heads[-1]
    there, back = section(bench, two, start=one), section(bench, one, start=two)
    adds_up(there)
    assert set(passed(there)) == set(passed(back))
    assert there.points[-1].at == pytest.approx(next(h.at for h in plan.heads if h.id == two))
    assert there.points[0].at == pytest.approx(next(h.at for h in plan.heads if h.id == one))
    along = [point.working for point in there.points[1:-1]]
    assert len(set(along)) > 2
    whole = section(bench, two)
    assert there.points[-1].working == pytest.approx(whole.points[-1].working, abs=1)


def test_a_looped_main_is_followed_on_each_side(looped):
    plan = looped.plan
    ring = {pipe.id for pipe in ring_of([p for p in plan.pipes if p.role == "main"])}
    assert len(ring) > 2
    for name in sorted(ring):
        found = section(looped, name)
        adds_up(found)
        assert name in passed(found)
        assert len(passed(found)) == len(set(passed(found)))
    one, two = plan.places[:2]
    across = section(looped, two.id, start=one.id)
    adds_up(across)
    assert set(passed(across)) <= ring


def test_what_never_runs_together_is_refused(bench):
    one, two = (zone.heads[0] for zone in bench.plan.zones[:2])
    with pytest.raises(InputError, match="never run together"):
        section(bench, two, start=one)
    with pytest.raises(InputError, match="has no 'H99'"):
        section(bench, "H99")
    with pytest.raises(InputError, match="at one place"):
        section(bench, one, start=one)


def test_a_plan_that_takes_long_to_lay_out_holds_up_no_other():
    trays, inside, go = Trays(CATALOGUE), threading.Event(), threading.Event()
    plan = planned(small_yard())

    def slow():
        inside.set()
        assert go.wait(20)
        return plan

    worker = threading.Thread(target=trays.of, args=("slow", slow))
    worker.start()
    assert inside.wait(20)
    other = trays.of("other", lambda: plan)
    go.set()
    worker.join()
    assert trays.of("other", slow) is other


def test_regulators_in_the_heads_of_one_zone_do_not_trouble_another():
    plan = planned(two_zones())
    assert len(plan.zones) > 1
    fitted = Fitted(at="head", where=tuple(head.id for head in plan.heads))
    regulation = plan.regulation.model_copy(update={"fitted": (fitted,)})
    bench = Workbench(plan.model_copy(update={"regulation": regulation}), CATALOGUE)
    for zone in plan.zones:
        adds_up(section(bench, zone.worst_head))
