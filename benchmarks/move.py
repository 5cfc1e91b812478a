"""Time one head turned in the demo's plan, against measuring every lawn and checking the plan from the start.

Run: python benchmarks/move.py. Processor time, after one to warm up; the ratio is the turn's share of the whole.
"""

import time
from pathlib import Path

from rillwright.exchange import load_yard
from rillwright.jobs.move import Workbench
from rillwright.jobs.plan import make_plan
from rillwright.model.catalogue import load_catalogue

YARD = Path(__file__).parent.parent / "examples" / "demo.yard.json"
TURNS = 20


def main() -> None:
    """Print times and ratio."""
    catalogue = load_catalogue()
    plan = make_plan(load_yard(YARD), catalogue)
    bench = Workbench(plan, catalogue)
    slowest, whole = 0.0, 0.0
    for head in plan.heads[:TURNS]:
        bench.move(head.id)
        start = time.process_time()
        bench.move(head.id, arc_start=head.arc_start + 1)
        slowest = max(slowest, time.process_time() - start)
        start = time.process_time()
        fresh = Workbench(plan, catalogue)
        for lawn in plan.lawns:
            fresh.move(next(h.id for h in plan.heads if h.lawn == lawn.id))
        whole = max(whole, time.process_time() - start)
    print(f"slowest of {TURNS} turns {1e3 * slowest:.1f} ms; all lawns from the start {1e3 * whole:.0f} ms,", end=" ")
    print(f"ratio {slowest / whole:.3f}")


if __name__ == "__main__":
    main()
