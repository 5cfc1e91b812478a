"""The front between few heads and even water: whole-yard combinations of lawn layouts that no other beats.

Every lawn has several layouts, from the search's prices of a head and from the head classes. A combination is judged by
its heads, its estimated money (heads, and zones that the safe flow forces) and its extra water:

    extra = sum over lawns of area · ((¾ / (0.4 + 0.6 DU) + ¼ SC) · water / water on the lawn) / total area - 1

which is the longer run that the driest ground asks for, by both of the trade's measures (SC up to 2: a drier spot is
watered by hand), and the water that misses.
Combinations with the fewest stations missing stay, and of those the ones with no more faults than are worth their money
(lawns under the yard's lowest DU, over its share on paving, or with ground that gets less than a third of the mean):
more heads are bought to be rid of a fault, but not at any price. Each that no other beats in all three is on the front.
'fewest heads' and 'most even' are its ends. The balanced one is its knee, where more money stops paying for itself in
water: the least of money and of what the extra water costs in ten seasons; within 2 % of it, the most even.

Up to 3,000 combinations are all judged; of more, those that a search one lawn at a time meets for several prices of
extra water.
"""

import itertools
import math
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from rillwright.model.front import FAULT_MONEY, HEAD_MONEY, WATER_MONEY, ZONE_MONEY, FrontPoint, kept_money
from rillwright.model.site import Aim, HeadClass, Yard
from rillwright.physics.evenness import run_time_multiplier
from rillwright.solvers.coverage import LawnLayout
from rillwright.solvers.takeoff import find_reuse

__all__ = ["Choice", "Front", "extra_water", "front_of", "knee"]

Flows = Mapping[tuple[HeadClass, str], float]

_MOST_COMBINATIONS = 3000
_PRICES = (0.0, 300.0, 1e3, 3e3, 1e4, 1e7)  # [currency] of extra water, for the search one lawn at a time
_MOST_BETWEEN = 4  # points shown besides the three that have a name
_RUN_FOR = 2.0  # scheduling coefficient up to which the run time follows; a drier spot is watered by hand; judgement
_DRIEST = 0.25  # how far the run time follows the driest window rather than the low quarter; judgement
_NEAR_TIE = 1.02  # of the least spent: estimated money says no more than that
_WORST_COEFFICIENT = 3.0  # a scheduling coefficient past it is a fault


@dataclass(frozen=True, slots=True)
class _Option:
    """One layout of one lawn, in the figures that add up over lawns."""

    layout: LawnLayout
    heads: int
    kept: int  # of the heads those in the ground already
    standing: float  # [currency] of keeping those, less what moving them would cost
    flows: Flows  # [m³/s] by class and hydrozone
    area: float  # [m²]
    extra: float  # [-]
    faults: int


@dataclass(frozen=True, slots=True)
class Choice:
    """One combination of layouts, one for each lawn."""

    options: tuple[_Option, ...]
    heads: int
    kept: int
    standing: float  # [currency] of heads in the ground: laterals to those kept, moving those given up
    zones: int
    cost: float
    area: float  # [m²]
    extra: float
    faults: int
    missing: int  # stations

    @property
    def layouts(self) -> tuple[LawnLayout, ...]:
        """Its layouts, lawn by lawn."""
        return tuple(option.layout for option in self.options)

    def covers(self, other: "Choice") -> bool:
        """Whether it is nowhere worse; differences too small to show count for nothing."""
        return self.heads <= other.heads and self.cost <= other.cost + 1e-6 and self.extra <= other.extra + 1e-9

    def point(self, aim: Aim | None, *, chosen: bool) -> FrontPoint:
        """Write it down for the plan."""
        lawns = [layout.lawn for layout in self.layouts if layout.lawn]
        area = sum(lawn.area for lawn in lawns)
        return FrontPoint(
            aim=aim,
            chosen=chosen,
            heads=self.heads,
            kept=self.kept,
            standing=self.standing,
            zones=self.zones,
            cost=self.cost,
            du_worst=min(lawn.least_du for lawn in lawns),
            du_mean=sum(lawn.evenness.du * lawn.area for lawn in lawns) / area,
            scheduling=max(lawn.evenness.scheduling for lawn in lawns),
            extra_water=self.extra,
            classes=tuple((lawn.id, lawn.head_class) for lawn in lawns),
        )


