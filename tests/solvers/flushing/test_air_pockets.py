"""Air under crests: one worked by hand, random trees against every path in networkx."""

import itertools
import math
import random

import networkx as nx
import pytest

from rillwright.model.plan import Head, Pipe
from rillwright.model.terrain import Terrain
from rillwright.solvers.flushing.air import air_pockets, release_levels
from rillwright.solvers.levels import Levels

BORE = 0.02664  # [m] 1 in PE (ASTM D2239)
AREA = math.pi / 4 * BORE**2
COVER = 0.3


def head(name, at, ground):
    return Head.model_construct(id=name, at=at, ground=ground, head_class="spray")


def pipe(name, start, end, path, speed=1.0):
    length = sum(math.dist(a, b) for a, b in itertools.pairwise(path))
    return Pipe.model_construct(
        id=name, start=start, end=end, path=path, length=length, bore=BORE, velocity=speed, zone="Z1", role="lateral"
    )


def over_a_ridge(*, crest=False, speed=1.0, top=1.0):
    """Level valve, a ridge at 10 m, a head at 20 m; pockets of the lateral, and, if asked for, a head on the ridge."""
    terrain = Terrain([(0, 0), (10, 0), (20, 0)], [0.0, top, 0.0])
    pipes = [
        pipe("P1", "V1", "H1", ((0.0, 0.0), (10.0, 0.0)), speed),
        pipe("P2", "H1", "H2", ((10.0, 0.0), (20.0, 0.0)), speed),
    ]
    heads = [head("H2", (20.0, 0.0), 0.0), *([head("H1", (10.0, 0.0), top)] if crest else [])]
    net = Levels.of(pipes, terrain=terrain, depth=COVER, heads=heads)
    return air_pockets(net, pipes, line="Z1", openings=list(net.outlet.values()))


def test_a_ridge_by_hand():
    """The pipe climbs from -0.3 to 0.7 and falls to -0.3 at the head's riser: all of it stands over that."""
    (pocket,) = over_a_ridge()
    assert pocket.rise == pytest.approx(1.0)
    assert pocket.volume == pytest.approx(20 * AREA)
    assert (pocket.falls_in, pocket.at) == ("P2", (10.0, 0.0))
    assert pocket.slope == pytest.approx(0.1, rel=1e-6)


def test_a_head_on_the_ridge_lets_the_air_out():
    assert over_a_ridge(crest=True) == []


def test_air_passes_over_less_than_a_bore():
    assert over_a_ridge(top=0.9 * BORE) == []
    assert len(over_a_ridge(top=1.1 * BORE)) == 1


def test_fast_water_carries_the_air_along():
    """sqrt(9.80665 · 0.02664) · (0.56 sqrt(0.1) + 0.61) = 0.4023 m/s."""
    assert over_a_ridge()[0].clears == pytest.approx(0.4023, abs=1e-4)
    assert over_a_ridge(speed=0.40)[0].stays
    assert not over_a_ridge(speed=0.41)[0].stays


def test_only_water_that_runs_down_from_the_crest_counts():
    """From a valve on the ridge: the pipe falls along its flow; toward it, it rises, and there is nothing to clear."""
    terrain = Terrain([(0, 0), (10, 0)], [1.0, 0.0])
    down = [pipe("P1", "V1", "H1", ((0.0, 0.0), (10.0, 0.0)))]
    net = Levels.of(down, terrain=terrain, depth=COVER, heads=[head("H1", (10.0, 0.0), 0.0)])
    assert air_pockets(net, down, line="Z1", openings=list(net.outlet.values()))[0].slope == pytest.approx(0.1)
    up = [pipe("P1", "V1", "H1", ((10.0, 0.0), (0.0, 0.0)))]
    net = Levels.of(up, terrain=terrain, depth=COVER, heads=[head("H1", (0.0, 0.0), 1.0)])
    assert air_pockets(net, up, line="Z1", openings=list(net.outlet.values())) == []


def random_tree(seed):
    dice = random.Random(seed)
    spots = [(x, y) for x in (0, 8, 16) for y in (0, 8, 16)]
    terrain = Terrain(spots, [dice.uniform(0, 3) for _ in spots])
    nodes, pipes, heads = {"V1": (8.0, 8.0)}, [], []
    for k in range(1, dice.randint(4, 7)):
        at, start = (dice.uniform(0, 16), dice.uniform(0, 16)), dice.choice(sorted(nodes))
        nodes[f"H{k}"] = at
        pipes.append(pipe(f"P{k}", start, f"H{k}", (nodes[start], at)))
        heads += [head(f"H{k}", at, terrain.at(*at))] if k == 1 or dice.random() < 0.5 else []
    return Levels.of(pipes, terrain=terrain, depth=COVER, heads=heads), pipes


@pytest.mark.parametrize("seed", range(8))
def test_release_levels_are_those_of_the_best_path(seed):
    net, _ = random_tree(seed)
    tree = nx.Graph(net.edges)
    found = release_levels(net, list(net.outlet.values()))
    paths = [nx.single_source_shortest_path(tree, at) for at in net.outlet.values()]
    for point in range(len(net.height)):
        assert found[point] == max(min(net.height[p] for p in ways[point]) for ways in paths)


@pytest.mark.parametrize("seed", range(8))
def test_a_further_opening_never_holds_more_air(seed):
    net, pipes = random_tree(seed)
    openings = [*net.outlet.values()]
    held = [
        sum(pocket.volume for pocket in air_pockets(net, pipes, line="Z1", openings=[*openings, *more]))
        for more in ([], [net.joint["V1"]], [net.joint["V1"], *net.joint.values()])
    ]
    assert held == sorted(held, reverse=True)
