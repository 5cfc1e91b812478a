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
water: the least of money, of what the extra water costs in the years that a system lasts, and of what lawns under DU
0.70 are worth lifting over it; within 2 % of it, the one with the best mean DU.

Combinations are made as combine.py says: all of them, but for yards of many lawns.
"""

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rillwright.jobs.combine import Combinations, Group, Option, combine
from rillwright.model.front import (
    FAULT_MONEY,
    POOR_DU,
    POOR_MONEY,
    WATER_MONEY,
    FrontPoint,
    kept_money,
    season_depth,
)
from rillwright.model.site import Aim, HeadClass, Yard
from rillwright.physics.evenness import run_time_multiplier
from rillwright.solvers.coverage import LawnLayout
from rillwright.solvers.takeoff import find_reuse

__all__ = ["Choice", "Front", "extra_water", "front_of", "knee"]

_MOST_BETWEEN = 4  # points shown besides the three that have a name
_RUN_FOR = 2.0  # scheduling coefficient up to which the run time follows; a drier spot is watered by hand; judgement
_DRIEST = 0.25  # how far the run time follows the driest window rather than the low quarter; judgement
_NEAR_TIE = 1.02  # of the least spent: estimated money says no more than that
_WORST_COEFFICIENT = 3.0  # a scheduling coefficient past it is a fault


@dataclass(frozen=True, slots=True)
class Choice:
    """One combination of layouts, one for each lawn."""

    options: tuple[Option, ...]
    heads: int
    kept: int
    standing: float  # [currency] of heads in the ground: laterals to those kept, moving those given up
    zones: int
    cost: float
    area: float  # [m²]
    extra: float
    depth: float  # [m] of a season
    poor: int  # lawns under POOR_DU
    faults: int

    @property
    def layouts(self) -> tuple[LawnLayout, ...]:
        """Its layouts, lawn by lawn."""
        return tuple(option.layout for option in self.options)

    @property
    def spent(self) -> float:
        """Money [currency] together with what its extra water and its poor lawns cost in time."""
        return self.cost + WATER_MONEY * self.depth * self.area * self.extra + POOR_MONEY * self.poor

    @property
    def du_mean(self) -> float:
        """DU of the low quarter, by area."""
        return sum(one.area * one.layout.lawn.evenness.du for one in self.options if one.layout.lawn) / self.area

    def point(self, aim: Aim | None, *, chosen: bool) -> FrontPoint:
        """Write it down for the plan."""
        lawns = [layout.lawn for layout in self.layouts if layout.lawn]
        return FrontPoint(
            aim=aim,
            chosen=chosen,
            heads=self.heads,
            kept=self.kept,
            standing=self.standing,
            zones=self.zones,
            cost=self.cost,
            du_worst=min(lawn.least_du for lawn in lawns),
            du_mean=self.du_mean,
            scheduling=max(lawn.evenness.scheduling for lawn in lawns),
            extra_water=self.extra,
            season_water=self.depth * self.area * (1 + self.extra),
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
    made = combine(lawns, capacity=capacity, moving=sum(head.moving_cost for head in yard.existing.heads))
    missing = np.maximum(0, made.zones - yard.controller.stations)
    fed = np.flatnonzero(missing == missing.min())
    money = made.cost[fed] + FAULT_MONEY * made.faults[fed]
    borne = made.faults[fed][np.lexsort((made.faults[fed], money))[0]]
    choices = [_choice(made, row, yard) for row in _undominated(made, fed[made.faults[fed] <= borne])]
    fewest = min(choices, key=lambda c: (c.heads, c.extra))
    return Front(
        tuple(choices),
        {"fewest heads": fewest, "balanced": knee(choices), "most even": min(choices, key=lambda c: (c.extra, c.cost))},
    )


def _undominated(made: Combinations, rows: NDArray[np.int64]) -> list[int]:
    """Rows that no other covers, cheapest first; differences too small to show count for nothing."""
    cost, extra, heads = made.cost.round(6), made.extra.round(9), made.heads
    rows = rows[np.lexsort((heads[rows], extra[rows], cost[rows]))]
    kept: list[int] = []
    for number in np.unique(heads[rows]):  # among those with so many heads each step up in cost must water more evenly
        same = rows[heads[rows] == number]
        before = np.minimum.accumulate(np.concatenate(([np.inf], extra[same][:-1])))
        others = [k for k in kept if heads[k] < number]
        for row in same[extra[same] < before]:
            if not any(cost[k] <= cost[row] and extra[k] <= extra[row] for k in others):
                kept.append(int(row))
    return sorted(kept, key=lambda row: (cost[row], extra[row], heads[row]))


def knee(choices: Sequence[Choice]) -> Choice:
    """Choose the point of least money with what its water and its poor lawns cost; of near ties that of the best DU."""
    least = min(choice.spent for choice in choices)
    return min((c for c in choices if c.spent <= _NEAR_TIE * least), key=lambda c: (-c.du_mean, c.cost))


def _option(layout: LawnLayout, yard: Yard) -> Option:
    lawn = layout.lawn
    assert lawn is not None
    flows: dict[Group, float] = defaultdict(float)
    for head in layout.heads:
        flows[head.head_class, head.hydrozone] += head.flow
    faults = (
        (lawn.least_du < yard.rules.lowest_du)
        + (lawn.on_paving > yard.rules.overspray_paving * lawn.water)
        + (lawn.evenness.scheduling > _WORST_COEFFICIENT)
    )
    names = {use.id for use in find_reuse(yard, heads=layout.heads, places=(), pipes=()) if use.kept_as}
    kept = [head for head in yard.existing.heads if head.id in names]
    return Option(
        layout=layout,
        heads=len(layout.heads),
        kept=len(kept),
        standing=sum(kept_money(head, yard) - head.moving_cost for head in kept),
        flows=flows,
        area=lawn.area,
        extra=extra_water(layout),
        faults=faults,
        poor=int(lawn.least_du < POOR_DU),
    )


def _choice(made: Combinations, row: int, yard: Yard) -> Choice:
    options = made.options(row)
    return Choice(
        options=options,
        heads=int(made.heads[row]),
        kept=int(made.kept[row]),
        standing=float(made.standing[row]),
        zones=int(made.zones[row]),
        cost=float(made.cost[row]),
        area=sum(option.area for option in options),
        extra=float(made.extra[row]),
        depth=season_depth(yard),
        poor=int(made.poor[row]),
        faults=int(made.faults[row]),
    )
