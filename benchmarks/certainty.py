"""Time the draws of a whole yard against a loop over single solves, and print how often the bands hold the truth.

Run: python benchmarks/certainty.py [cases]. First the demo yard: CPU seconds for all its zones in 2,048 draws, beside
the same number of single solves, scaled from a few. Then invented yards with known truth, as in
tests/certainty_yards.py: the share of the 90 % bands that hold it, in a world like the draws and in others.
"""

import sys
import time
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent / "tests"))

from certainty_yards import QUANTITIES, Wrongs, ask  # noqa: E402
from rillwright.exchange import load_yard  # noqa: E402
from rillwright.jobs.plan import make_plan  # noqa: E402
from rillwright.jobs.zone_models import zone_model  # noqa: E402
from rillwright.model.catalogue import load_catalogue  # noqa: E402
from rillwright.solvers.certainty import DRAWS, draw_yard, run_zone  # noqa: E402
from rillwright.solvers.network import solve_network  # noqa: E402
from rillwright.solvers.supply import fit_supply  # noqa: E402

SINGLES = 40  # single solves of each zone, from which the loop's time is scaled
WORLDS = {
    "as drawn": Wrongs(),
    "street sags by 8 % after measuring": Wrongs(sag=0.08),
    "readings err twice as much as stated": Wrongs(error=2.0),
    "nozzles spread twice as much": Wrongs(nozzle=2.0),
}


def speed() -> None:
    """Print the time of the demo's draws beside that of single solves."""
    catalogue = load_catalogue()
    yard = load_yard(HERE.parent / "examples" / "demo.yard.json")
    plan = make_plan(yard, catalogue)
    models = [zone_model(plan, zone, catalogue) for zone in plan.zones]
    heads = [head for model in models for head in model.heads]
    fit = fit_supply(yard, catalogue)
    drawn = draw_yard(yard, fit=fit, heads=heads, zones=[m.id for m in models], seed=0)
    run_zone(models[0], drawn)  # compile
    start = time.process_time()
    drawn = draw_yard(yard, fit=fit, heads=heads, zones=[m.id for m in models], seed=0)
    made = time.process_time()
    for model in models:
        run_zone(model, drawn)
    batch = time.process_time() - made
    start_single = time.process_time()
    for model in models:
        for _ in range(SINGLES):
            solve_network(model.network)
    loop = (time.process_time() - start_single) / SINGLES * 2 * DRAWS
    print(f"demo: {len(heads)} heads in {len(models)} zones, {DRAWS} draws, each zone solved twice")
    print(f"  drawing {made - start:.2f} s, solving {batch:.2f} s CPU; loop over single solves {loop:.1f} s")
    print(f"  ratio {loop / batch:.0f}")


def calibration(cases: int) -> None:
    """Print the share of the bands that hold the truth, quantity by quantity, world by world."""
    print(f"\nshare of 90 % bands that hold the truth, {cases} yards in each world")
    width = max(map(len, QUANTITIES))
    print(" " * width + "".join(f"  {name:>38}" for name in WORLDS))
    held = {name: [ask(seed, wrongs=world).held() for seed in range(cases)] for name, world in WORLDS.items()}
    for quantity in QUANTITIES:
        shares = (sum(one[quantity] for one in held[name]) / cases for name in WORLDS)
        print(f"{quantity:<{width}}" + "".join(f"  {100 * share:36.1f} %" for share in shares))


if __name__ == "__main__":
    speed()
    calibration(int(sys.argv[1]) if len(sys.argv) > 1 else 300)
