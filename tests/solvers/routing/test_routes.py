"""Routes on small yards: what must hold in each, known least trees, and exact trees on a dense graph."""

import networkx as nx
import numpy as np
import pytest
import shapely
from scipy.sparse.csgraph import floyd_warshall
from shapely.geometry import LineString, Point

from least_trees import steiner_weight
from rillwright.errors import InputError
from rillwright.model.parts import TrenchCost
from rillwright.solvers.routing import Net, route_nets, trench_bound

PIPE = 1.0  # [currency/m]


def check_routes(routes, nets, points, ground, *, indoors=()):
    """What must hold of any routes."""
    closed = ground.no_trench.buffer(-0.002)
    roofless = shapely.unary_union([ground.kinds["water"], ground.kinds["keep-out"], ground.trunks]).buffer(-0.002)
    for net in nets:
        edges = routes.trees[net.id]
        tree = nx.DiGraph([(edge.start, edge.end) for edge in edges])
        assert nx.is_arborescence(tree)
        assert tree.in_degree(net.root) == 0
        assert set(net.terminals) <= set(tree)
        for edge in edges:
            line = LineString(edge.path)
            assert edge.length == pytest.approx(line.length)
            assert edge.path[0] == pytest.approx(routes.nodes[edge.start])
            assert edge.path[-1] == pytest.approx(routes.nodes[edge.end])
            out_of_house = {edge.start, edge.end} & set(indoors)
            assert not line.intersects(roofless if out_of_house else closed)
        branches = [node for node in tree if node not in (net.root, *net.terminals)]
        assert all(node.startswith("J") and tree.degree(node) >= 3 for node in branches)
    for name, at in points.items():
        assert name not in routes.nodes or routes.nodes[name] == at
    check_trenches(routes, nets, ground)
    pipes = sum(net.pipe_cost * edge.length for net in nets for edge in routes.trees[net.id])
    assert routes.cost == pytest.approx(pipes + sum(trench.cost for trench in routes.trenches))
    assert routes.bound <= routes.cost
    assert routes.proof.value == routes.cost


def check_trenches(routes, nets, ground):
    """Every outdoor pipe lies in trenches that say so; sleeves are where paving is, and nowhere else."""
    paving = ground.kinds["paving"].buffer(-0.06)
    for trench in routes.trenches:
        line = LineString(trench.path)
        assert trench.length == pytest.approx(line.length)
        assert not line.intersects(ground.no_trench.buffer(-0.002))
        assert trench.sleeve == (trench.surface == "paving")
        assert trench.sleeve or line.intersection(paving).length < 0.05
        assert trench.pipes == tuple(dict.fromkeys(net for net, _ in routes.contents[trench.id]))
        for net, place in routes.contents[trench.id]:
            run = LineString(routes.trees[net][place].path)
            assert line.within(run.buffer(0.01))
    for net in nets:
        laid = shapely.unary_union([LineString(t.path) for t in routes.trenches if net.id in t.pipes]).buffer(0.01)
        for edge in routes.trees[net.id]:
            left = LineString(edge.path).difference(laid).difference(ground.kinds["building"].buffer(0.01))
            assert left.length < 0.01


def l_yard_nets():
    heads = {
        "front": [(0.1, 0.1), (6, 0.1), (12, 0.1), (20.3, 0.1), (0.1, 6), (6, 4), (12, 4), (14, 8.8), (20, 8.8)],
        "east": [(24.2, 0.1), (24.2, 7), (24.2, 13.8), (29.9, 0.1), (29.9, 7), (29.9, 13.8)],
        "back": [(0.1, 27.9), (8, 27.9), (15.9, 27.9), (15.9, 21), (15.9, 14.2), (13.2, 19.2), (7.8, 18), (0.1, 20)],
    }
    points = {"entry": (12.0, 11.0), "V1": (7.5, 9.5), "V2": (20.3, 8.0)}
    nets = [Net("main", "entry", ("V1", "V2"), 1.6)]
    for zone, spots in heads.items():
        ids = tuple(f"{zone} {k}" for k in range(len(spots)))
        points.update(zip(ids, spots, strict=True))
        nets.append(Net(zone, "V1" if zone == "back" else "V2", ids, PIPE))
    return nets, points


@pytest.fixture(scope="module")
def l_routes(l_yard, costs):
    nets, points = l_yard_nets()
    return route_nets(nets, points=points, ground=l_yard, costs=costs)


