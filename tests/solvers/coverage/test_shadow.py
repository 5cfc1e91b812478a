"""What stops water: walls and trunks at any height, planting as high as it stands."""

import math

import numpy as np
import pytest
import shapely

from coverage_yards import CATALOGUE, head, lawn, rectangle, ring, yard_of
from rillwright.model.ground import resolve_ground
from rillwright.solvers.coverage import Grid, Scene, scene_of, water_rate
from rillwright.solvers.coverage.depth import parcels_of
from rillwright.solvers.coverage.shadow import BARK, PLANTS, WALL, Planting, segments_of, spot_at


def test_first_hits_and_crossings_agree_with_plain_geometry():
    """Against shapely's own intersections, direction by direction."""
    rng = np.random.default_rng(4)
    star = shapely.Polygon(
        [
            (r * math.cos(a), 6 + r * math.sin(a))
            for r, a in zip(rng.uniform(1, 3, 24), np.linspace(0, math.tau, 24, endpoint=False), strict=True)
        ]
    )
    house, trunk = shapely.box(3, -2, 5, 2), shapely.Point(-3, 0.5).buffer(0.4)
    scene = Scene(walls=segments_of(house), bark=segments_of(trunk), plants=(Planting(segments_of(star), 0.5),))
    spot = spot_at((0.1, 0.05), scene, reach=9.0)
    for k in range(0, 720, 7):
        angle = k * math.tau / 720
        end = (0.1 + 20 * math.cos(angle), 0.05 + 20 * math.sin(angle))
        ray = shapely.LineString([(0.1, 0.05), end])
        solid = ray.intersection(shapely.union(house.boundary, trunk.boundary))
        wanted = (
            math.inf
            if solid.is_empty
            else ray.project(shapely.Point(0.1, 0.05)) + shapely.Point(0.1, 0.05).distance(solid)
        )
        assert spot.hit[k] == pytest.approx(wanted)
        if not solid.is_empty:
            assert spot.kind[k] == (WALL if math.cos(angle) > 0 else BARK)
        met = shapely.get_coordinates(ray.intersection(star.boundary))
        crossed = np.sort(np.hypot(met[:, 0] - 0.1, met[:, 1] - 0.05))[:6]
        assert spot.low[0, k, : len(crossed)] == pytest.approx(crossed)
        assert not np.isfinite(spot.low[0, k, len(crossed) :]).any()


def rotor():
    return head("mid rotor 3.0 gpm", at=(0.0, 0.0), arc_start=-20.0, arc=40.0, radius=11.0, flow=1e-4)


def passed(height, *, near, far):
    """Share of a rotor's water that lands past a hedge."""
    hedge = Planting(segments_of(shapely.box(near, -8, far, 8)), height)
    water = parcels_of(rotor(), catalogue=CATALOGUE, spacing=0.1, scene=Scene(plants=(hedge,)))
    assert water.share.sum() == pytest.approx(1.0)
    return float(water.share[(water.x > far + 0.05)].sum()), float(water.share[water.stopped == PLANTS].sum())


def test_water_flies_over_low_plants_and_into_tall_ones():
    free, none = passed(0.0, near=4.0, far=5.0)
    assert none < 0.01  # what comes down just there
    low, _ = passed(0.3, near=4.0, far=5.0)
    assert low > 0.8 * free  # only what comes down behind them is caught
    middle, caught = passed(1.2, near=4.0, far=5.0)
    assert 0.05 * free < middle < low
    assert caught > 0.1
    tall, _ = passed(4.0, near=4.0, far=5.0)
    assert tall == 0.0


def test_rising_water_is_caught_by_plants_at_the_head_that_it_would_clear_farther_out():
    _, close = passed(0.6, near=0.5, far=0.9)
    _, away = passed(0.6, near=3.0, far=3.4)
    assert close > 0.9 > 0.4 > away


def test_a_bed_that_states_no_height_stops_nothing_and_one_that_does_casts_a_shadow():
    def rate(**bed):
        outline = ring(3.0, 0.0, 0.8, 16)
        yard = yard_of(lawn(rectangle(-8, -8, 16, 16), {"id": "bed", "kind": "bed", "outline": outline, **bed}))
        made = head("spray 15 ft", at=(0.0, 0.0), arc_start=0.0, arc=360.0, radius=4.6, flow=1e-4)
        grid = Grid(-6.0, -6.0, 0.1, 120, 120)
        return grid, water_rate([made], catalogue=CATALOGUE, grid=grid, scene=scene_of(resolve_ground(yard), yard))

    grid, free = rate()
    _, planted = rate(height=1.5)
    x, y = grid.centres()
    behind = (x > 4.0) & (x < 4.4) & (np.abs(y) < 0.5)
    beside = (np.hypot(x, y) < 4.4) & (np.abs(np.degrees(np.arctan2(y, x))) > 25)
    assert free[behind].min() > 0
    assert planted[behind].max() == 0
    assert planted[beside] == pytest.approx(free[beside])
    assert planted.sum() == pytest.approx(free.sum())
