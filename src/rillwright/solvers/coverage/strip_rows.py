"""The best row of strip patterns along a middle line, as a shortest path.

Where each head's water ends before the next head, every place is watered by the head before it and the head after
it alone. So a row is a path from end to end: its nodes are heads (a place on an even grid and a setting), and the
length of an edge is how unevenly two heads water the ground between them, with what a head costs. Dynamic programming
finds the shortest exactly.
"""

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

__all__ = ["best_row", "row_cost"]

Floats = NDArray[np.float64]
Row = list[tuple[int, int]]


def best_row(ahead: Floats, behind: Floats, *, steps: int, wanted: float, price: float) -> Row:
    """Find the row that costs least by row_cost, exactly.

    Parameters: ahead, behind (settings, steps) [m/s], rate of a head by setting in each step of the line before it and
    back from it; steps of the line; wanted [m/s], even rate; price of a head, in steps left dry.
    Returns: step where each head stands (0 at the start, `steps` at the end) and its setting, in order.
    """
    between = _between(ahead / wanted, behind / wanted, steps)
    first, last = _at_ends(behind / wanted, steps), _at_ends(ahead / wanted, steps)
    settings = len(ahead)
    value = first + price
    came = np.full((steps + 1, settings), -1, dtype=np.int64)
    for place in range(steps + 1):
        for gaps in (range(1, place + 1), range(1)):  # two heads at one place come in order: back to back
            if len(gaps) == 0:
                continue
            before = place - np.asarray(gaps)
            found = (value[before][:, :, None] + between[gaps.start : gaps.stop]).reshape(-1, settings) + price
            best = found.argmin(axis=0)
            better = found[best, np.arange(settings)] < value[place]
            value[place, better] = found[best, np.arange(settings)][better]
            came[place, better] = (before[best // settings] * settings + best % settings)[better]
    at = int((value + last[::-1]).argmin())
    row: Row = []
    while at >= 0:
        place, setting = divmod(at, settings)
        row.append((place, setting))
        at = int(came[place, setting])
    return row[::-1]


def row_cost(row: Row, ahead: Floats, behind: Floats, *, steps: int, wanted: float, price: float) -> float:
    """Cost of a row, in steps left dry: squares of what misses the wanted rate, water past the ends, and its heads.

    Infinite where a head's water passes the next head. Parameters as for best_row.
    """
    rate, lost = np.zeros(steps), 0.0
    reach_ahead, reach_behind = (ahead > 0).sum(axis=1), (behind > 0).sum(axis=1)
    for (place, setting), (other, following) in pairwise(row):
        if max(reach_ahead[setting], reach_behind[following]) > other - place:
            return float("inf")
    for place, setting in row:
        back, on = behind[setting][:place], ahead[setting][: steps - place]
        rate[place - len(back) : place] += back[::-1]
        rate[place : place + len(on)] += on
        lost += behind[setting][place:].sum() + ahead[setting][steps - place :].sum()
    return float(((rate / wanted - 1) ** 2).sum() + lost / wanted + price * len(row))


def _between(ahead: Floats, behind: Floats, steps: int) -> Floats:
    """Unevenness between two heads by gap, setting of the first and of the second; (steps + 1, settings, settings)."""
    settings = len(ahead)
    found = np.full((steps + 1, settings, settings), np.inf)
    reach = np.maximum((ahead > 0).sum(axis=1)[:, None], (behind > 0).sum(axis=1)[None, :])
    for gap in range(steps + 1):
        on, back = ahead[:, :gap], behind[:, :gap][:, ::-1]
        rate = on[:, None, :] + back[None, :, :]
        found[gap] = np.where(reach <= gap, ((rate - 1) ** 2).sum(axis=2), np.inf)
    return found


def _at_ends(toward: Floats, steps: int) -> Floats:
    """Unevenness from the nearest head to an end, and its water past it, by steps to the end and setting."""
    running = np.cumsum((toward - 1) ** 2, axis=1)
    lost = np.cumsum(toward[:, ::-1], axis=1)[:, ::-1]
    none = np.zeros((len(toward), 1))
    return np.concatenate((none, running), axis=1).T[: steps + 1] + np.concatenate((lost, none), axis=1).T[: steps + 1]
