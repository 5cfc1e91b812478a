"""Areas of zones against polygons: the Voronoi cells of shapely, cut to each lawn."""

import numpy as np
import pytest
import shapely

from coverage_yards import ground_of, head, lawn, yard_of
from rillwright.solvers.areas import zone_areas

ELL = [(0, 0), (24, 0), (24, 8), (10, 8), (10, 20), (0, 20)]
FAR = [(400, 300), (409, 300), (409, 303), (400, 303)]  # a small lawn far off has cells of its own


def heads_on(lawn_id, points):
    one = head("rotary 25 ft", at=(0.0, 0.0), arc_start=0.0, arc=360.0, radius=7.6, flow=1e-4)
    return [
        one.model_copy(update={"id": f"{lawn_id} {k}", "lawn": lawn_id, "at": tuple(at)}) for k, at in enumerate(points)
    ]


def test_areas_are_those_of_voronoi_cells_on_each_lawn():
    ground = ground_of(yard_of(lawn(ELL, {"id": "far", "kind": "lawn", "outline": FAR})))
    rng = np.random.default_rng(3)
    inside = [p for p in rng.uniform(0, 24, (60, 2)) if shapely.Polygon(ELL).covers(shapely.Point(p))][:14]
    spots = {"L": np.array(inside), "far": np.array([(401.0, 301.5), (404.0, 301.5), (408.0, 301.5)])}
    heads = [made for name, points in spots.items() for made in heads_on(name, points)]
    zone_of = {made.id: f"Z{k % 3}" for k, made in enumerate(heads)}
    found = zone_areas(heads, zone_of, ground=ground)
    wanted = dict.fromkeys(found, 0.0)
    for name, points in spots.items():
        cells = shapely.get_parts(
            shapely.voronoi_polygons(shapely.multipoints(points), extend_to=shapely.box(-99, -99, 999, 999))
        )
        for own in (h for h in heads if h.lawn == name):
            (cell,) = (c for c in cells if c.covers(shapely.Point(own.at)))
            wanted[zone_of[own.id]] += cell.intersection(ground.lawns[name]).area
    assert found == pytest.approx(wanted, rel=0.03)
    assert sum(found.values()) == pytest.approx(shapely.Polygon(ELL).area + 27.0, rel=1e-9)
