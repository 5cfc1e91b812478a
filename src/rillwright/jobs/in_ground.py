"""Pipe in the ground of a yard part-built: which net may use which, and what must give way."""

from collections.abc import Mapping, Sequence

import shapely
from shapely.geometry import LineString

from rillwright.model.front import BESIDE
from rillwright.model.plan import Head, ValvePlace
from rillwright.model.site import ExistingPipe
from rillwright.solvers.sizing import Clash, Run

__all__ = ["at_fault", "pipes_by_net"]


def pipes_by_net(
    pipes: Sequence[ExistingPipe], members: Mapping[str, Sequence[Head]], places: Sequence[ValvePlace]
) -> dict[str, list[ExistingPipe]]:
    """Offer each pipe in the ground to one net: mains to the main, a lateral to the zone with most heads beside it.

    One pipe carries the water of one zone. Zones with as many heads beside it are taken by the distance of their
    nearest head or valve place.
    """
    home = {zone: place.at for place in places for zone in place.zones}
    offered: dict[str, list[ExistingPipe]] = {}
    for pipe in pipes:
        line = LineString(pipe.path)
        gaps = {z: shapely.distance(line, shapely.points([h.at for h in heads])) for z, heads in members.items()}

        def rank(zone: str, line: LineString = line, gaps: Mapping[str, shapely.Geometry] = gaps) -> tuple[int, float]:
            return -int((gaps[zone] <= BESIDE).sum()), min(
                float(gaps[zone].min()), line.distance(shapely.Point(home[zone]))
            )

        offered.setdefault("main" if pipe.role == "main" else min(members, key=rank), []).append(pipe)
    return offered


def at_fault(clashes: Sequence[Clash], runs: Mapping[str, tuple[Run, ExistingPipe]]) -> frozenset[str]:
    """Pipes in the ground that stand in the way of the limits that no sizes meet.

    Parameters: runs, those laid in the ground, by id, each with its pipe.
    """
    zones = {clash.zone for clash in clashes}
    return frozenset(pipe.id for run, pipe in runs.values() if zones & run.flow.keys())