def test_l_shaped_yard_holds_together(l_routes, l_yard):
    nets, points = l_yard_nets()
    check_routes(l_routes, nets, points, l_yard, indoors=("entry",))
    assert l_routes.status == "feasible"
    assert l_routes.proof.gap < 0.05


def test_no_routes_cost_less_than_the_bound_of_trenches_that_join_all(l_routes, l_yard, costs):
    _, points = l_yard_nets()
    bound = trench_bound(list(points.values()), ground=l_yard, costs=costs, pipe_cost=PIPE)
    trenches = sum(trench.cost + PIPE * trench.length for trench in l_routes.trenches)
    assert 0.9 * trenches < bound < l_routes.cost


def test_bound_of_two_points_on_a_lawn_is_the_straight_trench(make_ground, box, costs):
    ground = make_ground(("lawn", box(0, 0, 20, 10)))
    assert trench_bound([(1, 5), (19, 5)], ground=ground, costs=costs) == pytest.approx(18 * 6.0)


def test_drive_is_crossed_once_in_a_sleeve_square_to_it(l_routes):
    """The drive cuts the lot in two; it is 3.5 m wide, 3.6 m is about square."""
    drive = [t for t in l_routes.trenches if t.sleeve and t.path[0][0] > 20]
    assert len(drive) == 1
    assert drive[0].length < 3.6
    assert drive[0].cost == pytest.approx(25 * drive[0].length + 60)


def test_strip_between_walk_and_street_is_reached_under_the_walk(make_ground, box, costs):
    """The walk runs from lot line to lot line: there is no seam at its ends to slip through."""
    ground = make_ground(("lawn", box(0, 0, 20, 10)), ("paving", box(0, 1.5, 20, 3)), ("building", box(0, 3, 6, 8)))
    points = {"V": (8.0, 8.0), "A": (0.0, 0.1), "B": (10.0, 0.1), "C": (20.0, 0.1), "D": (20.0, 3.1)}
    nets = [Net("strip", "V", ("A", "B", "C"), PIPE), Net("lawn", "V", ("D",), PIPE)]
    routes = route_nets(nets, points=points, ground=ground, costs=costs)
    check_routes(routes, nets, points, ground)
    (sleeve,) = [t for t in routes.trenches if t.sleeve]
    assert sleeve.length == pytest.approx(1.5, abs=0.05)


def test_same_input_gives_the_same_routes(random_case, costs):
    ground, spots = random_case(7, 8)
    points = {f"P{k}": spot for k, spot in enumerate(spots)}
    nets = [Net("main", "P0", ("P1",), 1.5), Net("zone", "P1", tuple(points)[2:], PIPE)]
    once, again = (route_nets(nets, points=points, ground=ground, costs=costs, seed=3) for _ in range(2))
    assert once == again


def test_the_share_that_is_told_rises_to_the_end(random_case, costs):
    ground, spots = random_case(7, 8)
    points = {f"P{k}": spot for k, spot in enumerate(spots)}
    nets = [Net("main", "P0", ("P1",), 1.5), Net("zone", "P1", tuple(points)[2:], PIPE)]
    told: list[float] = []
    route_nets(nets, points=points, ground=ground, costs=costs, tell=told.append)
    assert min(told) == 0
    assert 2 / 3 <= max(told) < 1  # the last of three turns ends when nothing changes
    turns = [int(3 * share) for share in told]
    assert turns == sorted(turns)


@pytest.mark.parametrize("seed", range(12))
def test_random_yards_hold_together(random_case, costs, seed):
    ground, spots = random_case(seed, 9)
    points = {f"P{k}": spot for k, spot in enumerate(spots)}
    nets = [
        Net("main", "P0", ("P1", "P2"), 1.5),
        Net("left", "P1", ("P3", "P4", "P5"), PIPE),
        Net("right", "P2", ("P6", "P7", "P8"), PIPE),
    ]
    check_routes(route_nets(nets, points=points, ground=ground, costs=costs), nets, points, ground)


