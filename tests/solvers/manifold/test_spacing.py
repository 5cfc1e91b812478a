"""The spacing of valves against every order and choice of sides, one by one."""

import itertools
import random

import pytest

from rillwright.solvers.manifold import space_out


def room(seed):
    """Kinds with a half-width and a radius to turn in, which make needs that obey the triangle inequality."""
    dice = random.Random(seed)
    kinds = {name: (dice.randint(3, 9), dice.randint(0, 14)) for name in "abc"[: dice.randint(1, 3)]}
    fittings = {name: dice.randint(1, 4) for name in kinds}
    wired = [dice.choice(list(kinds)) for _ in range(dice.randint(1, 5))]

    def turns(one, two):
        (half, swing), (other, sweep) = kinds[one], kinds[two]
        return max(half + other, swing + other, sweep + half)

    def stub(one, two, last):
        return fittings[one] + (1 if last else fittings[two]) + 6

    return wired, turns, stub


def longest_path(order, sides, turns, stub):
    """Earliest places by the differences, each as far from all before it as must be."""
    places = []
    for n, kind in enumerate(order):
        place = 0
        for m, before in enumerate(order[:n]):
            if m == n - 1:
                place = max(place, places[m] + stub(before, kind, n == len(order) - 1))
            if sides[m] == sides[n]:
                place = max(place, places[m] + turns(before, kind))
        places.append(place)
    return places[-1]


@pytest.mark.parametrize("both", [False, True])
@pytest.mark.parametrize("free", [False, True])
@pytest.mark.parametrize("seed", range(25))
def test_the_span_is_the_least_of_all_orders_and_sides(seed, free, both):
    wired, turns, stub = room(seed)
    orders = set(itertools.permutations(wired)) if free else {tuple(wired)}
    sides = list(itertools.product((1, -1), repeat=len(wired))) if both else [(1,) * len(wired)]
    best = min(longest_path(order, side, turns, stub) for order in orders for side in sides)
    found = space_out(wired, turns=turns, stub=stub, both=both, free=free)
    assert found[-1].at == best
    assert sorted(standing.number for standing in found) == list(range(len(wired)))
    kinds = [wired[standing.number] for standing in found]
    assert longest_path(kinds, [standing.side for standing in found], turns, stub) == best
    if not free:
        assert [standing.number for standing in found] == list(range(len(wired)))


def test_a_long_header_keeps_every_room():
    """Forty valves of three kinds on both sides."""
    wired = ["abc"[n % 3] for n in range(40)]
    kinds = {"a": 3, "b": 5, "c": 8}

    def turns(one, two):
        return 2 * max(kinds[one], kinds[two])

    def stub(*_pair):
        return 7

    found = space_out(wired, turns=turns, stub=stub, both=True, free=False)
    for one, two in itertools.combinations(found, 2):
        if one.side == two.side:
            assert two.at - one.at >= turns(wired[one.number], wired[two.number])
    assert all(two.at - one.at >= 7 for one, two in itertools.pairwise(found))
