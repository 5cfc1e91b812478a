"""Small changes of a zoning: heads moved and exchanged, zones merged and split, valves moved and gathered."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.sparse.csgraph import minimum_spanning_tree

from rillwright.jobs.zoned import ZoneRoom
from rillwright.solvers.zoning import ZoneGroup

__all__ = ["Groups", "Neighbourhood", "in_order"]

NEAR_ZONES = 2  # nearest zones of its kind that a head is offered to
NEAR_HEADS = 3  # nearest heads of other zones that a head is exchanged with
NEAR_PLACES = 4  # nearest places that a zone's valve is offered, besides those open

Groups = tuple[ZoneGroup, ...]
Point = tuple[float, float]


def in_order(groups: Sequence[ZoneGroup]) -> Groups:
    """A zoning in one order, so that equal zonings are equal."""
    return tuple(sorted((ZoneGroup(tuple(sorted(g.heads)), g.place) for g in groups), key=lambda g: g.heads))


@dataclass(frozen=True)
class Neighbourhood:
    """Lawful changes of a zoning."""

    room: ZoneRoom
    places: tuple[str, ...]  # offered

    def around(self, groups: Groups) -> Iterator[Groups]:
        """Every lawful zoning one change away, each once, those that change places first."""
        known = {groups}
        for changed in self._changes(groups):
            zoning = in_order(changed)
            if zoning not in known and len(zoning) <= max(self.room.problem.stations, len(groups)):
                known.add(zoning)
                yield zoning

    def rough(self, groups: Groups) -> tuple[float, tuple[tuple[tuple[str, ...], str], ...]]:
        """Rank of a zoning: trench [currency] of spanning trees of its zones and to its places, and the places."""
        problem = self.room.problem
        places = {group.place for group in groups}
        cost = sum(self._tree(group) for group in groups)
        cost += sum(self._far[place] for place in places)
        ids = tuple((group.heads, group.place) for group in groups)
        return problem.trench_cost * cost + problem.place_cost * len(places), ids

    @cached_property
    def _far(self) -> dict[str, float]:
        return {option.id: option.entry_distance for option in self.room.problem.options}

    @cached_property
    def _trees(self) -> dict[ZoneGroup, float]:
        return {}

    def _tree(self, group: ZoneGroup) -> float:
        """Length [m] of the spanning tree of a zone's heads and its place."""
        if group not in self._trees:
            points = np.array([self._at[group.place], *(self._load[head][0] for head in group.heads)])
            apart = np.linalg.norm(points[:, None] - points[None], axis=2)
            self._trees[group] = float(minimum_spanning_tree(apart).sum())
        return self._trees[group]

    def _changes(self, groups: Groups) -> Iterator[Groups]:
        yield from self._whole_places(groups)
        yield from self._valves(groups)
        yield from self._merged(groups)
        yield from self._heads(groups)
        yield from self._split(groups)

    @cached_property
    def _load(self) -> dict[str, tuple[Point, float, float, str]]:
        return {load.id: (load.at, load.flow, load.capacity, load.group) for load in self.room.problem.loads}

    @cached_property
    def _at(self) -> dict[str, Point]:
        return {option.id: option.at for option in self.room.problem.options if option.id in self.places}

    def _lawful(self, heads: Sequence[str], place: str) -> bool:
        """Whether a place may serve the heads and the supply can feed them together."""
        loads = [self._load[head] for head in heads]
        fits = sum(load[1] for load in loads) <= min(load[2] for load in loads)
        whole = all(held.isdisjoint(heads) or held.issubset(heads) for held in self.room.together)
        return fits and whole and self.room.problem.may_serve[place].issuperset(heads)

    def _with(self, groups: Groups, changed: dict[int, Sequence[ZoneGroup]]) -> Iterator[Groups]:
        """The zoning with some zones replaced by others, if it is lawful."""
        new = [group for others in changed.values() for group in others]
        if all(group.heads and self._lawful(group.heads, group.place) for group in new):
            yield (*(group for i, group in enumerate(groups) if i not in changed), *new)

    def _whole_places(self, groups: Groups) -> Iterator[Groups]:
        """All valves of a place moved to another: a place that moves, or two that become one."""
        for old in sorted({group.place for group in groups}):
            here = {i: group for i, group in enumerate(groups) if group.place == old}
            for new in self.places:
                if new != old:
                    yield from self._with(groups, {i: [ZoneGroup(g.heads, new)] for i, g in here.items()})

    def _valves(self, groups: Groups) -> Iterator[Groups]:
        """One valve moved: to a place that is open, or to one near its heads."""
        opened = sorted({group.place for group in groups})
        for i, group in enumerate(groups):
            near = sorted(self.places, key=lambda p: (self._gap(group, self._at[p]), p))[:NEAR_PLACES]
            for place in dict.fromkeys([*opened, *near]):
                if place != group.place:
                    yield from self._with(groups, {i: [ZoneGroup(group.heads, place)]})

    def _merged(self, groups: Groups) -> Iterator[Groups]:
        for i, one in enumerate(groups):
            for j, two in enumerate(groups[:i]):
                if self._kind(one) == self._kind(two):
                    for place in {one.place: 0, two.place: 0}:
                        yield from self._with(groups, {i: [ZoneGroup((*one.heads, *two.heads), place)], j: []})

    def _heads(self, groups: Groups) -> Iterator[Groups]:
        """One head moved to a zone near it, or exchanged with a head near it."""
        home = {head: i for i, group in enumerate(groups) for head in group.heads}
        for head, i in sorted(home.items()):
            at, _, _, kind = self._load[head]
            others = [j for j, group in enumerate(groups) if j != i and self._kind(group) == kind]
            without = tuple(h for h in groups[i].heads if h != head)
            for j in sorted(others, key=lambda j: (self._gap(groups[j], at), j))[:NEAR_ZONES]:
                changed = {i: [ZoneGroup(without, groups[i].place)] if without else []}
                yield from self._with(groups, {**changed, j: [ZoneGroup((*groups[j].heads, head), groups[j].place)]})
            mates = [h for j in others for h in groups[j].heads]
            for mate in sorted(mates, key=lambda h: (math.dist(self._load[h][0], at), h))[:NEAR_HEADS]:
                j = home[mate]
                if head < mate:
                    one = ZoneGroup((*without, mate), groups[i].place)
                    two = ZoneGroup((*(h for h in groups[j].heads if h != mate), head), groups[j].place)
                    yield from self._with(groups, {i: [one], j: [two]})

    def _split(self, groups: Groups) -> Iterator[Groups]:
        """A zone parted between its two heads that lie farthest apart, the second part at the place nearest to it."""
        for i, group in enumerate(groups):
            if len(group.heads) < 2:
                continue
            at = {head: self._load[head][0] for head in group.heads}
            a, b = max(
                ((x, y) for x in group.heads for y in group.heads if x < y), key=lambda p: math.dist(at[p[0]], at[p[1]])
            )
            near_a = tuple(h for h in group.heads if math.dist(at[h], at[a]) <= math.dist(at[h], at[b]))
            rest = tuple(h for h in group.heads if h not in near_a)
            for first, second in ((near_a, rest), (rest, near_a)):
                for place in dict.fromkeys(
                    [group.place, *sorted(self.places, key=lambda p: (self._reach(second, p), p))[:2]]
                ):
                    parts = [ZoneGroup(first, group.place), ZoneGroup(second, place)]
                    yield from self._with(groups, {i: parts})

    def _kind(self, group: ZoneGroup) -> str:
        return self._load[group.heads[0]][3]

    def _gap(self, group: ZoneGroup, at: Point) -> float:
        return min(math.dist(self._load[head][0], at) for head in group.heads)

    def _reach(self, heads: Sequence[str], place: str) -> float:
        return min(math.dist(self._load[head][0], self._at[place]) for head in heads)
