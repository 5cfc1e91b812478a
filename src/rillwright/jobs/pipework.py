"""Trenches routed, pipes laid in them and sized, for zones whose valve places are known."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial

from rillwright.jobs.case import Case
from rillwright.jobs.held_pipes import Lines, lines_by_net
from rillwright.jobs.pipe_sizes import size_plan
from rillwright.jobs.progress import Progress, silent
from rillwright.model.findings import Proof
from rillwright.model.ground import Ground
from rillwright.model.parts import Catalogue, PipeSize
from rillwright.model.plan import Head, Node, Pipe, Point, Trench, ValvePlace
from rillwright.model.site import BackflowKind, ExistingPipe, Yard
from rillwright.physics.losses import darcy_pressure_loss, fitting_pressure_loss
from rillwright.physics.pipes import velocity
from rillwright.physics.water import density, viscosity
from rillwright.solvers.fittings import minor_losses
from rillwright.solvers.mains import ring_of
from rillwright.solvers.routing import Board, Net, RoutedEdge, Routes, Written, route_nets
from rillwright.solvers.sizing import Clash, Run
from rillwright.solvers.takeoff import WASTE

__all__ = [
    "ENTRY",
    "MetrePrice",
    "Pipework",
    "at_flows",
    "homes",
    "lay_pipes",
    "nets_of",
    "paid_price",
    "size_routes",
    "usual_price",
]

ENTRY = "entry"
_PROVISIONAL = "1 in"
_LAYING = 1.0  # [currency/m] of handling a pipe in a trench that is open anyway; judgement, ranks routes only


@dataclass(frozen=True, slots=True)
class MetrePrice:
    """What a metre of pipe is taken to cost [currency/m]."""

    main: float
    lateral: float


@dataclass(frozen=True, slots=True)
class Pipework:
    """Pipes in their trenches."""

    nodes: tuple[Node, ...]
    pipes: tuple[Pipe, ...]
    trenches: tuple[Trench, ...]
    proofs: tuple[Proof, ...]
    unreachable: tuple[str, ...] = ()  # what no trench can reach, in words
    clashes: tuple[Clash, ...] = ()  # limits that no pipe size meets
    board: Board | None = field(default=None, compare=False)  # what the routes were found on
    laid: Mapping[tuple[int, ...], frozenset[int]] = field(default_factory=dict, compare=False)  # trees on it
    routes: Routes | Written | None = field(default=None, compare=False)  # None where pipe is in the ground

    @property
    def trouble(self) -> bool:
        """Whether the pipes cannot be built as they should."""
        return bool(self.unreachable or self.clashes)

    @property
    def short_of_pressure(self) -> bool:
        """Whether smaller zones would help: some head lacks pressure whatever the sizes."""
        return not self.unreachable and any(clash.kind != "velocity" for clash in self.clashes)


def lay_pipes(
    members: Mapping[str, Sequence[Head]],
    places: Sequence[ValvePlace],
    kind: BackflowKind,
    *,
    case: Case,
    metre: MetrePrice | None = None,
    offered: Mapping[str, Point] | None = None,
    progress: Progress = silent,
) -> Pipework:
    """Route main and laterals in shared trenches and choose every pipe's size; close the main where the case says so.

    Pipe in the ground of a yard part-built is offered in the size it has, at no cost. What leaves a limit unmet is
    given up; and the result is held against new pipe everywhere: fewest limits unmet, then least cost of trench, pipe
    and moving what is not used.
    Parameters: members, heads by zone id; places, valve places with their zones; metre, what pipe is taken to cost
    where routes weigh it against trench; offered, further valve places [m] for the board that the routes are found on.
    Returns the pipework, sized as by `size_routes`; a board only where no pipe is in the ground.
    """
    found: list[tuple[int, float, Pipework]] = []  # with what is unmet, and the cost
    names = frozenset(pipe.id for pipe in case.yard.existing.pipes)
    given_up: frozenset[str] = frozenset()
    while True:
        work, cost, fault = _laid_and_sized(
            members,
            places,
            kind,
            case=case,
            given_up=given_up,
            metre=metre or usual_price(case),
            offered=offered or {},
            progress=progress,
        )
        found.append((len(work.unreachable) + len(work.clashes), cost, work))
        if given_up == names or work.unreachable:
            return min(found, key=lambda each: each[:2])[2]
        given_up = given_up | fault if work.clashes and fault - given_up else names


def _laid_and_sized(
    members: Mapping[str, Sequence[Head]],
    places: Sequence[ValvePlace],
    kind: BackflowKind,
    *,
    case: Case,
    given_up: frozenset[str],
    metre: MetrePrice,
    offered: Mapping[str, Point],
    progress: Progress,
) -> tuple[Pipework, float, frozenset[str]]:
    """Lay and size pipes once, with what trench, pipe and moving cost, and the pipes in the ground at fault."""
    points = {ENTRY: case.yard.water_entry.at, **{p.id: p.at for p in places}, **offered}
    points |= {h.id: h.at for heads in members.values() for h in heads}
    spots, home = {p.id: p.at for p in places}, homes(places)
    kept = [pipe for pipe in case.yard.existing.pipes if pipe.id not in given_up]
    lines = lines_by_net(case.yard, case.ground, members, {zone: spots[place] for zone, place in home.items()}, kept)
    nets = _nets(members, home, spots, metre, lines)
    costs, also, ring = case.catalogue.trenches, tuple(offered), "main" if case.looped else None
    tell = partial(progress, "trenches and pipe sizes")
    routes = route_nets(
        nets, points=points, also=also, ground=case.ground, costs=costs, ring=ring, seed=case.seed, tell=tell
    )
    if routes.unreachable:
        return Pipework((), (), (), (routes.proof,), tuple(str(u) for u in routes.unreachable)), 0.0, frozenset()
    work, cost, fault = _sized_on(routes, members, places, kind, lines.in_ground, case)
    work = replace(work, proofs=(routes.proof, *work.proofs))
    return work if case.yard.existing.pipes else replace(work, board=routes.board, laid=routes.laid), cost, fault


def size_routes(
    routes: Routes | Written,
    members: Mapping[str, Sequence[Head]],
    places: Sequence[ValvePlace],
    kind: BackflowKind,
    case: Case,
) -> Pipework:
    """Choose every pipe's size on given routes of new pipe.

    Sizes leave every head its pressure on the cautious supply curve; with `clashes` they are the nearest that exist.
    """
    return _sized_on(routes, members, places, kind, {}, case)[0]


def _sized_on(
    routes: Routes | Written,
    members: Mapping[str, Sequence[Head]],
    places: Sequence[ValvePlace],
    kind: BackflowKind,
    old: Mapping[str, Sequence[ExistingPipe]],
    case: Case,
) -> tuple[Pipework, float, frozenset[str]]:
    """Size pipes on routes; with what trench, pipe and moving cost, and the pipes in the ground at fault."""
    yard, catalogue, home = case.yard, case.catalogue, homes(places)
    loads = _edge_flows(routes, members, home)
    pipes = _provisional(routes, loads, catalogue, yard)
    runs = _runs(pipes, loads, old, case)
    in_ground = {
        run.id: (run, old[net][edge.laid])
        for run, (net, edge) in zip(runs, ((n, e) for n in loads for e, _ in loads[n]), strict=True)
        if edge.laid is not None
    }
    sizing, flows = size_plan(pipes, runs, members, places, kind=kind, root=ENTRY, case=case)
    pipes = _sized(pipes, sizing.sizes, flows, catalogue, temperature=yard.water_entry.temperature)
    nodes = tuple(_node(name, at, case.ground, yard) for name, at in routes.nodes.items())
    work = Pipework(
        nodes,
        pipes,
        _trenches(routes, pipes),
        (sizing.proof,),
        (),
        tuple(sizing.clashes),
        routes=None if yard.existing.pipes else routes,
    )
    used = {pipe.id for _, pipe in in_ground.values()}
    moving = sum(pipe.moving_cost for pipe in yard.existing.pipes if pipe.id not in used)
    cost = sum(trench.cost for trench in work.trenches) + sizing.cost + moving
    return work, cost, _at_fault(sizing.clashes, in_ground)


def _at_fault(clashes: Sequence[Clash], runs: Mapping[str, tuple[Run, ExistingPipe]]) -> frozenset[str]:
    """Pipes in the ground that stand in the way of the limits that no sizes meet.

    Parameters: runs, those laid in the ground, by id, each with its pipe.
    """
    zones = {clash.zone for clash in clashes}
    return frozenset(pipe.id for run, pipe in runs.values() if zones & run.flow.keys())


def _runs(
    pipes: Sequence[Pipe],
    loads: Mapping[str, Sequence[tuple[RoutedEdge, dict[str, float]]]],
    old: Mapping[str, Sequence[ExistingPipe]],
    case: Case,
) -> list[Run]:
    """Runs to be sized, in the order of the pipes; those in the ground already have their size."""
    minor = minor_losses(pipes)
    sizes = {(p.material, p.trade_size): p for p in case.catalogue.pipes}
    pins = {pin.id: pin for pin in case.yard.pins.pipes}
    edges = ((net, edge, flows) for net in loads for edge, flows in loads[net])
    runs = []
    for pipe, (net, edge, flows) in zip(pipes, edges, strict=True):
        there = None if edge.laid is None else old[net][edge.laid]
        laid = None if there is None else sizes[there.material, there.size]
        run = Run(pipe.id, pipe.role, pipe.length, minor[pipe.id], flows, laid)
        pin = pins.get(edge.held or "")
        runs.append(run if pin is None else replace(run, size=pin.size, least_size=pin.least_size))
    return runs


def homes(places: Sequence[ValvePlace]) -> dict[str, str]:
    """The place of each zone."""
    return {zone: place.id for place in places for zone in place.zones}


def nets_of(
    members: Mapping[str, Sequence[Head]],
    home: Mapping[str, str],
    places: Mapping[str, Point],
    metre: MetrePrice,
    case: Case,
) -> list[Net]:
    """The main, and the laterals of each zone, of new pipe, with the lines that the yard holds them on.

    Parameters: home, the place of each zone; places, where each place is [m].
    """
    at = {zone: places[place] for zone, place in home.items()}
    return _nets(members, home, places, metre, lines_by_net(case.yard, case.ground, members, at, ()))


def _nets(
    members: Mapping[str, Sequence[Head]],
    home: Mapping[str, str],
    places: Mapping[str, Point],
    metre: MetrePrice,
    lines: Lines,
) -> list[Net]:
    """The nets with their lines."""
    nets = [Net("main", ENTRY, tuple(places), metre.main)]
    nets += [Net(zone, home[zone], tuple(h.id for h in heads), metre.lateral) for zone, heads in members.items()]
    laid = {net: tuple(tuple(pipe.path) for pipe in pipes) for net, pipes in lines.in_ground.items()}
    return [replace(net, laid=laid.get(net.id, ()), held=lines.held.get(net.id, ())) for net in nets]


def usual_price(case: Case) -> MetrePrice:
    """Price of a metre of usual lateral, for weighing pipe against trench before any size is known."""
    material = case.yard.pipes.laterals[0]
    metre = case.catalogue.prices[f"pipe {material} {_PROVISIONAL}"].price + _LAYING
    return MetrePrice(metre, metre)


def paid_price(pipes: Sequence[Pipe], case: Case) -> MetrePrice:
    """Mean price of a metre of the main and of the laterals in the sizes chosen, offcuts included."""
    found: dict[str, float] = {}
    for role in ("main", "lateral"):
        runs = [pipe for pipe in pipes if pipe.role == role]
        length = sum(pipe.length for pipe in runs)
        paid = sum(pipe.length * case.catalogue.prices[f"pipe {pipe.material} {pipe.size}"].price for pipe in runs)
        found[role] = (1 + WASTE) * paid / length if length > 0 else usual_price(case).lateral
    return MetrePrice(found["main"], found["lateral"])


def _edge_flows(
    routes: Routes | Written, members: Mapping[str, Sequence[Head]], home: Mapping[str, str]
) -> dict[str, list[tuple[RoutedEdge, dict[str, float]]]]:
    """For each net its edges with the flow [m³/s] each carries, by zone; none known yet in a main with loops."""
    zone_flow = {zone: sum(h.flow for h in heads) for zone, heads in members.items()}
    drawn: dict[str, dict[str, dict[str, float]]] = {"main": defaultdict(dict)}
    for zone, heads in members.items():
        drawn["main"][home[zone]][zone] = zone_flow[zone]
        drawn[zone] = {h.id: {zone: h.flow} for h in heads}
    out: dict[str, list[tuple[RoutedEdge, dict[str, float]]]] = {}
    for net, edges in routes.trees.items():
        if net == "main" and ring_of(edges):
            out[net] = [(edge, {}) for edge in edges]
            continue
        children: dict[str, list[RoutedEdge]] = defaultdict(list)
        for edge in edges:
            children[edge.start].append(edge)

        def below(node: str, net: str = net, children: Mapping[str, list[RoutedEdge]] = children) -> dict[str, float]:
            total: dict[str, float] = dict(drawn[net].get(node, {}))
            for edge in children.get(node, ()):
                for zone, flow in below(edge.end, net, children).items():
                    total[zone] = total.get(zone, 0.0) + flow
            return total

        out[net] = [(edge, below(edge.end)) for edge in edges]
    return out


def _provisional(
    routes: Routes | Written,
    loads: Mapping[str, Sequence[tuple[RoutedEdge, dict[str, float]]]],
    catalogue: Catalogue,
    yard: Yard,
) -> tuple[Pipe, ...]:
    """Make a pipe of every routed edge, all in one size for now."""
    pipes: list[Pipe] = []
    for net in routes.trees:
        main = net == "main"
        material = (yard.pipes.main if main else yard.pipes.laterals)[0]
        size = next(p for p in catalogue.pipes if p.material == material and p.trade_size == _PROVISIONAL)
        for number, (edge, flows) in enumerate(loads[net], start=1):
            most = max(flows.values(), default=0.0)
            pipes.append(
                Pipe(
                    id=f"M{number}" if main else f"{net}.{number}",
                    role="main" if main else "lateral",
                    zone=None if main else net,
                    start=edge.start,
                    end=edge.end,
                    path=edge.path,
                    length=edge.length,
                    material=size.material,
                    size=size.trade_size,
                    bore=size.inside_diameter,
                    flow=most,
                    velocity=0.0,
                    loss=0.0,
                    pin=edge.held,
                )
            )
    return tuple(pipes)


def _sized(
    pipes: Sequence[Pipe],
    sizes: Mapping[str, PipeSize],
    flows: Mapping[str, float],
    catalogue: Catalogue,
    *,
    temperature: float,
) -> tuple[Pipe, ...]:
    """Give pipes their sizes, with velocity and loss at their design flows."""
    changed = [
        pipe.model_copy(update={"material": size.material, "size": size.trade_size, "bore": size.inside_diameter})
        for pipe in pipes
        for size in (sizes[pipe.id],)
    ]
    return at_flows(changed, flows, catalogue, temperature=temperature)


def at_flows(
    pipes: Sequence[Pipe], flows: Mapping[str, float], catalogue: Catalogue, *, temperature: float
) -> tuple[Pipe, ...]:
    """Pipes in their sizes with flow, velocity and loss.

    Parameters: flows [m³/s] by pipe id; temperature [K] of the water.
    """
    water = {"density": density(temperature), "viscosity": viscosity(temperature)}
    minor = minor_losses(pipes)
    rough = {(p.material, p.trade_size): p.roughness for p in catalogue.pipes}
    out: list[Pipe] = []
    for pipe in pipes:
        flow, bore, roughness = flows[pipe.id], pipe.bore, rough[pipe.material, pipe.size]
        friction = darcy_pressure_loss(flow, inside_diameter=bore, length=pipe.length, roughness=roughness, **water)
        fittings = fitting_pressure_loss(
            flow, inside_diameter=bore, coefficient=minor[pipe.id], density=water["density"]
        )
        speed = float(velocity(flow, inside_diameter=bore))
        update = {"flow": flow, "velocity": speed, "loss": float(friction) + float(fittings)}
        out.append(pipe.model_copy(update=update))
    return tuple(out)


def _node(name: str, at: tuple[float, float], ground: Ground, yard: Yard) -> Node:
    height = yard.water_entry.height if name == ENTRY else ground.terrain.at(*at)
    return Node(id=name, at=at, ground=height)


def _trenches(routes: Routes | Written, pipes: Sequence[Pipe]) -> tuple[Trench, ...]:
    """Put in each trench the pipes that lie in it instead of the nets."""
    names: dict[tuple[str, int], str] = {}
    for pipe in pipes:
        net = pipe.zone or "main"
        names[net, sum(known == net for known, _ in names)] = pipe.id
    return tuple(
        trench.model_copy(update={"pipes": tuple(names[run] for run in routes.contents[trench.id])})
        for trench in routes.trenches
    )