@dataclass(frozen=True, slots=True)
class Front:
    """Choices that no other beats, cheapest first, and the three that have a name."""

    choices: tuple[Choice, ...]
    named: Mapping[Aim, Choice]

    def points(self, aim: Aim) -> tuple[FrontPoint, ...]:
        """Write down the named ones and a few between; aim, the one that the plan builds."""
        names: dict[int, Aim] = {id(self.named[name]): name for name in ("most even", "fewest heads", "balanced")}
        names[id(self.named[aim])] = aim
        between = [choice for choice in self.choices if id(choice) not in names]
        step = max(1, math.ceil(len(between) / _MOST_BETWEEN))
        shown = {id(choice) for choice in between[step // 2 :: step]} | set(names)
        return tuple(
            choice.point(names.get(id(choice)), chosen=choice is self.named[aim])
            for choice in self.choices
            if id(choice) in shown
        )


def extra_water(layout: LawnLayout) -> float:
    """Extra water [-] of one lawn: what the driest ground asks for, and what misses the lawn; 0 for none.

    Source: run-time multipliers by DU and by scheduling coefficient as the trade teaches them, from memory; their
    weights are ours.
    """
    lawn = layout.lawn
    if lawn is None or lawn.on_lawn <= 0:
        return 0.0
    driest = min(lawn.evenness.scheduling, _RUN_FOR)
    longer = (1 - _DRIEST) * run_time_multiplier(lawn.evenness.du) + _DRIEST * driest
    return longer * lawn.water / lawn.on_lawn - 1


def front_of(options: Sequence[Sequence[LawnLayout]], *, yard: Yard, capacity: Mapping[HeadClass, float]) -> Front:
    """Combine the layouts of all lawns.

    Parameters: options, at least one layout for each lawn; capacity, rough zone flow [m³/s] of each class.
    """
    lawns = [[_option(layout, yard) for layout in own] for own in options]
    seen = list(_visited(lawns, yard, capacity))
    least = min(choice.missing for choice in seen)
    fed = [choice for choice in seen if choice.missing == least]
    borne = min(fed, key=lambda c: (c.cost + FAULT_MONEY * c.faults, c.faults)).faults
    sound = sorted((c for c in fed if c.faults <= borne), key=lambda c: (c.cost, c.extra, c.heads))
    choices: list[Choice] = []
    for choice in sound:  # in this order whatever beats a choice, or equals it, comes before it
        if not any(other.covers(choice) for other in choices):
            choices.append(choice)
    fewest = min(choices, key=lambda c: (c.heads, c.extra))
    return Front(
        tuple(choices),
        {"fewest heads": fewest, "balanced": knee(choices), "most even": min(choices, key=lambda c: (c.extra, c.cost))},
    )


def knee(choices: Sequence[Choice]) -> Choice:
    """Choose the point of least money together with ten seasons of extra water; of near ties the most even."""

    def spent(choice: Choice) -> float:
        return choice.cost + WATER_MONEY * choice.area * choice.extra

    least = min(map(spent, choices))
    return min((c for c in choices if spent(c) <= _NEAR_TIE * least), key=lambda c: (c.extra, c.cost))


def _option(layout: LawnLayout, yard: Yard) -> _Option:
    lawn = layout.lawn
    assert lawn is not None
    flows: dict[tuple[HeadClass, str], float] = defaultdict(float)
    for head in layout.heads:
        flows[head.head_class, head.hydrozone] += head.flow
    faults = (
        (lawn.least_du < yard.rules.lowest_du)
        + (lawn.on_paving > yard.rules.overspray_paving * lawn.water)
        + (lawn.evenness.scheduling > _WORST_COEFFICIENT)
    )
    names = {use.id for use in find_reuse(yard, heads=layout.heads, places=(), pipes=()) if use.kept_as}
    kept = [head for head in yard.existing.heads if head.id in names]
    standing = sum(kept_money(head, yard) - head.moving_cost for head in kept)
    return _Option(layout, len(layout.heads), len(kept), standing, flows, lawn.area, extra_water(layout), faults)


def _visited(lawns: Sequence[Sequence[_Option]], yard: Yard, capacity: Mapping[HeadClass, float]) -> Iterator[Choice]:
    """Choices to pick from: every combination when they are few, else what a search one lawn at a time meets."""

    def judge(options: Sequence[_Option]) -> Choice:
        return _judged(options, yard, capacity)

    if math.prod(len(own) for own in lawns) <= _MOST_COMBINATIONS:
        yield from map(judge, itertools.product(*lawns))
        return
    for price in _PRICES:
        best = judge([own[0] for own in lawns])
        while True:
            before = best
            for number, own in enumerate(lawns):
                around = [judge([*best.options[:number], o, *best.options[number + 1 :]]) for o in own]
                best = min(around, key=lambda c: (c.missing, c.cost + FAULT_MONEY * c.faults + price * c.extra))
                yield best
            if all(a is b for a, b in zip(best.options, before.options, strict=True)):
                break


def _judged(options: Sequence[_Option], yard: Yard, capacity: Mapping[HeadClass, float]) -> Choice:
    flows: dict[tuple[HeadClass, str], float] = defaultdict(float)
    for option in options:
        for group, flow in option.flows.items():
            flows[group] += flow
    zones = sum(math.ceil(flow / max(0.95 * capacity.get(group[0], 0.0), 1e-5)) for group, flow in flows.items())
    heads, area = sum(option.heads for option in options), sum(option.area for option in options)
    kept = sum(option.kept for option in options)
    standing = sum(h.moving_cost for h in yard.existing.heads) + sum(option.standing for option in options)
    return Choice(
        options=tuple(options),
        heads=heads,
        kept=kept,
        standing=standing,
        zones=zones,
        cost=HEAD_MONEY * (heads - kept) + standing + ZONE_MONEY * zones,
        area=area,
        extra=sum(option.area * option.extra for option in options) / area,
        faults=sum(option.faults for option in options),
        missing=max(0, zones - yard.controller.stations),
    )
