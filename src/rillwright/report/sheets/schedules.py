"""Schedules: heads with tapes, valves and their places, pipes, trenches."""

from rillwright.model.as_built import BuiltMark
from rillwright.model.plan import Head, Plan
from rillwright.physics.units import show
from rillwright.report.sheets.book import Book
from rillwright.report.sheets.flow import Cell, Flow
from rillwright.report.sheets.told import Told

__all__ = ["schedule_sheets"]

_TAPES = (
    "A head stands where its two tapes, held level, meet; or so far along the wall from one corner towards the other, "
    "then square off it. Letters are corners on the sheet of heads. Directions count clockwise from north."
)


def schedule_sheets(book: Book) -> None:
    """All schedules, one under the other."""
    told = book.told
    if not told.plan.heads:
        return
    flow = Flow(book, "Schedules")
    _heads(flow, told)
    if told.plan.zones:
        _valves(flow, told)
    if told.plan.pipes:
        _pipes(flow, told.plan)
    if told.plan.trenches:
        _trenches(flow, told.plan)


def _heads(flow: Flow, told: Told) -> None:
    """Every head: nozzle, arc, throw, flow and pressure, and how it is found by tape."""
    flow.heading("Schedule of heads")
    cells = [
        Cell("head"),
        Cell("zone"),
        Cell("nozzle", stretch=1),
        Cell("arc", right=True),
        Cell("from", right=True),
        Cell("to", right=True),
        Cell("throw", right=True),
        Cell("flow", right=True),
        Cell("pressure", right=True),
        Cell("ground", right=True),
        Cell("by tape", stretch=2),
    ]
    zone_of = {head: zone.id for zone in told.plan.zones for head in zone.heads}
    rows = [
        _head(head, zone_of.get(head.id, ""), told.plan, told.taped.places.get(head.id)) for head in told.plan.heads
    ]
    flow.table(cells, rows)
    if told.taped.places:
        flow.paragraph(_TAPES)
        flow.paragraph("; ".join(f"{corner.letter}: {corner.what}" for corner in told.taped.corners))


def _head(head: Head, zone: str, plan: Plan, mark: BuiltMark | None) -> list[str]:
    system, north = plan.yard.units, plan.yard.north
    strip = head.arc == 0
    last = (north - head.arc_start) % 360
    first = (north - head.arc_start - head.arc) % 360
    whole = head.arc >= 360
    return [
        head.id,
        zone,
        head.nozzle,
        "strip" if strip else show(head.arc, "angle", system),
        "" if whole else show(first, "angle", system),
        "" if whole or strip else show(last, "angle", system),
        show(head.radius, "length", system),
        show(head.flow, "flow", system),
        show(head.pressure, "pressure", system),
        show(head.ground, "length", system),
        "" if mark is None else _by_tape(mark, plan),
    ]


def _by_tape(mark: BuiltMark, plan: Plan) -> str:
    """The better of the two ways to find a place."""
    system = plan.yard.units
    if mark.by_wall is not None:
        along, off = (show(value, "length", system) for value in (mark.by_wall.along, mark.by_wall.off))
        return f"{mark.by_wall.start} towards {mark.by_wall.towards} {along}, {off} off"
    tapes = ", ".join(f"{o.corner} {show(o.distance, 'length', system)}" for o in mark.offsets)
    return f"{tapes}, {mark.side}" if tapes else "no two corners in sight"


def _valves(flow: Flow, told: Told) -> None:
    """Every zone valve, then the places where they stand."""
    plan, system = told.plan, told.plan.yard.units
    flow.heading("Schedule of valves")
    cells = ["station", "zone", "place", "heads", "flow", "may draw", "after the valve", "worst head", "rate"]
    flow.table(
        [Cell(title, right=n > 2) for n, title in enumerate(cells)],
        [
            (
                str(zone.station),
                zone.id,
                zone.place,
                str(len(zone.heads)),
                show(zone.flow, "flow", system),
                show(zone.safe_flow, "flow", system),
                show(zone.after_valve, "pressure", system),
                f"{zone.worst_head} {show(zone.pressure_low, 'pressure', system)}",
                show(zone.precipitation, "rate", system),
            )
            for zone in plan.zones
        ],
    )
    flow.heading("Schedule of valve places")
    places = ["place", "zones", "backflow protection", "ground", "its height over ground", "highest outlet", "by tape"]
    taped = told.taped.places
    flow.table(
        [Cell(title, right=n in (3, 4, 5), stretch=n in (1, 6)) for n, title in enumerate(places)],
        [
            (
                place.id,
                ", ".join(place.zones),
                place.backflow,
                show(place.ground, "length", system),
                "elsewhere" if place.device_height is None else show(place.device_height, "length", system),
                show(place.highest_outlet, "length", system),
                _by_tape(taped[place.id], plan) if place.id in taped else "",
            )
            for place in plan.places
        ],
    )


def _pipes(flow: Flow, plan: Plan) -> None:
    """Every run of pipe."""
    system = plan.yard.units
    titles = ("pipe", "from", "to", "material", "size", "length", "most flow", "velocity", "loss")
    cells = [Cell(title, right=n > 4) for n, title in enumerate(titles)]
    rows = [
        (
            pipe.id,
            pipe.start,
            pipe.end,
            pipe.material,
            pipe.size,
            show(pipe.length, "length", system),
            show(pipe.flow, "flow", system),
            show(pipe.velocity, "velocity", system),
            show(pipe.loss, "pressure", system),
        )
        for pipe in plan.pipes
    ]
    flow.heading("Schedule of pipes")
    flow.beside(cells, rows)


def _trenches(flow: Flow, plan: Plan) -> None:
    """Every stretch of trench with the pipes in it."""
    system = plan.yard.units
    cells = (Cell("trench"), Cell("in"), Cell("length", right=True), Cell("sleeve"), Cell("pipes", stretch=1))
    rows = [
        (
            trench.id,
            trench.surface,
            show(trench.length, "length", system),
            "sleeve" if trench.sleeve else "",
            ", ".join(trench.pipes),
        )
        for trench in plan.trenches
    ]
    flow.heading("Schedule of trenches")
    flow.beside(cells, rows)
