"""Filling and flushing of a whole plan, from the entry outwards: service pipe, main, then each zone."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from rillwright.model.flushing import AirPocket, Flushing, FlushStep, Runoff, WashedRun
from rillwright.model.ground import Ground
from rillwright.model.network import Link, Network, Outlet
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Head, Node, Pipe, Plan, ValvePlace, Zone
from rillwright.physics.pipes import area, velocity
from rillwright.physics.supply import open_outlet_loss
from rillwright.solvers.fittings import minor_losses
from rillwright.solvers.flushing.air import air_pockets
from rillwright.solvers.flushing.ends import Opened, Order, open_in_turn, ways_to_ends
from rillwright.solvers.flushing.filling import fill_line, main_suction
from rillwright.solvers.flushing.runoff import runoff_from
from rillwright.solvers.levels import Levels
from rillwright.solvers.mains import carrying_to, distances, nearest_ways, ring_of, root_of
from rillwright.solvers.network import solve_network
from rillwright.solvers.zone_network import main_node, nozzle_node, pipe_link, zone_network

__all__ = ["open_end", "plan_flushing"]


def plan_flushing(plan: Plan, *, ground: Ground, catalogue: Catalogue) -> Flushing:
    """Say how a plan's lines are filled, where air stays in them, and in what order their ends are opened.

    Parameters: plan, solved, with its pipes; ground; catalogue. Flows are those of the cautious supply with the flow
    controls wide open and nothing else running, so velocities are at least and times at most what is said.
    """
    site = _Site.of(plan, ground, catalogue)
    flushed = [*site.main_steps()]
    fewest = 1 + len(flushed)
    for zone in plan.zones:
        order = site.zone_order(zone)
        flushed += [(zone.id, step) for step in order.steps]
        fewest += order.fewest
    steps = [site.service_step(), *(site.written(line, step) for line, step in flushed)]
    levels = Levels.of(site.main, terrain=ground.terrain, depth=plan.yard.rules.trench_depth)
    return Flushing(
        pockets=tuple(site.pockets(levels)),
        fillings=tuple(fill_line(line, pipes) for line, pipes in site.lines.items()),
        suction=main_suction(levels, weight=plan.yard.water_entry.weight),
        steps=tuple(steps),
        runs=tuple(_washed(flushed)),
        fewest=fewest,
        runoff=tuple(site.runoffs(steps)),
    )


def open_end(bore: float) -> Outlet:
    """The open end of a pipe of a bore [m]: the jet carries one velocity head off."""
    return Outlet(open_outlet_loss(1.0, bore=bore, loss_factor=1.0) ** -0.5, 0.5)


def _washed(flushed: Sequence[tuple[str, Opened]]) -> Iterator[WashedRun]:
    """Each run in the step that washes it best; the service pipe's step is the first."""
    best: dict[str, WashedRun] = {}
    for number, (line, step) in enumerate(flushed, start=2):
        for run, speed in step.velocity.items():
            if run not in best or speed > best[run].velocity:
                best[run] = WashedRun(pipe=run, line=line, step=number, velocity=speed)
    yield from best.values()


