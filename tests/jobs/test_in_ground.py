"""A yard part-built: the cheapest plan uses the pipe that lies there, and gives up what is too small."""

import copy
from types import SimpleNamespace

import pytest

from plan_yards import CATALOGUE, small_yard
from rillwright.exchange.yard_file import validated
from rillwright.jobs.case import make_case
from rillwright.jobs.held_pipes import lines_by_net
from rillwright.jobs.pipework import lay_pipes
from rillwright.model.ground import resolve_ground
from rillwright.model.plan import Head, ValvePlace
from rillwright.model.site import ExistingPipe
from rillwright.solvers.supply import fit_supply

AT = [(0.5, 0.5), (8.5, 0.5), (8.5, 6.5), (0.5, 6.5)]


def laid(pipes=(), flow=1.0e-4):
    """Pipes of one zone of four heads in the corners of the small yard's lawn."""
    document = copy.deepcopy(small_yard())
    lawn = next(area for area in document["areas"] if area["kind"] == "lawn")
    left, bottom = lawn["outline"][0]
    shifted = [(left + x, bottom + y) for x, y in AT]
    document["existing"] = {"pipes": [p | {"path": [[left + x, bottom + y] for x, y in p["path"]]} for p in pipes]}
    yard = validated(document, source="test")
    case = make_case(yard, CATALOGUE, fit=fit_supply(yard, CATALOGUE, seed=0), seed=0)
    nozzle = next(n for n in CATALOGUE.nozzles.values() if n.head_class == "rotary")
    heads = tuple(
        Head(
            id=f"H{k}",
            lawn=lawn["id"],
            at=at,
            ground=case.ground.terrain.at(*at),
            head_class="rotary",
            nozzle=nozzle.id,
            arc_start=0.0,
            arc=360.0,
            radius_share=1.0,
            radius=4.0,
            flow=flow,
            pressure=nozzle.lowest_pressure,
            hydrozone="lawn",
        )
        for k, at in enumerate(shifted)
    )
    kind = yard.backflow.allowed[0]
    at = (left + 4.5, bottom + 0.5)
    place = ValvePlace(
        id="V1",
        at=at,
        ground=case.ground.terrain.at(*at),
        backflow=kind,
        device_height=None,
        highest_outlet=0.0,
        zones=("Z1",),
    )
    return lay_pipes({"Z1": heads}, [place], kind, case=case)


def cost(work):
    return sum(trench.cost for trench in work.trenches)


def old_pipe(path, size="3/4 in", role="lateral", moving=10.0):
    return {"id": "old", "role": role, "material": "PE", "size": size, "path": path, "moving_cost": moving}


SPOTS = {"Z1": [(0.0, 1.0), (0.0, 9.0)], "Z2": [(0.0, 2.0), (0.0, 3.0)]}
ALONG = [(4.5, 0.5), (8.5, 0.5), (8.5, 6.5)]


def test_pipe_that_lies_along_the_way_is_used_and_saves_its_trench():
    new, old = laid(), laid([old_pipe(ALONG)])
    kept = [pipe for pipe in old.pipes if (pipe.material, pipe.size) == ("PE", "3/4 in") and pipe.zone == "Z1"]
    assert sum(pipe.length for pipe in kept) == pytest.approx(10.0, abs=0.1)
    assert cost(old) < cost(new)
    assert not old.clashes
    assert sum(trench.length for trench in old.trenches) < sum(trench.length for trench in new.trenches) - 8.0


def test_pipe_too_small_for_its_flow_is_given_up():
    """Two heads of 0.3 L/s behind 4 m of 1/2 in: 3 m/s, twice the limit, which new pipe keeps."""
    work = laid([old_pipe([(4.5, 0.5), (8.5, 0.5)], size="1/2 in")], flow=3.0e-4)
    new = laid(flow=3.0e-4)
    assert len(work.clashes) == len(new.clashes)
    assert [(p.size, round(p.length, 3)) for p in work.pipes] == [(p.size, round(p.length, 3)) for p in new.pipes]


def test_buried_laterals_are_offered_to_the_zones_where_they_save_most_together():
    """By hand: the first saves zone Z1 3.6 m and zone Z2 2.4 m; two in one trench serve one zone each."""
    pipe = ExistingPipe(**old_pipe([(0.2, 0.0), (0.2, 4.0)]))
    twin = pipe.model_copy(update={"id": "twin"})
    main = ExistingPipe(**old_pipe([(0.0, 0.0), (1.0, 0.0)], role="main"))
    heads = {zone: [SimpleNamespace(at=at, pin=None) for at in spots] for zone, spots in SPOTS.items()}
    yard = validated(small_yard(), source="test")
    home = dict.fromkeys(SPOTS, (0.0, 0.0))

    def offered(*pipes):
        found = lines_by_net(yard, resolve_ground(yard), heads, home, pipes).in_ground
        return {net: [pipe.id for pipe in own] for net, own in found.items()}

    assert offered(pipe, main) == {"Z1": [pipe.id], "main": [main.id]}
    both = offered(pipe, twin)
    assert sorted(both) == ["Z1", "Z2"]
    assert {name for own in both.values() for name in own} == {pipe.id, "twin"}
