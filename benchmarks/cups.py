"""How often catch cups name the head that stands wrong: gross faults in the zones of example yards, and sound zones.

Run: python benchmarks/cups.py [example yards...]. Four sets of 24 cups for each kind of fault in each zone, at spots
drawn anew; every head passes 3 % more or less than planned, the ground adds a smooth rest of 5 %, cups are read to 4 %.
A fault shows when it moves what the cups hold by more than its odds ask for (chi-squared over 10, each cup known to
9 %). Prints, for faults that show and for all: named first by the tool; another head named.
"""

import sys
from pathlib import Path
from types import SimpleNamespace

import numpy as np

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent / "tests"))

from plan_yards import CATALOGUE, planned_example  # noqa: E402
from rillwright.errors import InputError  # noqa: E402
from rillwright.jobs.answers.cups import _land  # noqa: E402
from rillwright.solvers.cups import Cup, amends_of, picture_of  # noqa: E402
from rillwright.solvers.cups.picture import LANDS, _at  # noqa: E402
from rillwright.solvers.cups.wrongs import set_wrong  # noqa: E402

YARDS = ("demo", "l-shape", "courtyard")
FAULTS = {"half the flow": ("flow", -0.5), "turned 25°": ("turn", 25.0), "a fifth short": ("radius", -0.2)}
FAULTS |= {"leans 0.6 m": ("lean x", 0.6), "as planned": (None, 0.0)}
SETS, CUPS = 4, 24
SHOWS = 10.0


def caught(land, heads, dice):
    """Cups on the ground that heads water, and how much they would hold without any chance."""
    own = [head.model_copy(update={"flow": head.flow * (1 + 0.03 * dice.standard_normal())}) for head in heads]
    x, y = land.grid.centres()
    wave = sum(np.cos(dice.normal(0, 0.5) * x + dice.normal(0, 0.5) * y + dice.uniform(0, 6.28)) for _ in range(20))
    truth = LANDS * land.water(own) * (1 + 0.05 * np.sqrt(0.1) * wave)
    pick = dice.choice(int(land.cells.sum()), CUPS, replace=False)
    at = np.column_stack([x[land.cells][pick], y[land.cells][pick]])
    depth = np.maximum(_at(truth, at, land.grid) * (1 + 0.04 * dice.standard_normal(CUPS)), 0.0)
    cups = [Cup((float(a), float(b)), float(d)) for (a, b), d in zip(at, depth, strict=True)]
    return cups, _at(LANDS * land.water(heads), at, land.grid)


def tried(land, kind, by, dice):
    """Whether a fault shows, is named first, and whether another head is named."""
    able = [head for head in land.heads if kind != "turn" or head.arc < 360]
    bad = able[int(dice.integers(len(able)))]
    heads = [set_wrong(head, kind, by) if kind and head is bad else head for head in land.heads]
    cups, holds = caught(land, heads, dice)
    sound = _at(LANDS * land.water(land.heads), np.array([cup.at for cup in cups]), land.grid)
    shows = float((((holds - sound) / np.maximum(0.09 * sound, 1e-3)) ** 2).sum()) > SHOWS
    named = [amend.head for amend in amends_of(picture_of(cups, land), land)]
    other = bool(set(named) - ({bad.id} if kind else set()))
    return shows, bool(kind) and named[:1] == [bad.id], other


def main(yards):
    """Print the table."""
    lands = []
    for yard in yards:
        plan = planned_example(f"{yard}.yard.json")
        for zone in plan.zones:
            try:
                lands.append(_land(zone, 3600.0, SimpleNamespace(plan=plan, catalogue=CATALOGUE)))
            except InputError:
                continue  # no ground that this zone waters alone
    print(f"{len(lands)} zones, {SETS} sets of {CUPS} cups of each kind; named first, another named")
    print(f"{'':16}{'show':>6}{'named':>7}{'other':>7}{'all':>6}{'named':>7}{'other':>7}")
    for words, (kind, by) in FAULTS.items():
        dice = [(land, np.random.default_rng([7, n, s])) for n, land in enumerate(lands) for s in range(SETS)]
        rows = [tried(land, kind, by, own) for land, own in dice]
        kept = [[row for row in rows if row[0]], rows]
        counts = "".join(f"{len(k):>6}{sum(r[1] for r in k):>7}{sum(r[2] for r in k):>7}" for k in kept)
        print(f"{words:16}{counts}", flush=True)


if __name__ == "__main__":
    main(sys.argv[1:] or YARDS)