def dense_exact(ground, costs, spots, routes):
    """Least tree over all straight lines between points that clear the obstacles, with geometry of its own.

    Points: the ends, a grid of 1.5 m, the corners of the obstacles set off by the 0.3 m that a trench keeps there, and
    all that the routes use.
    """
    closed = ground.no_trench.buffer(-0.001)
    grid = np.stack(np.meshgrid(np.arange(0.5, 14, 1.5), np.arange(0.5, 11, 1.5)), axis=2).reshape(-1, 2)
    used = np.array([xy for edge in routes.trees["zone"] for xy in edge.path])
    corners = shapely.get_coordinates(ground.no_trench.buffer(0.3, join_style="mitre"))
    spots = np.vstack([spots, used, grid, corners])
    one, two = np.triu_indices(len(spots), 1)
    lines = shapely.linestrings(np.stack([spots[one], spots[two]], axis=1))
    clear = ~shapely.intersects(closed, lines) & shapely.covers(shapely.box(0, 0, 14, 11).buffer(0.001), lines)
    dense = np.full((len(spots), len(spots)), np.inf)
    price = np.maximum(shapely.length(lines) * (costs["lawn"].per_metre + PIPE), 1e-9)
    dense[one[clear], two[clear]] = dense[two[clear], one[clear]] = price[clear]
    return steiner_weight(floyd_warshall(dense, directed=False), range(len(routes.nodes) - junctions(routes)))


def junctions(routes):
    return sum(1 for name in routes.nodes if name.startswith("J"))


def test_routes_are_near_exact_trees_with_obstacles(random_case, costs):
    """30 random lots with three obstacles, 8 to 12 ends: no route is 2 % dearer than the exact tree."""
    ratios = []
    for seed in range(30):
        count = 8 + seed % 5
        ground, spots = random_case(100 + seed, count)
        points = {f"P{k}": spot for k, spot in enumerate(spots)}
        net = Net("zone", "P0", tuple(points)[1:], PIPE)
        routes = route_nets([net], points=points, ground=ground, costs=costs)
        ratios.append(routes.cost / dense_exact(ground, costs, spots, routes))
    print(f"route over exact tree on a dense graph: worst {max(ratios):.4f}, mean {np.mean(ratios):.4f}")
    assert max(ratios) <= 1.02


@pytest.mark.parametrize(
    ("spots", "length"),
    [
        ([(2, 2), (8, 2), (5, 2 + 3 * 3**0.5)], 6 * 3**0.5),  # triangle of side a: √3 a
        ([(2, 2), (8, 2), (8, 8), (2, 8)], 6 * (1 + 3**0.5)),  # square of side a: (1 + √3) a
    ],
)
def test_least_trees_that_are_known(make_ground, box, costs, spots, length):
    """Least trees of a triangle and a square: Gilbert and Pollak, SIAM J. Appl. Math. 16 (1968) 1-29 (from memory)."""
    ground = make_ground(("lawn", box(0, 0, 20, 12)))
    points = {f"P{k}": spot for k, spot in enumerate(spots)}
    routes = route_nets([Net("zone", "P0", tuple(points)[1:], 0.0)], points=points, ground=ground, costs=costs)
    assert routes.cost == pytest.approx(6 * length, rel=5e-4)  # the share for which stretches are left out of the graph


def test_way_round_a_house_is_the_shortest(make_ground, box, costs):
    """By hand: from one side of the house to the other round its corners, set off by the clearance at most."""
    ground = make_ground(("lawn", box(0, 0, 20, 14)), ("building", box(6, 4, 14, 14)))
    routes = route_nets(
        [Net("main", "A", ("B",), PIPE)], points={"A": (2, 8), "B": (18, 8)}, ground=ground, costs=costs
    )
    least = 2 * np.hypot(4, 4) + 8
    (edge,) = routes.trees["main"]
    assert least <= edge.length < least + 4 * 0.3


def test_two_nets_lie_in_one_trench(make_ground, box, costs):
    ground = make_ground(("lawn", box(0, 0, 20, 6)))
    points = {"V": (1.0, 3.0), "A": (18.0, 3.2), "B": (18.0, 2.8)}
    nets = [Net("a", "V", ("A",), PIPE), Net("b", "V", ("B",), PIPE)]
    routes = route_nets(nets, points=points, ground=ground, costs=costs)
    shared = sum(t.length for t in routes.trenches if t.pipes == ("a", "b"))
    assert shared > 16
    assert sum(t.length for t in routes.trenches) < 17.6
    check_routes(routes, nets, points, ground)


