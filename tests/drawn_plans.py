"""Plans for the tests of what comes out: real ones, and one drawn up by hand that is as crowded as may be."""

from functools import cache
from itertools import pairwise

from plan_yards import planned, planned_example, rectangle, small_yard
from rillwright.exchange.yard_file import validated
from rillwright.jobs.picture import relative_depth
from rillwright.model.catalogue import load_catalogue
from rillwright.model.ground import resolve_ground
from rillwright.model.plan import (
    Cost,
    CurvePoint,
    Evenness,
    Head,
    Lawn,
    LossStep,
    Node,
    NozzleUsed,
    PartLine,
    Pipe,
    Plan,
    SupplyCurve,
    SupplyLimit,
    SupplyReport,
    Trench,
    ValvePlace,
    Zone,
)
from rillwright.report.depth_drawing import draw_depth
from rillwright.report.plan_drawing import draw_plan

NAMES = ("demo", "small", "crowded", "crowded US", "too little water")
CATALOGUE = load_catalogue()
K, X = 1.2e-7, 0.5  # [m³/s/Pa^x] of the invented nozzle
STATIC, FACTOR, EXPONENT = 450e3, 3.0e11, 2.0


@cache
def plan_named(name):
    if name == "demo":
        return planned_example("demo.yard.json")
    if name == "small":
        return planned(small_yard())
    if name == "too little water":
        return planned(small_yard(supply=[{"kind": "static gauge", "pressure": 120}]))
    return crowded_plan(16, "US" if name == "crowded US" else "metric")


@cache
def sheets_of(name):
    """The SVG texts of a plan: the plan sheet and, when there are heads, the depth sheet."""
    plan = plan_named(name)
    ground = resolve_ground(plan.yard)
    sheets = [draw_plan(plan, ground)]
    if plan.heads:
        depth, bounds = relative_depth(plan, ground, CATALOGUE)
        sheets.append(draw_depth(plan, ground, depth=depth, bounds=bounds))
    return sheets


def crowded_plan(count, units):
    """Lawns in two rows along a path; all valves stand by the entry and all pipes share the trench in the path."""
    unit = 0.3048 if units == "US" else 1.0
    columns = (count + 1) // 2
    corners = [(2 + 5 * (i % columns), 10.0 if i < columns else 0.0) for i in range(count)]
    document = small_yard(
        name="A yard with a name so long that it has to be broken into lines, and words-that-cannot-be-broken-at-all",
        units=units,
        areas=[
            *(
                {"id": f"lawn number {i + 1}", "kind": "lawn", "outline": _scaled(rectangle(x, y, 4.6, 8), unit)}
                for i, (x, y) in enumerate(corners)
            ),
            {"id": "path", "kind": "paving", "outline": _scaled(rectangle(0, 8, 2 + 5 * columns, 2), unit)},
        ],
        spot_heights=[{"at": [x / unit, y / unit], "height": 0.08 * y / unit} for x in (0, 40) for y in (0, 18)],
        water_entry={
            "at": [0.5 / unit, 9 / unit],
            "height": 0.5 / unit,
            "pipe": {"material": "copper L", "size": "1 in", "length": 15},
        },
        controller={"stations": count, "at": [0.6 / unit, 9.2 / unit]},
        supply=[],
        backflow={"allowed": ["pressure vacuum breaker"]},
    )
    yard = validated(document, source="test")
    heads, zones, pipes, lawns = [], [], [], []
    for i, (x, y) in enumerate(corners):
        zone, edge = f"Z{i + 1}", y if y > 5 else y + 8
        own = [_head(f"H{2 * i + 1}", i, (x, edge)), _head(f"H{2 * i + 2}", i, (x + 4.6, edge))]
        heads += own
        lawns.append(_lawn(i, own, (x + 2, y + 4)))
        runs = (((1.0, 9.0), (x, 9.0), (x, edge)), ((x, edge), (x + 4.6, edge)))
        ends = ("V1", own[0].id, own[1].id)
        for n, path in enumerate(runs):
            pipes.append(_pipe(f"{zone}.{n + 1}", zone, ends[n], ends[n + 1], path, sum(h.flow for h in own[n:])))
        zones.append(_zone(zone, i, own))
    main = _pipe("M1", None, "entry", "V1", ((0.5, 9.0), (1.0, 9.0)), max(z.flow for z in zones))
    trenches = _trenches(pipes, corners)
    parts = (
        _part("L1", "head rotary", "piece", 2.0 * count, 2.0, 5.0),
        _part("L2", "pipe PE 3/4 in", "m", sum(p.length for p in pipes) * 1.05, 0.0, 0.95),
    )
    bought, dug = sum((p.quantity - p.owned) * p.price for p in parts), sum(t.cost for t in trenches)
    return Plan(
        software="0",
        seed=0,
        yard=yard,
        verdict="fits with cautions",
        headline="Drawn up by hand for a test, with more zones and labels than a sheet likes to hold.",
        backflow="pressure vacuum breaker",
        supply=_supply(zones),
        lawns=tuple(lawns),
        heads=tuple(heads),
        nozzles=(_law(),),
        zones=tuple(zones),
        places=(_place(zones),),
        nodes=tuple(Node(id=n, at=at, ground=0.7) for n, at in (("entry", (0.5, 9.0)), ("V1", (1.0, 9.0)))),
        pipes=(main, *pipes),
        trenches=trenches,
        parts=parts,
        cost=Cost(parts=bought, trenches=dug, total=bought + dug, budget=None),
    )


