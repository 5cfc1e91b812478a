"""Time the depth grid of 60 heads, and one head moved, against a plain full-grid evaluation in the same run.

Run: python benchmarks/sprays.py. The baseline takes every head at every cell: distance, angle, profile, no loop over
cells, in still air over level ground with nothing in the way. The field is invented.
"""

import math
from collections.abc import Iterator
from itertools import count

import numpy as np
import shapely
from numpy.typing import NDArray
from timing import least_time

from rillwright.model.catalogue import flow_at, load_catalogue, radius_at
from rillwright.model.plan import Head
from rillwright.model.terrain import Terrain
from rillwright.physics.units import PSI
from rillwright.solvers.coverage import Depth, Grid, Scene, water_rate
from rillwright.solvers.coverage.shadow import segments_of

CATALOGUE = load_catalogue()
NOZZLE, PRESSURE = CATALOGUE.nozzles["rotary 15 ft"], 40 * PSI
RADIUS = radius_at(NOZZLE, PRESSURE)
GRID = Grid(-2.0, -2.0, 0.25, 180, 100)


def draw_heads(number: int) -> list[Head]:
    """Rows of half and full circles of one nozzle."""
    heads = []
    for k in range(number):
        row, column = divmod(k, 10)
        arc = 180.0 if row == 0 else 360.0
        heads.append(
            Head(
                id=f"H{k + 1}",
                lawn="field",
                at=(column * RADIUS, row * RADIUS),
                ground=0.0,
                head_class="rotary",
                nozzle=NOZZLE.id,
                arc_start=0.0,
                arc=arc,
                radius_share=1.0,
                radius=RADIUS,
                flow=flow_at(NOZZLE, PRESSURE, arc),
                pressure=PRESSURE,
                hydrozone="sun, turf, level",
            )
        )
    return heads


def plain_rate(heads: list[Head]) -> NDArray[np.float64]:
    """Rate at every cell's middle from every head, all at once: the baseline."""
    x, y = (part.ravel() for part in GRID.centres())
    dx = x[None, :] - np.array([h.at[0] for h in heads])[:, None]
    dy = y[None, :] - np.array([h.at[1] for h in heads])[:, None]
    arc = np.radians([h.arc for h in heads])[:, None]
    turned = np.mod(np.arctan2(dy, dx), math.tau)
    share = np.hypot(dx, dy) / RADIUS
    profile = CATALOGUE.profiles[NOZZLE.profile]
    relative = np.where((share < 1) & (turned <= arc), np.interp(share, profile.distance, profile.rate), 0.0)
    fine = (np.arange(2000) + 0.5) / 2000
    mean = float(np.mean(np.interp(fine, profile.distance, profile.rate) * fine))
    flow = np.array([h.flow for h in heads])[:, None]
    return np.asarray((relative * flow / (arc * RADIUS**2 * mean)).sum(axis=0).reshape(GRID.ny, GRID.nx))


def scenes() -> dict[str, Scene]:
    """Still and level; with a house and trunks; on a slope in the wind as well."""
    house = segments_of(shapely.box(10, 10, 14, 14))
    trunks = segments_of(shapely.MultiPoint([(5, 5), (20, 15), (30, 8)]).buffer(0.2))
    slope = Terrain([(0, 0), (50, 0), (0, 30), (50, 30)], [0.0, 4.0, 0.0, 4.0])
    return {
        "still, level, open": Scene(),
        "with house and trunks": Scene(walls=house, bark=trunks),
        "and slope and wind": Scene(walls=house, bark=trunks, terrain=slope, wind=(2.0, 1.0)),
    }


def main() -> None:
    """Print times and ratios."""
    heads = draw_heads(60)
    base = least_time(lambda: plain_rate(heads))
    print(f"60 heads, {GRID.nx} x {GRID.ny} cells of 0.25 m; every head at every cell: {1e3 * base:8.2f} ms")
    for name, scene in scenes().items():
        spent = least_time(lambda scene=scene: water_rate(heads, catalogue=CATALOGUE, grid=GRID, scene=scene))
        depth, steps = Depth(heads, catalogue=CATALOGUE, grid=GRID, scene=scene), count(1)

        def move(depth: Depth = depth, steps: Iterator[int] = steps) -> object:
            head = heads[33]
            depth.put(head.model_copy(update={"at": (head.at[0] + 0.01 * next(steps), head.at[1])}))
            return depth.rate()

        moved = least_time(move)
        print(f"{name:24s} all {1e3 * spent:7.2f} ms, ratio {spent / base:.3f}; one head {1e3 * moved:6.2f} ms")


if __name__ == "__main__":
    main()
