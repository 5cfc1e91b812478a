"""Cutting plans against enumeration on small cases, against their bound on many, and what every plan must keep."""

import itertools
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rillwright.solvers.cutting import cut_pipe, split_runs
from rillwright.solvers.cutting.fill import filled
from rillwright.solvers.cutting.plan import rounded_up

STICKS, COILS = [3.048, 6.096], [30.48, 91.44]


def holds(plan, pieces, stocks, kerf):
    """Every piece once, no stick overfilled, kerf between pieces; the bound under what is bought."""
    assert sorted(piece for cut in plan.cuts for piece in cut.pieces) == sorted(pieces)
    for cut in plan.cuts:
        assert cut.stock in {round(1000 * stock) for stock in stocks}
        used = sum(cut.pieces) + kerf * (len(cut.pieces) - 1)
        assert used <= cut.stock
        assert 0 <= cut.left <= cut.stock - used
    assert plan.bound <= plan.bought


def least_by_hand(pieces, stocks, kerf):
    """The least length bought over all ways to part the pieces into sticks."""
    lengths = sorted(round(1000 * stock) for stock in stocks)

    def parted(left):
        if not left:
            return 0
        first, rest = left[0], left[1:]
        best = None
        for number in range(len(rest) + 1):
            for others in itertools.combinations(range(len(rest)), number):
                used = first + sum(rest[i] + kerf for i in others)
                stock = next((length for length in lengths if length >= used), None)
                if stock is not None:
                    then = stock + parted([piece for i, piece in enumerate(rest) if i not in others])
                    best = then if best is None else min(best, then)
        return best

    return parted(list(pieces))


@pytest.mark.parametrize("seed", range(40))
def test_small_plans_are_the_best_there_are(seed):
    dice = random.Random(seed)
    pieces = [dice.randint(200, 6096) for _ in range(dice.randint(1, 7))]
    plan = cut_pipe(pieces, stocks=STICKS, kerf=0.003)
    holds(plan, pieces, STICKS, 3)
    assert plan.bought == least_by_hand(pieces, STICKS, 3)
    assert plan.status == "optimal"


@pytest.mark.parametrize("seed", range(100))
def test_large_plans_are_within_one_stick_of_their_bound(seed):
    dice = random.Random(1000 + seed)
    stocks, longest = (STICKS, 6096) if seed % 2 else (COILS, 40000)
    pieces = [dice.randint(100, longest) for _ in range(dice.randint(8, 50))]
    plan = cut_pipe(pieces, stocks=stocks, kerf=0.003)
    holds(plan, pieces, stocks, 3)
    assert plan.gap <= round(1000 * max(stocks))
    assert plan.status == ("optimal" if plan.gap == 0 else "feasible")


def test_pieces_that_pair_up_with_nothing_over():
    """Halves and thirds of a stick, by hand: kerf makes two halves of 3048 mm too much for one stick of 6096 mm."""
    assert cut_pipe([3048, 3048], stocks=[6.096]).bought == 6096
    assert cut_pipe([3048, 3048], stocks=[6.096], kerf=0.003).bought == 2 * 6096
    assert cut_pipe([3046, 3047], stocks=[6.096], kerf=0.003).bought == 6096
    assert cut_pipe([2030] * 3, stocks=STICKS, kerf=0.003).bought == 6096
    assert cut_pipe([], stocks=STICKS).bought == 0


def test_falling_lengths_alone_would_buy_a_stick_too_much():
    """A textbook case for first fit: 6, 5, 5, 4, 4, 3, 3 of 10: first fit takes four sticks, three hold all (in dm)."""
    plan = cut_pipe([600, 500, 500, 400, 400, 300, 300], stocks=[1.0])
    assert plan.bought == 3000
    assert plan.status == "optimal"


def test_only_what_is_longer_than_a_stick_is_pieced():
    assert split_runs([14.2, 6.096, 0.5], 6.096) == ((6096, 6096, 2008), (6096,), (500,))
    assert split_runs([12.192], 6.096) == ((6096, 6096),)
    with pytest.raises(ValueError, match="longer than 6096 mm"):
        cut_pipe([6097], stocks=STICKS)


@given(length=st.integers(1, 60_000))
def test_rounded_up_is_the_least_that_can_be_bought(length):
    sums = {3048 * a + 6096 * b for a in range(25) for b in range(12)}
    assert rounded_up(length, (3048, 6096)) == min(total for total in sums if total >= length)


@pytest.mark.parametrize("seed", range(20))
def test_each_stick_is_filled_as_full_as_can_be(seed):
    """Every set of the pieces beside the longest is tried by hand."""
    draw = random.Random(seed)
    pieces, stock, kerf = [draw.randint(200, 3000) for _ in range(9)], 6096, draw.choice((0, 2, 3))
    first = filled(pieces, stock, kerf)[0]
    longest, *others = sorted(pieces, reverse=True)
    sets = (some for number in range(9) for some in itertools.combinations(others, number))
    lengths = (longest + sum(piece + kerf for piece in some) for some in sets)
    assert sum(first) + kerf * (len(first) - 1) == max(length for length in lengths if length <= stock)


def test_a_long_coil_is_filled_to_its_end():
    """With 300 pieces of 0.3 to 6 m some of them make up 91.44 m (300 ft) to the millimetre."""
    draw = random.Random(1)
    coils = filled([draw.randint(300, 6000) for _ in range(300)], 91440, 2)
    assert all(sum(coil) + 2 * (len(coil) - 1) == 91440 for coil in coils[:5])