def test_root_zone_is_skirted(make_ground, box, costs):
    """Straight through the roots: 6 m at 18; round them it is cheaper."""
    ground = make_ground(("lawn", box(0, 0, 20, 12)), trees=(((10, 6), 0.2, 3.0),))
    points = {"A": (2.0, 5.0), "B": (18.0, 5.0)}
    routes = route_nets([Net("main", "A", ("B",), PIPE)], points=points, ground=ground, costs=costs)
    assert {t.surface for t in routes.trenches} == {"lawn"}


def test_entry_in_the_house_leaves_by_the_nearest_wall(make_ground, box, costs):
    ground = make_ground(("lawn", box(0, 0, 20, 14)), ("building", box(6, 4, 14, 12)))
    points = {"entry": (10.0, 5.0), "V": (10.0, 2.0)}
    nets = [Net("main", "entry", ("V",), PIPE)]
    routes = route_nets(nets, points=points, ground=ground, costs=costs)
    assert routes.trees["main"][0].length == pytest.approx(3.0)
    assert sum(t.length for t in routes.trenches) == pytest.approx(2.0)
    check_routes(routes, nets, points, ground, indoors=("entry",))


def test_nobody_elses_pipe_goes_through_the_house(make_ground, box, costs):
    """The entry's way out is not a short cut for a zone on both sides of the house."""
    ground = make_ground(("lawn", box(0, 0, 20, 14)), ("building", box(1, 6, 19, 7)))
    points = {"entry": (10.0, 6.5), "V": (10.0, 5.0), "A": (10.0, 9.0), "B": (10.0, 3.0)}
    nets = [Net("main", "entry", ("V",), PIPE), Net("zone", "V", ("A", "B"), PIPE)]
    routes = route_nets(nets, points=points, ground=ground, costs=costs)
    check_routes(routes, nets, points, ground, indoors=("entry",))


def test_a_zone_does_not_reach_the_other_side_through_the_house(make_ground, box, costs):
    """Only the main may pass the entry in the wall that parts the ground; what lies behind it for the zone is told."""
    ground = make_ground(("lawn", box(0, 0, 20, 14)), ("building", box(0, 6, 20, 7)))
    points = {"entry": (10.0, 6.5), "V": (10.0, 5.0), "A": (10.0, 9.0), "B": (10.0, 3.0)}
    nets = [Net("main", "entry", ("V",), PIPE), Net("zone", "V", ("A", "B"), PIPE)]
    routes = route_nets(nets, points=points, ground=ground, costs=costs)
    assert [(item.net, item.node) for item in routes.unreachable] == [("zone", "A")]
    check_routes(routes, [nets[0], Net("zone", "V", ("B",), PIPE)], points, ground, indoors=("entry",))


def test_courtyard_is_served_through_the_house_it_is_shut_in_by(make_ground, box, costs):
    ground = make_ground(("lawn", box(0, 0, 20, 14)), ("building", box(5, 3, 15, 12)), ("lawn", box(8, 6, 12, 9)))
    points = {"entry": (6.0, 5.0), "V1": (3.0, 5.0), "V2": (9.0, 7.0)}
    nets = [Net("main", "entry", ("V1", "V2"), PIPE)]
    routes = route_nets(nets, points=points, ground=ground, costs=costs)
    assert routes.unreachable == ()
    check_routes(routes, nets, points, ground, indoors=("entry",))


@pytest.mark.parametrize(
    ("kind", "head", "stands"),
    [("building", (10, 7.5), "is shut in by building"), ("water", (6, 4), "stands in water")],
)
def test_what_cannot_be_reached_is_named_with_what_is_round_it(make_ground, box, costs, kind, head, stands):
    ground = make_ground(("lawn", box(0, 0, 20, 14)), (kind, box(5, 3, 15, 12)), ("lawn", box(8, 6, 12, 9)))
    points = {"V": (2.0, 2.0), "near": (4.0, 2.0), "far": head}
    routes = route_nets([Net("zone", "V", ("near", "far"), PIPE)], points=points, ground=ground, costs=costs)
    assert routes.status == "infeasible"
    (lost,) = routes.unreachable
    assert (lost.net, lost.node, lost.surrounded_by) == ("zone", "far", (kind,))
    assert stands in str(lost)
    assert [edge.end for edge in routes.trees["zone"]] == ["near"]


