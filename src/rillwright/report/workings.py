"""The working of every number in a plan: formula, inputs, source.

Each builder below takes the plan and yields the workings of one subject. A working also recomputes its number from its
inputs where a formula gives it, so that a test can hold the printed number against the formula.
"""

import difflib
import math
from collections.abc import Iterator
from dataclasses import dataclass

from shapely.geometry import LineString

from rillwright.errors import NotExplainedError
from rillwright.model.plan import Head, Lawn, Plan, SupplyCurve, Zone
from rillwright.physics.units import show

__all__ = ["Working", "all_workings", "working_of"]

_CURVE = "P(Q) = static - k Q^n, fitted to the measurements; docs/theory/supply.md"
_GRID = "water parcels thrown by every head on a 0.25 m grid; docs/theory/coverage.md"
_NETWORK = "network solved with the supply curve, every pipe, device and nozzle; docs/theory/hydraulics.md"


@dataclass(frozen=True, slots=True)
class Working:
    """How one number came about."""

    key: str
    title: str
    value: float  # SI
    dimension: str  # key of units.DIMENSIONS
    formula: str
    inputs: tuple[tuple[str, str], ...]  # name and printed value
    source: str
    again: float | None = None  # the number recomputed from the formula, SI; None when a solver gave it

    def printed(self, plan: Plan) -> str:
        """The value in the yard's units."""
        return show(self.value, self.dimension, plan.yard.units)


def all_workings(plan: Plan) -> dict[str, Working]:
    """Every working of a plan by its key, in reading order."""
    builders = (_supply, _lawns, _heads, _zones, _places, _pipes, _trenches, _parts, _cost, _proofs)
    return {w.key: w for builder in builders for w in builder(plan)}


def working_of(plan: Plan, key: str) -> Working:
    """The working of one number; NotExplainedError names keys near a wrong one."""
    found = all_workings(plan)
    wanted = key.strip().lower()
    for name, working in found.items():
        if name.lower() == wanted:
            return working
    starts = [name for name in found if name.lower().startswith(wanted)]
    near = starts or difflib.get_close_matches(key, list(found), n=6, cutoff=0.4)
    raise NotExplainedError(key, tuple(near[:8]))


def _curve_inputs(curve: SupplyCurve, plan: Plan) -> tuple[tuple[str, str], ...]:
    return (
        ("static", show(curve.static, "pressure", plan.yard.units)),
        ("k [Pa/(m³/s)^n]", f"{curve.factor:.4g}"),
        ("n", f"{curve.exponent:.3f}"),
    )


def _supply(plan: Plan) -> Iterator[Working]:
    s, system = plan.supply, plan.yard.units
    curve = _curve_inputs(s.expected, plan)
    yield Working(
        "supply.static", "Static pressure at the entry", s.expected.static, "pressure", _CURVE, curve, "fit, median"
    )
    yield Working(
        "supply.open-flow",
        "Flow of the open pipe, at no pressure",
        s.open_flow,
        "flow",
        "Q = (static / k)^(1/n)",
        curve,
        "fit, median over the draws",
    )
    needed = ("pressure needed", show(s.reference_pressure, "pressure", system))
    yield Working(
        "supply.reference-pressure",
        "Pressure needed at the entry",
        s.reference_pressure,
        "pressure",
        "head pressure + height + backflow device + valve + pipes, of the most demanding zone",
        tuple((z.id, show(z.entry_pressure, "pressure", system)) for z in plan.zones),
        _NETWORK,
    )
    for name, value, words in (
        ("flow-low", s.flow_low, "5 % quantile"),
        ("flow-median", s.flow_median, "median"),
        ("flow-high", s.flow_high, "95 % quantile"),
    ):
        title = f"Flow at the needed pressure, {words}"
        formula = "Q = ((static - P) / k)^(1/n) over the fitted draws"
        yield Working(f"supply.{name}", title, value, "flow", formula, (*curve, needed), words)
    for limit in s.limits:
        title = f"Limit of the {limit.name}"
        inputs = tuple(limit.inputs.items())
        yield Working(f"supply.limit.{limit.name}", title, limit.flow, "flow", limit.formula, inputs, limit.source)
    least = min((limit.flow for limit in s.limits), default=0.0)
    yield Working(
        "supply.safe-flow",
        "Safe working flow",
        s.safe_flow,
        "flow",
        "least of the limits, less what is held back for the house",
        (
            *((f"limit: {limit.name}", show(limit.flow, "flow", system)) for limit in s.limits),
            ("held back", show(plan.yard.rules.house_reserve, "flow", system)),
            ("binds", s.binds),
        ),
        "docs/theory/supply.md",
        max(0.0, least - plan.yard.rules.house_reserve),
    )
    for number, point in enumerate(s.measured, start=1):
        for name, value, dimension in (("flow", point.flow, "flow"), ("pressure", point.pressure, "pressure")):
            title = f"{point.label}: {name}"
            inputs = tuple(point.inputs.items())
            yield Working(f"measured.{number}.{name}", title, value, dimension, point.formula, inputs, "measured")


