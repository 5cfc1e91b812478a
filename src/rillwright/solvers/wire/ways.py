"""The way of every strand: from the controller to the water entry, then along the main by the shorter way."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from rillwright.model.plan import Pipe, ValvePlace
from rillwright.solvers.mains import nearest_ways, root_of

__all__ = ["CONTROLLER", "LOOP", "Stretch", "Ways", "find_ways"]

CONTROLLER = "controller"
LOOP = 1.0  # [m] of each strand left in a box for splicing; common practice, no source

Point = tuple[float, float]  # [m]


class Stretch(NamedTuple):
    """Strands side by side from a node to the next."""

    start: str
    end: str
    length: float  # [m]
    zones: tuple[str, ...]  # whose strands pass


@dataclass(frozen=True, slots=True)
class Ways:
    """Runs of wire, and the runs on the way to each valve place, from the controller on."""

    runs: tuple[Stretch, ...]
    to: Mapping[str, tuple[int, ...]]  # by place, numbers of runs

    def length(self, place: str) -> float:
        """Length [m] of a strand to a place, its loop there included."""
        return sum(self.runs[number].length for number in self.to[place]) + LOOP

    def shared(self, one: str, two: str) -> float:
        """Length [m] that the strands to two places lie side by side; within one place with the loop there."""
        both = sum(self.runs[number].length for number in set(self.to[one]) & set(self.to[two]))
        return both + (LOOP if one == two else 0.0)


def find_ways(*, controller: Point | None, entry: Point, mains: Sequence[Pipe], places: Sequence[ValvePlace]) -> Ways:
    """Lay the wire beside the main; where no controller place is given it starts at the water entry."""
    beside = nearest_ways(mains, root_of(mains)) if mains else {}
    root = root_of(mains) if mains else places[0].id
    steps: list[tuple[str, str, float]] = []
    index: dict[str, int] = {}
    to: dict[str, tuple[int, ...]] = {}
    lead: tuple[int, ...] = ()
    if controller is not None:
        steps.append((CONTROLLER, root, math.dist(controller, entry)))
        lead = (0,)
    for place in places:
        node, back = place.id, []
        while node in beside:
            run = beside[node]
            before = run.start if run.end == node else run.end
            if node not in index:
                index[node] = len(steps)
                steps.append((before, node, run.length))
            back.append(index[node])
            node = before
        to[place.id] = (*lead, *reversed(back))
    passing: dict[int, list[str]] = {number: [] for number in range(len(steps))}
    for place in places:
        for number in to[place.id]:
            passing[number] += place.zones
    runs = (Stretch(start, end, length, tuple(passing[number])) for number, (start, end, length) in enumerate(steps))
    return Ways(tuple(runs), to)
