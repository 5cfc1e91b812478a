"""Pipes that are held fast: the plan lays them, sizes the rest round them, and says what it could not keep.

The oracle is geometry apart from the planner: pins against the plan's own paths. The yards are invented.
"""

import copy
from types import SimpleNamespace

import pytest
import shapely
from shapely.geometry import LineString

from plan_yards import CATALOGUE, planned, rectangle, small_yard
from rillwright.exchange.check import problems_in
from rillwright.exchange.yard_file import validated
from rillwright.jobs.case import make_case
from rillwright.jobs.checks import inspect
from rillwright.jobs.clashes import clash_findings
from rillwright.jobs.pipework import lay_pipes
from rillwright.model.ground import resolve_ground
from rillwright.solvers.supply import fit_supply


def pinned(document, *pipes, **others):
    return copy.deepcopy(document) | {"pins": {"pipes": list(pipes), **others}}


def pin_of(pipe, **more):
    return {"id": f"hold {pipe.id}", "role": pipe.role, "path": [list(p) for p in pipe.path]} | more


def uncovered(plan, pin, off=0.3):
    """Length [m] of a pin with no pipe of its role beside it."""
    laid = [LineString(pipe.path) for pipe in plan.pipes if pipe.role == pin["role"]]
    return LineString(pin["path"]).difference(shapely.unary_union(laid).buffer(off)).length


def given_up(plan):
    return [finding for finding in plan.findings if finding.rule == "pin-given-up"]


def two_zones(**changes):
    return small_yard(
        areas=[
            {"id": "lawn", "kind": "lawn", "outline": rectangle(0, 0, 18, 10)},
            {"id": "house", "kind": "building", "outline": rectangle(0, -4, 18, 4)},
        ],
        supply=[{"kind": "static gauge", "pressure": 420}, {"kind": "gauge at a flow", "pressure": 280, "flow": 12}],
        heads={"allowed": ["rotary"]},
        **changes,
    )


def test_a_lateral_led_another_way_is_laid_so_and_the_rest_round_it():
    before = planned(two_zones())
    pipe = max((p for p in before.pipes if p.role == "lateral"), key=lambda p: p.length)
    (x0, y0), (x1, y1) = pipe.path[0], pipe.path[-1]
    bent = [[x0, y0], [(x0 + x1) / 2 + (y1 - y0) / 4, min(9.0, (y0 + y1) / 2 + abs(x0 - x1) / 4)], [x1, y1]]
    pin = pin_of(pipe, path=bent)
    after = planned(pinned(two_zones(), pin))
    assert uncovered(before, pin) > 0.5
    assert uncovered(after, pin) == 0
    assert not given_up(after)
    assert after.verdict != "does not fit"
    assert {p.pin for p in after.pipes} == {None, pin["id"]}


def test_pinning_every_pipe_as_it_lies_changes_no_trench():
    before = planned(two_zones())
    pins = [pin_of(pipe) for pipe in before.pipes]
    after = planned(pinned(two_zones(), *pins))
    assert not given_up(after)
    assert after.cost.trenches == pytest.approx(before.cost.trenches, rel=0.02)
    assert all(uncovered(after, pin) == 0 for pin in pins)


def test_a_held_size_is_laid_and_a_least_size_is_kept_to():
    before = planned(two_zones())
    main = next(p for p in before.pipes if p.role == "main")
    lateral = max((p for p in before.pipes if p.role == "lateral"), key=lambda p: p.length)
    assert main.size != "1-1/2 in"
    assert lateral.size != "1 in"
    after = planned(pinned(two_zones(), pin_of(main, size="1-1/2 in"), pin_of(lateral, least_size="1 in")))
    sizes = {pin: {p.size for p in after.pipes if p.pin == pin} for pin in (f"hold {main.id}", f"hold {lateral.id}")}
    assert sizes == {f"hold {main.id}": {"1-1/2 in"}, f"hold {lateral.id}": {"1 in"}}
    assert not given_up(after)
    assert after.cost.total > before.cost.total


def test_a_held_pipe_too_narrow_for_its_water_is_said_to_be_the_cause():
    """0.6 L/s in 1/2 in PE: 3 m/s and more, twice the limit."""
    plan = planned(small_yard())
    document = pinned(small_yard(), {"id": "P", "role": "main", "path": [[2, 0], [4, 2]], "size": "1/2 in"})
    yard = validated(document, source="test")
    case = make_case(yard, CATALOGUE, fit=fit_supply(yard, CATALOGUE, seed=0), seed=0)
    heads = tuple(head.model_copy(update={"flow": 2e-4}) for head in plan.heads[:3])
    place = plan.places[0].model_copy(update={"at": (4.0, 2.0), "zones": ("Z1",)})
    work = lay_pipes({"Z1": heads}, [place], place.backflow, case=case)
    assert {pipe.size for pipe in work.pipes if pipe.pin} == {"1/2 in"}
    assert {clash.where for clash in work.clashes if clash.kind == "velocity"} == {"M1"}
    draft = SimpleNamespace(zoning=SimpleNamespace(clashes=()), pipework=work, settled=None)
    assert all("wider size" in finding.do for finding in clash_findings(draft, heads, case))