def _lawns(plan: Plan) -> Iterator[Working]:
    for lawn in plan.lawns:
        key = f"lawn.{lawn.id}"
        own = [h for h in plan.heads if h.lawn == lawn.id]
        heads = ("heads", str(len(own)))
        yield Working(
            f"{key}.area", "Lawn really watered", lawn.area, "area", "outline less what lies on it", (), "yard"
        )
        e = lawn.evenness
        for name, value, dimension, formula in (
            ("cu", e.cu, "share", "CU = 1 - sum |x - mean| / sum x over the lawn's cells (Christiansen 1942)"),
            ("du", e.du, "share", "DU = mean of the lowest quarter of the cells / mean of all (NEH 623 ch. 11)"),
            ("scheduling", e.scheduling, "number", "mean rate / mean rate of the driest window of 5 % of the area"),
            ("rate", e.mean_rate, "rate", "mean precipitation rate over the lawn's cells, all its zones running"),
        ):
            yield Working(f"{key}.{name}", f"{lawn.id}: {name.upper()}", value, dimension, formula, (heads,), _GRID)
        yield from _lawn_water(lawn, own, plan, key)


def _lawn_water(lawn: Lawn, own: list[Head], plan: Plan, key: str) -> Iterator[Working]:
    total = sum(h.flow for h in own)
    inputs = tuple((h.id, show(h.flow, "flow", plan.yard.units)) for h in own)
    yield Working(
        f"{key}.water", f"{lawn.id}: out of its nozzles", lawn.water, "flow", "sum of its heads", inputs, "", total
    )
    for name, value in (
        ("on-lawn", lawn.on_lawn),
        ("on-paving", lawn.on_paving),
        ("on-building", lawn.on_building),
        ("elsewhere", lawn.elsewhere),
    ):
        share = ("share of its water", f"{100 * value / max(lawn.water, 1e-12):.1f} %")
        title = f"{lawn.id}: water {name.replace('-', ' ')}"
        yield Working(f"{key}.{name}", title, value, "flow", "sum over the grid's cells", (share,), _GRID)


def _heads(plan: Plan) -> Iterator[Working]:
    system = plan.yard.units
    laws = {n.id: n for n in plan.nozzles}
    zone_of = {head: zone for zone in plan.zones for head in zone.heads}
    for head in plan.heads:
        law = laws[head.nozzle]
        zone = zone_of.get(head.id)
        key = f"head.{head.id}"
        pressure = ("pressure", show(head.pressure, "pressure", system))
        yield Working(
            f"{key}.pressure",
            f"{head.id}: pressure at the nozzle",
            head.pressure,
            "pressure",
            "solved with its zone running" if zone else "design pressure of the class: not solved",
            (("zone", zone.id), ("height of the ground", show(head.ground, "length", system))) if zone else (),
            _NETWORK,
        )
        share = head.arc / law.reference_arc if law.flow_follows_arc and head.arc else 1.0
        yield Working(
            f"{key}.flow",
            f"{head.id}: flow",
            head.flow,
            "flow",
            "q = K p^x" + (" · arc / reference arc" if law.flow_follows_arc and head.arc else ""),
            (
                pressure,
                ("nozzle", head.nozzle),
                ("K [m³/s/Pa^x]", f"{law.coefficient:.5g}"),
                ("x", f"{law.exponent:.3f}"),
                ("arc", show(head.arc, "angle", system)),
            ),
            law.source,
            share * law.coefficient * head.pressure**law.exponent,
        )
        yield Working(
            f"{key}.radius",
            f"{head.id}: throw",
            head.radius,
            "length",
            "chart radius at the pressure · share it is turned down to",
            (pressure, ("nozzle", head.nozzle), ("turned to", f"{100 * head.radius_share:.0f} %")),
            law.source,
        )
        yield Working(
            f"{key}.arc",
            f"{head.id}: arc",
            head.arc,
            "angle",
            "widest arc that faces the lawn and keeps water off buildings",
            (("starts at", show(head.arc_start, "angle", system)),),
            "docs/theory/coverage.md",
        )


