"""Choose a head class for each lawn and lay its heads out.

Every class that the user allows and that suits the lawn's width is laid out on the real depth grid. The combination
over all lawns with the least estimated cost is kept, where cost is heads, zones that the safe flow forces, stations
missing and a price on uneven water. The estimate ranks combinations; the plan's real cost is counted later.
"""

import itertools
import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace

import shapely

from rillwright.errors import InputError
from rillwright.jobs.case import QUICK_EFFORT, Case
from rillwright.jobs.progress import Progress
from rillwright.jobs.workers import run_all
from rillwright.model.findings import Finding
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Head
from rillwright.model.site import HeadClass, Yard
from rillwright.solvers.coverage import LawnLayout, lay_out_lawn

__all__ = ["Layouts", "Weights", "choose_layouts", "design_pressure", "suitable_classes"]


_HARD_DU = 0.78  # a lawn under this is searched again


@dataclass(frozen=True, slots=True)
class Weights:
    """Money that ranks layouts before anything is priced. Judgement, no source."""

    head: float = 35.0  # one head with nozzle, swing joint and its share of lateral trench
    zone: float = 180.0  # one more valve, box share, wire and lateral run
    missing_station: float = 5_000.0  # a zone over the controller's stations
    uneven: float = 18.0  # for each m² of lawn and unit of DU short of `good_du`
    good_du: float = 0.80
    too_uneven: float = 90.0  # the same, short of the yard's lowest DU
    below_limit: float = 300.0  # a lawn short of it at all: the plan will say so as a finding
    overspray: float = 60.0  # for each L/min that misses the lawn


@dataclass(frozen=True, slots=True)
class Layouts:
    """The layouts chosen, one for each lawn, and what could not be laid out."""

    chosen: tuple[LawnLayout, ...]
    heads: tuple[Head, ...]  # numbered through the yard
    refused: tuple[Finding, ...]


def suitable_classes(shape: shapely.Geometry, allowed: Sequence[HeadClass], catalogue: Catalogue) -> list[HeadClass]:
    """Allowed classes whose throw suits the lawn's greatest clear width, best guess first; never empty.

    A class is left out when its shortest throw overshoots the width, or when its longest throw is less than a sixth
    of it and a farther-throwing class is allowed: many heads for nothing.
    """
    width = 2 * float(shapely.maximum_inscribed_circle(shape).length)
    throws: dict[HeadClass, tuple[float, float]] = {}
    for head_class in allowed:
        nozzles = [n for n in catalogue.nozzles.values() if n.head_class == head_class]
        if head_class == "strip":
            across = [n.width for n in nozzles]
            throws[head_class] = (min(across), max(across))
        elif nozzles:
            throws[head_class] = (
                min(n.radius[0] * (1 - n.shorten) for n in nozzles),
                max(n.radius[-1] for n in nozzles),
            )
    if not throws:
        raise InputError("No nozzle of the allowed head classes is in the charts: allow more classes or add a chart.")
    longest = max(reach for _, reach in throws.values())

    def fits(head_class: HeadClass) -> bool:
        least, most = throws[head_class]
        if head_class == "strip":
            return width <= 1.6 * most
        return least <= 1.1 * width and (most >= width / 6 or most == longest)

    kept = [c for c in throws if fits(c)]
    return kept or [min(throws, key=lambda c: throws[c][0])]


def design_pressure(head_class: HeadClass, catalogue: Catalogue, *, level: float) -> float:
    """Pressure [Pa] to lay a class out at: its design pressure times `level`, never under its band's low end."""
    nozzles = [n for n in catalogue.nozzles.values() if n.head_class == head_class]
    return max(max(n.lowest_pressure for n in nozzles), level * min(n.design_pressure for n in nozzles))