def test_a_pipe_of_named_heads_puts_them_in_one_zone():
    before = planned(two_zones())
    pairs = [(a, b) for a in before.heads for b in before.heads if a.id < b.id and a.hydrozone == b.hydrozone]
    zone = {head: zone.id for zone in before.zones for head in zone.heads}
    one, two = next((a, b) for a, b in pairs if zone[a.id] != zone[b.id])
    heads = [{"id": f"pin {h.id}", "at": list(h.at), "head_class": h.head_class} for h in (one, two)]
    pipe = {"id": "P", "role": "lateral", "path": [list(one.at), list(two.at)], "heads": [h["id"] for h in heads]}
    after = planned(pinned(two_zones(), pipe, heads=heads))
    held = {h.pin: h.id for h in after.heads if h.pin}
    own = next(z for z in after.zones if held[heads[0]["id"]] in z.heads)
    assert held[heads[1]["id"]] in own.heads
    assert {p.zone for p in after.pipes if p.pin == "P"} == {own.id}
    assert not given_up(after)


def test_of_pipes_that_lead_to_nothing_the_rest_is_left_out_and_said():
    """Seven pipes side by side for four heads: each can be a way to a head of its own, but some cannot."""
    pins = [{"id": f"P{x}", "role": "lateral", "path": [[x, 2], [x, 5]]} for x in (2, 2.7, 3.4, 4.1, 4.8, 5.5, 6.2)]
    plan = planned(pinned(small_yard(), *pins))
    assert len(plan.heads) == 4
    left = [pin for pin in pins if uncovered(plan, pin) > 0.5]
    assert len(left) >= 2
    assert len(given_up(plan)) == len(left)
    ends = {pipe.end for pipe in plan.pipes} - {pipe.start for pipe in plan.pipes}
    assert ends <= {head.id for head in plan.heads}


def test_a_plan_spoilt_of_its_pipe_fails_the_check():
    before = planned(two_zones())
    lateral = max((p for p in before.pipes if p.role == "lateral"), key=lambda p: p.length)
    plan = planned(pinned(two_zones(), pin_of(lateral, size=lateral.size)))
    own = [p for p in plan.pipes if p.pin]
    assert own
    assert not given_up(plan)
    without = plan.model_copy(update={"pipes": tuple(p for p in plan.pipes if not p.pin)})
    other = plan.model_copy(
        update={"pipes": tuple(p.model_copy(update={"size": "2 in"}) if p.pin else p for p in plan.pipes)}
    )
    for spoilt in (without, other):
        found = inspect(spoilt, resolve_ground(plan.yard), CATALOGUE)
        assert "pin-given-up" in {finding.rule for finding in found}


@pytest.mark.parametrize(
    ("change", "path", "said"),
    [
        ({"path": [[1, 1], [4, -2], [8, 1]]}, "pins.pipes[0].path", "crosses building 'house'"),
        ({"path": [[1, 1], [8, 6], [8, 1], [1, 6]]}, "pins.pipes[0].path", "crosses itself"),
        ({"path": [[1, 1], [90, 1]]}, "pins.pipes[0].path", "off the drawn ground"),
        ({"path": [[1, 1], [1, 1], [4, 4]]}, "pins.pipes[0].path[0]", "same point"),
        ({"size": "5 in"}, "pins.pipes[0].size", "comes in '5 in'"),
        ({"size": "1 in", "least_size": "1 in"}, "pins.pipes[0]", "both 'size' and 'least_size'"),
        ({"heads": ["nobody"]}, "pins.pipes[0].heads[0]", "no pinned head"),
        ({"role": "main", "heads": ["nobody"]}, "pins.pipes[0].heads", "heads of a main"),
    ],
)
def test_a_pinned_pipe_that_cannot_be_is_told_at_its_place(change, path, said):
    pipe = {"id": "P", "role": "lateral", "path": [[1, 1], [4, 4]]}
    assert problems_in(pinned(small_yard(), pipe), CATALOGUE) == ()
    found = problems_in(pinned(small_yard(), pipe | change), CATALOGUE)
    assert any(problem.path == path and said in problem.value for problem in found), found


def test_a_main_may_begin_in_the_house_at_the_water_entry():
    entry = {"at": [4, -2], "height": -0.4, "pipe": {"material": "copper L", "size": "1 in", "length": 45}}
    pin = {"id": "M", "role": "main", "path": [[4, -2], [4, 0], [4, 2]]}
    document = small_yard(water_entry=entry)
    assert problems_in(pinned(document, pin), CATALOGUE) == ()
    plan = planned(pinned(document, pin))
    assert plan.verdict != "does not fit"
