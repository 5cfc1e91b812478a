"""Compact zones carved off one side of a group, one after another."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from rillwright.solvers.zoning.choices import choices
from rillwright.solvers.zoning.count import pack
from rillwright.solvers.zoning.task import ZoneTask

__all__ = ["carve"]

Zone = tuple[int, ...]

_NEAR = 11  # heads nearest to the farthest one, of which a zone may be made


def carve(task: ZoneTask, packing: Sequence[Zone], xy: NDArray[np.float64], towards: tuple[float, float]) -> list[Zone]:
    """Carve compact zones off one side of a group, each time making sure that the rest still fits the zones left."""
    left = sorted(h for zone in packing for h in zone)
    rest = list(packing)
    zones: list[Zone] = []
    while len(rest) > 1:
        for zone in _compact_ends(task, left, len(rest), xy, towards):
            others = [h for h in left if h not in zone]
            packed = pack(task, others, most=len(rest) - 1, tries=3) if others else []
            if len(packed) == len(rest) - 1:
                zones.append(zone)
                left, rest = others, packed
                break
        else:
            break
    return zones + rest


def _compact_ends(
    task: ZoneTask, left: list[int], count: int, xy: NDArray[np.float64], towards: tuple[float, float]
) -> list[Zone]:
    """A few compact and well-filled zones about the farthest head on one side, best first."""
    seed = max(left, key=lambda h: (float(xy[h] @ np.array(towards)), -h))
    near = sorted(left, key=lambda h: (float(np.linalg.norm(xy[h] - xy[seed])), h))[1 : _NEAR + 1]
    allowed, spread = choices(task, near, [seed], list(range(len(task.opening))), xy)
    flows = np.zeros(1)
    rooms = np.full(1, float(task.capacity[seed]))
    for h in near:
        flows = np.concatenate([flows, flows + task.flow[h]])
        rooms = np.concatenate([rooms, np.minimum(rooms, task.capacity[h])])
    flows += task.flow[seed]
    need = sum(task.flow[h] for h in left) / count
    zones = []
    for share in (0.97, 1.0, 0.0):
        good = np.flatnonzero(allowed & ((flows >= share * need) | (flows >= 0.998 * rooms)))
        for choice in good[np.argsort(spread[good], kind="stable")[:3]]:
            zones.append(tuple(sorted([seed, *(h for k, h in enumerate(near) if choice >> k & 1)])))
    return list(dict.fromkeys(zones))
