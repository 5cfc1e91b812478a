"""A plan in the formats of other programs: workbook, map, CAD drawing and vector drawing."""

from collections.abc import Callable, Iterable, Iterator, Mapping

from rillwright.exchange.plan_geojson import plan_geojson
from rillwright.exchange.workbook import Cell, parts_workbook
from rillwright.jobs.guide import plan_steps
from rillwright.jobs.money import make_ledger
from rillwright.model.field_log import Entry
from rillwright.model.ground import resolve_ground
from rillwright.model.guide import BuildTerms
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Plan
from rillwright.physics.units import to_system, unit_name
from rillwright.report.plan_drawing import draw_plan
from rillwright.report.plan_dxf import plan_dxf

__all__ = ["EXPORTS", "plan_cad", "plan_drawing", "plan_map", "plan_workbook"]

_ANY_DAY = "2000-01-01"  # steps have no dates


def plan_workbook(plan: Plan, catalogue: Catalogue, entries: Iterable[Entry] = ()) -> bytes:
    """The workbook of a plan with its receipts: parts, money, parts by step and by place, how pipe is cut.

    Errors: InputError for a plan without a cost.
    """
    ledger = make_ledger(plan, entries=entries)
    others = [("By step", _by_step(plan, catalogue)), ("By place", _by_place(plan)), ("Cutting", _cutting(plan))]
    return parts_workbook(plan, ledger, [(name, rows) for name, made in others if len(rows := list(made)) > 1])


def plan_map(plan: Plan, _catalogue: Catalogue, _entries: Iterable[Entry] = ()) -> bytes:
    """The map of a plan as GeoJSON."""
    return plan_geojson(plan).encode()


def plan_cad(plan: Plan, _catalogue: Catalogue, _entries: Iterable[Entry] = ()) -> bytes:
    """The plan as DXF, in true units."""
    return plan_dxf(plan, resolve_ground(plan.yard))


def plan_drawing(plan: Plan, _catalogue: Catalogue, _entries: Iterable[Entry] = ()) -> bytes:
    """The plan sheet as SVG."""
    return draw_plan(plan, resolve_ground(plan.yard)).encode()


EXPORTS: Mapping[str, Callable[[Plan, Catalogue, Iterable[Entry]], bytes]] = {
    ".xlsx": plan_workbook,
    ".geojson": plan_map,
    ".dxf": plan_cad,
    ".svg": plan_drawing,
}


def _by_step(plan: Plan, catalogue: Catalogue) -> Iterator[list[Cell]]:
    """Which step of the build uses up which parts; what is counted in bulk belongs to none."""
    system = plan.yard.units
    yield ["step", "part", "quantity", "unit"]
    for step in plan_steps(plan, catalogue, BuildTerms.model_validate({"start": _ANY_DAY})):
        for part in step.parts:
            long = part.unit == "m"
            amount = to_system(part.quantity, "length", system) if long else part.quantity
            yield [step.title, part.part, round(amount, 3), unit_name("length", system) if long else "piece"]


def _by_place(plan: Plan) -> Iterator[list[Cell]]:
    """Which parts are used where."""
    yield ["place", "part", "number", "why"]
    for placed in plan.placed:
        yield [placed.where, placed.part, placed.number, placed.why]


def _cutting(plan: Plan) -> Iterator[list[Cell]]:
    """Which stick or coil gives which pieces, in cutting order."""
    system = plan.yard.units
    unit = unit_name("length", system)
    yield ["pipe", "stick or coil", f"its length ({unit})", f"piece ({unit})", "for", f"left over ({unit})"]
    for cutting in plan.cutting:
        for number, cut in enumerate(cutting.cuts, start=1):
            for place, piece in enumerate(cut.pieces):
                whole, length, left = (
                    round(to_system(one, "length", system), 3) for one in (cut.length, piece.length, cut.left)
                )
                last = place == len(cut.pieces) - 1
                yield [cutting.part, f"{cut.form} {number}", whole, length, piece.where, left if last else None]
