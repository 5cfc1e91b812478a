"""Invented benches for the tests of manifolds."""

import random
from functools import cache

from rillwright.model.bench_parts import load_bodies
from rillwright.model.catalogue import load_catalogue
from rillwright.model.fittings import load_fittings
from rillwright.model.manifold import BenchTerms
from rillwright.physics.grid import GRIDS
from rillwright.solvers.manifold import Bench, Branch, Shelf

FULL = ("PE", "PVC schedule 40", "PVC SDR-21", "PEX", "copper L", "copper M")


@cache
def shelf(system):
    outside = {(p.material, p.trade_size): p.outside_diameter for p in load_catalogue().pipes}
    return Shelf(GRIDS[system], load_fittings(), load_bodies(), outside)


def bench(system="US", *, sizes=("1 in", "1 in"), material="PVC schedule 40", size="1 in", terms=None, **changes):
    """In-line valves on a header of the main's own pipe, with PE laterals of the valves' size."""
    branches = tuple(Branch(f"Z{n}", "in-line valve", each, ("PE", each)) for n, each in enumerate(sizes, start=1))
    facts = {
        "place": "V1",
        "shelf": shelf(system),
        "main": (material, size),
        "header": (material, size),
        "branches": branches,
        "onward": 0,
        "breaker": None,
        "drain": False,
        "blow_out": False,
        "cover": 0.3,
        "device_height": None,
        "outlet_height": None,
        "needed_height": None,
        "terms": terms or BenchTerms(),
    }
    return Bench(**(facts | changes))


def random_bench(seed):
    """Any materials, kinds of valve, number of valves and terms that a plan may come with."""
    dice = random.Random(seed)
    system = dice.choice(("US", "metric"))
    header = (dice.choice(FULL), dice.choice(("3/4 in", "1 in", "1-1/4 in", "1-1/2 in", "2 in")))
    main = dice.choice((header, (dice.choice(FULL), dice.choice(("3/4 in", "1 in", "1-1/4 in")))))
    kind = dice.choice(("box", "box", "upright", "own breaker", "pressure breaker"))
    branches = []
    for n in range(1, dice.randint(1, 7) + 1):
        size = dice.choice(("3/4 in", "1 in"))
        lateral = (dice.choice(FULL), dice.choice(("1/2 in", "3/4 in", "1 in")))
        valve = "valve with vacuum breaker" if kind == "upright" else "in-line valve"
        branches.append(Branch(f"Z{n}", valve, size, lateral, size if kind == "own breaker" else None))
    terms = BenchTerms(
        unions=dice.choice(("both sides", "outlet", "none")),
        isolating=dice.random() < 0.5,
        rows=dice.choice(("one side", "both sides")),
        order=dice.choice(("stations", "shortest")),
    )
    return bench(
        system,
        main=main,
        header=header,
        branches=tuple(branches),
        onward=dice.choice((0, 0, 1, 2)),
        breaker=None if kind != "pressure breaker" else header[1],
        drain=dice.random() < 0.3,
        blow_out=dice.random() < 0.3,
        cover=dice.choice((0.15, 0.3, 0.46)),
        device_height=None if kind == "box" else dice.uniform(0.15, 1.2),
        terms=terms,
    )
