"""Which zones and places of a choice may be part of a cheaper one, by the prices of its linear programme.

A choice costs the programme's value and the reduced costs of all that it takes. So what costs more by itself than the
difference between a known choice and that value is in no cheaper one.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog
from scipy.sparse import coo_array, hstack

__all__ = ["promising"]

Zone = tuple[int, ...]

_SPARE = 1e-7  # share of the known cost that rounding may take


def promising(
    links: Sequence[tuple[Zone, int]],
    cost: NDArray[np.float64],
    opening: dict[int, float],
    groups: Sequence[Sequence[int]],
    counts: Sequence[int],
    known: float,
) -> NDArray[np.int64]:
    """Numbers of the links that a choice cheaper than a known one may take; none when there is no cheaper one.

    Parameters: links, zones with a place each; cost of each [currency]; opening [currency] of each place; groups, heads
    by group, of which counts[g] zones are chosen; known [currency], cost of a choice from the links.
    """
    place = {p: k for k, p in enumerate(opening)}
    group = {h: g for g, members in enumerate(groups) for h in members}
    heads, places, number = len(group), len(place), len(links)
    column = np.repeat(np.arange(number), [len(zone) for zone, _ in links])
    head = np.array([h for zone, _ in links for h in zone])
    at = np.array([place[p] for _, p in links])
    first = np.array([group[zone[0]] for zone, _ in links])
    once = (np.concatenate((head, heads + first)), np.concatenate((column, np.arange(number))))
    exact = coo_array((np.ones(len(head) + number), once), shape=(heads + len(groups), number + places))
    used = coo_array((np.ones(len(head)), (head * places + at[column], column)), shape=(heads * places, number))
    row = np.arange(heads * places)
    shut = coo_array((-np.ones(len(row)), (row, row % places)), shape=(len(row), places))
    found = linprog(
        np.concatenate((cost, list(opening.values()))),
        A_ub=hstack((used, shut)).tocsr(),
        b_ub=np.zeros(len(row)),
        A_eq=exact.tocsr(),
        b_eq=np.concatenate((np.ones(heads), counts)),
        method="highs-ds",
    )
    if found.status != 0:
        return np.arange(number)
    gap, spare = known - float(found.fun), _SPARE * known
    reduced = np.asarray(found.lower.marginals)[:number]
    return np.flatnonzero(reduced <= gap + spare) if gap > spare else np.zeros(0, dtype=np.int64)
