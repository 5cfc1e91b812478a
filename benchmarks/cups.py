"""How often catch cups name the head that stands wrong, and its remedy: faults in example yards' zones, and sound ones.

Run: python benchmarks/cups.py [example yards...] [--cups N] [--sets N]. Cups at spots drawn anew for each fault; what
else moves them stands in tests/cup_faults.py. A fault shows when it moves chi-squared of the cups by 10 and more,
against all else that moves them. Prints, for faults that show and for all: its head likeliest; its remedy, too; told at
all; named, at evens and better; and sets in which a head that was right is named. As planned: any told, any named.
"""

import argparse
import sys
from pathlib import Path
from types import SimpleNamespace

import numpy as np

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent / "tests"))

from cup_faults import FAULTS, Ground, tried  # noqa: E402
from plan_yards import CATALOGUE, planned_example  # noqa: E402
from rillwright.errors import InputError  # noqa: E402
from rillwright.jobs.answers.cups import _land  # noqa: E402

YARDS = ("demo", "l-shape", "courtyard")
SOUND = "as planned"


def main(yards, count, sets):
    """Print the table."""
    grounds = []
    for yard in yards:
        plan = planned_example(f"{yard}.yard.json")
        for zone in plan.zones:
            try:
                land = _land(zone, 3600.0, SimpleNamespace(plan=plan, catalogue=CATALOGUE))
            except InputError:
                continue  # no ground that this zone waters alone
            grounds.append(Ground.of(land))
    print(f"{len(grounds)} zones, {sets} sets of {count} cups of each fault in each")
    heads = ("faults", "first", "remedy", "told", "named", "other")
    print(f"{'':20}{'that show':>{9 * len(heads)}}{'all':>{9 * len(heads)}}")
    print(f"{'':20}" + 2 * "".join(f"{word:>9}" for word in heads))
    sums = np.zeros(2 * len(heads), dtype=int)
    for number, name in enumerate((*FAULTS, SOUND)):
        dice = [(one, np.random.default_rng([7, number, n, s])) for n, one in enumerate(grounds) for s in range(sets)]
        fault = None if name == SOUND else name
        found = [tried(one, fault, count=count, dice=own) for one, own in dice]
        rows = [row for row in found if row is not None]
        kept = [[row for row in rows if row.shows], rows]
        told = np.array(
            [one for some in kept for one in (len(some), *(sum(row[k] for row in some) for k in range(1, 6)))]
        )
        print(f"{name:20}" + "".join(f"{value:9}" for value in told), flush=True)
        if name != SOUND:
            sums += told
    print(f"{'all faults':20}" + "".join(f"{value:9}" for value in sums))


if __name__ == "__main__":
    asked = argparse.ArgumentParser()
    asked.add_argument("yards", nargs="*", default=YARDS)
    asked.add_argument("--cups", type=int, default=24)
    asked.add_argument("--sets", type=int, default=4)
    given = asked.parse_args()
    main(given.yards, given.cups, given.sets)