def _zones(plan: Plan) -> Iterator[Working]:
    system = plan.yard.units
    flows = {h.id: h.flow for h in plan.heads}
    for zone in plan.zones:
        key = f"zone.{zone.id}"
        inputs = tuple((h, show(flows[h], "flow", system)) for h in zone.heads)
        total = sum(flows[h] for h in zone.heads)
        yield Working(f"{key}.flow", f"{zone.id}: flow", zone.flow, "flow", "sum of its heads", inputs, _NETWORK, total)
        yield Working(
            f"{key}.safe-flow",
            f"{zone.id}: safe flow",
            zone.safe_flow,
            "flow",
            "largest flow at which the cautious supply still gives its heads their pressure, or another limit",
            (("binds", zone.safe_binds), *_curve_inputs(plan.supply.cautious, plan)),
            "docs/theory/supply.md",
        )
        yield Working(
            f"{key}.area",
            f"{zone.id}: area",
            zone.area,
            "area",
            "lawn cells nearest to one of its heads",
            (("heads", str(len(zone.heads))),),
            _GRID,
        )
        yield Working(
            f"{key}.precipitation",
            f"{zone.id}: precipitation rate",
            zone.precipitation,
            "rate",
            "flow / area",
            (("flow", show(zone.flow, "flow", system)), ("area", show(zone.area, "area", system))),
            "identity (96.25 gpm/ft² in US units)",
            zone.flow / zone.area,
        )
        yield from _zone_pressures(zone, plan, key)


def _zone_pressures(zone: Zone, plan: Plan, key: str) -> Iterator[Working]:
    system = plan.yard.units
    steps = tuple((step.label, show(step.pressure, "pressure", system)) for step in zone.steps)
    entry = zone.entry_pressure
    yield Working(
        f"{key}.entry-pressure",
        f"{zone.id}: pressure at the entry",
        entry,
        "pressure",
        "P(Q) = static - k Q^n",
        (*_curve_inputs(plan.supply.expected, plan), ("Q", show(zone.flow, "flow", system))),
        "docs/theory/supply.md",
        plan.supply.expected.pressure(zone.flow),
    )
    yield Working(
        f"{key}.pressure-low",
        f"{zone.id}: least pressure, at {zone.worst_head}",
        zone.pressure_low,
        "pressure",
        "entry pressure less every step on the way",
        (("entry", show(entry, "pressure", system)), *steps),
        _NETWORK,
        entry - sum(step.pressure for step in zone.steps),
    )
    for name, value, dimension, title in (
        ("pressure-high", zone.pressure_high, "pressure", "greatest pressure"),
        ("cautious-low", zone.cautious_low, "pressure", "least pressure when the supply is at its cautious curve"),
        ("flow-spread", zone.flow_spread, "share", "spread of flow between like heads"),
    ):
        yield Working(f"{key}.{name}", f"{zone.id}: {title}", value, dimension, "solved", (), _NETWORK)
    for number, step in enumerate(zone.steps, start=1):
        inputs = tuple(step.inputs.items())
        title = f"{zone.id}: {step.label}"
        yield Working(f"{key}.step.{number}", title, step.pressure, "pressure", step.formula, inputs, step.source)


def _places(plan: Plan) -> Iterator[Working]:
    system = plan.yard.units
    for place in plan.places:
        inputs = (
            ("kind", place.backflow),
            ("highest outlet or pipe", show(place.highest_outlet, "length", system)),
            ("ground here", show(place.ground, "length", system)),
        )
        if place.device_height is not None:
            yield Working(
                f"place.{place.id}.device-height",
                f"{place.id}: critical level over the ground",
                place.device_height,
                "length",
                "highest outlet + clearance of the kind - ground, at least the kind's height over ground",
                inputs,
                "ASSE 1001, 1013, 1015, 1020; local code rules",
            )


