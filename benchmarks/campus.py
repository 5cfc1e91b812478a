"""Plan an invented campus of many lawns, and compare its time for a head with that of the demo yard in the same run.

Run: python benchmarks/campus.py [HECTARES ...]; 2 by default; 5 gives about 500 heads, 50 about 5,000. Prints heads,
zones, time and that of all processors, time by stage with its growth exponent by heads, that of the whole, and the peak
memory of this process and of its largest helper.
"""

import math
import resource
import sys
import time
from collections import defaultdict
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
BLOCK = 70.0  # [m] side of a block of lawn
PATH = 3.0  # [m] between blocks
RELIEF = 3.0  # [m] from the lowest corner of a site to the highest, about


def campus(hectares: float, *, seed: int = 0) -> Yard:
    """Draw an invented campus: blocks of lawn with a building in each, paths between, a slow slope."""
    rng = np.random.default_rng(seed)
    count = max(1, round(hectares * 1e4 / BLOCK**2))
    columns = math.ceil(math.sqrt(count))
    pitch = BLOCK + PATH
    areas: list[dict[str, Any]] = []
    wide, high = columns * pitch, math.ceil(count / columns) * pitch
    areas.append({"id": "paths", "kind": "paving", "outline": _box(-PATH, -PATH, wide + PATH, high + PATH)})
    for number in range(count):
        x, y = pitch * (number % columns), pitch * (number // columns)
        areas.append({"id": f"lawn {number + 1}", "kind": "lawn", "outline": _box(x, y, BLOCK, BLOCK)})
        long, short = rng.uniform(18, 30), rng.uniform(12, 18)
        corner = rng.uniform(15, 35, 2)
        building = _box(x + corner[0], y + corner[1], long, short)
        areas.append({"id": f"building {number + 1}", "kind": "building", "outline": building})
    rise = min(0.01, RELIEF / (wide + 0.6 * high))
    spots = [
        {"at": [x, y], "height": rise * (x + 0.6 * y) + float(rng.uniform(-0.3, 0.3))}
        for x in np.linspace(0, wide, columns + 1).tolist()
        for y in np.linspace(0, high, columns + 1).tolist()
    ]
    document = {
        "format": "rillwright-yard",
        "version": 1,
        "name": f"Campus of {hectares:g} ha",
        "note": "Invented: no such place, building or reading exists.",
        "units": "metric",
        "areas": areas,
        "spot_heights": spots,
        "water_entry": {
            "at": [0, 0],
            "height": spots[0]["height"],
            "pipe": {"material": "PVC schedule 40", "size": "2 in", "length": 15},
            "meter": {"size": "2 in"},
        },
        "supply": [
            {"kind": "static gauge", "pressure": 760},
            {"kind": "gauge at a flow", "pressure": 715, "flow": 200},
            {"kind": "gauge at a flow", "pressure": 620, "flow": 400},
        ],
        "controller": {"stations": 2000},
        "valves": {"inrush": 0.35},  # the least that is usual: the farthest stands at the end of 1.3 km of wire
        "backflow": {"allowed": ["double check"]},
        "heads": {"allowed": ["mid rotor"]},
    }
    return validated(document, source="campus")


def _box(x: float, y: float, width: float, height: float) -> list[list[float]]:
    return [[x, y], [x + width, y], [x + width, y + height], [x, y + height]]


def timed(yard: Yard) -> tuple[Plan, float, float, dict[str, float]]:
    """Plan a yard with all cores; returns the plan, its seconds, those of all processors and those of each stage."""
    before = worked()
    spent: dict[str, float] = defaultdict(float)
    mark: list[tuple[str, float]] = [("supply", time.perf_counter())]
    start = mark[0][1]

    def tell(stage: str, _share: float) -> None:
        now = time.perf_counter()
        spent[mark[-1][0].split(":")[0]] += now - mark[-1][1]
        mark.append((stage, now))

    with process_pool() as pool:
        plan = make_plan(yard, load_catalogue(), progress=tell, pool=pool)
    tell("end", 1.0)
    return plan, time.perf_counter() - start, worked() - before, dict(spent)


def growth(points: list[tuple[int, float]]) -> float:
    """Exponent of heads that fits times (heads, seconds) best."""
    return float(np.polyfit(*np.log(np.maximum(np.array(points, dtype=float), 1e-3)).T, 1)[0])


def main() -> None:
    """Print the table."""
    demo, base, _, first = timed(load_yard(DEMO))
    print(f"demo yard: {len(demo.heads)} heads, {base:.1f} s, {base / len(demo.heads):.3f} s a head: the baseline")
    points, by_stage = [(len(demo.heads), base)], {stage: [(len(demo.heads), part)] for stage, part in first.items()}
    for hectares in [float(word) for word in sys.argv[1:]] or [2.0]:
        plan, seconds, work, stages = timed(campus(hectares))
        heads = len(plan.heads)
        points.append((heads, seconds))
        ratio = seconds / heads / (base / len(demo.heads))
        print(f"{hectares:g} ha: {heads} heads, {len(plan.zones)} zones, {plan.verdict}; {seconds:.1f} s,", end=" ")
        print(f"{work:.1f} s of processors,", end=" ")
        print(f"{ratio:.2f} of the baseline for a head")
        for stage, part in sorted(stages.items(), key=lambda pair: -pair[1]):
            known = by_stage.setdefault(stage, [])
            known.append((heads, part))
            print(f"  {part:8.1f} s  {stage}", f"(heads^{growth(known):.2f})" if len(known) > 1 else "")
    own, helper = (
        resource.getrusage(who).ru_maxrss / 2**20 for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    )
    print(f"peak memory: {own:.2f} GiB here, {helper:.2f} GiB in the largest helper process")
    print(f"time grows as heads^{growth(points):.2f}")


if __name__ == "__main__":
    main()