@dataclass(frozen=True, slots=True)
class _Site:
    """A plan with its ground and what can be bought."""

    plan: Plan
    ground: Ground
    catalogue: Catalogue
    nodes: Mapping[str, Node]
    heads: Mapping[str, Sequence[Head]]  # by zone
    lines: Mapping[str, Sequence[Pipe]]  # pipes of the main and of each zone
    ways: Mapping[str, Sequence[Pipe]]  # runs of the main that lead to each place
    minor: Mapping[str, float]  # K of the fittings of each pipe

    @classmethod
    def of(cls, plan: Plan, ground: Ground, catalogue: Catalogue) -> "_Site":
        """Sort a plan's heads and pipes by line once."""
        heads = {head.id: head for head in plan.heads}
        lines: dict[str, list[Pipe]] = {}
        for pipe in sorted(plan.pipes, key=lambda pipe: pipe.role != "main"):
            lines.setdefault(pipe.zone or "main", []).append(pipe)
        own = {zone.id: [heads[name] for name in zone.heads] for zone in plan.zones}
        nodes = {node.id: node for node in plan.nodes}
        ways = carrying_to(lines["main"], root_of(lines["main"]), [place.id for place in plan.places])
        return cls(plan, ground, catalogue, nodes, own, lines, ways, minor_losses(plan.pipes))

    @property
    def main(self) -> Sequence[Pipe]:
        """Runs of the main."""
        return self.lines["main"]

    def service_step(self) -> FlushStep:
        """The service pipe, open at the entry before anything is joined to it."""
        entry = self.plan.yard.water_entry
        pipe = entry.pipe
        sizes = [size for size in self.catalogue.pipes if size.material == pipe.material]
        size = next((size for size in sizes if size.trade_size == pipe.size), sizes[0])
        bore = pipe.bore or size.inside_diameter
        curve = self.plan.supply.cautious.model_copy(update={"cap": None})
        network = Network(
            "supply",
            curve,
            {"supply": entry.height, "end": entry.height},
            (Link("service", "supply", "end"),),
            {"end": open_end(bore)},
        )
        flow = solve_network(network).source_flow
        return FlushStep(
            line="service",
            ends=("water entry",),
            flow=flow,
            line_volume=area(bore) * pipe.length,
            slowest="service",
            velocity=velocity(flow, inside_diameter=bore),
        )

    def main_steps(self) -> Iterator[tuple[str, Opened]]:
        """The main, open at one valve place after another, the nearest first."""
        root = root_of(self.main)
        away, last = distances(self.main, root), nearest_ways(self.main, root)
        for place in sorted(self.plan.places, key=lambda place: (away[place.id], place.id)):
            runs = self.ways[place.id]
            node = main_node(place.id)
            network = self._network(self._zone_at(place))
            state = solve_network(replace(network, outlets={node: open_end(last[place.id].bore)}))
            speeds = {run.id: velocity(abs(state.flow[pipe_link(run)]), inside_diameter=run.bore) for run in runs}
            yield "main", Opened((place.id,), state.source_flow, speeds)

    def zone_order(self, zone: Zone) -> Order:
        """The steps of a zone, its valve wide open."""
        network = self._network(zone)
        heads = {head.id: head for head in self.heads[zone.id]}
        laterals = self.lines[zone.id]
        risers = {link.end: link.bore for link in network.links}
        ends = {head: nozzle_node(head) for head in heads}
        level = {ends[head.id]: head.ground for head in heads.values()}
        network = replace(network, elevation=network.elevation | level)

        def solve(opened: Collection[str]) -> tuple[float, Mapping[str, float]]:
            state = solve_network(replace(network, outlets={ends[h]: open_end(risers[ends[h]]) for h in opened}))
            return state.source_flow, {pipe.id: abs(state.flow[pipe_link(pipe)]) for pipe in laterals}

        return open_in_turn(ways_to_ends(laterals), solve)

    def written(self, line: str, step: Opened) -> FlushStep:
        """A step as the plan tells it."""
        runs = [pipe for pipe in self.lines[line] if pipe.id in step.velocity]
        slowest = min(step.velocity, key=lambda run: (step.velocity[run], run))
        return FlushStep(
            line=line,
            ends=step.ends,
            flow=step.flow,
            line_volume=sum(area(pipe.bore) * pipe.length for pipe in runs),
            slowest=slowest,
            velocity=step.velocity[slowest],
        )

    def pockets(self, main: Levels) -> Iterator[AirPocket]:
        """Air in the main and in every zone."""
        ring = [pipe.id for pipe in ring_of(self.main)]
        places = [main.joint[place.id] for place in self.plan.places]
        yield from air_pockets(main, self.main, line="main", openings=places, looped=ring)
        for zone in self.plan.zones:
            own, laterals = self.heads[zone.id], self.lines[zone.id]
            net = Levels.of(laterals, terrain=self.ground.terrain, depth=self.plan.yard.rules.trench_depth, heads=own)
            yield from air_pockets(net, laterals, line=zone.id, openings=list(net.outlet.values()))

    def runoffs(self, steps: Sequence[FlushStep]) -> Iterator[Runoff]:
        """Where the water of every open end goes, each end once."""
        spots = {node.id: node.at for node in self.plan.nodes} | {head.id: head.at for head in self.plan.heads}
        for end in dict.fromkeys(end for step in steps[1:] for end in step.ends):
            yield runoff_from(end, spots[end], ground=self.ground)

    def _zone_at(self, place: ValvePlace) -> Zone:
        return next(zone for zone in self.plan.zones if zone.place == place.id)

    def _network(self, zone: Zone) -> Network:
        plan = self.plan
        pipes = [*self.ways[zone.place], *self.lines[zone.id]]
        return zone_network(
            self.heads[zone.id],
            zone=zone.id,
            pipes=pipes,
            nodes=self.nodes,
            entry=root_of(self.main),
            place=next(place for place in plan.places if place.id == zone.place),
            yard=plan.yard,
            catalogue=self.catalogue,
            supply=plan.supply.cautious,
            minor=self.minor,
        )