def _pipes(plan: Plan) -> Iterator[Working]:
    system = plan.yard.units
    for pipe in plan.pipes:
        key = f"pipe.{pipe.id}"
        bore, flow = ("bore", show(pipe.bore, "bore", system)), ("flow", show(pipe.flow, "flow", system))
        drawn = LineString(pipe.path).length
        yield Working(f"{key}.length", f"{pipe.id}: length", pipe.length, "length", "along its path", (), "plan", drawn)
        what = (("material", pipe.material), ("size", pipe.size))
        yield Working(f"{key}.bore", f"{pipe.id}: bore", pipe.bore, "bore", "dimension table", what, "pipes table")
        served = "most that any zone draws through it"
        yield Working(f"{key}.flow", f"{pipe.id}: flow", pipe.flow, "flow", served, (), _NETWORK)
        yield Working(
            f"{key}.velocity",
            f"{pipe.id}: velocity",
            pipe.velocity,
            "velocity",
            "v = 4 Q / (π d²)",
            (flow, bore),
            "continuity",
            4 * pipe.flow / (math.pi * pipe.bore**2),
        )
        formula = "Darcy-Weisbach with Colebrook-White, fittings by K"
        inputs = (flow, bore, ("length", show(pipe.length, "length", system)))
        yield Working(
            f"{key}.loss", f"{pipe.id}: loss", pipe.loss, "pressure", formula, inputs, "docs/theory/hydraulics.md"
        )


def _trenches(plan: Plan) -> Iterator[Working]:
    for trench in plan.trenches:
        key = f"trench.{trench.id}"
        drawn = LineString(trench.path).length
        yield Working(
            f"{key}.length", f"{trench.id}: length", trench.length, "length", "along its path", (), "plan", drawn
        )
        inputs = (("surface", trench.surface), ("pipes", ", ".join(trench.pipes)))
        formula = "length · cost of a metre in this surface (+ crossing)"
        yield Working(f"{key}.cost", f"{trench.id}: cost", trench.cost, "money", formula, inputs, "trench table")


def _parts(plan: Plan) -> Iterator[Working]:
    for line in plan.parts:
        key = f"part.{line.id}"
        dimension = "length" if line.unit == "m" else "number"
        yield Working(f"{key}.quantity", line.part, line.quantity, dimension, line.why, (), "plan geometry")
        inputs = (("quantity", f"{line.quantity:g} {line.unit}"), ("already bought", f"{line.owned:g}"))
        yield Working(
            f"{key}.cost",
            f"{line.part}: cost",
            max(0.0, line.quantity - line.owned) * line.price,
            "money",
            "(quantity - already bought) · price",
            (*inputs, ("price", f"{line.price:.2f} {plan.yard.currency}")),
            line.price_source,
        )


def _cost(plan: Plan) -> Iterator[Working]:
    if plan.cost is None:
        return
    parts = sum(max(0.0, line.quantity - line.owned) * line.price for line in plan.parts)
    trenches = sum(trench.cost for trench in plan.trenches)
    counted = ("lines", str(len(plan.parts)))
    yield Working(
        "cost.parts", "Parts", plan.cost.parts, "money", "sum over the parts list", (counted,), "prices", parts
    )
    dug = ("trenches", str(len(plan.trenches)))
    yield Working(
        "cost.trenches", "Trenches", plan.cost.trenches, "money", "sum of trenches", (dug,), "costs", trenches
    )
    both = (("parts", f"{plan.cost.parts:.2f}"), ("trenches", f"{plan.cost.trenches:.2f}"))
    total = plan.cost.parts + plan.cost.trenches
    yield Working("cost.total", "Total", plan.cost.total, "money", "parts + trenches", both, "sum", total)


def _proofs(plan: Plan) -> Iterator[Working]:
    for number, proof in enumerate(plan.proofs, start=1):
        bound = "none" if proof.bound is None else f"{proof.bound:.6g}"
        inputs = (("status", proof.status), ("bound", bound))
        yield Working(f"proof.{number}.value", proof.stage, proof.value, "number", proof.method, inputs, "solver")
