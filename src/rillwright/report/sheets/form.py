"""The commissioning form: what the plan expects beside room for what the pen finds."""

from rillwright.model.plan import Plan
from rillwright.physics.units import show, unit_name
from rillwright.report.palette import CAUTION
from rillwright.report.sheets.book import Book
from rillwright.report.sheets.flow import Cell, Flow

__all__ = ["commissioning_form"]

_PEN = 8.5  # [mm] that handwriting needs
_CARE = (
    "Flush every line before nozzles are set. Open valves slowly, and fill the main before any zone. Stand clear of "
    "heads while air leaves the pipes. The backflow device is tested by whoever local code says."
)


def commissioning_form(book: Book) -> None:
    """Supply, zones and heads to be measured, with the plan's figures; readings go into the field log afterwards."""
    plan = book.told.plan
    if not plan.zones:
        return
    flow = Flow(book, "Commissioning form")
    flow.paragraph(_CARE, fill=CAUTION)
    _supply(flow, plan)
    _zones(flow, plan)
    _heads(flow, plan)
    flow.heading("Signed", keep=14)
    flow.table((Cell("name", stretch=2), Cell("date", stretch=1), Cell("remarks", stretch=4)), [("", "", "")], pen=12)


def _supply(flow: Flow, plan: Plan) -> None:
    system = plan.yard.units
    pressure, flows = unit_name("pressure", system), unit_name("flow", system)
    curve = plan.supply.expected
    static = curve.static if curve.cap is None else curve.cap
    rows = [
        (f"static pressure at the water entry, nothing running ({pressure})", show(static, "pressure", system)),
        (f"flow at the meter with the largest zone running ({flows})", _largest(plan)),
        ("main shut in under pressure: volume let in, and over how long", "none"),
        (f"backflow protection: {plan.backflow or 'none'}; tested by, number of the report", ""),
        ("controller: stations, and the common, joined and named as on the plan", str(len(plan.zones))),
    ]
    flow.heading("Supply, main and controller")
    flow.table(
        (Cell("what", stretch=3), Cell("by plan", right=True), Cell("found", stretch=2), Cell("ok", stretch=0.4)),
        [(what, planned, "", "") for what, planned in rows],
        pen=_PEN,
    )


def _largest(plan: Plan) -> str:
    zone = max(plan.zones, key=lambda zone: zone.flow)
    return f"{zone.id}: {show(zone.flow, 'flow', plan.yard.units)}"


def _zones(flow: Flow, plan: Plan) -> None:
    system = plan.yard.units
    pressure, flows = unit_name("pressure", system), unit_name("flow", system)
    flow.heading("Zones, each running alone for five minutes")
    flow.table(
        (
            Cell("station"),
            Cell("zone"),
            Cell("flow by plan", right=True),
            Cell(f"flow found ({flows})", stretch=2),
            Cell("worst head by plan", right=True),
            Cell(f"found there ({pressure})", stretch=2),
            Cell("control: turns in", stretch=1.4),
            Cell("leaks, weeping heads", stretch=3),
            Cell("ok", stretch=0.6),
        ),
        [
            (
                str(zone.station),
                zone.id,
                show(zone.flow, "flow", system),
                "",
                f"{zone.worst_head} {show(zone.pressure_low, 'pressure', system)}",
                "",
                "",
                "",
                "",
            )
            for zone in plan.zones
        ],
        pen=_PEN,
    )


def _heads(flow: Flow, plan: Plan) -> None:
    """A row for each head."""
    system = plan.yard.units
    zone_of = {head: zone.id for zone in plan.zones for head in zone.heads}
    flow.heading("Heads: upright, at grade, arc and throw as set")
    flow.table(
        (
            Cell("head"),
            Cell("zone"),
            Cell("nozzle"),
            Cell("arc", right=True),
            Cell("throw", right=True),
            Cell("arc found", stretch=1),
            Cell("throw found", stretch=1),
            Cell("remarks", stretch=3),
            Cell("ok", stretch=0.4),
        ),
        [
            (
                head.id,
                zone_of.get(head.id, ""),
                head.nozzle,
                "strip" if head.arc == 0 else show(head.arc, "angle", system),
                show(head.radius, "length", system),
                "",
                "",
                "",
                "",
            )
            for head in plan.heads
        ],
        pen=_PEN,
    )
