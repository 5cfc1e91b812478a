"""Which way a manifold faces: the bearing of its header and the side its valves stand on, at the fewest elbows.

The header lies in line with the main that comes in, or square to it, and the valves on either side. Of these ways the
one is taken whose openings turn by the fewest elbows into the pipes of the plan; of equal ones the first, in line
before square and left before right. Where no main comes in the house pipe meets it from any side.
"""

import math
from collections.abc import Sequence
from itertools import product
from typing import Literal

from rillwright.model.fittings import nominal
from rillwright.model.manifold import Facing
from rillwright.model.plan import Pipe
from rillwright.solvers.joining import FLEXIBLE, bends_for
from rillwright.solvers.takeoff.fed import FedZone, size_at

__all__ = ["bearing_at", "face", "mains_at", "turn"]

_Quarters = Literal[-1, 0, 1, 2]


def mains_at(place: str, pipes: Sequence[Pipe]) -> tuple[Pipe | None, tuple[Pipe, ...]]:
    """The main that comes in at a valve place, the widest of several, and those that go on."""
    here = [pipe for pipe in pipes if pipe.role == "main" and place in (pipe.start, pipe.end)]
    ending = [pipe for pipe in here if pipe.end == place]
    coming = max(ending, key=lambda pipe: nominal(pipe.size), default=None)
    return coming, tuple(pipe for pipe in here if pipe is not coming)


def bearing_at(pipe: Pipe, *, at_start: bool) -> float:
    """Direction [rad] in which a pipe leaves one of its ends."""
    here, there = (pipe.path[0], pipe.path[1]) if at_start else (pipe.path[-1], pipe.path[-2])
    return math.atan2(there[1] - here[1], there[0] - here[0])


def turn(first: float, second: float) -> float:
    """Angle [°] by which the way turns from one direction out of a node into another; 0 straight on."""
    return abs(180.0 - abs(math.degrees(math.remainder(second - first, math.tau))))


def face(place: str, zones: Sequence[FedZone], pipes: Sequence[Pipe]) -> Facing:
    """Choose how the manifold of a valve place lies."""
    coming, away = mains_at(place, pipes)
    at_valves = (size_at(pipes, place, zone.id) for zone in zones if zone.place == place)
    laterals = [pipe for pipe in at_valves if pipe is not None]
    turns: tuple[_Quarters, ...] = (0, 1, -1) if coming is not None else (0, 1, -1, 2)
    if coming is not None:
        begin = bearing_at(coming, at_start=False) + math.pi
    else:
        first = next(iter((*away, *laterals)), None)
        begin = 0.0 if first is None else _leaves(first, place)

    def elbows(way: tuple[_Quarters, Literal[1, -1]]) -> int:
        header = begin + way[0] * math.pi / 2
        beside = header + way[1] * math.pi / 2
        met = [] if coming is None else [_elbows(begin, header, coming)]
        met += [_elbows(beside + math.pi if n else header, _leaves(pipe, place), pipe) for n, pipe in enumerate(away)]
        return sum(met) + sum(_elbows(beside, _leaves(pipe, place), pipe) for pipe in laterals)

    sides: tuple[Literal[1, -1], ...] = (1, -1)
    quarter, side = min(product(turns, sides), key=elbows)
    return Facing((begin + quarter * math.pi / 2) % math.tau, side, None if coming is None else quarter)


def _leaves(pipe: Pipe, place: str) -> float:
    return bearing_at(pipe, at_start=pipe.start == place)


def _elbows(one: float, other: float, pipe: Pipe) -> int:
    """How many elbows turn water that flows one way [rad] into another."""
    return len(bends_for(turn(one + math.pi, other), flexible=pipe.material in FLEXIBLE))
