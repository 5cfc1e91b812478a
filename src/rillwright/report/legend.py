"""What the column of the plan sheet says: verdict, zones, and a legend of what the drawing really shows."""

from collections.abc import Collection

from rillwright.model.plan import Head, Pipe, Plan
from rillwright.model.site import HEAD_CLASSES, AreaKind, HeadClass
from rillwright.physics.units import show
from rillwright.report.column import STEP, Column
from rillwright.report.existing_drawn import existing_legend
from rillwright.report.marks import controller_mark, entry_mark, head_mark, place_mark
from rillwright.report.palette import GROUND, MAIN, SLEEVE, SOFT, zone_colour, zone_dash
from rillwright.report.pipes_drawn import pipe_width
from rillwright.report.svg import Svg, sector_path

__all__ = [
    "contour_legend",
    "ground_legend",
    "head_legend",
    "key_line",
    "mark_legend",
    "pipe_legend",
    "plan_column",
    "zone_rows",
]

_CAUTIONS = 36.0  # [mm] the cautions take over the column's foot
_GROUND_NAMES: dict[AreaKind, str] = {
    "lawn": "lawn",
    "bed": "bed",
    "paving": "paving",
    "building": "building",
    "water": "water",
    "keep-out": "keep out",
}


def plan_column(column: Column, plan: Plan, *, contour_step: float | None) -> None:
    """Fill the plan sheet's column under its title. contour_step [m] is None when no contours are drawn."""
    column.paragraph(f"{plan.verdict.capitalize()}. {plan.headline}", most=6)
    legend = 10 + STEP * (len(_pipe_kinds(plan)) + len(_classes(plan)) + _existing_kinds(plan) + 8)
    zone_rows(column, plan, most=column.lines_left(kept=_CAUTIONS + legend + 8))
    column.heading("Legend")
    head_legend(column, plan)
    mark_legend(column, plan)
    pipe_legend(column, plan)
    existing_legend(column, plan)
    if contour_step:
        contour_legend(column, plan, contour_step)
    ground_legend(column, plan)


def contour_legend(column: Column, plan: Plan, step: float) -> None:
    """The contours, a step [m] apart."""
    words = f"height of the ground, every {show(step, 'length', plan.yard.units)}"
    key_line(column.svg, *column.entry(words), "#8a7f6a", 0.14)


def pipe_legend(column: Column, plan: Plan) -> None:
    """Each kind of pipe by role, size and material, and sleeves."""
    for (role, size, material), pipe in _pipe_kinds(plan).items():
        x, y = column.entry(f"{role} {size} {material}")
        key_line(column.svg, x, y, MAIN if role == "main" else SOFT, pipe_width(pipe))
    if any(trench.sleeve for trench in plan.trenches):
        key_line(column.svg, *column.entry("sleeve under paving"), SLEEVE, 2.4)


def ground_legend(column: Column, plan: Plan) -> None:
    """Tints of the ground that the yard has."""
    kinds = [kind for kind in _GROUND_NAMES if any(area.kind == kind for area in plan.yard.areas)]
    keys = column.entries([_GROUND_NAMES[kind] for kind in kinds], columns=3)
    for kind, (x, y) in zip(kinds, keys, strict=True):
        column.svg.rect(x - 3.2, y - 1.4, 6.4, 2.8, fill=GROUND[kind], stroke="#9aa39a", stroke_width=0.2)


def zone_rows(
    column: Column, plan: Plan, *, most: int, of: Collection[str] | None = None, rest: str = "the report"
) -> None:
    """A row for each zone with its line, as many as there may be.

    Parameters: most rows; of, the zones to be told of, all when None; rest, where the others are found.
    """
    zones = [(n, zone) for n, zone in enumerate(plan.zones) if of is None or zone.id in of]
    if not zones:
        return
    system = plan.yard.units
    column.heading("Zones: heads, flow, precipitation")
    shown = zones if len(zones) <= most else zones[: max(0, most - 1)]
    for index, zone in shown:
        figures = (show(zone.flow, "flow", system), show(zone.precipitation, "rate", system))
        x, y = column.row(f"{zone.id}  {len(zone.heads)} {zone.head_class}", figures)
        key_line(column.svg, x, y, zone_colour(index), 0.9, zone_dash(index))
    if len(shown) < len(zones):
        column.paragraph(f"and {len(zones) - len(shown)} more zones: see {rest}")


def head_legend(column: Column, plan: Plan, *, throws: bool = True) -> None:
    """Each class of head; throws, whether they are drawn too."""
    svg = column.svg
    for head_class in _classes(plan):
        head: Head = next(h for h in plan.heads if h.head_class == head_class)
        x, y = column.entry(f"head: {head_class}")
        head_mark(svg, head, x, y, MAIN)
    if plan.heads and throws:
        x, y = column.entry("where a head throws")
        svg.path(sector_path(x - 3, y + 1.2, 5.4, 0, 40), fill=SOFT, fill_opacity=0.1, stroke=SOFT, stroke_width=0.2)


def mark_legend(column: Column, plan: Plan) -> None:
    """Valve places, water entry, controller and trees."""
    svg = column.svg
    if plan.places:
        place_mark(svg, *column.entry("valve place, with its zones"))
    entry_mark(svg, *column.entry("water entry"))
    if plan.yard.controller.at:
        controller_mark(svg, *column.entry("controller"))
    if plan.yard.trees:
        x, y = column.entry("tree and its roots")
        svg.circle(x, y, 1.6, fill="none", stroke="#7d6a46", stroke_width=0.18, stroke_dasharray="0.8 0.8")
        svg.circle(x, y, 0.6, fill="#7d6a46")


def _classes(plan: Plan) -> list[HeadClass]:
    return [c for c in HEAD_CLASSES if any(h.head_class == c for h in plan.heads)]


def _existing_kinds(plan: Plan) -> int:
    existing = plan.yard.existing
    return sum(map(bool, (existing.heads, existing.pipes, existing.places)))


def _pipe_kinds(plan: Plan) -> dict[tuple[str, str, str], Pipe]:
    """One pipe of each role, size and material, the main and the widest first."""
    ordered = sorted(plan.pipes, key=lambda pipe: (pipe.role != "main", -pipe.bore))
    kinds: dict[tuple[str, str, str], Pipe] = {}
    for pipe in ordered:
        kinds.setdefault((pipe.role, pipe.size, pipe.material), pipe)
    return kinds


def key_line(svg: Svg, x: float, y: float, stroke: str, wide: float, dash: str = "none") -> None:
    """A short line as a legend's key, centred on a point."""
    svg.line([(x - 3.2, y), (x + 4.2, y)], stroke=stroke, stroke_width=wide, stroke_dasharray=dash)
