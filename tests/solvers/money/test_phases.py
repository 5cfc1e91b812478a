"""The cheapest split against all of them, priced one by one."""

import random
from itertools import product

import pytest

from rillwright.model.labour import Rent
from rillwright.solvers.money import Cap, Item, Job, cheapest_split, price_split


def invented_job(seed, *, zones=5, items=25):
    dice = random.Random(seed)
    names = [f"Z{n + 1}" for n in range(zones)]

    def some():
        return frozenset(dice.sample(names, dice.choice((1, 1, 2, 3, zones))))

    made = [
        Item(round(dice.uniform(1, 60), 2), some(), dice.choice(("parts", "trenches", "other"))) for _ in range(items)
    ]
    made += [Item(0.0, some(), "trenches", dice.uniform(600, 9000)) for _ in range(8)]
    caps = tuple(Cap(round(dice.uniform(0.5, 9), 2), some(), some()) for _ in range(8))
    job = Job(
        items=tuple(made),
        caps=caps,
        fetch=5400.0,
        day=7 * 3600.0,
        rent=Rent(190.0, 650.0, "test"),
        delivery=dice.choice((0.0, 75.0)),
        free_from=dice.choice((None, 260.0)),
        rise=dice.choice((0.0, 0.04)),
    )
    return job, [frozenset({name}) for name in names]


def every_split(job, units, phases):
    """All splits, each phase before a later one that builds something building something too."""
    for choice in product(range(phases), repeat=len(units)):
        used = sorted(set(choice))
        if used == list(range(len(used))):
            sets = [[z for u, k in zip(units, choice, strict=True) if k == phase for z in sorted(u)] for phase in used]
            yield price_split(job, sets)


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("phases", [2, 3])
def test_the_cheapest_split_within_a_limit_is_that_of_brute_force(seed, phases):
    job, units = invented_job(seed, zones=5 if phases == 2 else 4)
    known = list(every_split(job, units, phases))
    once = price_split(job, [[z for unit in units for z in sorted(unit)]])
    limits = [None, 0.8 * once.total, 1.02 * min(split.dearest for split in known), 0.3 * once.total]
    for limit in limits:
        legal = [split for split in known if limit is None or split.dearest <= limit]
        found = cheapest_split(job, units, phases=phases, yearly=limit)
        if not legal:
            assert found is None
            continue
        assert found.status == "optimal"
        assert found.total == pytest.approx(min(split.total for split in legal), abs=0.02)
        assert found.bound == pytest.approx(found.total, abs=0.02)
        assert limit is None or found.dearest <= limit + 0.01


@pytest.mark.parametrize("seed", range(4))
def test_the_most_even_split_has_the_cheapest_dearest_phase(seed):
    job, units = invented_job(seed)
    found = cheapest_split(job, units, phases=2, even=True)
    assert found.dearest == pytest.approx(min(split.dearest for split in every_split(job, units, 2)), abs=0.03)


def test_what_serves_both_phases_is_paid_once_and_first():
    items = (
        Item(100.0, frozenset({"A"}), "parts"),
        Item(40.0, frozenset({"B"}), "parts"),
        Item(30.0, frozenset({"A", "B"}), "parts"),
        Item(0.0, frozenset({"A", "B"}), "trenches", 3600.0),
        Item(0.0, frozenset({"B"}), "trenches", 3600.0),
    )
    cap = Cap(5.0, frozenset({"A", "B"}), frozenset({"B"}))
    job = Job(items, (cap,), 3600.0, 7 * 3600.0, Rent(190.0, 650.0, "test"), 60.0, None, 0.1)
    first, second = price_split(job, [["A"], ["B"]]).phases
    assert (first.parts, first.caps, first.rental, first.delivery, first.total) == (130.0, 5.0, 190.0, 60.0, 385.0)
    assert second.parts == pytest.approx(44.0)
    assert second.total == pytest.approx(1.1 * (40 + 190 + 60))
    assert price_split(job, [["A", "B"]]).total == 170 + 190 + 60
    assert price_split(job, [["B"], ["A"]]).phases[0].caps == 0.0  # B's own end is the main's end: nothing goes on
