"""Print how even our layouts are against plain square lattices of the same nozzle, on seeded random yards.

Run: python benchmarks/evenness.py [COUNT [FIRST]], 20 from seed 0 when left out. The weights of the search were tuned
on seeds 0 to 19; seeds from 100 on were drawn afterwards. The yards are invented: polygons of 5 to 9 corners, most with
a bed, half with a house. Still air, rotary heads. Both lattices carry the nozzle that most of our heads carry, at its
full radius, a radius apart (head to head), in rows along the longest edge; of 16 shifts the best by DU counts.

- set lattice: a node in every cell of the lattice that holds lawn, moved to the lawn where it stands off it, and every
  arc set as our own rays would set it, so that it keeps to the lawn. What a careful builder does without a search.
- edge rows: a head in every corner, the edges divided evenly, the inside on a lattice or relaxed, all of that nozzle;
  of these the one with the best DU. What a good builder does without a search: our own first layouts; printed only.
- open lattice: full circles, kept where they stand on the lawn. It has few heads because a third of its water and more
  falls off the lawn, on the house too. A layout that keeps to the lawn needs more heads: it is printed, not judged.

Against the set lattice stands the most even of our layouts that takes no more heads.
"""

import itertools
import math
import sys
from dataclasses import replace

import numpy as np
import shapely
from shapely.ops import nearest_points

from rillwright.model.catalogue import flow_at, load_catalogue, radius_at
from rillwright.model.ground import Ground, resolve_ground
from rillwright.model.plan import Evenness, Head
from rillwright.model.site import Yard
from rillwright.physics.units import PSI
from rillwright.solvers.coverage import LawnLayout, evaluate_layout, lay_out_lawn
from rillwright.solvers.coverage.arcs import best_stand
from rillwright.solvers.coverage.kit import make_kit
from rillwright.solvers.coverage.placement import edge_seats, inner_sets
from rillwright.solvers.coverage.shadow import scene_of
from rillwright.solvers.coverage.trial import Field, Scale, make_field

CATALOGUE = load_catalogue()
PRESSURE = 40 * PSI
SHIFTS = 4  # of the lattice each way


def random_yard(seed: int) -> Yard:
    """One lawn of 100 to 500 m², most with a bed in it, half with a house that stands into it."""
    rng = np.random.default_rng(seed)
    while True:
        count = int(rng.integers(5, 10))
        turns = np.linspace(0, math.tau, count, endpoint=False) + rng.uniform(-0.25, 0.25, count)
        reach = rng.uniform(7, 14, count)
        shape = shapely.Polygon(np.column_stack((reach * np.cos(turns), reach * np.sin(turns))))
        if shape.is_valid and 150 <= shape.area <= 500:
            break
    areas = [{"id": "L", "kind": "lawn", "outline": _corners(shape)}]
    if rng.random() < 0.7:
        spot = shapely.Point(rng.uniform(-3, 3, 2)).buffer(rng.uniform(0.8, 1.6), quad_segs=4)
        areas.append({"id": "bed", "kind": "bed", "outline": _corners(spot)})
    if rng.random() < 0.5:
        corner = shape.exterior.interpolate(rng.uniform(0, shape.length))
        house = shapely.affinity.rotate(shapely.box(-4, -3, 4, 3), rng.uniform(0, 90))
        house = shapely.affinity.translate(house, corner.x, corner.y)
        areas.append({"id": "house", "kind": "building", "outline": _corners(house)})
    return Yard.model_validate(
        {
            "name": f"invented {seed}",
            "units": "metric",
            "areas": areas,
            "water_entry": {"at": (0, 0), "height": 0, "pipe": {"material": "PE", "size": "1 in", "length": 10}},
            "controller": {"stations": 6},
            "backflow": {"allowed": ["pressure vacuum breaker"]},
        }
    )


def _corners(shape: shapely.Polygon) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in shape.exterior.coords[:-1]]


