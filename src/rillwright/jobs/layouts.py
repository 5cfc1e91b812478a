"""Choose a head class for each lawn and lay its heads out.

Every class that the user allows and that suits the lawn's width is laid out on the real depth grid, from few heads to
even water. Which combination over all lawns is built, front.py says; its classes are then searched further.
"""

from collections.abc import Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace

import shapely

from rillwright.errors import InputError
from rillwright.jobs.case import QUICK_EFFORT, Case
from rillwright.jobs.front import Front, front_of
from rillwright.jobs.progress import Progress
from rillwright.jobs.workers import run_all
from rillwright.model.findings import Finding
from rillwright.model.front import POOR_DU, FrontPoint
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Head
from rillwright.model.site import HeadClass
from rillwright.solvers.coverage import LawnLayout, evaluate_layout, existing_on, lay_out_lawn, pins_on

__all__ = ["Layouts", "choose_layouts", "design_pressure", "suitable_classes"]

ONCE_MORE = "heads: the chosen classes once more"

_MANY = 1_000  # heads over which each is searched less
_LEAST_SHARE = 0.3  # of the effort that is left to each
_GLANCE = 0.1  # effort of the first search where only one class suits
_STARTS = 2  # searches that share the effort of a longer one: where one ends hangs on its start more than on its length


@dataclass(frozen=True, slots=True)
class Layouts:
    """The layouts chosen, one for each lawn, and what could not be laid out."""

    chosen: tuple[LawnLayout, ...]
    heads: tuple[Head, ...]  # numbered through the yard
    refused: tuple[Finding, ...]
    front: tuple[FrontPoint, ...] = ()  # what else could be built, cheapest first


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
    for lawn in case.ground.lawns:
        classes = _classes_on(lawn, case, capacity)
        lone = len(classes) == 1 and case.effort > QUICK_EFFORT  # nothing to compare, and it is searched once more
        quick = replace(case, effort=_GLANCE if lone else QUICK_EFFORT)
        tasks += [_Task(lawn, c, design_pressure(c, case.catalogue, level=level), quick) for c in classes]
    found: dict[str, list[LawnLayout]] = {lawn: [] for lawn in case.ground.lawns}
    refused: list[Finding] = []
    for number, (task, layouts) in enumerate(zip(tasks, run_all(pool, _lay_out, tasks), strict=True), start=1):
        progress(f"heads: {task.lawn}, {task.head_class}", number / len(tasks))
        found[task.lawn] += [layout for layout in layouts if layout.lawn]
        refused += [note for layout in layouts if not layout.lawn for note in layout.notes]
    left = tuple(f for f in refused if not found.get(f.where))
    found = {lawn: options for lawn, options in found.items() if options}
    if not found:
        return Layouts((), (), left)
    aim = case.yard.heads.aim

    def chosen(front: Front) -> dict[str, LawnLayout]:
        return dict(zip(found, front.named[aim].layouts, strict=True))

    front = front_of(tuple(found.values()), yard=case.yard, capacity=capacity)
    if case.effort > QUICK_EFFORT:
        progress(ONCE_MORE, 0.0)
        named = {(lawn, layout.heads[0].head_class) for lawn, layout in chosen(front).items()}
        effort = _effort(case, sum(len(layout.heads) for layout in chosen(front).values()))
        best = [task for task in tasks if (task.lawn, task.head_class) in named]
        front = _with(found, _longer(best, effort), pool, case, capacity, progress)
        hard = {lawn for lawn, layout in chosen(front).items() if layout.lawn and layout.lawn.least_du < POOR_DU}
        poor = _longer([task for task in best if task.lawn in hard], effort, after=_STARTS)
        front = _with(found, poor, pool, case, capacity, progress) if poor else front
    layouts = tuple(_in_wind(layout, case) for layout in chosen(front).values())
    heads = _number([head for layout in layouts for head in layout.heads])
    return Layouts(layouts, heads, left, front.points(aim))


def _effort(case: Case, heads: int) -> float:
    """Effort of the longer search: less for each head where there are very many."""
    return case.effort * min(1.0, max(_MANY / max(heads, 1), _LEAST_SHARE))


def _longer(tasks: Sequence["_Task"], effort: float, *, after: int = 0) -> list["_Task"]:
    """The tasks from several starts, which share the effort; after, starts taken before."""
    starts = range(after + 1, after + 1 + _STARTS)
    return [replace(t, case=replace(t.case, effort=effort / _STARTS), start=start) for t in tasks for start in starts]


def _classes_on(lawn: str, case: Case, capacity: Mapping[HeadClass, float]) -> list[HeadClass]:
    """Classes to lay a lawn out with: that of held heads, else those that suit and allowed ones in the ground."""
    yard, ground = case.yard, case.ground
    held = {pin.head_class for pin in pins_on(lawn, yard=yard, ground=ground)}
    area = next(area for area in yard.lawns if area.id in ground.drawn[lawn])
    classes = sorted(held) or area.head_classes or yard.heads.allowed
    able = [c for c in classes if capacity.get(c, 0.0) > 0]
    suitable = suitable_classes(ground.lawns[lawn], able or classes, case.catalogue)
    there = {head.head_class for head in existing_on(lawn, yard=yard, ground=ground)}
    return suitable + [c for c in able if c in there and c not in suitable]


def _with(
    found: dict[str, list[LawnLayout]],
    tasks: Sequence["_Task"],
    pool: Executor | None,
    case: Case,
    capacity: Mapping[HeadClass, float],
    progress: Progress,
) -> Front:
    """Search further, add what is found to the options of each lawn, and take the front of all."""
    for number, (task, layouts) in enumerate(zip(tasks, run_all(pool, _lay_out, tasks), strict=True), start=1):
        progress(ONCE_MORE, number / len(tasks))
        found[task.lawn] += [layout for layout in layouts if layout.lawn]
    return front_of(tuple(found.values()), yard=case.yard, capacity=capacity)


@dataclass(frozen=True, slots=True)
class _Task:
    """One lawn to lay out with one class."""

    lawn: str
    head_class: HeadClass
    pressure: float  # [Pa]
    case: Case
    start: int = 0  # of the search


def _lay_out(task: _Task) -> tuple[LawnLayout, ...]:
    return lay_out_lawn(
        task.lawn,
        ground=task.case.ground,
        yard=task.case.yard,
        catalogue=task.case.catalogue,
        head_class=task.head_class,
        pressure=task.pressure,
        seed=task.case.seed,
        start=task.start,
        effort=task.case.effort,
    )


def _in_wind(layout: LawnLayout, case: Case) -> LawnLayout:
    """Measure a chosen layout in the yard's wind too."""
    lawn_id = layout.heads[0].lawn
    return evaluate_layout(layout.heads, lawn_id=lawn_id, ground=case.ground, yard=case.yard, catalogue=case.catalogue)


def _number(heads: Sequence[Head]) -> tuple[Head, ...]:
    """Number heads H1, H2, ... through the yard, lawn by lawn, in the order of the layout."""
    return tuple(head.model_copy(update={"id": f"H{i}"}) for i, head in enumerate(heads, start=1))
