"""Heads and places to be zoned, every partition of a few by brute force, and the laws of a zoning. All invented."""

import itertools
import math
import random
from dataclasses import replace

from rillwright.solvers.places import PlaceOption
from rillwright.solvers.zoning import HeadLoad, ZoneProblem, make_zones
from rillwright.solvers.zoning.task import zone_task

PRICES = {"place_cost": 60.0, "zone_cost": 100.0, "trench_cost": 8.0}


def load(name, at=(0.0, 0.0), *, flow=1.0, capacity=4.0, group="a", level=0.1):
    return HeadLoad(id=name, at=at, level=level, flow=flow * 1e-4, capacity=capacity * 1e-4, group=group)


def option(name, at=(0.0, 0.0), *, highest=1.2):
    return PlaceOption(id=name, at=at, ground=0.0, entry_distance=math.dist(at, (0, 0)), highest_level=highest)


def anywhere(loads, options):
    return {o.id: frozenset(h.id for h in loads) for o in options}


def by_height(loads, options, clearance):
    return {o.id: frozenset(h.id for h in loads if h.level + clearance <= o.highest_level) for o in options}


def random_case(seed, heads, *, places=4, fill=0.9, per_zone=4, groups=1, vary=0.0, discrete=False, legal=1.0):
    r = random.Random(seed)
    side = 4.5 * math.sqrt(heads)
    flows = [r.choice((0.25, 0.5, 0.75, 1.0)) if discrete else r.uniform(0.4, 1.6) for _ in range(heads)]
    capacity = max(sum(flows) / math.ceil(heads / per_zone) / fill, max(flows))
    loads = [
        load(
            f"H{i}",
            (r.uniform(0, side), r.uniform(0, side)),
            flow=flow,
            capacity=capacity * (1 + vary * r.random()),
            group=f"g{i % groups}",
        )
        for i, flow in enumerate(flows)
    ]
    options = [option(f"P{j}", (r.uniform(0, side), r.uniform(0, side))) for j in range(places)]
    may = {o.id: frozenset(h.id for h in loads if r.random() < legal) for o in options}
    may[options[0].id] |= frozenset(h.id for h in loads) - frozenset().union(*may.values())
    return loads, options, may


def problem_of(loads, options, may, *, stations=20, **terms):
    return ZoneProblem(tuple(loads), tuple(options), may, stations=stations, **{**PRICES, **terms})


def zoned(loads, options, may, *, stations=20, watch=None, **terms):
    return make_zones(problem_of(loads, options, may, stations=stations, **terms), watch=watch)


def partitions(items):
    """Every way to part a list into sets."""
    if not items:
        yield []
        return
    first, rest = items[0], items[1:]
    for smaller in partitions(rest):
        yield [[first], *smaller]
        for i, part in enumerate(smaller):
            yield [*smaller[:i], [first, *part], *smaller[i + 1 :]]


def tree_length(points):
    """Shortest tree by adding the shortest edge that joins two pieces (Kruskal, written apart from the solver)."""
    piece = list(range(len(points)))
    total = 0.0
    for length, i, j in sorted(
        (math.dist(points[i], points[j]), i, j) for i, j in itertools.combinations(range(len(points)), 2)
    ):
        if piece[i] != piece[j]:
            total += length
            old, new = piece[i], piece[j]
            piece = [new if p == old else p for p in piece]
    return total


def plan_cost(zones, homes, by_id, places):
    cost = PRICES["zone_cost"] * len(zones)
    cost += sum(PRICES["place_cost"] + PRICES["trench_cost"] * places[p].entry_distance for p in set(homes))
    for zone, home in zip(zones, homes, strict=True):
        at = [by_id[h].at for h in zone]
        link = min(math.dist(places[home].at, point) for point in at)
        cost += PRICES["trench_cost"] * (tree_length(at) + link)
    return cost


def brute_force(loads, options, may):
    """Fewest zones, and least cost at that number, over every partition and every choice of places."""
    fewest, cheapest = by_places(loads, options, may)
    return fewest, min(cheapest.values(), default=None)


def by_places(loads, options, may):
    """Fewest zones, and for each set of places that plans with so many open the least cost of these."""
    by_id, places = {h.id: h for h in loads}, {o.id: o for o in options}

    def homes_of(zone):
        heads = [by_id[h] for h in zone]
        if len({h.group for h in heads}) > 1 or sum(h.flow for h in heads) > min(h.capacity for h in heads) + 1e-12:
            return []
        return [p for p in places if set(zone) <= may[p]]

    feasible = []
    for zones in partitions(list(by_id)):
        homes = [homes_of(zone) for zone in zones]
        if all(homes):
            feasible.append((zones, homes))
    fewest = min((len(zones) for zones, _ in feasible), default=None)
    cheapest = {}
    for zones, homes in feasible:
        for choice in itertools.product(*homes) if len(zones) == fewest else ():
            opened, cost = tuple(sorted(set(choice))), plan_cost(zones, choice, by_id, places)
            cheapest[opened] = min(cost, cheapest.get(opened, cost))
    return fewest, cheapest


def check_laws(zoning, loads, may):
    """Every head in one zone, one group each, flow within the least capacity, place legal."""
    by_id = {h.id: h for h in loads}
    hard = any(clash.kind != "stations" for clash in zoning.clashes)
    placed = [h for group in zoning.groups for h in group.heads]
    assert sorted(placed) == sorted([] if hard else by_id)
    for group in zoning.groups:
        heads = [by_id[h] for h in group.heads]
        assert len({h.group for h in heads}) == 1
        assert sum(h.flow for h in heads) <= min(h.capacity for h in heads) * (1 + 1e-9)
        assert set(group.heads) <= may[group.place]
    assert set(zoning.places_used) == {group.place for group in zoning.groups}


def task_of(loads, options, may):
    return zone_task(problem_of(loads, options, may))


def groups_cost(groups, loads, options):
    by_id, places = {h.id: h for h in loads}, {o.id: o for o in options}
    return plan_cost([g.heads for g in groups], [g.place for g in groups], by_id, places)


def lawn_case(heads, *, fill, groups=1, seed=0):
    """Heads on a jittered grid, flows by arc (corner, edge, middle) and throw; groups are bands."""
    r = random.Random(heads + seed)
    across = math.ceil(math.sqrt(1.4 * heads))
    down = math.ceil(heads / across)
    loads = []
    for k in range(heads):
        row, column = divmod(k, across)
        arc = 4 / 2 ** ((row in (0, down - 1)) + (column in (0, across - 1)))
        at = (4.2 * column + r.uniform(-0.8, 0.8), 4.2 * row + r.uniform(-0.8, 0.8))
        flow = arc * r.choice((1.0, 1.29, 1.83))
        loads.append(load(f"H{k}", at, flow=flow, group=f"g{row * groups // down}"))
    for name in {h.group for h in loads}:
        band = [h for h in loads if h.group == name]
        safe = sum(h.flow for h in band) / round(len(band) / 8) / fill
        loads = [replace(h, capacity=safe) if h.group == name else h for h in loads]
    options = [option(f"P{j}", (r.uniform(0, 4 * across), r.uniform(0, 4 * down))) for j in range(6)]
    return loads, options, anywhere(loads, options)
