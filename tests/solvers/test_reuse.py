"""What is kept of a yard part-built, on a plan small enough to count on paper."""

import pytest

from rillwright.model.plan import Head, Pipe, ValvePlace
from rillwright.model.site import Yard
from rillwright.solvers.takeoff import find_reuse
from rillwright.solvers.takeoff.reuse import count_kept
from rillwright.solvers.takeoff.tally import WASTE, Tally


def yard(**existing):
    facts = {
        "name": "invented",
        "units": "metric",
        "areas": [{"id": "lawn", "kind": "lawn", "outline": [(0, 0), (30, 0), (30, 30)]}],
        "water_entry": {"at": (0, 0), "height": 5.0, "pipe": {"material": "copper L", "size": "1 in", "length": 10}},
        "controller": {"stations": 4},
        "backflow": {"allowed": ["pressure vacuum breaker"]},
        "existing": existing,
    }
    return Yard.model_validate(facts)


def head(name, at, head_class="rotary"):
    return Head(
        id=name, lawn="lawn", at=at, ground=0, head_class=head_class, nozzle="rotary 20 ft", arc_start=0, arc=180,
        radius_share=1, radius=4, flow=5e-5, pressure=2.8e5, hydrozone="sun",
    )  # fmt: skip


def place(name, at):
    return ValvePlace(
        id=name, at=at, ground=0, backflow="double check", device_height=None, highest_outlet=0.1, zones=("Z1",)
    )


def pipe(name, *path, role="lateral", material="PE", size="1 in"):
    return Pipe(
        id=name, role=role, zone="Z1", start="a", end="b", path=path, length=9.0,
        material=material, size=size, bore=0.02, flow=1e-4, velocity=0.5, loss=1e3,
    )  # fmt: skip


def old_head(name, at, **more):
    return {"id": name, "at": at, "head_class": "rotary", "moving_cost": 20} | more


def uses(the_yard, heads=(), places=(), pipes=()):
    return {use.id: use for use in find_reuse(the_yard, heads=heads, places=places, pipes=pipes)}


def test_a_head_is_kept_where_the_plan_sets_one_of_its_class():
    found = uses(
        yard(heads=[old_head("a", (5, 5)), old_head("b", (9, 9)), old_head("c", (20, 5), head_class="spray")]),
        heads=[head("H1", (5, 5.04)), head("H2", (9, 9.2)), head("H3", (20, 5))],
    )
    assert found["a"].kept_as == ("H1",)
    assert found["b"].kept_as == found["c"].kept_as == ()
    assert [found[name].moving_cost for name in "abc"] == [0, 20, 20]


def test_one_head_of_the_plan_keeps_one_in_the_ground():
    found = uses(yard(heads=[old_head("a", (5, 5)), old_head("b", (5, 5.04))]), heads=[head("H1", (5, 5.02))])
    assert found["a"].kept_as == ("H1",)
    assert found["b"].kept_as == ()


def test_a_pipe_is_kept_where_one_of_its_kind_runs_along_it():
    old = {"role": "lateral", "material": "PE", "size": "1 in", "moving_cost": 15}
    found = uses(
        yard(pipes=[old | {"id": "a", "path": [(0, 1), (10, 1)]}, old | {"id": "b", "path": [(0, 8), (10, 8)]}]),
        pipes=[
            pipe("Z1.1", (2, 1), (8, 1), (8, 20)),
            pipe("Z1.2", (8, 1), (9, 1)),
            pipe("Z1.3", (0, 8), (10, 8), size="3/4 in"),
            pipe("Z1.4", (5, 0), (5, 20)),
        ],
    )
    assert found["a"].kept_as == ("Z1.1", "Z1.2")
    assert found["a"].length == pytest.approx(7.02, abs=0.001)  # 6 m, 1 m, and half the width beside it round the bend
    assert found["b"].kept_as == ()  # of another size, or only crossed
    assert found["b"].moving_cost == 15


def test_what_is_kept_is_not_charged():
    the_yard = yard(
        heads=[old_head("a", (5, 5), nozzle="rotary 20 ft"), old_head("b", (9, 5))],
        places=[{"id": "box", "at": (3, 3)}],
        pipes=[{"id": "p", "role": "lateral", "material": "PE", "size": "1 in", "path": [(0, 1), (10, 1)]}],
    )
    heads = [head("H1", (5, 5)), head("H2", (9, 5)), head("H3", (20, 5))]
    pipes = [pipe("Z1.1", (0, 1), (4, 1))]
    reuse = find_reuse(the_yard, heads=heads, places=[place("V1", (3.3, 3))], pipes=pipes)
    tally = Tally("metric")
    for part in ("head rotary", "nozzle rotary 20 ft", "swing joint 1/2 in"):
        tally.pieces(part, "placed", ["H1", "H2", "H3"])
    tally.pieces("valve box small", "at places", ["V1"])
    tally.metres("pipe PE 1 in", 9.0, "of lateral")
    tally.cut("pipe PE 1 in", [4000, 5000], (("Z1.1", 4.0), ("Z1.2", 5.0)), "runs")
    count_kept(tally, the_yard, reuse, heads, {"V1": "valve box small"})
    owned = {line.part: line.owned for line in tally.needs({})}
    assert owned["head rotary"] == owned["swing joint 1/2 in"] == 2
    assert owned["nozzle rotary 20 ft"] == 1  # the other's nozzle is not known
    assert owned["valve box small"] == 1
    assert owned["pipe PE 1 in"] == pytest.approx(4.0 * (1 + WASTE))
    assert sum(piece for piece, _ in tally.pieces_of("pipe PE 1 in")) == 5000  # what lies there is not cut again
