"""Runs of pipe between their fittings: where they bend, where they are cut, and the pieces that are laid."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from rillwright.model.plan import Pipe, Point
from rillwright.model.site import PipeMaterial
from rillwright.solvers.cutting import split_runs
from rillwright.solvers.joining import FLEXIBLE, Assembly, Joiner, bends_for
from rillwright.solvers.takeoff.arms import pipe_arm

__all__ = ["LaidRun", "lay_runs"]

JOT = 1e-3  # [m] under which a stretch is no piece of pipe


@dataclass(frozen=True, slots=True)
class LaidRun:
    """A run of one pipe, or of several that a saddle leaves in one piece, with what is put on it."""

    pipes: tuple[Pipe, ...]
    pieces: tuple[int, ...]  # [mm]
    bends: tuple[Assembly, ...]
    couplings: tuple[Assembly, ...]
    short: float  # [m] that the run is too short for its fittings; 0 where they fit


def lay_runs(
    pipes: Sequence[Pipe],
    backs: Mapping[tuple[str, bool], float],
    uncut: Mapping[str, str],
    *,
    longest: Mapping[PipeMaterial, float],
    joiner: Joiner,
) -> list[LaidRun]:
    """Cut pipes into the pieces that are laid.

    Parameters: backs, how far [m] from its node each end stops, by pipe id and whether it is the start; uncut, for a
    pipe the one that goes on from its end in one piece; longest stock [m] by material.
    """
    by_id = {pipe.id: pipe for pipe in pipes}
    goes_on = set(uncut.values())
    found = []
    for pipe in pipes:
        if pipe.id in goes_on:
            continue
        whole = [pipe]
        while whole[-1].id in uncut:
            whole.append(by_id[uncut[whole[-1].id]])
        start, end = backs.get((pipe.id, True), 0.0), backs.get((whole[-1].id, False), 0.0)
        found.append(_laid(whole, start, end, longest[pipe.material], joiner))
    return found


def _laid(whole: Sequence[Pipe], start: float, end: float, longest: float, joiner: Joiner) -> LaidRun:
    pipe = whole[0]
    piece = (pipe.material, pipe.size)
    stretches, bends = [0.0], []
    for one in whole:
        corners = _corners(one)
        for before, here, after in zip(corners, corners[1:], corners[2:], strict=False):
            stretches[-1] += math.dist(before, here)
            elbows = bends_for(_angle(before, here, after), flexible=pipe.material in FLEXIBLE)
            if elbows:
                bend = joiner.join((pipe_arm(piece), pipe_arm(piece, elbows)), row=piece)
                bends.append(bend)
                stretches[-1] -= bend.setbacks[0]
                stretches.append(-bend.setbacks[1])
        last = math.dist(*corners[-2:])
        # a routed length may hold a rise that the path on the ground does not show
        stretches[-1] += last + (one.length - math.fsum(math.dist(a, b) for a, b in pairwise(corners)))
    if sum(one.length for one in whole) <= JOT:
        return LaidRun(tuple(whole), (), tuple(bends), (), 0.0)
    stretches[0] -= start
    stretches[-1] -= end
    short = -min(0.0, *stretches)
    split = split_runs([stretch for stretch in stretches if stretch > JOT], longest)
    joined = joiner.join((pipe_arm(piece), pipe_arm(piece)), row=piece)
    couplings = (joined,) * sum(len(pieces) - 1 for pieces in split)
    return LaidRun(tuple(whole), tuple(p for pieces in split for p in pieces), tuple(bends), couplings, short)


def _corners(pipe: Pipe) -> list[Point]:
    """Give the path without points that repeat the one before; at least its first and last."""
    corners = [at for k, at in enumerate(pipe.path) if k == 0 or math.dist(at, pipe.path[k - 1]) > 1e-6]
    return corners if len(corners) > 1 else [pipe.path[0], pipe.path[-1]]


def _angle(before: Point, here: Point, after: Point) -> float:
    """Angle [°] by which the way turns at a corner; 0 straight on."""
    (ax, ay), (bx, by) = ((end[0] - start[0], end[1] - start[1]) for start, end in pairwise((before, here, after)))
    return abs(math.degrees(math.atan2(ax * by - ay * bx, ax * bx + ay * by)))
