"""Time the water grid, and whole lawns, against a plain full-grid evaluation in the same run.

Run: python benchmarks/head_layout.py. The baseline takes every head at every cell: distance, angle, profile, no loop
over cells. It answers less (no walls, no parcels to move), and its sum is off by what a cell's middle cannot see; the
largest difference between the two answers is printed. Lawns are invented.
"""

import math

import numpy as np
from numpy.typing import NDArray
from timing import least_time

from rillwright.model.catalogue import flow_at, load_catalogue, radius_at
from rillwright.model.ground import Ground, resolve_ground
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Head
from rillwright.model.site import Yard
from rillwright.physics.units import PSI
from rillwright.solvers.coverage import Grid, LawnLayout, lay_out_lawn, water_rate

CATALOGUE = load_catalogue()
SIDES = (10.0, 20.0, 40.0)


def plain_rate(heads: tuple[Head, ...], *, catalogue: Catalogue, grid: Grid) -> NDArray[np.float64]:
    """Rate at every cell's middle from every head, all at once: the baseline."""
    x, y = (part.ravel() for part in grid.centres())
    dx = x[None, :] - np.array([h.at[0] for h in heads])[:, None]
    dy = y[None, :] - np.array([h.at[1] for h in heads])[:, None]
    radius = np.array([h.radius for h in heads])[:, None]
    arc = np.radians([h.arc for h in heads])[:, None]
    turned = np.mod(np.arctan2(dy, dx) - np.radians([h.arc_start for h in heads])[:, None], math.tau)
    share = np.hypot(dx, dy) / radius
    profile = catalogue.profiles[catalogue.nozzles[heads[0].nozzle].profile]
    relative = np.where((share < 1) & (turned <= arc), np.interp(share, profile.distance, profile.rate), 0.0)
    fine = (np.arange(2000) + 0.5) / 2000
    mean = float(np.mean(np.interp(fine, profile.distance, profile.rate) * fine))
    flow = np.array([h.flow for h in heads])[:, None]
    return (relative * flow / (arc * radius**2 * mean)).sum(axis=0).reshape(grid.ny, grid.nx)


def draw_heads(count: int) -> tuple[Head, ...]:
    """Rows of half and full circles of one nozzle, on an invented field."""
    nozzle, pressure = CATALOGUE.nozzles["rotary 25 ft"], 40 * PSI
    radius = radius_at(nozzle, pressure)
    heads = []
    for k in range(count):
        row, column = divmod(k, 10)
        arc = 180.0 if row == 0 else 360.0
        heads.append(
            Head(
                id=f"H{k + 1}",
                lawn="field",
                at=(column * radius, row * radius),
                ground=0.0,
                head_class="rotary",
                nozzle=nozzle.id,
                arc_start=0.0,
                arc=arc,
                radius_share=1.0,
                radius=radius,
                flow=flow_at(nozzle, pressure, arc),
                pressure=pressure,
                hydrozone="sun, turf, level",
            )
        )
    return tuple(heads)


def square_yard(side: float) -> Yard:
    """One square lawn with a house in a corner."""
    house = [(0, 0), (side / 3, 0), (side / 3, side / 3), (0, side / 3)]
    return Yard.model_validate(
        {
            "name": "benchmark",
            "units": "metric",
            "areas": [
                {"id": "lawn", "kind": "lawn", "outline": [(0, 0), (side, 0), (side, side), (0, side)]},
                {"id": "house", "kind": "building", "outline": house},
            ],
            "water_entry": {"at": (0, 0), "height": 0, "pipe": {"material": "PE", "size": "1 in", "length": 10}},
            "controller": {"stations": 6},
            "backflow": {"allowed": ["pressure vacuum breaker"]},
        }
    )


def main() -> None:
    """Print times and ratios."""
    heads = draw_heads(60)
    grid = Grid(-8.0, -8.0, 0.25, 340, 220)
    ours = water_rate(heads, catalogue=CATALOGUE, grid=grid)
    plain = plain_rate(heads, catalogue=CATALOGUE, grid=grid)
    middle = slice(60, 160)
    off = float(np.abs(ours[middle, middle] - plain[middle, middle]).max() / plain[middle, middle].mean())
    base = least_time(lambda: plain_rate(heads, catalogue=CATALOGUE, grid=grid))
    spent = least_time(lambda: water_rate(heads, catalogue=CATALOGUE, grid=grid))
    print(f"60 heads on {grid.nx} x {grid.ny} cells, every head at every cell: {1e3 * base:8.1f} ms")
    print(f"60 heads by parcels:                                 {1e3 * spent:8.1f} ms, ratio {spent / base:.2f}")
    print(f"largest difference in the middle, of the mean rate: {off:.3f}")
    for side in SIDES:
        yard = square_yard(side)
        ground = resolve_ground(yard)

        def lay(yard: Yard = yard, ground: Ground = ground) -> LawnLayout:
            return lay_out_lawn(
                "lawn", ground=ground, yard=yard, catalogue=CATALOGUE, head_class="rotary", pressure=40 * PSI
            )[0]

        spent = least_time(lay, repeats=1)
        layout = lay()
        print(
            f"lawn of {side * side * 8 / 9:6.0f} m²: {spent:5.2f} s, {spent / base:5.0f} plain grids, "
            f"{len(layout.heads)} heads, DU {layout.lawn.evenness.du:.2f}, CU {layout.lawn.evenness.cu:.2f}"
        )


if __name__ == "__main__":
    main()
