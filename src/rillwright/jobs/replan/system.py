"""A system as a change sees it: zones with their laterals, valve places, the main, and the trenches all lie in.

A pipe that keeps its id and size through a change is the same pipe in the ground. What a change lays new has a new id.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache

from rillwright.jobs.case import Case
from rillwright.jobs.pipework import ENTRY, Pipework
from rillwright.jobs.settle import ZoneSolver
from rillwright.model.plan import Head, Node, Pipe, Plan, Trench, ValvePlace
from rillwright.model.site import BackflowKind
from rillwright.model.terrain import Terrain
from rillwright.solvers.places import PlaceOption, device_height, outlet_level, raised_over

__all__ = ["Line", "Patch", "System", "patched", "solver_of", "system_of", "valve_place", "work_of"]

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Line:
    """One zone: its heads, the place of its valve and its laterals, which run away from there."""

    zone: str
    heads: tuple[Head, ...]
    place: str
    pipes: tuple[Pipe, ...]

    @property
    def flow(self) -> float:
        """Flow [m³/s] that its heads are laid out for."""
        return sum(head.flow for head in self.heads)

    def into(self, node: str) -> Pipe | None:
        """The lateral that ends at a node."""
        return next((pipe for pipe in self.pipes if pipe.end == node), None)

    def from_(self, node: str) -> list[Pipe]:
        """The laterals that begin at a node."""
        return [pipe for pipe in self.pipes if pipe.start == node]

    def beyond(self, pipe: Pipe) -> tuple[tuple[Pipe, ...], tuple[Head, ...]]:
        """A lateral with all that it feeds: laterals, itself first, and heads."""
        found, stack = [pipe], [pipe.end]
        while stack:
            further = self.from_(stack.pop())
            found += further
            stack += [one.end for one in further]
        ends = {one.end for one in found}
        return tuple(found), tuple(head for head in self.heads if head.id in ends)

    def way(self, node: str) -> list[Pipe]:
        """The laterals from the valve place to a node, in the order of the water."""
        steps: list[Pipe] = []
        while (pipe := self.into(node)) is not None:
            steps.append(pipe)
            node = pipe.start
        return steps[::-1]


@dataclass(frozen=True)
class System:
    """All zones, and what they share."""

    kind: BackflowKind
    lines: Mapping[str, Line]
    places: Mapping[str, ValvePlace]  # their `zones` are those of the first plan: `lines` hold what is so now
    main: tuple[Pipe, ...]
    nodes: Mapping[str, Node]
    trenches: Mapping[str, Trench]
    within: Mapping[str, tuple[str, ...]]  # the trenches that each pipe lies in
    old: Mapping[str, str] = field(default_factory=dict)  # trenches that stand for the ground over a pipe from before

    @property
    def pipes(self) -> tuple[Pipe, ...]:
        """Main and laterals."""
        return (*self.main, *(pipe for line in self.lines.values() for pipe in line.pipes))

    @property
    def heads(self) -> tuple[Head, ...]:
        """The heads of all zones, as they are laid out."""
        return tuple(head for line in self.lines.values() for head in line.heads)


@dataclass(frozen=True)
class Patch:
    """A change of some zones; what it does not name stays."""

    kinds: frozenset[str]  # of move, in the words that the owner reads
    words: str  # what is done
    zones: frozenset[str]  # of the first plan, that it touches: no other patch may touch them
    lines: Mapping[str, Line]
    places: Mapping[str, ValvePlace] = field(default_factory=dict)
    main: tuple[Pipe, ...] = ()  # added to the main
    nodes: Mapping[str, Node] = field(default_factory=dict)
    trenches: Mapping[str, Trench] = field(default_factory=dict)  # dug for it
    within: Mapping[str, tuple[str, ...]] = field(default_factory=dict)  # of its new pipes
    screws: tuple[str, ...] = ()  # heads whose throw is set anew by its screw


def system_of(plan: Plan) -> System:
    """The system of a plan, its heads laid out for the pressures that the plan found."""
    heads = {head.id: head for head in plan.heads}
    lines = {
        zone.id: Line(
            zone.id,
            tuple(heads[name] for name in zone.heads),
            zone.place,
            tuple(pipe for pipe in plan.pipes if pipe.zone == zone.id),
        )
        for zone in plan.zones
    }
    assert plan.backflow is not None
    return System(
        plan.backflow,
        lines,
        {place.id: place for place in plan.places},
        tuple(pipe for pipe in plan.pipes if pipe.role == "main"),
        {node.id: node for node in plan.nodes},
        {trench.id: trench for trench in plan.trenches},
        {pipe.id: tuple(t.id for t in plan.trenches if pipe.id in t.pipes) for pipe in plan.pipes},
    )


def patched(base: System, patches: Sequence[Patch], case: Case) -> System:
    """The system with patches on it, its devices as high as what they serve then asks for."""
    lines, places, nodes = dict(base.lines), dict(base.places), dict(base.nodes)
    trenches, within, main = dict(base.trenches), dict(base.within), base.main
    for patch in patches:
        lines |= patch.lines
        places |= patch.places
        nodes |= patch.nodes
        trenches |= patch.trenches
        within |= patch.within
        main += patch.main
    used = {line.place for line in lines.values()}
    homes: dict[str, ValvePlace] = {}
    for name in (name for name in places if name in used):
        own = [line for line in lines.values() if line.place == name]
        if name in base.places and all(base.lines.get(line.zone) is line for line in own):
            known = [line.zone for line in own] == list(base.places[name].zones)
            homes[name] = places[name] if known else places[name].model_copy(update={"zones": _names(own)})
            continue
        homes[name] = valve_place(places[name], own, base.kind, case)
    lies: dict[str, list[str]] = {name: [] for name in trenches}
    now = replace(base, lines=lines, places=homes, main=main, nodes=nodes, within=within)
    for pipe in now.pipes:
        for name in within[pipe.id]:
            lies[name].append(pipe.id)
    held = {
        name: trench if list(trench.pipes) == lies[name] else trench.model_copy(update={"pipes": tuple(lies[name])})
        for name, trench in trenches.items()
        if lies[name]
    }
    return replace(now, trenches=held)


def valve_place(place: ValvePlace, lines: Sequence[Line], kind: BackflowKind, case: Case) -> ValvePlace:
    """A valve place with the zones that stand there, its device as high as their heads and pipes ask for."""
    yard, device = case.yard, case.catalogue.backflow[kind]
    heads = [head for line in lines for head in line.heads]
    spot = PlaceOption(place.id, place.at, place.ground, 0.0, place.ground + yard.backflow.highest_riser)
    there = place.model_copy(
        update={
            "zones": _names(lines),
            "device_height": device_height(spot, heads, device=device, yard=yard),
            "highest_outlet": max(outlet_level(head, yard) for head in heads),
        }
    )
    crest = max((_crest(pipe.path, case.ground.terrain) for line in lines for pipe in line.pipes), default=-math.inf)
    return raised_over(there, crest - yard.rules.trench_depth, device=device)


@lru_cache(maxsize=10_000)
def _crest(path: tuple[Point, ...], terrain: Terrain) -> float:
    """Highest ground [m] over a pipe."""
    return float(terrain.along(path).max())


def work_of(system: System) -> Pipework:
    """The system's pipes, as the rest of the program takes them: nobody digs where only pipe from before lies."""
    reached = {node for pipe in system.pipes for node in (pipe.start, pipe.end)} | {ENTRY}
    nodes = tuple(node for name, node in system.nodes.items() if name in reached)
    dug = (t for name, t in system.trenches.items() if name not in system.old or t.pipes != (system.old[name],))
    return Pipework(nodes, system.pipes, tuple(dug), ())


def solver_of(system: System, case: Case, zones: Sequence[str]) -> ZoneSolver:
    """What solves some of its zones."""
    own = {name: system.lines[name] for name in zones}
    pipes = (*system.main, *(pipe for line in own.values() for pipe in line.pipes))
    work = Pipework(tuple(system.nodes.values()), pipes, (), ())
    used = {line.place for line in own.values()}
    places = tuple(
        place.model_copy(update={"zones": tuple(z for z, line in own.items() if line.place == name)})
        for name, place in system.places.items()
        if name in used
    )
    return ZoneSolver({name: line.heads for name, line in own.items()}, places, work, case)


def _names(lines: Sequence[Line]) -> tuple[str, ...]:
    return tuple(line.zone for line in lines)
