"""Time the main job stage by stage on the demo yard, with each stage's share, and against one process alone.

Run: python benchmarks/plan.py [YARD]. The last line is the ratio of one process to the pool, in the same run.
"""

import sys
import time
from collections import defaultdict
from concurrent.futures import Executor
from pathlib import Path

from rillwright.exchange import load_yard
from rillwright.jobs.plan import make_plan
from rillwright.jobs.workers import process_pool
from rillwright.model.catalogue import load_catalogue

YARD = Path(__file__).parent.parent / "examples" / "demo.yard.json"


def stage_times(yard_file: Path, pool: Executor | None) -> dict[str, float]:
    """Seconds by stage, in order of appearance."""
    spent: dict[str, float] = defaultdict(float)
    mark: list[tuple[str, float]] = [("start", time.perf_counter())]

    def tell(stage: str, _share: float) -> None:
        now = time.perf_counter()
        name, since = mark[-1]
        spent[name.split(":")[0]] += now - since
        mark.append((stage, now))

    make_plan(load_yard(yard_file), load_catalogue(), progress=tell, pool=pool)
    tell("end", 1.0)
    return dict(spent)


def main() -> None:
    """Print the table."""
    yard_file = Path(sys.argv[1]) if len(sys.argv) > 1 else YARD
    with process_pool() as pool:
        stage_times(yard_file, pool)
        shared = stage_times(yard_file, pool)
    alone = stage_times(yard_file, None)
    total, single = sum(shared.values()), sum(alone.values())
    print(f"{yard_file.name}, workers warm: {total:.1f} s")
    for stage, seconds in shared.items():
        print(f"  {seconds:7.2f} s  {100 * seconds / total:5.1f} %  {stage}")
    print(f"one process alone {single:.1f} s, ratio to the pool {single / total:.2f}")


if __name__ == "__main__":
    main()
