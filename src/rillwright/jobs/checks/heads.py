"""Checks of a finished plan that look at its heads: where they stand, and the pressure that they get."""

from collections import Counter
from collections.abc import Iterator

from shapely.geometry import Point

from rillwright.jobs.checks.inspection import SLACK, Inspection
from rillwright.model.findings import Finding

__all__ = ["head_pressures", "heads_fed_once", "heads_on_lawn"]


def heads_fed_once(case: Inspection) -> Iterator[Finding]:
    """Every head belongs to exactly one zone."""
    if not case.plan.zones:
        return
    count = Counter(head for zone in case.plan.zones for head in zone.heads)
    for head in case.plan.heads:
        if count[head.id] != 1:
            yield Finding(
                rule="fed-once",
                severity="must",
                where=head.id,
                what=f"{head.id} belongs to {count[head.id]} zones",
                do="Plan again; report this if it stays.",
            )


def heads_on_lawn(case: Inspection) -> Iterator[Finding]:
    """Every head stands on its own lawn."""
    for head in case.plan.heads:
        lawn = case.ground.lawns[head.lawn]
        if lawn.distance(Point(head.at)) > 0.01:
            yield Finding(
                rule="head-on-lawn",
                severity="must",
                where=head.id,
                what=f"{head.id} stands {case.show(lawn.distance(Point(head.at)), 'length')} off {head.lawn}",
                do="Move it onto the lawn.",
            )


def head_pressures(case: Inspection) -> Iterator[Finding]:
    """Every head works inside the pressure band of its chart, with the cautious supply too."""
    nozzles = {n.id: n for n in case.plan.nozzles}
    heads = {h.id: h for h in case.plan.heads}
    for zone in case.plan.zones:
        own = [nozzles[heads[h].nozzle] for h in zone.heads]
        low, high = max(n.lowest_pressure for n in own), min(n.highest_pressure for n in own)
        if zone.cautious_low < low / SLACK:
            yield Finding(
                rule="head-pressure-low",
                severity="must",
                where=zone.id,
                what=f"{zone.worst_head} may get only {case.show(zone.cautious_low, 'pressure')}; its chart starts at "
                f"{case.show(low, 'pressure')}",
                do="Split the zone, enlarge its pipes or choose another backflow kind.",
            )
        if zone.pressure_high > high * SLACK:
            yield Finding(
                rule="head-pressure-high",
                severity="should",
                where=zone.id,
                what=f"heads get up to {case.show(zone.pressure_high, 'pressure')}; the chart ends at "
                f"{case.show(high, 'pressure')}, above it spray turns to mist",
                do="Fit pressure-regulated heads or turn the valve's flow control down.",
            )
        if zone.flow_spread > case.plan.yard.rules.flow_spread * SLACK:
            yield Finding(
                rule="flow-spread",
                severity="should",
                where=zone.id,
                what=f"like heads differ by {case.show(zone.flow_spread, 'share')} in flow",
                do="Enlarge the laterals of the zone or split it.",
                source="NRCS CPS 442: flow within 10 %",
            )
