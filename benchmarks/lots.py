"""Plan invented residential lots of 40 to 60 heads: time by stage, heads, zones, and the gap of each stage.

Run: python benchmarks/lots.py [SEED ...]; seeds 0 to 3 by default. Each lot has a house, a drive, a patio, beds, a
slope and lawns on all four sides, all drawn by the seed. The demo yard is planned twice, the first time to compile what
is not compiled yet; each plan is made by a process of its own with workers of its own, as by a command. Prints seconds
by the clock from the start of that process and from the yard to the plan, seconds of processor time over all processes,
their ratio to those of the demo yard in the same run, and the gap of each proof.
"""

import sys
import time
from collections import defaultdict
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import numpy as np
from timing import worked

from rillwright.exchange import load_yard
from rillwright.exchange.yard_file import validated
from rillwright.jobs.plan import make_plan
from rillwright.jobs.workers import process_pool
from rillwright.model.catalogue import load_catalogue
from rillwright.model.plan import Plan
from rillwright.model.site import Yard

DEMO = Path(__file__).parent.parent / "examples" / "demo.yard.json"


def lot(seed: int) -> Yard:
    """Draw an invented lot about a house: front, back and side lawns, with a drive, a patio and two beds."""
    rng = np.random.default_rng(seed)
    wide, front, back = rng.uniform(36, 42), rng.uniform(13, 17), rng.uniform(22, 28)
    side, house_deep = rng.uniform(4, 6.5), rng.uniform(9, 12)
    depth = front + house_deep + back
    house = (side, front, wide - 2 * side, house_deep)
    drive_wide, patio_deep = rng.uniform(3.5, 5.5), rng.uniform(2.5, 4.5)
    areas: list[dict[str, Any]] = [
        _area("front lawn", "lawn", (0, 0, wide, front)),
        _area("west lawn", "lawn", (0, front, side, house_deep)),
        _area("east lawn", "lawn", (wide - side, front, side, house_deep)),
        _area("back lawn", "lawn", (0, front + house_deep, wide, back)),
        _area("house", "building", house),
        _area("drive", "paving", (wide - side - drive_wide, 0, drive_wide, front)),
        _area("patio", "paving", (side + 1, front + house_deep, rng.uniform(6, 9), patio_deep)),
        _area("front bed", "bed", (side, front - 1.4, wide - 2 * side - drive_wide, 1.4)),
        _area("island bed", "bed", (rng.uniform(8, 14), depth - back / 2, rng.uniform(2, 4), rng.uniform(2, 3))),
    ]
    rise, tilt = rng.uniform(-0.02, 0.05), rng.uniform(-0.01, 0.01)
    spots = [
        {"at": [x, y], "height": rise * y + tilt * x}
        for x in np.linspace(0, wide, 3).tolist()
        for y in np.linspace(0, depth, 4).tolist()
    ]
    entry = [side, front + house_deep * rng.uniform(0.2, 0.8)]
    document = {
        "format": "rillwright-yard",
        "version": 1,
        "name": f"Lot {seed}",
        "note": "Invented: no such place, house or reading exists.",
        "units": "metric",
        "areas": areas,
        "spot_heights": spots,
        "water_entry": {
            "at": entry,
            "height": rise * entry[1] + tilt * entry[0] - 0.3,
            "pipe": {"material": "copper L", "size": "1 in", "length": 20},
        },
        "supply": [
            {"kind": "static gauge", "pressure": float(rng.uniform(380, 480))},
            {"kind": "gauge at a flow", "pressure": 330, "flow": 40},
        ],
        "controller": {"stations": 12, "at": [wide - side - 0.5, front + 1]},
        "backflow": {"allowed": ["pressure vacuum breaker", "reduced pressure zone"]},
        "heads": {"allowed": ["spray", "rotary"]},
    }
    return validated(document, source="lot")


def _area(name: str, kind: str, box: tuple[float, float, float, float]) -> dict[str, Any]:
    x, y, width, height = box
    outline = [[x, y], [x + width, y], [x + width, y + height], [x, y + height]]
    return {"id": name, "kind": kind, "outline": outline}


@dataclass(frozen=True)
class Timed:
    """A plan and what it took."""

    plan: Plan
    seconds: float  # by the clock, from the yard to the plan
    worked: float  # [s] of processor time, over all processes
    stages: dict[str, float]  # [s] by the clock


def timed(yard: Yard) -> Timed:
    """Plan with fresh workers."""
    stages: dict[str, float] = defaultdict(float)
    mark = ["workers", time.perf_counter()]
    begun = mark[1]

    def tell(stage: str, _share: float) -> None:
        stages[str(mark[0]).split(":")[0]] += time.perf_counter() - float(mark[1])
        mark[:] = [stage, time.perf_counter()]

    with process_pool() as pool:
        plan = make_plan(yard, load_catalogue(), progress=tell, pool=pool)
        tell("end", 1.0)
        seconds = time.perf_counter() - begun
    return Timed(plan, seconds, worked(), dict(stages))


def timed_apart(yard: Yard) -> tuple[Timed, float]:
    """Plan in a process of its own; also the seconds by the clock from its start, its imports among them."""
    begun = time.perf_counter()
    with ProcessPoolExecutor(max_workers=1, mp_context=get_context("spawn")) as apart:
        return apart.submit(timed, yard).result(), time.perf_counter() - begun


def main() -> None:
    """Print the table."""
    timed_apart(load_yard(DEMO))
    base, clock = timed_apart(load_yard(DEMO))
    print(f"demo yard: {base.seconds:.1f} s, {clock:.1f} s from the start", end=", ")
    print(f"{base.worked:.1f} s of processor time: the baseline")
    for seed in [int(word) for word in sys.argv[1:]] or range(4):
        made, clock = timed_apart(lot(seed))
        plan = made.plan
        print(f"lot {seed}: {len(plan.heads)} heads, {len(plan.zones)} zones, {plan.verdict}", end=", ")
        print(f"{plan.cost.total:.0f}; {made.seconds:.1f} s, {clock:.1f} s from the start", end=", ")
        print(f"{made.worked:.1f} s of processor time, {made.worked / base.worked:.2f} of the baseline")
        for proof in plan.proofs:
            gap = "no bound" if proof.gap is None else f"gap {proof.gap:.1%}"
            print(f"    {proof.stage}: {proof.status}, {gap}")
        print("    " + ", ".join(f"{stage} {part:.1f} s" for stage, part in made.stages.items()))


if __name__ == "__main__":
    main()
