"""Zones solved on their pipes: with the supply as expected, and with the supply at its cautious curve."""

from collections.abc import Mapping, Sequence
from copy import copy
from dataclasses import dataclass
from functools import partial
from typing import Any, TypedDict

from rillwright.jobs.case import Case
from rillwright.jobs.pipework import ENTRY, Pipework
from rillwright.model.catalogue import radius_at
from rillwright.model.network import Network
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Head, Node, Pipe, SupplyCurve, ValvePlace
from rillwright.model.site import Yard
from rillwright.solvers.devices import ZoneDevice
from rillwright.solvers.fittings import minor_losses
from rillwright.solvers.flow_control import controlled, hold_flow
from rillwright.solvers.hydraulics import ZoneHydraulics, solve_zone
from rillwright.solvers.mains import carrying_to
from rillwright.solvers.zone_network import zone_network

__all__ = ["Settled", "ZoneSolver", "solved_heads", "zone_state"]

_SLACK = 0.99  # of the least pressure: sizes were chosen with fittings at a provisional bore


@dataclass(frozen=True, slots=True)
class Settled:
    """Every zone's hydraulics, by zone id."""

    expected: Mapping[str, ZoneHydraulics]  # flow control set to the design flow
    cautious: Mapping[str, ZoneHydraulics]  # flow control wide open
    drift: float  # greatest share by which a head's solved flow strays from the flow it was laid out for
    short: tuple[str, ...]  # zones with a head under its least pressure on the cautious supply

    def stable(self, spread: float) -> bool:
        """Whether heads work as laid out, within a spread of flow: then another round would change nothing."""
        return not self.short and self.drift <= spread


class _Parts(TypedDict):
    """What a zone's network is made of: the parameters that solve_zone and zone_network share."""

    zone: str
    pipes: Sequence[Pipe]
    nodes: Mapping[str, Node]
    entry: str
    place: ValvePlace
    yard: Yard
    catalogue: Catalogue
    supply: SupplyCurve
    minor: Mapping[str, float]
    extra: Sequence[ZoneDevice]


class ZoneSolver:
    """Solves any zone of one pipework on any supply; what all solves share is looked up once."""

    def __init__(
        self, members: Mapping[str, Sequence[Head]], places: Sequence[ValvePlace], work: Pipework, case: Case
    ) -> None:
        """Parameters: members, heads by zone."""
        self.members, self.case = members, case
        self._nodes = {node.id: node for node in work.nodes}
        self._home = {zone: place for place in places for zone in place.zones}
        self._minor = minor_losses(work.pipes)
        main = [pipe for pipe in work.pipes if pipe.role == "main"]
        to_place = carrying_to(main, ENTRY, [place.id for place in places])
        self._pipes = {zone: list(to_place[self._home[zone].id]) for zone in members}
        for pipe in work.pipes:
            if pipe.role == "lateral" and pipe.zone in self._pipes:
                self._pipes[pipe.zone].append(pipe)

    def under(self, case: Case) -> "ZoneSolver":
        """The same pipework in another case."""
        made = copy(self)
        made.case = case
        return made

    def solve(
        self,
        zone: str,
        supply: SupplyCurve,
        house: float,
        extra: Sequence[ZoneDevice] = (),
        regulated: Mapping[str, float] | None = None,
    ) -> ZoneHydraulics:
        """Solve a zone; parameters as for solve_zone."""
        parts = self._parts(zone, supply, extra)
        return solve_zone(self.members[zone], **parts, house=house, regulated=regulated)

    def network(self, zone: str, supply: SupplyCurve, extra: Sequence[ZoneDevice] = ()) -> Network:
        """The network of a zone; parameters as for zone_network."""
        return zone_network(self.members[zone], **self._parts(zone, supply, extra))

    def _parts(self, zone: str, supply: SupplyCurve, extra: Sequence[ZoneDevice]) -> _Parts:
        return _Parts(
            zone=zone,
            pipes=self._pipes[zone],
            nodes=self._nodes,
            entry=ENTRY,
            place=self._home[zone],
            yard=self.case.yard,
            catalogue=self.case.catalogue,
            supply=supply,
            minor=self._minor,
            extra=extra,
        )

    def settle(self) -> Settled:
        """Solve each zone, its flow control set for the expected supply."""
        case, members = self.case, self.members
        expected: dict[str, ZoneHydraulics] = {}
        cautious: dict[str, ZoneHydraulics] = {}
        curve = case.limits.expected
        for zone, heads in members.items():
            target = sum(head.flow for head in heads)
            solve, network = partial(self.solve, zone, curve, 0.0), partial(self.network, zone, curve)
            expected[zone] = hold_flow(solve, network, target=target)
            cautious[zone] = self.solve(zone, case.limits.cautious, case.limits.reserve)
        drift = max(abs(expected[z].head_flow[h.id] / h.flow - 1) for z, heads in members.items() for h in heads)
        return Settled(expected, cautious, drift, tuple(z for z in members if self._short(z, cautious[z])))

    def _short(self, zone: str, state: ZoneHydraulics) -> bool:
        """Whether a head stands under its least pressure."""
        nozzles = self.case.catalogue.nozzles
        least = {h.id: self.case.least_pressure(nozzles[h.nozzle], h.pressure) for h in self.members[zone]}
        return any(state.pressure[head] < _SLACK * pressure for head, pressure in least.items())


def zone_state(state: ZoneHydraulics, poor: ZoneHydraulics, *, area: float) -> dict[str, Any]:
    """What a plan says of a zone's water: the fields of a Zone. Parameters: poor, on the cautious supply; area [m²]."""
    return {
        "flow": state.flow,
        "precipitation": state.flow / area if area > 0 else 0.0,
        "entry_pressure": state.entry_pressure,
        "needed_pressure": state.entry_pressure - controlled(state),
        "after_valve": state.after_valve,
        "pressure_low": state.pressure_low,
        "pressure_high": state.pressure_high,
        "cautious_low": poor.pressure_low,
        "worst_head": state.worst_head,
        "flow_spread": state.flow_spread,
        "steps": state.steps,
    }


def solved_heads(heads: Sequence[Head], solved: Mapping[str, ZoneHydraulics], catalogue: Catalogue) -> tuple[Head, ...]:
    """Heads at their solved pressure, flow and throw."""
    pressure = {head: p for zone in solved.values() for head, p in zone.pressure.items()}
    flow = {head: q for zone in solved.values() for head, q in zone.head_flow.items()}
    out: list[Head] = []
    for head in heads:
        stands = max(pressure[head.id], 0.0)
        throw = radius_at(catalogue.nozzles[head.nozzle], stands) * head.radius_share
        out.append(head.model_copy(update={"pressure": stands, "flow": flow[head.id], "radius": throw}))
    return tuple(out)
