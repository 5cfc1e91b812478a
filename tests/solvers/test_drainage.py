"""Low-head drainage against hand computation, path by path, and every set of check valves by trial."""

import itertools
import math
import random

import networkx as nx
import numpy as np
import pytest

from plan_yards import planned, small_yard
from rillwright.model.drainage import HIGHEST_HOLD, LARGEST_PUDDLE
from rillwright.model.plan import Head, Pipe, Zone
from rillwright.model.site import HeadChoice, Yard
from rillwright.model.terrain import Terrain
from rillwright.solvers import drainage
from rillwright.solvers.drainage import zone_drainage
from rillwright.solvers.levels import Levels

BORE, RISER = 0.02664, 0.622 * 0.0254  # 1 in PE (ASTM D2239); 1/2 in riser
PIPE_AREA, RISER_VOLUME = math.pi / 4 * BORE**2, math.pi / 4 * RISER**2 * 0.45
NEVER = "none"


def head(name, at, ground):
    return Head(
        id=name,
        lawn="lawn",
        at=at,
        ground=ground,
        head_class="spray",
        nozzle="any",
        arc_start=0.0,
        arc=360.0,
        radius_share=1.0,
        radius=3.0,
        flow=1e-4,
        pressure=2e5,
        hydrozone="sun",
    )


def pipe(name, start, end, path):
    length = sum(math.dist(a, b) for a, b in itertools.pairwise(path))
    return Pipe(
        id=name,
        role="lateral",
        zone="Z1",
        start=start,
        end=end,
        path=path,
        length=length,
        material="PE",
        size="1 in",
        bore=BORE,
        flow=1e-4,
        velocity=0.2,
        loss=0.0,
    )


def zone_of(heads):
    return Zone.model_construct(id="Z1", heads=tuple(h.id for h in heads), place="V1")


def yard(check_valves="where needed"):
    base = {
        "name": "Test",
        "units": "metric",
        "areas": [{"id": "lawn", "kind": "lawn", "outline": [(0, 0), (9, 0), (9, 9)]}],
        "water_entry": {"at": (0, 0), "height": 0, "pipe": {"material": "PE", "size": "1 in", "length": 9}},
        "controller": {"stations": 4},
        "backflow": {"allowed": ["double check"]},
    }
    return Yard.model_validate(base).model_copy(update={"heads": HeadChoice(check_valves=check_valves)})


def falling(fall, check_valves="where needed", count=3):
    """A straight lateral of 10 m to each head, falling evenly from the valve; its drainage."""
    terrain = Terrain([(0, -5), (10 * count, -5), (0, 5), (10 * count, 5)], [10 * count * fall, 0.0] * 2)
    heads = [head(f"H{k}", (10.0 * k, 0.0), terrain.at(10.0 * k, 0.0)) for k in range(1, count + 1)]
    names = ["V1", *(h.id for h in heads)]
    pipes = [pipe(f"P{k}", names[k], names[k + 1], ((10.0 * k, 0.0), (10.0 * (k + 1), 0.0))) for k in range(count)]
    return zone_drainage(zone_of(heads), heads, pipes, terrain=terrain, yard=yard(check_valves))


def test_a_straight_fall_by_hand():
    """Pipe at 2.7 - 0.1 x, heads at 2, 1 and 0: all pipe up the slope from x = 27 and two risers empty at the last."""
    found = falling(0.1, NEVER)
    by_hand = 27 * PIPE_AREA + 2 * RISER_VOLUME
    assert found.unchecked == pytest.approx(by_hand, abs=0.06 * PIPE_AREA)
    assert (found.worst, found.wettest, found.checked) == ("H3", "H3", ())
    assert found.left == found.at_wettest == found.unchecked
    assert found.holds == pytest.approx(30 * PIPE_AREA + 3 * RISER_VOLUME)


def test_check_valves_hold_the_water_up_to_the_highest_pipe():
    """Then 17 m empty at H2 and 7 m (3.9 L) at H1: all three need one; the valve's end stands at 2.7 m."""
    found = falling(0.1)
    assert {one.head: one.column for one in found.checked} == pytest.approx({"H1": 0.7, "H2": 1.7, "H3": 2.7})
    assert found.left == 0.0
    assert found.unchecked == falling(0.1, NEVER).unchecked


def test_what_no_check_valve_holds_runs_out():
    """A fall of 9 m: over the last head 4.3 m stay, what stands higher runs out: 8.7 - 0.3 x over 4.3, x under 14.7."""
    found = falling(0.3)
    assert found.checked[-1].column == pytest.approx(HIGHEST_HOLD, abs=0.06)
    assert found.wettest == "H3"
    gone = (8.7 - HIGHEST_HOLD) / 0.3
    assert found.at_wettest == pytest.approx(gone * PIPE_AREA + RISER_VOLUME, abs=0.1 * PIPE_AREA)
    assert found.at_wettest > LARGEST_PUDDLE


