"""Time of routing against the number of heads, the gap to the bound, and what sharing and junctions save.

Run: python benchmarks/routing.py. One lot of invented shape, scaled with the number of heads.
"""

import time

import numpy as np
import shapely
from scipy.sparse.csgraph import minimum_spanning_tree

from rillwright.model.ground import Ground, resolve_ground
from rillwright.model.parts import TrenchCost
from rillwright.model.site import BackflowChoice, Controller, GroundArea, ServicePipe, Tree, WaterEntry, Yard
from rillwright.solvers.routing import Net, route_nets

SIZES = (12, 25, 50, 100)
PER_ZONE = 8
COSTS = {
    name: TrenchCost(name, metre, crossing, "invented")
    for name, metre, crossing in (
        ("lawn", 6.0, 0.0),
        ("bed", 7.5, 0.0),
        ("ground", 6.0, 0.0),
        ("paving", 25.0, 60.0),
        ("roots", 18.0, 0.0),
    )
}

Spots = list[tuple[float, float]]


def box(left: float, bottom: float, right: float, top: float) -> Spots:
    """Corners of a rectangle."""
    return [(left, bottom), (right, bottom), (right, top), (left, top)]


def lot(scale: float) -> Ground:
    """L-shaped lot with a house, a drive from street to house, an island bed, a pond and two trees."""
    areas = (
        ("lawn", [(0, 0), (30, 0), (30, 14), (16, 14), (16, 28), (0, 28)]),
        ("building", [(8, 9), (20, 9), (20, 13.5), (13, 13.5), (13, 19), (8, 19)]),
        ("paving", box(15, 0, 19, 9)),
        ("bed", [(4, 21), (8, 20.5), (9, 23), (6, 25), (3.5, 24)]),
        ("water", box(2, 12, 4.5, 15)),
    )
    outlines = [(kind, [(x * scale, y * scale) for x, y in xy]) for kind, xy in areas]
    yard = Yard(
        name="Bench",
        units="metric",
        areas=[GroundArea(id=f"area {k}", kind=kind, outline=xy) for k, (kind, xy) in enumerate(outlines)],
        trees=[Tree(id="a", at=(5 * scale, 5 * scale)), Tree(id="b", at=(12.5 * scale, 24 * scale))],
        water_entry=WaterEntry(at=(0, 0), height=0, pipe=ServicePipe(material="PE", size="1 in", length=10)),
        controller=Controller(stations=20),
        backflow=BackflowChoice(allowed=["atmospheric vacuum breaker"]),
    )
    return resolve_ground(yard)


def draw(count: int) -> tuple[Ground, list[Net], dict[str, tuple[float, float]]]:
    """A lot with heads on a jittered grid, zoned by distance from two valve places."""
    scale = (count / 50) ** 0.5
    ground = lot(scale)
    chance = np.random.default_rng(count)
    lawn = shapely.unary_union(list(ground.lawns.values()))
    spots: list[np.ndarray] = []
    while len(spots) < count:
        spot = chance.uniform((0, 0), (30 * scale, 28 * scale))
        near = min((float(np.hypot(*(spot - other))) for other in spots), default=np.inf)
        if lawn.covers(shapely.Point(spot)) and near > 2.2:
            spots.append(spot)
    places = {"V1": (7.5 * scale, 9.5 * scale), "V2": (20.5 * scale, 9.5 * scale)}
    points = {"entry": (12 * scale, 11 * scale), **places}
    order = sorted(spots, key=lambda s: (s[0] > 14 * scale, s[1] // 6, s[0]))
    nets = [Net("main", "entry", ("V1", "V2"), 1.6)]
    for zone, start in enumerate(range(0, count, PER_ZONE)):
        heads = order[start : start + PER_ZONE]
        ids = tuple(f"H{start + k}" for k in range(len(heads)))
        points.update({name: (float(x), float(y)) for name, (x, y) in zip(ids, heads, strict=True)})
        centre = np.mean(heads, axis=0)
        home = min(places, key=lambda p: float(np.hypot(*(centre - np.array(places[p])))))
        nets.append(Net(f"zone {zone}", home, ids, 0.9))
    return ground, nets, points


def straight_trees(nets: list[Net], points: dict[str, tuple[float, float]]) -> float:
    """Trench of straight spanning trees, each net alone and nothing in the way [m]."""
    total = 0.0
    for net in nets:
        xy = np.array([points[name] for name in (net.root, *net.terminals)])
        total += float(minimum_spanning_tree(np.linalg.norm(xy[:, None] - xy[None], axis=2)).sum())
    return total


def main() -> None:
    """Print the table."""
    print(f"{'heads':>6} {'nets':>5} {'seconds':>8} {'cost':>8} {'gap %':>6} {'trench m':>9} {'of straight trees':>18}")
    times = []
    for count in SIZES:
        ground, nets, points = draw(count)
        start = time.process_time()
        routes = route_nets(nets, points=points, ground=ground, costs=COSTS, time_limit=300.0)
        times.append(time.process_time() - start)
        trench = sum(t.length for t in routes.trenches)
        share = trench / straight_trees(nets, points)
        gap = 100 * (routes.proof.gap or 0.0)
        print(f"{count:6d} {len(nets):5d} {times[-1]:8.2f} {routes.cost:8.0f} {gap:6.1f} {trench:9.1f} {share:18.2f}")
    growth = np.polyfit(np.log(SIZES), np.log(times), 1)[0]
    print(f"time grows as heads^{growth:.2f}")


if __name__ == "__main__":
    main()
