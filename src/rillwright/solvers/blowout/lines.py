"""A plan's zones as lines of air: where it goes in, which runs it passes, and in which turn.

Statement. The blow-out fitting stands behind the backflow protection: at the entry where that stands there or in each
zone, at each valve place where a pressure vacuum breaker stands there. The air of a zone takes the shortest way through
the main; in a ring the other way stays shut. The zone whose way is longest comes first, of ways within NEAR the one
whose heads stand highest: it clears the main as far as it goes, and what later zones leave cannot run back into it.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from rillwright.model.catalogue import outlet_of
from rillwright.model.network import Link
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Head, Pipe, Plan, Zone
from rillwright.model.terrain import Terrain
from rillwright.physics.compressed_air import nozzle_area
from rillwright.physics.water import density
from rillwright.solvers.blowout.line import BlowLine, Run, Vent
from rillwright.solvers.devices import zone_devices
from rillwright.solvers.fittings import minor_losses, riser
from rillwright.solvers.mains import nearest_ways, root_of
from rillwright.solvers.zone_network import main_node

__all__ = ["ZoneLine", "fitting_of", "zone_lines"]

NEAR = 3.0  # [m] by which ways count as alike
_FULL = 1e-3  # [m] a run is at least long


@dataclass(frozen=True, slots=True)
class ZoneLine:
    """One zone as a line, with its place in the order."""

    zone: Zone
    runs: tuple[Run, ...]
    vents: tuple[Vent, ...]
    fitting: str  # first node of the line
    enters: str  # the plan's node there
    way: float  # [m] to its farthest head
    far: str
    rise: float  # [m] of its highest head over the fitting

    def line(self, *, temperature: float, film: Mapping[str, float]) -> BlowLine:
        """The line, where some runs have been blown through."""
        return BlowLine.of(self.fitting, self.runs, self.vents, temperature=temperature, film=film)


def fitting_of(plan: Plan, zone: Zone) -> str:
    """Node at which air goes in for a zone."""
    if plan.backflow == "pressure vacuum breaker" or not (main := _main(plan.pipes)):
        return zone.place
    return root_of(main)


def zone_lines(
    plan: Plan, catalogue: Catalogue, pipes: Sequence[Pipe], *, terrain: Terrain, logged: Mapping[str, float]
) -> tuple[ZoneLine, ...]:
    """Every zone as a line, in the order of blowing out.

    Parameters: plan; catalogue that it was made with; pipes, the plan's as they lie; terrain; logged, by pipe the
    cover [m] that was measured.
    """
    heads = {head.id: head for head in plan.heads}
    made = [
        _Maker(plan, catalogue, pipes, terrain, logged).zone(zone, [heads[name] for name in zone.heads])
        for zone in plan.zones
    ]
    return tuple(sorted(made, key=lambda line: (-round(line.way / NEAR), -line.rise, line.zone.id)))


@dataclass(frozen=True, slots=True)
class _Maker:
    plan: Plan
    catalogue: Catalogue
    pipes: Sequence[Pipe]
    terrain: Terrain
    logged: Mapping[str, float]

    def zone(self, zone: Zone, heads: Sequence[Head]) -> ZoneLine:
        enters = fitting_of(self.plan, zone)
        fitting = enters if enters == zone.place else main_node(enters)
        laterals = [pipe for pipe in self.pipes if pipe.zone == zone.id]
        minor = minor_losses(self.pipes)
        way = self._main_way(enters, zone.place)
        runs = [_in_main(self._run(pipe, minor[pipe.id], forward=ahead), zone.place) for pipe, ahead in way]
        valve = self._valve(zone)
        runs += [self._run(p, minor[p.id], device=valve if p.start == zone.place else 0.0) for p in laterals]
        vents = []
        for head in heads:
            link = riser(head, start=head.id, end=f"{head.id} (nozzle)")
            runs.append(self._riser(link, head, laterals))
            vents.append(self._vent(head, link))
        line = BlowLine.of(fitting, runs, vents)
        far = max(line.vents, key=lambda vent: (line.away[vent.node], vent.node))
        return ZoneLine(
            zone=zone,
            runs=line.runs,
            vents=line.vents,
            fitting=fitting,
            enters=enters,
            way=line.away[far.node],
            far=far.node.removesuffix(" (nozzle)"),
            rise=max(line.height[vent.node] for vent in line.vents),
        )

    def _main_way(self, fitting: str, place: str) -> list[tuple[Pipe, bool]]:
        """Runs of the main from fitting to place, each with whether it is passed from its start to its end."""
        main = _main(self.pipes)
        if fitting == place:
            return []
        last = nearest_ways(main, fitting)
        found: list[tuple[Pipe, bool]] = []
        here = place
        while here != fitting:
            pipe = last[here]
            ahead = pipe.end == here
            found.append((pipe, ahead))
            here = pipe.start if ahead else pipe.end
        return found[::-1]

    def _run(self, pipe: Pipe, minor: float, *, forward: bool = True, device: float = 0.0) -> Run:
        start, end = (pipe.start, pipe.end) if forward else (pipe.end, pipe.start)
        rise = self.terrain.at(*pipe.path[-1]) - self.terrain.at(*pipe.path[0])
        size = next((s for s in self.catalogue.pipes if (s.material, s.trade_size) == (pipe.material, pipe.size)), None)
        rough = size.roughness if size else 1.5e-6
        return Run(
            pipe.id, start, end, max(pipe.length, _FULL), pipe.bore, rough, minor, rise if forward else -rise, device
        )

    def _riser(self, link: Link, head: Head, laterals: Sequence[Pipe]) -> Run:
        covers = [self.logged.get(p.id, self.depth) for p in laterals if head.id in (p.start, p.end)]
        under = max(covers, default=self.depth)
        return Run(link.id, link.start, link.end, link.length, link.bore, link.roughness, link.minor, under)

    @property
    def depth(self) -> float:
        """Cover [m] over the pipes as planned."""
        return self.plan.yard.rules.trench_depth

    def _vent(self, head: Head, link: Link) -> Vent:
        nozzle = self.catalogue.nozzles[head.nozzle]
        outlet = outlet_of(nozzle, head.arc, radius_share=head.radius_share)
        flow = outlet.coefficient * nozzle.design_pressure**outlet.exponent
        hole = nozzle_area(flow, pressure=nozzle.design_pressure, density=density())
        return Vent(link.end, outlet.coefficient, outlet.exponent, hole)

    def _valve(self, zone: Zone) -> float:
        """Loss factor [Pa/(m³/s)²] of what stands between main and laterals, at the zone's flow."""
        assert self.plan.backflow is not None
        devices = zone_devices(self.plan.backflow, yard=self.plan.yard, catalogue=self.catalogue, flow=zone.flow)
        at_place = [one for one in devices if one.where == "place" and one.label != "pressure vacuum breaker"]
        return sum(one.loss.factor + one.loss.threshold / zone.flow**2 for one in at_place)


def _in_main(run: Run, place: str) -> Run:
    """The run with its own names for nodes of the main: a lateral's may bear the plain name at the same spot."""
    start, end = (node if node == place else main_node(node) for node in (run.start, run.end))
    return replace(run, start=start, end=end)


def _main(pipes: Sequence[Pipe]) -> list[Pipe]:
    return [pipe for pipe in pipes if pipe.role == "main"]
