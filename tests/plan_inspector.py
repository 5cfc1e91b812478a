"""An inspector of finished plans who shares no code with the checks: shapely on the drawing, networkx on the pipes,
scipy on the heights, fluids on the friction. Each function asserts and names the plan's part that is wrong."""

import itertools
import math
from collections import Counter

import fluids
import networkx as nx
import numpy as np
import shapely
from scipy.interpolate import LinearNDInterpolator, NearestNDInterpolator
from shapely.geometry import LineString, Point, Polygon

INCH = 0.0254
ABOVE_OUTLETS = {"atmospheric vacuum breaker": 6 * INCH, "pressure vacuum breaker": 12 * INCH}  # ASSE 1001, ASSE 1020
METER_MAXIMUM_GPM = {"5/8 in": 20, "3/4 in": 30, "1 in": 50, "1-1/2 in": 100, "2 in": 160}  # AWWA C700
GPM = 231 * INCH**3 / 60


def drawn(yard):
    """Each area as it lies on top, in file order: (kind, id, shape)."""
    shapes = [(a.kind, a.id, Polygon(a.outline, a.holes)) for a in yard.areas if a.kind != "roots"]
    return [
        (kind, name, shape.difference(shapely.unary_union([later for _, _, later in shapes[i + 1 :]])))
        for i, (kind, name, shape) in enumerate(shapes)
    ]


def barred(yard):
    """Where neither head nor trench may be."""
    trunks = [Point(tree.at).buffer(tree.trunk_radius) for tree in yard.trees]
    return shapely.unary_union([s for k, _, s in drawn(yard) if k in ("building", "water", "keep-out")] + trunks)


def height_at(yard, at):
    """Ground height by hand: linear between spot heights; the nearest spot's plane is not needed inside their hull."""
    spots = np.array([s.at for s in yard.spot_heights])
    heights = np.array([s.height for s in yard.spot_heights])
    inside = float(LinearNDInterpolator(spots, heights)(*at))
    return inside if not math.isnan(inside) else float(NearestNDInterpolator(spots, heights)(*at))


def heads_stand_on_their_lawn(plan):
    shapes = {name: shape for kind, name, shape in drawn(plan.yard) if kind == "lawn"}
    lawns = {lawn.id: [shapes[part.id] for part in lawn.parts or (lawn,)] for lawn in plan.lawns}
    for head in plan.heads:
        at = Point(head.at)
        assert not barred(plan.yard).contains(at), f"{head.id} stands where nothing may stand"
        assert min(shape.distance(at) for shape in lawns[head.lawn]) < 1e-6, f"{head.id} is off {head.lawn}"


def every_head_is_fed_once(plan):
    count = Counter(name for zone in plan.zones for name in zone.heads)
    assert count == Counter(head.id for head in plan.heads)
    assert len({zone.id for zone in plan.zones}) == len({zone.station for zone in plan.zones}) == len(plan.zones)
    assert len(plan.zones) <= plan.yard.controller.stations


def zones_hold_one_kind_of_watering(plan):
    heads = {head.id: head for head in plan.heads}
    for zone in plan.zones:
        assert {heads[h].head_class for h in zone.heads} == {zone.head_class}, zone.id
        assert {heads[h].hydrozone for h in zone.heads} == {zone.hydrozone}, zone.id


def zones_draw_within_the_supply(plan):
    """Velocity in the service and share of the meter by hand; the curve by the pressure that a poor supply leaves."""
    yard, supply = plan.yard, plan.supply
    heads = {head.id: head for head in plan.heads}
    nozzles = {nozzle.id: nozzle for nozzle in plan.nozzles}
    for zone in plan.zones:
        drawn_flow = sum(heads[h].flow for h in zone.heads)
        assert math.isclose(zone.flow, drawn_flow, rel_tol=1e-6), zone.id
        assert zone.flow <= zone.safe_flow * 1.001, zone.id
        meter = yard.water_entry.meter
        if meter:
            assert zone.flow + yard.rules.reserve <= yard.rules.meter_share * METER_MAXIMUM_GPM[meter.size] * GPM
        assert zone.flow < supply.open_flow
        poor = supply.cautious.pressure(zone.flow + yard.rules.reserve)
        assert poor > 0, f"{zone.id} draws more than a poor supply gives at all"
        assert zone.cautious_low >= max(nozzles[heads[h].nozzle].lowest_pressure for h in zone.heads), zone.id
        assert zone.pressure_low >= max(nozzles[heads[h].nozzle].lowest_pressure for h in zone.heads), zone.id


