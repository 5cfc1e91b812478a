"""What the column of the plan sheet says: verdict, zones, and a legend of what the drawing really shows."""

from rillwright.model.plan import Head, Pipe, Plan
from rillwright.model.site import HEAD_CLASSES, AreaKind, HeadClass
from rillwright.physics.units import show
from rillwright.report.column import STEP, Column
from rillwright.report.existing_drawn import existing_legend
from rillwright.report.marks import controller_mark, entry_mark, head_mark, place_mark
from rillwright.report.palette import GROUND, MAIN, SLEEVE, SOFT, zone_colour, zone_dash
from rillwright.report.pipes_drawn import pipe_width
from rillwright.report.svg import Svg, sector_path

__all__ = ["plan_column"]

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
    pipes = _pipe_kinds(plan)
    classes = [c for c in HEAD_CLASSES if any(h.head_class == c for h in plan.heads)]
    legend = 10 + STEP * (len(pipes) + len(classes) + _existing_kinds(plan) + 8)
    _zones(column, plan, most=column.lines_left(kept=_CAUTIONS + legend + 8))
    column.heading("Legend")
    _marks(column, plan, classes)
    for (role, size, material), pipe in pipes.items():
        x, y = column.entry(f"{role} {size} {material}")
        _key_line(column.svg, x, y, MAIN if role == "main" else SOFT, pipe_width(pipe))
    if any(trench.sleeve for trench in plan.trenches):
        _key_line(column.svg, *column.entry("sleeve under paving"), SLEEVE, 2.4)
    existing_legend(column, plan)
    if contour_step:
        words = f"height of the ground, every {show(contour_step, 'length', plan.yard.units)}"
        _key_line(column.svg, *column.entry(words), "#8a7f6a", 0.14)
    _ground_legend(column, plan)


def _ground_legend(column: Column, plan: Plan) -> None:
    """Tints of the ground that the yard has."""
    kinds = [kind for kind in _GROUND_NAMES if any(area.kind == kind for area in plan.yard.areas)]
    keys = column.entries([_GROUND_NAMES[kind] for kind in kinds], columns=3)
    for kind, (x, y) in zip(kinds, keys, strict=True):
        column.svg.rect(x - 3.2, y - 1.4, 6.4, 2.8, fill=GROUND[kind], stroke="#9aa39a", stroke_width=0.2)


def _zones(column: Column, plan: Plan, *, most: int) -> None:
    if not plan.zones:
        return
    system = plan.yard.units
    column.heading("Zones: heads, flow, precipitation")
    shown = plan.zones if len(plan.zones) <= most else plan.zones[: max(0, most - 1)]
    for index, zone in enumerate(shown):
        figures = (show(zone.flow, "flow", system), show(zone.precipitation, "rate", system))
        x, y = column.row(f"{zone.id}  {len(zone.heads)} {zone.head_class}", figures)
        _key_line(column.svg, x, y, zone_colour(index), 0.9, zone_dash(index))
    if len(shown) < len(plan.zones):
        column.paragraph(f"and {len(plan.zones) - len(shown)} more zones: see the report")


def _marks(column: Column, plan: Plan, classes: list[HeadClass]) -> None:
    svg = column.svg
    for head_class in classes:
        head: Head = next(h for h in plan.heads if h.head_class == head_class)
        x, y = column.entry(f"head: {head_class}")
        head_mark(svg, head, x, y, MAIN)
    if plan.heads:
        x, y = column.entry("where a head throws")
        svg.path(sector_path(x - 3, y + 1.2, 5.4, 0, 40), fill=SOFT, fill_opacity=0.1, stroke=SOFT, stroke_width=0.2)
    if plan.places:
        place_mark(svg, *column.entry("valve place, with its zones"))
    entry_mark(svg, *column.entry("water entry"))
    if plan.yard.controller.at:
        controller_mark(svg, *column.entry("controller"))
    if plan.yard.trees:
        x, y = column.entry("tree and its roots")
        svg.circle(x, y, 1.6, fill="none", stroke="#7d6a46", stroke_width=0.18, stroke_dasharray="0.8 0.8")
        svg.circle(x, y, 0.6, fill="#7d6a46")


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


def _key_line(svg: Svg, x: float, y: float, stroke: str, wide: float, dash: str = "none") -> None:
    svg.line([(x - 3.2, y), (x + 4.2, y)], stroke=stroke, stroke_width=wide, stroke_dasharray=dash)
