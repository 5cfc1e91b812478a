"""Zones solved on their pipes: with the supply as expected, and with the supply at its cautious curve."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial

from rillwright.jobs.case import Case
from rillwright.jobs.pipework import ENTRY, Pipework
from rillwright.model.plan import Head, SupplyCurve, ValvePlace
from rillwright.solvers.devices import ZoneDevice
from rillwright.solvers.fittings import minor_losses
from rillwright.solvers.flow_control import hold_flow
from rillwright.solvers.hydraulics import ZoneHydraulics, solve_zone

__all__ = ["Settled", "ZoneSolver"]

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


@dataclass(frozen=True, slots=True)
class ZoneSolver:
    """Solves any zone of one pipework on any supply."""

    members: Mapping[str, Sequence[Head]]  # by zone
    places: Sequence[ValvePlace]
    work: Pipework
    case: Case

    def solve(
        self,
        zone: str,
        supply: SupplyCurve,
        house: float,
        extra: Sequence[ZoneDevice] = (),
        regulated: Mapping[str, float] | None = None,
    ) -> ZoneHydraulics:
        """Solve a zone; parameters as for solve_zone."""
        return solve_zone(
            self.members[zone],
            zone=zone,
            pipes=self.work.pipes,
            nodes={node.id: node for node in self.work.nodes},
            entry=ENTRY,
            place=next(place for place in self.places if zone in place.zones),
            yard=self.case.yard,
            catalogue=self.case.catalogue,
            supply=supply,
            minor=minor_losses(self.work.pipes),
            house=house,
            extra=extra,
            regulated=regulated,
        )

    def settle(self) -> Settled:
        """Solve each zone, its flow control set for the expected supply."""
        case, members = self.case, self.members
        expected: dict[str, ZoneHydraulics] = {}
        cautious: dict[str, ZoneHydraulics] = {}
        curve = case.limits.expected
        for zone, heads in members.items():
            target = sum(head.flow for head in heads)
            expected[zone] = hold_flow(partial(self.solve, zone, curve, 0.0), target=target, most=curve.static)
            cautious[zone] = self.solve(zone, case.limits.cautious, case.limits.reserve)
        drift = max(abs(expected[z].head_flow[h.id] / h.flow - 1) for z, heads in members.items() for h in heads)
        return Settled(expected, cautious, drift, tuple(z for z in members if self._short(z, cautious[z])))

    def _short(self, zone: str, state: ZoneHydraulics) -> bool:
        """Whether a head stands under its least pressure."""
        nozzles = self.case.catalogue.nozzles
        least = {h.id: self.case.least_pressure(nozzles[h.nozzle], h.pressure) for h in self.members[zone]}
        return any(state.pressure[head] < _SLACK * pressure for head, pressure in least.items())
