"""Which way a head throws: rays over the surfaces round it, and the sector that waters most lawn for least harm."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rillwright.solvers.coverage.grid import BED, BUILDING, LAWN, OFF_SITE, OTHER_LAWN, PAVING, TRUNK, Surfaces
from rillwright.solvers.coverage.kit import Family, Kit, Throw

__all__ = ["STEP", "Fan", "Stand", "best_stand", "look_round"]

Floats = NDArray[np.float64]

STEP = 2  # [°] between rays; arcs and their ends are whole steps
_RAYS = 360 // STEP
_SAMPLES = 48

_WORTH = np.zeros(7)
_WORTH[LAWN], _WORTH[OTHER_LAWN], _WORTH[BED], _WORTH[OFF_SITE] = 1.0, -0.25, -0.7, -1.6
_WORTH[PAVING], _WORTH[BUILDING], _WORTH[TRUNK] = -1.6, -60.0, 0.0

_RADIUS_CARE = 1.5  # cost of a radius off the wanted one, per square of the logarithm
_FLOW_CARE = 0.25  # cost of a flow off the matched one, per logarithm


@dataclass(frozen=True, slots=True)
class Stand:
    """A head on trial: where it stands and how it is set."""

    at: tuple[float, float]  # [m]
    throw: Throw
    arc_start: float  # [°]
    arc: float  # [°]; 0 for a strip pattern
    wanted: float = 0.0  # [m] radius it should reach here
    pinned: bool = False  # in a corner, to stay there


@dataclass(frozen=True, slots=True)
class Fan:
    """Worth of the ground in every direction from a point, summed outward."""

    first: float  # [°] direction of the first ray's left border
    reach: float  # [m] of the last sample
    worth: Floats  # (rays, samples) [m²/rad] worth from the point to each sample
    surface: NDArray[np.uint8]  # (rays, samples) what lies there

    def within(self, radius: float) -> Floats:
        """Worth of each ray [m²/rad] out to a radius [m]."""
        place = min(radius / self.reach, 1.0) * _SAMPLES - 0.5
        low = min(max(int(place), 0), _SAMPLES - 2)
        share = min(max(place - low, 0.0), 1.0)
        return np.asarray(self.worth[:, low] * (1 - share) + self.worth[:, low + 1] * share)

    def clear(self) -> Floats:
        """Distance [m] over which each ray stays on the lawn."""
        off = self.surface != LAWN
        off[:, 0] = False  # the first sample may lie on the head's own edge
        first = np.where(off.any(axis=1), off.argmax(axis=1), _SAMPLES)
        return np.asarray(first * (self.reach / _SAMPLES))


def look_round(at: tuple[float, float], surfaces: Surfaces, *, reach: float, along: float) -> Fan:
    """Look along rays from a point.

    Parameters: at [m]; reach [m]; along [°], a direction that sectors should be able to start at exactly, such as
    that of the nearest edge. Whatever lies behind a building counts as the building, behind a trunk as the trunk.
    """
    angle = np.radians(along + STEP * (np.arange(_RAYS) + 0.5))
    distance = reach * (np.arange(_SAMPLES) + 0.5) / _SAMPLES
    code = surfaces.at(
        at[0] + np.cos(angle)[:, None] * distance,
        at[1] + np.sin(angle)[:, None] * distance,
    )
    for stopper in (TRUNK, BUILDING):
        hit = code == stopper
        if hit.any():
            code[np.logical_or.accumulate(hit, axis=1)] = stopper
    worth = np.cumsum(_WORTH[code] * (distance * (reach / _SAMPLES)), axis=1)
    return Fan(along, reach, worth, code)


def best_stand(
    at: tuple[float, float], fan: Fan, *, kit: Kit, family: Family, wanted: float, throws: tuple[Throw, ...]
) -> Stand | None:
    """Choose throw and sector for a head at a point.

    Parameters: fan, from look_round; family, whose precipitation it should match; wanted [m], radius it should reach
    to meet its neighbours; throws to choose among.
    Returns: the stand; None when no setting waters more lawn than it wastes.
    """
    best: tuple[Stand, float] | None = None
    for throw in throws:
        sums = _window_sums(fan.within(throw.radius), kit.arcs(throw.nozzle, step=STEP))
        for steps, start, worth in sums:
            arc = float(steps * STEP)
            off_flow = math.log(kit.flow(throw, arc) / family.wanted_flow(arc, wanted))
            care = _RADIUS_CARE * math.log(throw.radius / wanted) ** 2 + _FLOW_CARE * abs(off_flow)
            value = worth / (math.pi * wanted**2) - care * arc / 360
            if value > 0 and (best is None or value > best[1] + 1e-12):
                best = Stand(at, throw, (fan.first + start * STEP) % 360, arc, wanted), value
    return None if best is None else best[0]


def _window_sums(worth: Floats, arcs: tuple[int, ...]) -> list[tuple[int, int, float]]:
    """Best start of each arc: (arc in steps, start in steps, worth [m²])."""
    running = np.concatenate(([0.0], np.cumsum(np.concatenate((worth, worth))))) * math.radians(STEP)
    length = np.asarray(arcs)
    sums = running[np.arange(_RAYS) + length[:, None]] - running[:_RAYS]
    start = sums.argmax(axis=1)
    start[length == _RAYS] = 0
    value = sums[np.arange(len(length)), start]
    if len(arcs) > 24:  # settable arcs: keep the best few, each then judged by its flow
        keep = np.unique(np.concatenate((np.argsort(-value, kind="stable")[:6], [len(arcs) - 1])))
        length, start, value = length[keep], start[keep], value[keep]
    return [(int(a), int(s), float(v)) for a, s, v in zip(length, start, value, strict=True)]
