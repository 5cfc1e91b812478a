"""Lawful changes of one zone, or of two: zones split, heads moved, pipes made wider, valve places moved.

None touches what is pinned: a pinned head keeps its zone, pinned zones stay whole, a pinned pipe stays as it is.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from string import ascii_lowercase

from shapely.geometry import LineString, Point

from rillwright.jobs.held_zones import held_together
from rillwright.jobs.matched import rate_bands
from rillwright.jobs.pipework import ENTRY
from rillwright.jobs.replan.job import Job, names
from rillwright.jobs.replan.system import Line, Patch, valve_place
from rillwright.jobs.replan.ways import Way, Ways
from rillwright.model.parts import PipeSize
from rillwright.model.plan import Head, Node, Pipe, ValvePlace
from rillwright.physics.pipes import velocity
from rillwright.physics.units import show

__all__ = ["HEADS_MOVED", "MOVE", "PLACE", "SPLIT", "UPSIZE", "WIDER", "Moves"]

SPLIT, MOVE, UPSIZE, PLACE = "split a zone", "move heads between zones", "a wider pipe", "move a valve"
WIDER = 2  # sizes over its own that a pipe may be replaced by
NEW_SIZES = 2  # sizes offered for new pipe: the least that keeps the velocity, and the next
HEADS_MOVED = 3  # most heads that go to another zone together
NEAR_NODES = 2  # nodes of another zone that moved heads are joined to, the nearest


@dataclass(frozen=True)
class Moves:
    """The changes that a job allows, zone by zone."""

    job: Job

    def all(self) -> Iterator[Patch]:
        """Every change by itself, each of one zone or of two."""
        for line in self.job.base.lines.values():
            for cut in self._splits(line):
                yield from cut
            yield from self._with_wider(_as_it_is(line), line.pipes)
            yield from self._places(line)
            yield from self._moved(line)

    def pairs(self) -> Iterator[Patch]:
        """Two changes of one zone: a lateral made wider where it is split, or another one that follows a wider one.

        Of a split zone one of those that the two zones begin with; of two the second no wider than the first.
        """
        for line in self.job.base.lines.values():
            for split in (cut[0] for cut in self._splits(line)):
                yield from self._with_wider(split, [pipe for own in split.lines.values() for pipe in self._firsts(own)])
            for pipe in line.pipes:
                for size in self._wider_sizes(pipe):
                    one = self._widened(_as_it_is(line), pipe, size)
                    yield from self._with_wider(one, line.from_(pipe.end), most=size.inside_diameter)

    @cached_property
    def _ways(self) -> Ways:
        return Ways(self.job)

    @cached_property
    def _held(self) -> tuple[frozenset[str], ...]:
        return held_together(self.job.base.heads, self.job.case.yard)

    @cached_property
    def _group(self) -> dict[str, tuple[str, str, int]]:
        """Class, hydrozone and rate band by head: heads of one zone share them."""
        heads = self.job.base.heads
        bands = rate_bands(heads, self.job.case.catalogue)
        return {head.id: (head.head_class, head.hydrozone, bands[head.lawn]) for head in heads}

    def _sizes(self, flow: float) -> list[PipeSize]:
        """Sizes offered for a new lateral of a flow [m³/s], the least first."""
        yard, catalogue = self.job.case.yard, self.job.case.catalogue
        material = yard.pipes.laterals[0]
        sizes = sorted((p for p in catalogue.pipes if p.material == material), key=lambda p: p.inside_diameter)
        able = [p for p in sizes if velocity(flow, inside_diameter=p.inside_diameter) <= yard.rules.highest_velocity]
        return able[:NEW_SIZES]

    def _splits(self, line: Line) -> Iterator[list[Patch]]:
        """A zone cut above one of its laterals, for each lateral in all ways: what is beyond gets a valve at the place.

        A way of its own leads to it.
        """
        for edge in line.pipes:
            beyond, far = line.beyond(edge)
            near = tuple(head for head in line.heads if head not in far)
            if not near or not far or any(held & _ids(far) and not held <= _ids(far) for held in self._held):
                continue
            kept = tuple(pipe for pipe in line.pipes if pipe not in beyond)
            if cut := list(self._cut(line, replace(line, heads=near, pipes=kept), edge, beyond, far)):
                yield cut

    def _cut(
        self, line: Line, near: Line, edge: Pipe, beyond: Sequence[Pipe], far: tuple[Head, ...]
    ) -> Iterator[Patch]:
        """A zone cut above one of its laterals, by new pipe of each size offered where that is needed."""
        lines_now = self.job.base.lines
        zone = next(name for letter in ascii_lowercase[1:] if (name := line.zone + letter) not in lines_now)
        own = tuple(pipe.model_copy(update={"zone": zone}) for pipe in beyond)
        words = f"split {line.zone}: {names([h.id for h in far])} on a valve of their own at {line.place}"
        kinds, touched = frozenset({SPLIT}), frozenset({line.zone})
        if edge.start == line.place:
            yield Patch(kinds, words, touched, {line.zone: near, zone: Line(zone, far, line.place, own)})
            return
        way = self._ways.between(line.place, edge.start)
        for size in self._sizes(sum(h.flow for h in far)) if way else ():
            assert way is not None
            new = _pipe(f"{zone}.1", zone, line.place, edge.start, way, size)
            lines = {line.zone: near, zone: Line(zone, far, line.place, (new, *own))}
            said = f"{words}, by new {size.material} {size.trade_size}"
            yield Patch(kinds, said, touched, lines, trenches=way.fresh, within={new.id: way.within})

    def _firsts(self, line: Line) -> Iterator[Pipe]:
        """The laterals of the plan that a zone begins with, behind one that is laid for it."""
        for pipe in line.from_(line.place):
            yield from [pipe] if pipe.id in self.job.pipes else line.from_(pipe.end)

    def _with_wider(self, patch: Patch, pipes: Sequence[Pipe], *, most: float = math.inf) -> Iterator[Patch]:
        """A change with one of some laterals made wider in its trench besides; most, the bore [m] up to which."""
        for pipe in pipes:
            for size in self._wider_sizes(pipe):
                if size.inside_diameter <= most:
                    yield self._widened(patch, pipe, size)

    def _widened(self, patch: Patch, pipe: Pipe, size: PipeSize) -> Patch:
        new = _resized(pipe, size)
        lines = {
            zone: replace(line, pipes=tuple(new if one.id == pipe.id else one for one in line.pipes))
            for zone, line in patch.lines.items()
        }
        words = "; ".join(one for one in (patch.words, f"{pipe.id} in {size.material} {size.trade_size}") if one)
        within = {**patch.within, new.id: self.job.base.within[pipe.id]}
        return replace(patch, kinds=patch.kinds | {UPSIZE}, words=words, lines=lines, within=within)

    def wider_mains(self) -> Iterator[tuple[str, tuple[Pipe, ...], dict[str, tuple[str, ...]]]]:
        """One pipe of the main replaced by a wider one: words, the main, and the trenches that its new pipe lies in."""
        main = self.job.base.main
        for pipe in main:
            for size in self._wider_sizes(pipe):
                new = _resized(pipe, size)
                pipes = tuple(new if one is pipe else one for one in main)
                words = f"{pipe.id} in {size.material} {size.trade_size}"
                yield words, pipes, {new.id: self.job.base.within[pipe.id]}

    def _wider_sizes(self, pipe: Pipe) -> list[PipeSize]:
        if pipe.pin is not None:
            return []
        sizes = [p for p in self.job.case.catalogue.pipes if p.material == pipe.material]
        wider = sorted((p for p in sizes if p.inside_diameter > pipe.bore), key=lambda p: p.inside_diameter)
        return wider[:WIDER]

    def _places(self, line: Line) -> Iterator[Patch]:
        """The valve of a zone moved to a junction of its laterals, the main led on to it."""
        if any(head.pin is not None for head in line.heads):
            return
        heads, base = _ids(line.heads), self.job.base
        soft = [self.job.case.ground.kinds[kind] for kind in ("lawn", "bed")]
        size = base.main[-1] if base.main else None
        for node in dict.fromkeys(pipe.end for pipe in line.pipes):
            at = base.nodes[node].at
            if node in heads or size is None or not any(shape.covers(Point(at)) for shape in soft):
                continue
            way = self._ways.between(line.place, node)
            if way is None:
                continue
            name = f"{line.place}{line.zone}"
            pipes = tuple(_renamed(pipe, node, name) for pipe in _rerooted(line, node))
            main = _new_main(size, f"M{line.zone}", line.place, name, way)
            moved = replace(line, place=name, pipes=pipes)
            spot = Node(id=name, at=at, ground=base.nodes[node].ground)
            place = ValvePlace(
                id=name,
                at=at,
                ground=spot.ground,
                backflow=base.kind,
                backflow_size=base.places[line.place].backflow_size,
                device_height=None,
                highest_outlet=0.0,
                zones=(line.zone,),
            )
            stands = valve_place(place, [moved], base.kind, self.job.case)
            if (stands.device_height or 0.0) > self.job.case.yard.backflow.highest_riser + 1e-6:
                continue
            words = f"the valve of {line.zone} to {node}, at {self._spot(at)}"
            yield Patch(
                frozenset({PLACE}),
                words,
                frozenset({line.zone}),
                {line.zone: moved},
                places={name: place},
                main=(main,),
                nodes={name: spot},
                trenches=way.fresh,
                within={main.id: way.within},
            )

    def _moved(self, line: Line) -> Iterator[Patch]:
        """The last heads of a line joined to another zone."""
        for edge in line.pipes:
            beyond, far = line.beyond(edge)
            near = tuple(head for head in line.heads if head not in far)
            if not near or not far or len(far) > HEADS_MOVED or any(head.pin is not None for head in far):
                continue
            for other in self.job.base.lines.values():
                if other is not line and self._group[other.heads[0].id] == self._group[far[0].id]:
                    kept = replace(line, heads=near, pipes=tuple(p for p in line.pipes if p not in beyond))
                    yield from self._joined(kept, other, edge, beyond, far)

    def _joined(
        self, kept: Line, other: Line, edge: Pipe, beyond: Sequence[Pipe], far: tuple[Head, ...]
    ) -> Iterator[Patch]:
        """Heads joined to the nearest nodes of a zone: where their line was cut, or at its first head or junction."""
        nodes = self.job.base.nodes
        words = f"{names([h.id for h in far])} from {kept.zone} to {other.zone}"
        without = [] if edge.pin is not None else [(edge.end, beyond[1:])]
        for root, pipes in ((edge.start, beyond), *without):
            if root in self.job.base.places:  # the line begins there: it goes to the other valve, if that stands there
                if root == other.place:
                    yield self._led(kept, other, words, far, pipes)
                continue
            at = nodes[root].at
            ends = dict.fromkeys(p.end for p in other.pipes)
            joints = sorted(ends, key=lambda n: (math.dist(nodes[n].at, at), n))[:NEAR_NODES]
            for joint in joints:
                way = self._ways.between(joint, root)
                for size in self._sizes(sum(h.flow for h in far)) if way else ():
                    assert way is not None
                    new = _pipe(f"{other.zone}.{edge.id}", other.zone, joint, root, way, size)
                    own = tuple(pipe.model_copy(update={"zone": other.zone}) for pipe in pipes)
                    joined = replace(other, heads=(*other.heads, *far), pipes=(*other.pipes, new, *own))
                    if len({pipe.end for pipe in joined.pipes}) < len(joined.pipes):
                        continue  # a node of this name is in both
                    yield Patch(
                        frozenset({MOVE}),
                        words,
                        frozenset({kept.zone, other.zone}),
                        {kept.zone: kept, other.zone: joined},
                        trenches=way.fresh,
                        within={new.id: way.within},
                    )

    @staticmethod
    def _led(kept: Line, other: Line, words: str, far: tuple[Head, ...], pipes: Sequence[Pipe]) -> Patch:
        """A whole line from a valve place put on another valve there."""
        own = tuple(pipe.model_copy(update={"zone": other.zone}) for pipe in pipes)
        joined = replace(other, heads=(*other.heads, *far), pipes=(*other.pipes, *own))
        zones = frozenset({kept.zone, other.zone})
        return Patch(frozenset({MOVE}), words, zones, {kept.zone: kept, other.zone: joined})

    def _spot(self, at: tuple[float, float]) -> str:
        across, up = (show(value, "length", self.job.case.yard.units) for value in at)
        return f"({across}, {up})"


def _as_it_is(line: Line) -> Patch:
    return Patch(frozenset(), "", frozenset({line.zone}), {line.zone: line})


def _ids(heads: Sequence[Head]) -> frozenset[str]:
    return frozenset(head.id for head in heads)


def _pipe(name: str, zone: str, start: str, end: str, way: Way, size: PipeSize) -> Pipe:
    """A new lateral."""
    return Pipe(
        id=name,
        role="lateral",
        zone=zone,
        start=start,
        end=end,
        path=way.path,
        length=LineString(way.path).length,
        material=size.material,
        size=size.trade_size,
        bore=size.inside_diameter,
        flow=0.0,
        velocity=0.0,
        loss=0.0,
    )


def _resized(pipe: Pipe, size: PipeSize) -> Pipe:
    name = f"{pipe.id} wide" if pipe.start != ENTRY else f"{pipe.id}w"
    return pipe.model_copy(update={"id": name, "size": size.trade_size, "bore": size.inside_diameter})


def _new_main(like: Pipe, name: str, start: str, end: str, way: Way) -> Pipe:
    """A main led on, of the material and size that the main ends in."""
    length = LineString(way.path).length
    return like.model_copy(
        update={"id": name, "start": start, "end": end, "path": way.path, "length": length, "pin": None}
    )


def _rerooted(line: Line, node: str) -> list[Pipe]:
    """The laterals run away from another node of theirs."""
    turned = {pipe.id for pipe in line.way(node)}
    return [
        pipe.model_copy(update={"start": pipe.end, "end": pipe.start, "path": pipe.path[::-1]})
        if pipe.id in turned
        else pipe
        for pipe in line.pipes
    ]


def _renamed(pipe: Pipe, old: str, new: str) -> Pipe:
    ends = {side: new for side in ("start", "end") if getattr(pipe, side) == old}
    return pipe.model_copy(update=ends) if ends else pipe
