"""Which ends of a zone stand open at once, so that the supply there is washes every run of its laterals.

Statement. An open end is the riser of a head with the head off: q = A sqrt(2 p / rho), the jet taking one velocity
head of its bore, at the level of the ground. For a set S of open ends the network gives the velocity v(r, S) of every
run r; S washes r when v >= FLUSH_VELOCITY. Wanted is the least number of sets that hold every end, such that each
set washes all runs on the ways to its ends that any of these ends alone would wash. A further end slows the runs of
the others, and hastens those they share; so an end whose own last run even alone is not washed stays alone.

Ends are taken from the nearest to the farthest, each put to the first set that then washes no run less, and sets are
opened by their farthest ends: near the least, not proven. The bound: a set passes no more than all ends open together,
Q, and an end's own last run needs its area times FLUSH_VELOCITY, so no fewer than the sum of those over Q sets do,
besides the ends that stay alone. Runs too wide for any one end are tried with all ends open, which is then the first
step. No seed; for n ends at most n (n + 1) / 2 + 1 network solves.
"""

import math
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass

from rillwright.model.flushing import FLUSH_VELOCITY
from rillwright.model.plan import Pipe
from rillwright.physics.pipes import area, velocity

__all__ = ["Opened", "Order", "open_in_turn", "ways_to_ends"]

Solve = Callable[[Collection[str]], tuple[float, Mapping[str, float]]]  # open ends -> flow, flow of each pipe


@dataclass(frozen=True, slots=True)
class Opened:
    """Ends that stand open together."""

    ends: tuple[str, ...]
    flow: float  # [m³/s]
    velocity: Mapping[str, float]  # [m/s] of the runs on the ways to them

    def slow(self) -> set[str]:
        """Runs that it does not wash."""
        return {run for run, speed in self.velocity.items() if speed < FLUSH_VELOCITY}


@dataclass(frozen=True, slots=True)
class Order:
    """The steps of one line."""

    steps: tuple[Opened, ...]
    fewest: int  # steps that no order can beat


def ways_to_ends(laterals: Sequence[Pipe]) -> dict[str, tuple[Pipe, ...]]:
    """Runs from the valve to each end of a tree of laterals, nearest end first."""
    into = {pipe.end: pipe for pipe in laterals}
    found: dict[str, tuple[Pipe, ...]] = {}
    for end in into.keys() - {pipe.start for pipe in laterals}:
        way = [into[end]]
        while way[-1].start in into:
            way.append(into[way[-1].start])
        found[end] = tuple(reversed(way))
    return dict(sorted(found.items(), key=lambda item: (sum(pipe.length for pipe in item[1]), item[0])))


def open_in_turn(ways: Mapping[str, Sequence[Pipe]], solve: Solve) -> Order:
    """Find the steps. Parameters: ways, as ways_to_ends gives them; solve, the network with some ends open."""

    def opened(ends: Sequence[str]) -> Opened:
        flow, flows = solve(ends)
        runs = {pipe.id: pipe for end in ends for pipe in ways[end]}
        return Opened(tuple(ends), flow, {i: velocity(flows[i], inside_diameter=p.bore) for i, p in runs.items()})

    alone = {end: opened([end]) for end in ways}
    sets: list[Opened] = []
    weak = [end for end in ways if ways[end][-1].id in alone[end].slow()]
    for end in ways:
        if end not in weak:
            _put(sets, alone[end], opened)
    place = {end: number for number, end in enumerate(ways)}
    steps = sorted([*sets, *(alone[end] for end in weak)], key=lambda step: max(place[end] for end in step.ends))
    together = opened(list(ways))
    never = set.intersection(*({*together.velocity} - _washed(step) for step in steps))
    if never - together.slow():
        steps = [together, *steps]
    needs = sum(FLUSH_VELOCITY * area(way[-1].bore) for end, way in ways.items() if end not in weak)
    return Order(tuple(steps), len(weak) + math.ceil(needs / together.flow - 1e-9) if needs else len(weak))


def _put(sets: list[Opened], one: Opened, opened: Callable[[Sequence[str]], Opened]) -> None:
    """Put an end to the first set that washes no run less with it, or make it a set of its own."""
    for number, before in enumerate(sets):
        trial = opened([*before.ends, *one.ends])
        if trial.slow() <= before.slow() | one.slow():
            sets[number] = trial
            return
    sets.append(one)


def _washed(step: Opened) -> set[str]:
    return {*step.velocity} - step.slow()
