"""What gravity empties: by hand in a sag, and against every path in random trees."""

import math
import random
from itertools import pairwise

import networkx as nx
import numpy as np
import pytest

from rillwright.model.plan import Head, Pipe
from rillwright.model.terrain import Terrain
from rillwright.solvers import drainage
from rillwright.solvers.drain_down import CUPFUL, drain_down
from rillwright.solvers.levels import Levels

BORE = 0.02664
PIPE_AREA = math.pi / 4 * BORE**2


def head(name, at, ground):
    return Head.model_construct(id=name, at=at, ground=ground, head_class="spray")


def pipe(name, start, end, path):
    return Pipe.model_construct(id=name, start=start, end=end, path=path, length=math.dist(*path), bore=BORE)


def valley(heights, *, spacing=10.0):
    """A pipe along x over ground of given heights; nodes a, b, c ..."""
    names = [chr(ord("a") + n) for n in range(len(heights))]
    spots = [(n * spacing, y) for n in range(len(heights)) for y in (-5.0, 5.0)]
    terrain = Terrain(spots, [h for h in heights for _ in range(2)])
    at = {name: (n * spacing, 0.0) for n, name in enumerate(names)}
    pipes = [pipe(f"P{n}", a, b, (at[a], at[b])) for n, (a, b) in enumerate(pairwise(names))]
    return pipes, terrain


def test_a_slope_empties_through_its_drain():
    pipes, terrain = valley([2.0, 1.0, 0.0])
    found = drain_down("main", pipes, terrain=terrain, depth=0.3)
    assert found.drain == "c"
    assert found.trapped == pytest.approx(0.0, abs=PIPE_AREA * 0.2)
    assert found.runs_out == pytest.approx(PIPE_AREA * 20.0, rel=0.02)


def test_a_sag_beside_the_drain_stays_full_up_to_its_lip():
    """Ground 1.0, 0.4, 0.8, 0.0: the drain at d; the sag at b keeps what lies under 0.8, ten metres and 6.7."""
    pipes, terrain = valley([1.0, 0.4, 0.8, 0.0])
    found = drain_down("main", pipes, terrain=terrain, depth=0.3)
    assert found.drain == "d"
    assert found.trapped == pytest.approx(PIPE_AREA * (10.0 + 10.0 * 0.4 / 0.6), rel=0.02)
    assert len(found.low_points) == found.drains_wanted == 1
    low = found.low_points[0]
    assert low.at[0] == pytest.approx(10.0, abs=0.11)
    assert low.length == pytest.approx(low.volume / PIPE_AREA, rel=0.02)
    assert low.volume > CUPFUL


def test_a_pipe_that_lies_deeper_than_planned_is_a_low_point():
    pipes, terrain = valley([0.3, 0.2, 0.1, 0.0])
    plain = drain_down("main", pipes, terrain=terrain, depth=0.3)
    sunk = drain_down("main", pipes, terrain=terrain, depth=0.3, logged={"P1": 0.9})
    assert plain.trapped < PIPE_AREA
    assert sunk.drain in ("b", "c")
    assert sunk.trapped > plain.trapped


@pytest.mark.parametrize("seed", range(6))
def test_against_every_path(seed):
    """A point's water stays when every way to the drain or a head rises over it somewhere."""
    dice = random.Random(seed)
    heights = [dice.uniform(0, 1.5) for _ in range(6)]
    pipes, terrain = valley(heights, spacing=3.0)
    nodes = [(one.end, one.path[-1]) for one in pipes]
    heads = [head(name, at, terrain.at(*at)) for name, at in dice.sample(nodes, 2)]
    found = drain_down("Z1", pipes, terrain=terrain, depth=0.3, heads=heads)
    net = Levels.of(pipes, terrain=terrain, depth=0.3, heads=heads)
    graph = nx.Graph(net.edges)
    outs = [net.joint[found.drain], *net.outlet.values()]
    kept = 0.0
    for point, z in enumerate(net.height):
        low = graph.subgraph([other for other, h in enumerate(net.height) if h <= z + 1e-12])
        leaves = any(out in low and nx.has_path(low, point, out) for out in outs)
        kept += 0.0 if leaves else net.share[point]
    assert found.trapped == pytest.approx(kept, abs=1e-9)


def test_outlets_come_back_by_their_place_in_the_list():
    pipes, terrain = valley([1.0, 0.0, 1.0])
    net = Levels.of(pipes, terrain=terrain, depth=0.3)
    point = net.joint["b"]
    ways = drainage.ways_out(net, [(net.joint["a"], net.height[net.joint["a"]]), (point, net.height[point])])
    assert set(ways[np.array(net.share) > 0].tolist()) <= {0, 1}
    assert (ways == 1).sum() > (ways == 0).sum()


def test_a_head_with_a_check_valve_lets_nothing_out():
    """The sag at b empties by its head down to the level of the ground there, or not at all."""
    pipes, terrain = valley([1.0, 0.4, 0.9, 0.45, 0.0])
    stand = [head("b", (10.0, 0.0), 0.4)]
    open_head = drain_down("Z1", pipes, terrain=terrain, depth=0.1, heads=stand)
    shut_head = drain_down("Z1", pipes, terrain=terrain, depth=0.1, heads=stand, shut=["b"])
    assert shut_head.trapped > open_head.trapped
    assert shut_head.holds == open_head.holds