def test_paving_closed_to_trenches_cuts_the_yard(make_ground, box, costs):
    closed = {**costs, "paving": TrenchCost("paving", None, 0.0, "invented for tests")}
    ground = make_ground(("lawn", box(0, 0, 20, 10)), ("paving", box(9, 0, 11, 10)))
    points = {"V": (2.0, 5.0), "A": (18.0, 5.0)}
    routes = route_nets([Net("zone", "V", ("A",), PIPE)], points=points, ground=ground, costs=closed)
    assert "paving closed to trenches" in routes.unreachable[0].surrounded_by


def test_undrawn_ground_between_two_lawns_is_dug_when_there_is_no_other_way(make_ground, box, costs):
    ground = make_ground(("lawn", box(0, 0, 8, 8)), ("lawn", box(14, 0, 20, 8)))
    points = {"V": (2.0, 4.0), "A": (18.0, 4.0)}
    routes = route_nets([Net("zone", "V", ("A",), PIPE)], points=points, ground=ground, costs=costs)
    assert {t.surface: t.length for t in routes.trenches}["ground"] == pytest.approx(6.0, abs=0.005)


def test_the_notch_of_an_l_shaped_lot_is_not_dug(make_ground, costs):
    ground = make_ground(("lawn", [(0, 0), (20, 0), (20, 8), (8, 8), (8, 20), (0, 20)]))
    points = {"V": (7.0, 19.0), "A": (19.0, 7.0)}
    routes = route_nets([Net("zone", "V", ("A",), PIPE)], points=points, ground=ground, costs=costs)
    assert all(ground.kinds["lawn"].buffer(0.01).covers(LineString(t.path)) for t in routes.trenches)


def test_narrow_side_yard_is_a_way_through(make_ground, box, costs):
    """A 0.4 m strip between house and lot line is all there is."""
    ground = make_ground(("lawn", box(0, 0, 20, 10)), ("building", box(6, 0, 14, 9.6)))
    points = {"V": (2.0, 5.0), "A": (18.0, 5.0)}
    nets = [Net("zone", "V", ("A",), PIPE)]
    routes = route_nets(nets, points=points, ground=ground, costs=costs)
    check_routes(routes, nets, points, ground)
    assert Point(10, 9.8).distance(LineString(routes.trees["zone"][0].path)) < 0.25


@pytest.mark.parametrize(
    ("nets", "text"),
    [
        ([], "no nets"),
        ([Net("a", "V", ("A",), 1.0), Net("a", "V", ("B",), 1.0)], "Two nets are called 'a'"),
        ([Net("a", "V", ("missing",), 1.0)], "'missing', which has no point"),
        ([Net("a", "V", ("A",), -1.0)], "must be 0 or more"),
    ],
)
def test_bad_nets_are_refused_with_what_to_do(make_ground, box, costs, nets, text):
    ground = make_ground(("lawn", box(0, 0, 20, 10)))
    points = {"V": (1.0, 1.0), "A": (5.0, 5.0), "B": (6.0, 5.0)}
    with pytest.raises(InputError, match=text):
        route_nets(nets, points=points, ground=ground, costs=costs)


def test_a_surface_without_a_price_is_refused(make_ground, box, costs):
    ground = make_ground(("lawn", box(0, 0, 20, 10)), ("bed", box(2, 2, 4, 4)))
    some = {name: cost for name, cost in costs.items() if name != "bed"}
    with pytest.raises(InputError, match="no row for 'bed'"):
        route_nets([Net("a", "V", (), 1.0)], points={"V": (1.0, 1.0)}, ground=ground, costs=some)


def test_coincident_places_and_a_net_without_terminals(make_ground, box, costs):
    """An entry with the valves on it, and a zone whose heads stand on one another."""
    ground = make_ground(("lawn", box(0, 0, 20, 10)))
    points = {"entry": (1.0, 1.0), "V": (1.0, 1.0), "A": (5.0, 1.0), "B": (5.0, 1.0)}
    nets = [Net("main", "entry", ("V",), PIPE), Net("zone", "V", ("A", "B"), PIPE)]
    routes = route_nets(nets, points=points, ground=ground, costs=costs)
    check_routes(routes, nets, points, ground)
    assert routes.cost == pytest.approx(4 * 7)
    lone = route_nets([Net("main", "V", (), PIPE)], points=points, ground=ground, costs=costs)
    assert (lone.cost, lone.trees["main"], lone.trenches) == (0.0, (), ())