def pressures_add_up(plan):
    """From the entry to every head: height and friction (fluids, Colebrook) alone must not take more than is lost."""
    nodes = {node.id: node for node in plan.nodes}
    places = {place.id: place for place in plan.places}
    heads = {head.id: head for head in plan.heads}
    nozzles = {nozzle.id: nozzle for nozzle in plan.nozzles}
    for zone in plan.zones:
        assert math.isclose(zone.entry_pressure, plan.supply.expected.pressure(zone.flow), rel_tol=1e-4), zone.id
        steps = sum(step.pressure for step in zone.steps)
        assert math.isclose(zone.entry_pressure - steps, zone.pressure_low, abs_tol=50.0), zone.id
        tree = _graph(plan, zone)
        flows = _flows(tree, zone, heads)
        for name in zone.heads:
            head = heads[name]
            law = nozzles[head.nozzle]
            arc = head.arc / law.reference_arc if law.flow_follows_arc and head.arc else 1.0
            arc *= head.radius_share**2 if law.flow_follows_radius else 1.0
            assert math.isclose(head.flow, arc * law.coefficient * head.pressure**law.exponent, rel_tol=0.02), name
            way = nx.shortest_path(tree, ("main", "entry"), (zone.id, name))
            friction = sum(_friction(tree.edges[e]["pipe"], flows[e]) for e in _steps(way) if tree.edges[e]["pipe"])
            level = nodes[name].ground + plan.yard.rules.popup_height
            rise = 999.1 * 9.80665 * (level - plan.yard.water_entry.height)
            least = friction + rise
            assert head.pressure <= zone.entry_pressure - least + 500.0, name
        assert zone.place in places


def _steps(way):
    return list(itertools.pairwise(way))


def _graph(plan, zone):
    tree = nx.DiGraph()
    for pipe in plan.pipes:
        if pipe.role == "main":
            tree.add_edge(("main", pipe.start), ("main", pipe.end), pipe=pipe)
        elif pipe.zone == zone.id:
            tree.add_edge((zone.id, pipe.start), (zone.id, pipe.end), pipe=pipe)
    tree.add_node(("main", "entry"))
    tree.add_edge(("main", zone.place), (zone.id, zone.place), pipe=None)
    return tree


def _flows(tree, zone, heads):
    flows = Counter()
    for name in zone.heads:
        for edge in _steps(nx.shortest_path(tree, ("main", "entry"), (zone.id, name))):
            flows[edge] += heads[name].flow
    return flows


def _friction(pipe, flow):
    speed = flow / (math.pi / 4 * pipe.bore**2)
    reynolds = fluids.Reynolds(V=speed, D=pipe.bore, rho=999.1, mu=1.138e-3)  # water at 15 °C
    factor = fluids.friction_factor(Re=reynolds, eD=1.5e-6 / pipe.bore)
    return factor * pipe.length / pipe.bore * 999.1 * speed**2 / 2


def pipes_are_continuous(plan):
    """Main and laterals are trees that grow from the entry and the places, or the main a ring that it closes."""
    nodes = {node.id: node.at for node in plan.nodes}
    for role, zone in {(pipe.role, pipe.zone) for pipe in plan.pipes}:
        own = [pipe for pipe in plan.pipes if pipe.role == role and pipe.zone == zone]
        tree = nx.MultiDiGraph((pipe.start, pipe.end) for pipe in own)
        if zone is None and plan.main is not None and plan.main.laid == "looped":
            assert nx.is_weakly_connected(tree)
            assert nx.is_directed_acyclic_graph(tree)
            assert nx.edge_connectivity(nx.Graph(tree)) >= 2 or tree.number_of_nodes() == 2, "the ring is open"
        else:
            assert nx.is_arborescence(tree), f"{zone or 'main'} is no tree"
        root = next(node for node, degree in tree.in_degree if degree == 0)
        home = next((z.place for z in plan.zones if z.id == zone), "entry")
        assert root == home, f"{zone or 'main'} begins at {root}"
        served = next((set(z.heads) for z in plan.zones if z.id == zone), {p.id for p in plan.places})
        assert served - {root} <= set(tree), f"{zone or 'main'} misses {served - set(tree)}"
        ends = {node for node, degree in tree.out_degree if degree == 0}
        assert ends <= served, f"{zone or 'main'} ends in nothing at {ends - served}"
    for pipe in plan.pipes:
        assert math.dist(pipe.path[0], nodes[pipe.start]) < 1e-6, pipe.id
        assert math.dist(pipe.path[-1], nodes[pipe.end]) < 1e-6, pipe.id
        assert math.isclose(LineString(pipe.path).length, pipe.length, rel_tol=1e-6, abs_tol=1e-9), pipe.id
    for head in plan.heads:
        assert math.dist(nodes[head.id], head.at) < 1e-6, head.id


def pipes_lie_in_their_trenches(plan):
    """Each in a trench of its own or shared, but for those that are in the ground already."""
    there = {name for use in plan.existing for name in use.kept_as}
    for pipe in (pipe for pipe in plan.pipes if pipe.id not in there):
        dug = [LineString(trench.path).buffer(0.02) for trench in plan.trenches if pipe.id in trench.pipes]
        bare = LineString(pipe.path).difference(shapely.unary_union(dug)).length
        assert bare < 0.1, f"{pipe.id}: {bare:.2f} m of {pipe.length:.2f} m in no trench of its own"


def trenches_keep_clear(plan):
    shut = barred(plan.yard).buffer(-0.06)
    for trench in plan.trenches:
        assert LineString(trench.path).intersection(shut).length < 0.05, f"{trench.id} runs where no trench may go"