def _scaled(ring, unit):
    return [[x / unit, y / unit] for x, y in ring]


def _head(name, lawn, at):
    return Head(
        id=name,
        lawn=f"lawn number {lawn + 1}",
        at=at,
        ground=0.08 * at[1],
        head_class="rotary",
        nozzle="rotary 15 ft",
        arc_start=0.0,
        arc=180.0,
        radius_share=0.9,
        radius=4.3,
        flow=K * 0.5 * 280e3**X,
        pressure=280e3,
        hydrozone="turf",
    )


def _law():
    return NozzleUsed(
        id="rotary 15 ft",
        head_class="rotary",
        pattern="sector",
        width=0.0,
        coefficient=K,
        exponent=X,
        reference_arc=360.0,
        flow_follows_arc=True,
        flow_follows_radius=False,
        lowest_pressure=200e3,
        highest_pressure=380e3,
        design_pressure=280e3,
        source="test",
    )


def _lawn(i, heads, middle):
    water = sum(h.flow for h in heads)
    return Lawn(
        id=f"lawn number {i + 1}",
        area=36.8,
        head_class="rotary",
        hydrozone="turf",
        evenness=Evenness(cu=0.85, du=0.75, scheduling=1.25, mean_rate=water / 36.8, driest=middle),
        water=water,
        on_lawn=0.9 * water,
        on_paving=0.1 * water,
        on_building=0.0,
        off_site=0.0,
        elsewhere=0.0,
    )


def _pipe(name, zone, start, end, path, flow):
    bore = 0.0209
    return Pipe(
        id=name,
        role="lateral" if zone else "main",
        zone=zone,
        start=start,
        end=end,
        path=path,
        length=sum(((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2) ** 0.5 for a, b in pairwise(path)),
        material="PE",
        size="3/4 in",
        bore=bore,
        flow=flow,
        velocity=4 * flow / (3.141592653589793 * bore**2),
        loss=2e3,
    )


def _zone(name, i, heads):
    flow = sum(h.flow for h in heads)
    entry = STATIC - FACTOR * flow**EXPONENT
    steps = tuple(
        LossStep(label=label, pressure=share * (entry - 280e3), formula="given", inputs={}, source="test")
        for label, share in (("flow control, turned down", 0.6), (f"lateral {name}.1, PE 3/4 in", 0.4))
    )
    return Zone(
        id=name,
        station=i + 1,
        head_class="rotary",
        hydrozone="turf",
        heads=tuple(h.id for h in heads),
        place="V1",
        flow=flow,
        safe_flow=2 * flow,
        safe_binds="curve",
        area=36.8,
        precipitation=flow / 36.8,
        entry_pressure=entry,
        needed_pressure=entry - 0.6 * (entry - 280e3),
        after_valve=280e3 + 0.4 * (entry - 280e3),
        pressure_low=280e3,
        pressure_high=280e3,
        cautious_low=270e3,
        worst_head=heads[1].id,
        flow_spread=0.0,
        steps=steps,
    )


def _place(zones):
    return ValvePlace(
        id="V1",
        at=(1.0, 9.0),
        ground=0.7,
        backflow="pressure vacuum breaker",
        device_height=0.5,
        highest_outlet=1.1,
        zones=tuple(zone.id for zone in zones),
    )


def _trenches(pipes, corners):
    stops = sorted({1.0, *(x for x, _ in corners)})
    out = []
    for n, (a, b) in enumerate(pairwise(stops), start=1):
        inside = tuple(p.id for p in pipes if p.start == "V1" and p.path[1][0] >= b)
        out.append(_trench(f"T{n}", ((a, 9.0), (b, 9.0)), inside, "paving"))
    for pipe in pipes:
        out.append(_trench(f"T{len(out) + 1}", pipe.path[-2:], (pipe.id,), "lawn"))
    return tuple(out)


def _trench(name, path, pipes, surface):
    length = abs(path[1][0] - path[0][0]) + abs(path[1][1] - path[0][1])
    return Trench(
        id=name, path=path, surface=surface, length=length, pipes=pipes, sleeve=surface == "paving", cost=3 * length
    )


def _part(name, part, unit, quantity, owned, price):
    return PartLine(
        id=name, part=part, unit=unit, quantity=quantity, owned=owned, price=price, price_source="invented", why="test"
    )


def _supply(zones):
    curve = SupplyCurve(static=STATIC, factor=FACTOR, exponent=EXPONENT)
    flow = max(z.safe_flow for z in zones)
    need = curve.pressure(flow)
    flows = [curve.flow(0.0) * n / 20 for n in range(21)]
    points = [CurvePoint(flow=q, low=curve.pressure(q) - 2e4, median=curve.pressure(q), high=4.6e5) for q in flows]
    return SupplyReport(
        basis="assumed",
        expected=curve,
        cautious=curve,
        curve=tuple(points),
        measured=(),
        open_flow=curve.flow(0.0),
        reference_pressure=need,
        flow_low=0.9 * flow,
        flow_median=flow,
        flow_high=1.1 * flow,
        limits=(SupplyLimit(name="curve", flow=flow, formula="given", inputs={}, source="test"),),
        safe_flow=flow,
        binds="curve",
    )
