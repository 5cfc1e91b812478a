"""Time the main job stage by stage on the demo yard, with each stage's share, and against one process alone.

Run: python benchmarks/plan.py [YARD]. The last line is the ratio of one process to the pool, in the same run.
Run: python benchmarks/plan.py --savings [YARD ...]. For each example, or each yard named: what the search over zones,
places, routes and sizes together saves against one pass, stage by stage, the bound under both, and the search's share
of the processor time.
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


def print_savings(yard_files: list[Path]) -> None:
    """Print one row for each yard, planned in one process."""
    print(f"{'yard':24} {'one pass':>9} {'searched':>9} {'saved':>7} {'bound':>8} {'gap':>6} {'share of time':>14}")
    for yard_file in yard_files:
        spent: dict[str, float] = defaultdict(float)
        mark = ["start", time.process_time()]

        def tell(stage: str, _share: float, spent: dict[str, float] = spent, mark: list = mark) -> None:
            spent[mark[0]] += time.process_time() - mark[1]
            mark[:] = [stage, time.process_time()]

        facts = yard_file.with_name("shed.facts.json") if yard_file.suffix == ".dxf" else None
        plan = make_plan(load_yard(yard_file, facts=facts), load_catalogue(), progress=tell)
        tell("end", 1.0)
        if not plan.search:
            print(f"{yard_file.name:24} does not fit: no search")
            continue
        first, last = plan.search[0].total, plan.search[-1].total
        bound = sum(part.amount for part in plan.least)
        share = spent["zones, places, routes and sizes together"] / sum(spent.values())
        row = f"{first:9.0f} {last:9.0f} {1 - last / first:7.1%} {bound:8.0f} {1 - bound / last:6.1%} {share:14.0%}"
        print(f"{yard_file.name:24} {row}")


def main() -> None:
    """Print the table."""
    if "--savings" in sys.argv:
        named = [Path(word) for word in sys.argv[1:] if word != "--savings"]
        examples = [*YARD.parent.glob("*.yard.json"), *YARD.parent.glob("*.geojson"), *YARD.parent.glob("*.dxf")]
        print_savings(named or sorted(examples))
        return
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
