"""Small changes of a zoning: heads moved and exchanged, zones merged and split, valves moved and gathered."""

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.sparse import csr_array
from scipy.sparse.csgraph import minimum_spanning_tree
from scipy.spatial import cKDTree

from rillwright.jobs.zoned import ZoneRoom
from rillwright.solvers.zoning import ZoneGroup

__all__ = ["Change", "Groups", "Neighbourhood", "in_order"]

NEAR_ZONES = 2  # nearest zones of its kind that a head is offered to
NEAR_HEADS = 3  # nearest heads of other zones that a head is exchanged with
NEAR_PLACES = 4  # nearest places that a zone's valve is offered, besides those open
AROUND = 24  # heads round a head among which its near zones and heads are looked for

Groups = tuple[ZoneGroup, ...]
Point = tuple[float, float]


def in_order(groups: Iterable[ZoneGroup]) -> Groups:
    """A zoning in one order, so that equal zonings are equal."""
    return tuple(sorted((ZoneGroup(tuple(sorted(g.heads)), g.place) for g in groups), key=lambda g: g.heads))


@dataclass(frozen=True, slots=True)
class Change:
    """Some zones of a zoning replaced by others with the same heads."""

    old: Groups
    new: Groups

    @property
    def moves_no_head(self) -> bool:
        """Whether the same heads share zones as before, so that only valves move."""
        return [group.heads for group in self.old] == [group.heads for group in self.new]

    def on(self, groups: Groups) -> Groups:
        """The zoning with the change made."""
        gone = frozenset(self.old)
        return in_order((*(group for group in groups if group not in gone), *self.new))


@dataclass(frozen=True)
class Neighbourhood:
    """Lawful changes of a zoning."""

    room: ZoneRoom
    places: tuple[str, ...]  # offered

    def around(self, groups: Groups) -> Iterator[Change]:
        """Every lawful change of a zoning, each once, those that change places first."""
        known: set[Change] = set()
        most = max(self.room.problem.stations, len(groups)) - len(groups)
        for change in self._changes(groups):
            if change not in known and change.old != change.new and len(change.new) - len(change.old) <= most:
                known.add(change)
                yield change

    def rough(self, change: Change, uses: Mapping[str, int]) -> float:
        """What a change adds to the trench [currency] of spanning trees of zones and to places.

        Parameters: uses, how many zones stand at each place before the change.
        """
        problem, after = self.room.problem, Counter(uses)
        after.subtract(group.place for group in change.old)
        after.update(group.place for group in change.new)
        cost = sum(map(self._tree, change.new)) - sum(map(self._tree, change.old))
        opened = 0
        for place, number in after.items():
            step = (number > 0) - (uses.get(place, 0) > 0)
            cost += step * self._far[place]
            opened += step
        return problem.trench_cost * cost + problem.place_cost * opened

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
            self._trees[group] = float(minimum_spanning_tree(csr_array(apart)).sum())
        return self._trees[group]

    def _changes(self, groups: Groups) -> Iterator[Change]:
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

    def _with(self, groups: Groups, changed: dict[int, Sequence[ZoneGroup]]) -> Iterator[Change]:
        """The change of some zones to others, if it is lawful."""
        new = [group for others in changed.values() for group in others]
        if all(group.heads and self._lawful(group.heads, group.place) for group in new):
            yield Change(in_order(groups[i] for i in changed), in_order(new))

    def _whole_places(self, groups: Groups) -> Iterator[Change]:
        """All valves of a place moved to another: a place that moves, or two that become one."""
        for old in sorted({group.place for group in groups}):
            here = {i: group for i, group in enumerate(groups) if group.place == old}
            for new in self.places:
                if new != old:
                    yield from self._with(groups, {i: [ZoneGroup(g.heads, new)] for i, g in here.items()})

    def _valves(self, groups: Groups) -> Iterator[Change]:
        """One valve moved: to a place that is open, or to one near its heads."""
        opened = sorted({group.place for group in groups})
        for i, group in enumerate(groups):
            near = sorted(self.places, key=lambda p: (self._gap(group, self._at[p]), p))[:NEAR_PLACES]
            for place in dict.fromkeys([*opened, *near]):
                if place != group.place:
                    yield from self._with(groups, {i: [ZoneGroup(group.heads, place)]})

    def _merged(self, groups: Groups) -> Iterator[Change]:
        flow = [sum(self._load[head][1] for head in group.heads) for group in groups]
        room = [min(self._load[head][2] for head in group.heads) for group in groups]
        for i, one in enumerate(groups):
            for j, two in enumerate(groups[:i]):
                if flow[i] + flow[j] <= min(room[i], room[j]) and self._kind(one) == self._kind(two):
                    for place in {one.place: 0, two.place: 0}:
                        yield from self._with(groups, {i: [ZoneGroup((*one.heads, *two.heads), place)], j: []})

    def _heads(self, groups: Groups) -> Iterator[Change]:
        """One head moved to a zone near it, or exchanged with a head near it."""
        home = {head: i for i, group in enumerate(groups) for head in group.heads}
        for head, i in sorted(home.items()):
            without = tuple(h for h in groups[i].heads if h != head)
            mates = [mate for mate in self._near[head] if home[mate] != i]
            for j in list(dict.fromkeys(home[mate] for mate in mates))[:NEAR_ZONES]:
                changed = {i: [ZoneGroup(without, groups[i].place)] if without else []}
                yield from self._with(groups, {**changed, j: [ZoneGroup((*groups[j].heads, head), groups[j].place)]})
            for mate in mates[:NEAR_HEADS]:
                j = home[mate]
                if head < mate or head not in self._near[mate]:
                    one = ZoneGroup((*without, mate), groups[i].place)
                    two = ZoneGroup((*(h for h in groups[j].heads if h != mate), head), groups[j].place)
                    yield from self._with(groups, {i: [one], j: [two]})

    @cached_property
    def _near(self) -> dict[str, list[str]]:
        """For each head the others of its kind near it, the nearest first."""
        kinds: dict[str, list[str]] = {}
        for load in self.room.problem.loads:
            kinds.setdefault(load.group, []).append(load.id)
        near: dict[str, list[str]] = {}
        for ids in kinds.values():
            at = np.array([self._load[head][0] for head in ids])
            rows = cKDTree(at).query(at, k=[*range(1, min(AROUND + 1, len(ids)) + 1)])[1]
            for head, row in zip(ids, rows, strict=True):
                ranked = sorted((math.dist(self._load[ids[j]][0], self._load[head][0]), ids[j]) for j in row)
                near[head] = [other for _, other in ranked if other != head]
        return near

    def _split(self, groups: Groups) -> Iterator[Change]:
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