def our_layouts(yard: Yard, ground: Ground) -> tuple[LawnLayout, ...]:
    """Layouts of one search, from few heads to even water."""
    return lay_out_lawn(
        "L", ground=ground, yard=yard, catalogue=CATALOGUE, head_class="rotary", pressure=PRESSURE, effort=1.5
    )


def set_lattice(yard: Yard, ground: Ground, nozzle: str) -> LawnLayout:
    """The best of the shifted lattices that cover the lawn, each arc set to keep to it."""
    field = _field(yard, ground, nozzle)
    lattices = _lattices(ground.lawns["L"], field.kit.greatest_radius)
    return best_of([_measured(_aimed(nodes, field), yard, ground) for nodes in lattices])


def edge_rows(yard: Yard, ground: Ground, nozzle: str) -> LawnLayout:
    """The best of the first layouts that begin with the corners and the edges."""
    field = _field(yard, ground, nozzle)
    spacing = {"spacing": field.kit.greatest_radius, "radius": field.kit.greatest_radius}
    edge = edge_seats(field.ground, **spacing, least=field.kit.least_radius)
    ways = inner_sets(field.ground, edge, **spacing, rng=np.random.default_rng(0)) or [[]]
    tried = [_aimed([shapely.Point(seat.at) for seat in (*edge, *way)], field) for way in ways]
    return best_of([_measured(heads, yard, ground) for heads in tried])


def _field(yard: Yard, ground: Ground, nozzle: str) -> Field:
    kit = replace(make_kit("rotary", catalogue=CATALOGUE, pressure=PRESSURE), nozzles=(CATALOGUE.nozzles[nozzle],))
    scale, radius, scene = Scale(1.0, 1.0), kit.greatest_radius, scene_of(ground, yard)
    return make_field("L", ground=ground, kit=kit, scene=scene, paving_limit=0.05, radius=radius, scale=scale)


def _measured(heads: list[Head], yard: Yard, ground: Ground) -> LawnLayout:
    return evaluate_layout(heads, lawn_id="L", ground=ground, yard=yard, catalogue=CATALOGUE)


def _aimed(nodes: list[shapely.Point], field: Field) -> list[Head]:
    """Heads at nodes, moved to the lawn, set to keep to it."""
    family, throw = field.kit.families[0], field.kit.throws[-1]
    spots = {nearest_points(field.ground, node)[0] for node in nodes}
    heads = []
    for spot in sorted((spot.x, spot.y) for spot in spots):
        stand = best_stand(spot, field.fan(spot), kit=field.kit, family=family, wanted=throw.radius, throws=(throw,))
        if stand is not None:
            heads.append(_head(spot, throw.nozzle.id, arc_start=stand.arc_start, arc=stand.arc))
    return heads


def open_lattice(yard: Yard, ground: Ground, nozzle: str) -> LawnLayout:
    """The best of the shifted lattices of full circles, kept where they stand on the lawn."""
    lawn = ground.lawns["L"]
    tried = []
    for nodes in _lattices(lawn, radius_at(CATALOGUE.nozzles[nozzle], PRESSURE)):
        heads = [_head((node.x, node.y), nozzle, arc_start=0.0, arc=360.0) for node in nodes if lawn.contains(node)]
        if heads:
            tried.append(_measured(heads, yard, ground))
    return best_of(tried)


def best_of(layouts: list[LawnLayout]) -> LawnLayout:
    """The layout with the best DU, then CU."""
    return max(layouts, key=lambda layout: (evenness(layout).du, evenness(layout).cu))