def water_keeps_to_the_velocity(plan):
    for pipe in plan.pipes:
        speed = pipe.flow / (math.pi / 4 * pipe.bore**2)
        assert math.isclose(speed, pipe.velocity, rel_tol=1e-6), pipe.id
        assert speed <= plan.yard.rules.highest_velocity * 1.001, pipe.id


def devices_stand_high_enough(plan):
    """Heights by hand, from the spot heights: 6 in over the highest outlet (ASSE 1001) or 12 in (ASSE 1020)."""
    above = ABOVE_OUTLETS.get(plan.backflow)
    heads = {head.id: head for head in plan.heads}
    for place in plan.places:
        if above is None:
            assert place.device_height is None
            continue
        own = [heads[h] for zone in plan.zones if zone.place == place.id for h in zone.heads]
        outlets = [height_at(plan.yard, head.at) + plan.yard.rules.popup_height for head in own]
        critical = height_at(plan.yard, place.at) + place.device_height
        assert critical >= max(outlets) + above - 0.01, f"{place.id} stands below its rule"
        assert place.device_height <= plan.yard.backflow.highest_riser + 1e-6, place.id
    assert {zone.place for zone in plan.zones} == {place.id for place in plan.places}


def costs_add_up(plan):
    parts = sum((line.quantity - line.owned) * line.price for line in plan.parts)
    trenches = sum(trench.cost for trench in plan.trenches)
    assert math.isclose(plan.cost.parts, parts, rel_tol=1e-9)
    moving = {thing.id: thing.moving_cost for kind in plan.yard.existing for thing in kind[1]}
    given_up = sum(moving[use.id] for use in plan.existing if not use.kept_as)
    assert math.isclose(plan.cost.moving, given_up, abs_tol=1e-9)
    assert math.isclose(plan.cost.total, parts + trenches + given_up, rel_tol=1e-9)
    assert all(0 <= line.owned <= line.quantity for line in plan.parts)
    bought = sum(line.quantity for line in plan.parts if line.part.startswith("pipe ") and line.unit == "m")
    assert bought >= sum(pipe.length for pipe in plan.pipes) * 0.999
    counted = Counter(f"head {head.head_class}" for head in plan.heads)
    assert {line.part: line.quantity for line in plan.parts if line.part.startswith("head ")} == counted
    valves = sum(line.quantity for line in plan.parts if line.part.startswith(("in-line valve", "valve with vacuum")))
    assert valves == len(plan.zones)


def flushing_adds_up(plan):
    """By Bernoulli from the poor supply to each end that is opened alone, with friction (fluids) and the jet only."""
    pipes, nodes = {pipe.id: pipe for pipe in plan.pipes}, {node.id: node for node in plan.nodes}
    steps = plan.flushing.steps
    for run in plan.flushing.runs:
        step, bore = steps[run.step - 1], pipes[run.pipe].bore
        through = run.velocity * math.pi / 4 * bore**2
        assert through <= step.flow * (1 + 1e-6), run.pipe
        if len(step.ends) == 1 and not (plan.main and plan.main.laid == "looped"):
            assert math.isclose(through, step.flow, rel_tol=1e-6), run.pipe
    assert {run.pipe for run in plan.flushing.runs} == set(pipes)
    leaves = {p.end for p in plan.pipes if p.zone} - {p.start for p in plan.pipes if p.zone}
    assert {end for step in steps[2:] for end in step.ends} >= leaves
    for step in steps[1:]:
        if len(step.ends) > 1 or (plan.main and plan.main.laid == "looped"):
            continue
        zone = next((zone for zone in plan.zones if zone.id == step.line), plan.zones[0])
        end = ("main", step.ends[0]) if step.line == "main" else (zone.id, step.ends[0])
        tree = _graph(plan, zone)
        way = nx.shortest_path(tree, ("main", "entry"), end)
        runs = [tree.edges[e]["pipe"] for e in _steps(way) if tree.edges[e]["pipe"]]
        bore = runs[-1].bore if step.line == "main" else 0.824 * INCH  # a riser is no wider than 3/4 in
        jet = 999.1 * (step.flow / (math.pi / 4 * bore**2)) ** 2 / 2
        level = nodes[step.ends[0]].ground - (plan.yard.rules.trench_depth if step.line == "main" else 0.0)
        rise = 999.1 * 9.80665 * (level - plan.yard.water_entry.height)
        friction = sum(_friction(pipe, step.flow) for pipe in runs)
        assert friction + jet + rise <= plan.supply.cautious.pressure(step.flow) + 500.0, step.ends


INSPECTIONS = (
    heads_stand_on_their_lawn,
    every_head_is_fed_once,
    zones_hold_one_kind_of_watering,
    zones_draw_within_the_supply,
    pressures_add_up,
    pipes_are_continuous,
    pipes_lie_in_their_trenches,
    trenches_keep_clear,
    water_keeps_to_the_velocity,
    devices_stand_high_enough,
    costs_add_up,
    flushing_adds_up,
)
