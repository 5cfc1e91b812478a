"""Time of routing and sizing alone, on an invented campus whose heads are placed on a grid and zoned block by block.

Run: python benchmarks/pipework.py [HECTARES ...]; 0.5 gives about 40 heads, 5 about 400, 50 about 4,000. Prints
processor seconds of each stage, gaps, the growth exponents by heads, and peak memory.
"""

import resource
import sys
import time
from collections.abc import Callable
from typing import Any

import numpy as np
import shapely
from campus import campus

from rillwright.jobs import pipework
from rillwright.jobs.case import Case, make_case
from rillwright.model.catalogue import load_catalogue
from rillwright.model.plan import Head, ValvePlace
from rillwright.solvers.supply import fit_supply

SPACING = 10.5  # [m] between heads
PER_ZONE = 8
KIND = "double check"
FLOW = 3.0e-4  # [m³/s] of each head
PRESSURE = 300e3  # [Pa] that the heads are laid out for


def place(hectares: float) -> tuple[dict[str, tuple[Head, ...]], list[ValvePlace], Case]:
    """Heads on a grid over each lawn, cut into zones row by row, with the valves of a block at its corner."""
    yard, catalogue = campus(hectares), load_catalogue()
    case = make_case(yard, catalogue, fit=fit_supply(yard, catalogue, seed=0), seed=0)
    nozzle = next(n for n in catalogue.nozzles.values() if n.head_class == "mid rotor")
    members: dict[str, tuple[Head, ...]] = {}
    places: list[ValvePlace] = []
    for number, (lawn, shape) in enumerate(case.ground.lawns.items(), start=1):
        left, bottom, right, top = shape.bounds
        axes = [
            np.linspace(a + 0.15, b - 0.15, round((b - a) / SPACING) + 1) for a, b in ((left, right), (bottom, top))
        ]
        grid = np.stack(np.meshgrid(*axes), axis=2)
        grid[1::2] = grid[1::2, ::-1]
        spots = [xy for xy in grid.reshape(-1, 2) if shape.buffer(0.01).covers(shapely.Point(xy))]
        zones = []
        for start in range(0, len(spots), PER_ZONE):
            zones.append(f"Z{len(members) + 1}")
            members[zones[-1]] = tuple(
                Head(
                    id=f"H{number}.{start + k}",
                    lawn=lawn,
                    at=(float(x), float(y)),
                    ground=case.ground.terrain.at(float(x), float(y)),
                    head_class="mid rotor",
                    nozzle=nozzle.id,
                    arc_start=0.0,
                    arc=360.0,
                    radius_share=1.0,
                    radius=SPACING,
                    flow=FLOW,
                    pressure=PRESSURE,
                    hydrozone="lawn",
                )
                for k, (x, y) in enumerate(spots[start : start + PER_ZONE])
            )
        at = (left + 1.0, bottom + 1.0)
        places.append(
            ValvePlace(
                id=f"V{number}",
                at=at,
                ground=case.ground.terrain.at(*at),
                backflow=KIND,
                device_height=None,
                highest_outlet=0.0,
                zones=tuple(zones),
            )
        )
    return members, places, case


def timed(spent: dict[str, float], name: str, call: Callable[..., Any]) -> Callable[..., Any]:
    """Call that adds its processor time to a table."""

    def run(*args: Any, **options: Any) -> Any:
        start = time.process_time()
        try:
            return call(*args, **options)
        finally:
            spent[name] = spent.get(name, 0.0) + time.process_time() - start

    return run


def measure(hectares: float) -> tuple[int, dict[str, float], pipework.Pipework]:
    """Number of heads, seconds by stage, and the pipework."""
    members, places, case = place(hectares)
    spent: dict[str, float] = {}
    saved = pipework.route_nets, pipework.size_plan
    pipework.route_nets = timed(spent, "routing", saved[0])  # type: ignore[assignment]
    pipework.size_plan = timed(spent, "sizing", saved[1])  # type: ignore[assignment]
    try:
        work = timed(spent, "together", pipework.lay_pipes)(members, places, KIND, case=case)
    finally:
        pipework.route_nets, pipework.size_plan = saved
    return sum(map(len, members.values())), spent, work


def main() -> None:
    """Print the table."""
    areas = [float(text) for text in sys.argv[1:]] or [0.5, 2.0, 5.0]
    measure(areas[0])  # compiles
    print(
        f"{'ha':>5} {'heads':>6} {'routing s':>10} {'sizing s':>9} {'together':>9} {'ms/head':>8} {'route gap':>10} "
        f"{'size gap':>9} {'MiB':>6}"
    )
    rows = []
    for hectares in areas:
        heads, spent, work = measure(hectares)
        rows.append((heads, spent["routing"], spent["sizing"], spent["together"]))
        memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        gaps = [f"{100 * proof.gap:.2f} %" if proof.gap is not None else proof.status for proof in work.proofs]
        print(
            f"{hectares:5g} {heads:6d} {rows[-1][1]:10.2f} {rows[-1][2]:9.2f} {rows[-1][3]:9.2f} "
            f"{1000 * rows[-1][3] / heads:8.1f} {gaps[0]:>10} {gaps[1]:>9} {memory:6.0f}",
            flush=True,
        )
    if len(rows) > 1:
        logs = np.log(np.array(rows))
        for name, column in (("routing", 1), ("sizing", 2)):
            print(f"{name} grows as heads^{np.polyfit(logs[:, 0], logs[:, column], 1)[0]:.2f}")


if __name__ == "__main__":
    main()
