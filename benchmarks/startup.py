"""How often the right cause is named for a zone's first start: simulated faults over unlike yards.

Run: python benchmarks/startup.py [faults for each zone] [plan folders...]. Prints, for the first readings (meter,
entry, behind the valve, farthest head) and after each follow-up that the tool itself asks for, how often the true cause
is ranked first and among the first two, cause by cause. Without folders, the example yards are planned first.
"""

import sys
from collections import defaultdict
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent / "tests"))

from plan_yards import CATALOGUE, planned_example  # noqa: E402
from rillwright.jobs.write import read_plan  # noqa: E402
from started_zones import FOLLOW_UPS, Case, started  # noqa: E402

YARDS = ("demo", "l-shape", "triangle", "narrow-strips", "steep-bank", "courtyard")


def main(count: int, folders: list[str]) -> None:
    """Print the tables."""
    plans = [read_plan(Path(f)) for f in folders] or [planned_example(f"{name}.yard.json") for name in YARDS]
    cases = [
        case
        for number, plan in enumerate(plans)
        for zone in plan.zones
        for case in started(plan, zone, CATALOGUE, count=count, seed=number)
    ]
    print(
        f"{sum(len(plan.zones) for plan in plans)} zones of {len(plans)} yards; true cause first / among the first two"
    )
    table("faults that move a first reading out of its 90 % band", [case for case in cases if case.shows])
    table("all faults, with those too slight to show", cases)


def table(title: str, cases: list[Case]) -> None:
    """Print one table."""
    ranks: dict[tuple[str, int], list[int]] = defaultdict(list)
    for case in cases:
        for step, rank in enumerate(case.ranks):
            ranks[case.cause, step].append(rank)
    causes = dict.fromkeys(cause for cause, _ in ranks)
    print(f"\n{title}")
    print(
        f"{'':28}{'faults':>7}"
        + "".join(f"{'first readings' if s == 0 else f'follow-up {s}':>18}" for s in range(FOLLOW_UPS + 1))
    )
    for cause in (*causes, ""):
        rows = [[r for c in causes if cause in ("", c) for r in ranks[c, s]] for s in range(FOLLOW_UPS + 1)]
        shares = (
            f"{100 * sum(r == 0 for r in row) / len(row):7.0f} % {100 * sum(r < 2 for r in row) / len(row):5.0f} %"
            for row in rows
        )
        print(f"{cause or 'all':28}{len(rows[0]):>7}" + "".join(f"{share:>18}" for share in shares))


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 50, sys.argv[2:])
