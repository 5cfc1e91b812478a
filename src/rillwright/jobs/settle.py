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

__all__ = ["Settled", "settle_zones"]

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


def settle_zones(
    members: Mapping[str, Sequence[Head]], places: Sequence[ValvePlace], work: Pipework, *, case: Case
) -> Settled:
    """Solve each zone. Parameters: members, heads by zone id; places; work, the pipes in their sizes."""
    minor = minor_losses(work.pipes)
    nodes = {node.id: node for node in work.nodes}
    home = {zone: place for place in places for zone in place.zones}

    def solve(zone: str, supply: SupplyCurve, house: float, extra: Sequence[ZoneDevice] = ()) -> ZoneHydraulics:
        return solve_zone(
            members[zone],
            zone=zone,
            pipes=work.pipes,
            nodes=nodes,
            entry=ENTRY,
            place=home[zone],
            yard=case.yard,
            catalogue=case.catalogue,
            supply=supply,
            minor=minor,
            house=house,
            extra=extra,
        )

    def least(head: Head) -> float:
        return case.least_pressure(case.catalogue.nozzles[head.nozzle], head.pressure)

    expected: dict[str, ZoneHydraulics] = {}
    cautious: dict[str, ZoneHydraulics] = {}
    curve = case.limits.expected
    for zone, heads in members.items():
        target = sum(head.flow for head in heads)
        expected[zone] = hold_flow(partial(solve, zone, curve, 0.0), target=target, most=curve.static)
        cautious[zone] = solve(zone, case.limits.cautious, case.limits.reserve)
    drift = max(abs(expected[z].head_flow[h.id] / h.flow - 1) for z, heads in members.items() for h in heads)
    short = tuple(
        zone for zone, heads in members.items() if any(cautious[zone].pressure[h.id] < _SLACK * least(h) for h in heads)
    )
    return Settled(expected, cautious, drift, short)
