"""The order of steps against every order of small random builds, and rents against every mix of days and weeks."""

import itertools
import random
from datetime import date

import numpy as np
import pytest

from rillwright.model.labour import Rent
from rillwright.solvers.guide import Calendar, Task, least_rent, order_steps

HOUR = 3600.0
RENT = Rent(day=100.0, week=350.0, source="invented")


def calendar(rooms):
    room = np.array(rooms, dtype=float) * HOUR
    return Calendar(date(2027, 5, 1), room, np.full(len(room), 14 * HOUR), np.zeros(len(room)))


def case(seed):
    dice = random.Random(seed)
    names = [f"s{n}" for n in range(5)]
    durations = {name: dice.choice((1, 2, 3, 5)) * HOUR for name in names}
    arcs = [
        (a, b, dice.choice(("", "one", "four")))
        for n, a in enumerate(names)
        for b in names[n + 1 :]
        if dice.random() < 0.3
    ]
    block = names[1:3] if dice.random() < 0.6 else []
    arcs += [(*block, "")] if block else []
    return durations, [arc for arc in arcs if not set(arc[:2]) <= set(block) or not arc[2]], block


WAITS = {"one": 1, "four": 4}
DAYS = calendar(([4, 4] + [0] * 5) * 12)


def day_of(minute, before):
    return int(np.searchsorted(before, minute, side="right")) - 1


def best_by_hand(durations, arcs, block):
    """Least (rent, finish) over all orders and all starts of the block, each step as early as it may be."""
    before = (DAYS.before / 60).round().astype(int)
    mornings = sorted(set(before))
    best = (np.inf, np.inf)
    for order in itertools.permutations(durations):
        places = [order.index(step) for step in block]
        if any(order.index(a) > order.index(b) for a, b, _ in arcs) or (block and places[1] != places[0] + 1):
            continue
        for late in mornings[:14] if block else [0]:
            free, ends = 0, {}
            begins = {}
            for step in order:
                at = max(free, late if block and step == block[0] else 0)
                for a, _, wait in (arc for arc in arcs if arc[1] == step and arc[2]):
                    at = max(at, before[day_of(ends[a] - 1, before) + WAITS[wait]])
                begins[step], ends[step] = at, at + round(durations[step] / 60)
                free = ends[step]
            if block and begins[block[1]] != ends[block[0]]:
                continue
            days = day_of(ends[block[1]] - 1, before) - day_of(begins[block[0]], before) + 1 if block else 0
            best = min(best, (least_rent(days, RENT), free))
    return best


@pytest.mark.parametrize("seed", range(15))
def test_least_rent_then_earliest_finish_of_all_orders(seed):
    durations, arcs, block = case(seed)
    task = Task(
        durations=durations,
        arcs=arcs,
        waits=WAITS,
        done={},
        calendar=DAYS,
        block=block,
        together=(),
        rent=lambda days: least_rent(days, RENT),
    )
    found = order_steps(task)
    rent, finish = best_by_hand(durations, arcs, block)
    assert found.proven
    assert max(found.ends.values()) / 60 == finish
    if block:
        first, last = found.begins[block[0]], found.ends[block[1]]
        days = DAYS.day_of_end(last) - DAYS.day_of_begin(first) + 1
        assert least_rent(days, RENT) == rent
    for a, b, _ in arcs:
        assert found.ends[a] <= found.begins[b]


def test_the_house_is_not_left_without_water_overnight():
    """Three hours, then two steps of an hour and a half that belong to one day of four hours."""
    durations = {"a": 3 * HOUR, "shut": 1.5 * HOUR, "join": 1.5 * HOUR}
    given = {"waits": {}, "done": {}, "calendar": DAYS, "block": (), "rent": lambda days: 0.0 * days}
    arcs = [("a", "shut", ""), ("shut", "join", "")]
    loose = order_steps(Task(durations, arcs, together=(), **given))
    kept = order_steps(Task(durations, arcs, together=("shut", "join"), **given))
    assert DAYS.day_of_begin(loose.begins["shut"]) < DAYS.day_of_end(loose.ends["join"])
    assert DAYS.day_of_begin(kept.begins["shut"]) == DAYS.day_of_end(kept.ends["join"])
    assert kept.ends["shut"] == kept.begins["join"]


@pytest.mark.parametrize("days", range(40))
def test_rent_is_the_cheapest_mix(days):
    every = [
        singles * RENT.day + weeks * RENT.week
        for singles in range(days + 1)
        for weeks in range(8)
        if singles + 7 * weeks >= days
    ]
    assert least_rent(days, RENT) == min(every)
