"""Compiled loop over every choice of some heads; `choices` says what it does."""

import numpy as np
from numba import njit
from numpy.typing import NDArray

__all__ = ["choose"]

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
Mask = NDArray[np.bool_]


@njit(cache=True)
def choose(fixed: int, flow: Whole, room: Whole, legal: Mask, at: Floats, allowed: Mask, spread: Floats) -> None:
    """Fill `allowed` and `spread` (2^free,) for every choice of the heads after the first `fixed`, in place.

    Parameters: by head, those that are fixed first: flow and room [ticks], legal (places, heads), at (heads, 2) [m].
    Each choice is made of one with a head less.
    """
    count, places = len(spread), legal.shape[0]
    total, least = np.zeros(count, dtype=np.int64), np.full(count, np.iinfo(np.int64).max)
    number, first, second = np.zeros(count), np.zeros((count, 2)), np.zeros(count)
    served = np.ones((count, places), dtype=np.bool_)
    size = 1
    for head in range(len(flow)):
        square = at[head, 0] * at[head, 0] + at[head, 1] * at[head, 1]
        start = 0 if head < fixed else size
        for choice in range(start, start + size):
            before = choice - start
            total[choice] = total[before] + flow[head]
            least[choice] = min(least[before], room[head])
            number[choice] = number[before] + 1
            first[choice, 0] = first[before, 0] + at[head, 0]
            first[choice, 1] = first[before, 1] + at[head, 1]
            second[choice] = second[before] + square
            for place in range(places):
                served[choice, place] = served[before, place] and legal[place, head]
        size = size if head < fixed else 2 * size
    for choice in range(count):
        held = False
        for place in range(places):
            held = held or served[choice, place]
        allowed[choice] = total[choice] <= least[choice] and number[choice] > 0 and held
        middle = first[choice, 0] * first[choice, 0] + first[choice, 1] * first[choice, 1]
        spread[choice] = second[choice] - middle / max(number[choice], 1.0)