def test_level_ground_and_gentle_falls_keep_their_water():
    assert falling(0.0).unchecked == 0.0
    assert falling(0.0).worst is None
    assert falling(0.009).unchecked < 2 * RISER_VOLUME  # 0.27 m in all: the pipe lies 0.3 m deep
    assert falling(0.009).checked == ()


def test_steeper_ground_lets_more_out():
    volumes = [falling(fall, NEVER).unchecked for fall in np.linspace(0.0, 0.3, 16)]
    assert all(a <= b for a, b in itertools.pairwise(volumes))
    assert volumes[-1] < falling(0.3).holds


def test_a_hollow_keeps_its_water_behind_the_crest():
    """From the valve down into a hollow, over a crest, down to one head: only what is beyond the crest runs out."""
    terrain = Terrain([(0, 0), (10, 0), (20, 0), (30, 0)], [2.0, 1.0, 2.0, 0.0])
    heads = [head("H1", (30.0, 0.0), 0.0)]
    pipes = [pipe("P1", "V1", "H1", ((0.0, 0.0), (30.0, 0.0)))]
    found = zone_drainage(zone_of(heads), heads, pipes, terrain=terrain, yard=yard(NEVER))
    assert found.unchecked == pytest.approx(8.5 * PIPE_AREA, abs=0.11 * PIPE_AREA)  # 1.7 m of fall at 0.2 m/m


def random_tree(seed):
    dice = random.Random(seed)
    spots = [(x, y) for x in (0, 8, 16) for y in (0, 8, 16)]
    terrain = Terrain(spots, [dice.uniform(0, 3) for _ in spots])
    count = dice.randint(3, 6)
    heads = []
    nodes, pipes = {"V1": (8.0, 8.0)}, []
    for k in range(1, count + 1):
        at = (dice.uniform(0, 16), dice.uniform(0, 16))
        start = dice.choice(sorted(nodes))
        nodes[f"H{k}"] = at
        heads.append(head(f"H{k}", at, terrain.at(*at)))
        pipes.append(pipe(f"P{k}", start, f"H{k}", (nodes[start], at)))
    return heads, pipes, terrain


def net_of(heads, pipes, terrain):
    return Levels.of(pipes, terrain=terrain, depth=0.3, heads=heads)


def by_paths(net, checked):
    """Volume out of each head: every point's only path to every outlet, in networkx."""
    tree = nx.Graph(net.edges)
    level = {name: net.height[at] + HIGHEST_HOLD * (name in checked) for name, at in net.outlet.items()}
    out = dict.fromkeys(net.outlet, 0.0)
    paths = {name: nx.single_source_shortest_path(tree, at) for name, at in net.outlet.items()}
    for point, height in enumerate(net.height):
        able = [
            name
            for name in net.outlet
            if max(level[name], *(net.height[p] for p in paths[name][point])) <= height and net.share[point] > 0
        ]
        if able:
            out[min(able, key=lambda name: (level[name], name))] += net.share[point]
    return {name: volume for name, volume in out.items() if volume > 0}


@pytest.mark.parametrize("seed", range(8))
def test_trees_drain_as_every_path_says(seed):
    net = net_of(*random_tree(seed))
    for checked in ((), ("H1",), ("H1", "H3")):
        assert drainage._drained(net, checked) == pytest.approx(by_paths(net, checked))


@pytest.mark.parametrize("seed", range(8))
def test_no_smaller_set_of_check_valves_does(seed):
    """Every set of heads is tried: of those that leave no open head over the limit ours is the least."""
    heads, pipes, terrain = random_tree(seed)
    net = net_of(heads, pipes, terrain)
    names = [h.id for h in heads]

    def does(checked):
        return all(v <= LARGEST_PUDDLE for name, v in drainage._drained(net, checked).items() if name not in checked)

    sets = [set(s) for size in range(len(names) + 1) for s in itertools.combinations(names, size) if does(s)]
    found = {c.head for c in zone_drainage(zone_of(heads), heads, pipes, terrain=terrain, yard=yard()).checked}
    assert found in sets
    assert all(found <= other for other in sets)


def test_a_plan_buys_the_check_valves_it_counts_on():
    """Spot heights that fall away from the house by 20 %; the valve place stands at the house."""
    spots = [{"at": [x, y], "height": -0.2 * y} for x in (0, 9) for y in (-4, 7)]
    plan = planned(small_yard(spot_heights=spots))
    checked = [one.head for zone in plan.drainage for one in zone.checked]
    bought = [line for line in plan.parts if line.part == "check valve in a head"]
    assert len(checked) == bought[0].quantity > 0
    assert all(zone.at_wettest <= LARGEST_PUDDLE for zone in plan.drainage)
    bare = planned(small_yard(spot_heights=spots, heads={"check_valves": "none"}))
    assert not any(line.part == "check valve in a head" for line in bare.parts)
    assert "low-head-drainage" in {finding.rule for finding in bare.findings}
    assert plan.cost.total - bare.cost.total == pytest.approx(2.5 * len(checked))