def _lattices(lawn: shapely.Polygon, spacing: float) -> list[list[shapely.Point]]:
    """Nodes whose cells hold lawn, for each shift of a square lattice along the longest edge."""
    part = max(shapely.get_parts(lawn), key=lambda p: p.area)
    sides = np.diff(np.asarray(part.exterior.coords), axis=0)
    turn = math.degrees(math.atan2(*sides[int(np.hypot(*sides.T).argmax())][::-1]))
    level = shapely.affinity.rotate(lawn, -turn, origin=(0, 0))
    low_x, low_y, high_x, high_y = level.bounds
    found = []
    for shift_x, shift_y in itertools.product(np.arange(SHIFTS) / SHIFTS * spacing, repeat=2):
        x, y = np.meshgrid(
            np.arange(low_x - shift_x, high_x + spacing, spacing), np.arange(low_y - shift_y, high_y + spacing, spacing)
        )
        half = spacing / 2
        held = shapely.intersects(level, shapely.box(x - half, y - half, x + half, y + half))
        nodes = shapely.points(x[held], y[held])
        found.append([shapely.affinity.rotate(node, turn, origin=(0, 0)) for node in nodes])
    return found


def _head(at: tuple[float, float], nozzle: str, *, arc_start: float, arc: float) -> Head:
    return Head(
        id=f"H {at[0]:.3f} {at[1]:.3f}",
        lawn="L",
        at=at,
        ground=0.0,
        head_class="rotary",
        nozzle=nozzle,
        arc_start=arc_start,
        arc=arc,
        radius_share=1.0,
        radius=radius_at(CATALOGUE.nozzles[nozzle], PRESSURE),
        flow=flow_at(CATALOGUE.nozzles[nozzle], PRESSURE, arc),
        pressure=PRESSURE,
        hydrozone="sun, turf, level",
    )


def evenness(layout: LawnLayout) -> Evenness:
    """Evenness of a layout that has heads."""
    assert layout.lawn is not None
    return layout.lawn.evenness


def usual_nozzle(layout: LawnLayout) -> str:
    """The nozzle that most heads carry; of equals the farthest-throwing."""
    names = [head.nozzle for head in layout.heads]
    return max(set(names), key=lambda name: (names.count(name), CATALOGUE.nozzles[name].radius[-1]))


def compared(seed: int) -> tuple[LawnLayout, LawnLayout]:
    """Our most even layout with no more heads than the set lattice, and that lattice."""
    yard = random_yard(seed)
    ground = resolve_ground(yard)
    layouts = our_layouts(yard, ground)
    lattice = set_lattice(yard, ground, usual_nozzle(layouts[0]))
    few = [layout for layout in layouts if len(layout.heads) <= len(lattice.heads)]
    return best_of(few) if few else min(layouts, key=lambda layout: len(layout.heads)), lattice


def main() -> None:
    """Print the table."""
    given = [int(word) for word in sys.argv[1:]]
    count, first = [*given, *(20, 0)[len(given) :]]
    print("     " + "".join(f"{name:31}" for name in (" ours", "set lattice", "edge rows", "open lattice")))
    print("yard " + " heads   DU     CU    SC  on lawn" * 4)
    fair = better = 0
    for seed in range(first, first + count):
        ours, lattice = compared(seed)
        yard, nozzle = random_yard(seed), usual_nozzle(lattice)
        ground = resolve_ground(yard)
        cells = []
        for layout in (ours, lattice, edge_rows(yard, ground, nozzle), open_lattice(yard, ground, nozzle)):
            lawn, even = layout.lawn, evenness(layout)
            share = lawn.on_lawn / lawn.water if lawn else 0.0
            cells.append(f"{len(layout.heads):5d} {even.du:6.3f} {even.cu:6.3f} {even.scheduling:5.2f} {share:6.2f}  ")
        gain = evenness(ours).du - evenness(lattice).du if len(ours.heads) <= len(lattice.heads) else -1.0
        fair, better = fair + (gain >= 0), better + (gain > 0.01)
        print(f"{seed:4d} {''.join(cells)}{'' if gain >= 0 else '  NOT MATCHED'}", flush=True)
    print(f"no more heads than the set lattice and at least as even on {fair} of {count}, by over 0.01 DU on {better}")


if __name__ == "__main__":
    main()