def choose_layouts(
    case: Case, *, capacity: Mapping[HeadClass, float], level: float, progress: Progress, pool: Executor | None
) -> Layouts:
    """Lay out every lawn with every suitable class, keep the best combination and search it further.

    Parameters: capacity, rough zone flow [m³/s] that the supply allows each class; level, share of the class design
    pressure to lay out at; pool, processes to share the work, or None. Classes with no capacity are left out where
    another has some.
    """
    tasks: list[_Task] = []
    for lawn in case.yard.lawns:
        classes = lawn.head_classes or case.yard.heads.allowed
        able = [c for c in classes if capacity.get(c, 0.0) > 0]
        suitable = suitable_classes(case.ground.lawns[lawn.id], able or classes, case.catalogue)
        quick = replace(case, effort=QUICK_EFFORT)
        tasks += [_Task(lawn.id, c, design_pressure(c, case.catalogue, level=level), quick) for c in suitable]
    found: dict[str, list[LawnLayout]] = {lawn.id: [] for lawn in case.yard.lawns}
    refused: list[Finding] = []
    for number, (task, layout) in enumerate(zip(tasks, run_all(pool, _lay_out, tasks), strict=True), start=1):
        progress(f"heads: {task.lawn}, {task.head_class}", number / len(tasks))
        if layout.lawn:
            found[task.lawn].append(layout)
        else:
            refused += layout.notes
    chosen = _best_combination([options for options in found.values() if options], case.yard, capacity)
    if case.effort > QUICK_EFFORT:
        progress("heads: the chosen classes once more", 0.0)
        names = {(layout.lawn.id, layout.lawn.head_class) for layout in chosen if layout.lawn}
        best = [replace(task, case=case) for task in tasks if (task.lawn, task.head_class) in names]
        chosen = _searched_further(best, tuple(run_all(pool, _lay_out, best)), capacity, pool)
    left = tuple(f for f in refused if not found.get(f.where))
    return Layouts(chosen=chosen, heads=_number([head for layout in chosen for head in layout.heads]), refused=left)


def _searched_further(
    tasks: Sequence["_Task"],
    layouts: Sequence[LawnLayout],
    capacity: Mapping[HeadClass, float],
    pool: Executor | None,
) -> tuple[LawnLayout, ...]:
    """Search lawns that came out less even than they should once more, three times as long; keep what costs less."""
    hard = [i for i, layout in enumerate(layouts) if layout.lawn and layout.lawn.evenness.du < _HARD_DU]
    longer = [replace(tasks[i], case=replace(tasks[i].case, effort=3 * tasks[i].case.effort)) for i in hard]
    best = list(layouts)
    for i, again in zip(hard, run_all(pool, _lay_out, longer), strict=True):
        if again.lawn:
            yard = tasks[i].case.yard
            best[i] = min(best[i], again, key=lambda layout: _estimate([layout], yard, capacity, Weights()))
    return tuple(best)


@dataclass(frozen=True, slots=True)
class _Task:
    """One lawn to lay out with one class."""

    lawn: str
    head_class: HeadClass
    pressure: float  # [Pa]
    case: Case


def _lay_out(task: _Task) -> LawnLayout:
    return lay_out_lawn(
        task.lawn,
        ground=task.case.ground,
        yard=task.case.yard,
        catalogue=task.case.catalogue,
        head_class=task.head_class,
        pressure=task.pressure,
        seed=task.case.seed,
        time_limit=task.case.effort,
    )


def _best_combination(
    options: list[list[LawnLayout]], yard: Yard, capacity: Mapping[HeadClass, float]
) -> tuple[LawnLayout, ...]:
    """Least estimated cost: every combination when there are few, else one lawn at a time until nothing improves."""
    if not options:
        return ()

    def cost(combination: Sequence[LawnLayout]) -> float:
        return _estimate(combination, yard, capacity, Weights())

    if math.prod(len(o) for o in options) <= 3000:
        return min(itertools.product(*options), key=cost)
    best = [o[0] for o in options]
    while True:
        before = cost(best)
        for i, choices in enumerate(options):
            best[i] = min(choices, key=lambda c: cost([*best[:i], c, *best[i + 1 :]]))
        if cost(best) >= before - 1e-9:
            return tuple(best)


def _estimate(
    combination: Sequence[LawnLayout], yard: Yard, capacity: Mapping[HeadClass, float], weights: Weights
) -> float:
    flows: dict[tuple[HeadClass, str], float] = defaultdict(float)
    total = 0.0
    for layout in combination:
        lawn = layout.lawn
        assert lawn is not None
        for head in layout.heads:
            flows[head.head_class, head.hydrozone] += head.flow
        short = max(0.0, weights.good_du - lawn.evenness.du)
        far_short = max(0.0, yard.rules.lowest_du - lawn.evenness.du)
        missed = (lawn.on_paving + lawn.on_building + lawn.off_site + 0.5 * lawn.elsewhere) * 60_000
        total += weights.head * len(layout.heads) + weights.overspray * missed
        total += lawn.area * (weights.uneven * short + weights.too_uneven * far_short)
        total += weights.below_limit * (far_short > 0)
    zones = sum(math.ceil(flow / max(0.95 * capacity.get(group[0], 0.0), 1e-5)) for group, flow in flows.items())
    missing = max(0, zones - yard.controller.stations)
    return total + weights.zone * zones + weights.missing_station * missing


def _number(heads: Sequence[Head]) -> tuple[Head, ...]:
    """Number heads H1, H2, ... through the yard, lawn by lawn, in the order of the layout."""
    return tuple(head.model_copy(update={"id": f"H{i}"}) for i, head in enumerate(heads, start=1))
