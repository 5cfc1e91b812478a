"""Pipe that lay in the ground before the plan, and that the plan keeps: the ground over it, as a trench closed again.

No trench of the plan holds such pipe, as nobody digs there. A change that lays new pipe along it digs like anywhere
else, and what joins it is made in a hole. What a change gives up of it was not paid for, and nothing is lost with it
but what the owner said that its moving costs.
"""

from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

import shapely
from shapely.geometry import LineString

from rillwright.jobs.case import Case
from rillwright.jobs.replan.system import System
from rillwright.model.plan import Plan, Trench
from rillwright.solvers.routing.surfaces import LEAST_PIECE, DigGround, dig_ground
from rillwright.solvers.takeoff import find_reuse

__all__ = ["moving_cost", "with_old_ground"]

_BESIDE = 0.05  # [m] from a trench within which a pipe lies in it


def with_old_ground(system: System, plan: Plan, case: Case) -> System:
    """The system of a plan with a closed trench over each stretch of pipe that lay there before it."""
    kept = dict.fromkeys(name for use in plan.existing if use.kind == "pipe" for name in use.kept_as)
    if not kept:
        return system
    dig = dig_ground(case.ground, case.catalogue.trenches, points=[node.at for node in system.nodes.values()])
    trenches, within = dict(system.trenches), dict(system.within)
    old: dict[str, str] = {}
    for pipe in (pipe for pipe in system.pipes if pipe.id in kept):
        dug = shapely.union_all([LineString(system.trenches[name].path) for name in system.within[pipe.id]])
        rest = LineString(pipe.path).difference(dug.buffer(_BESIDE))
        found = {f"old {pipe.id} {n}": one for n, one in enumerate(_trenches(rest, pipe.id, dig), start=1)}
        trenches |= {name: trench.model_copy(update={"id": name}) for name, trench in found.items()}
        within[pipe.id] = (*within[pipe.id], *found)
        old |= dict.fromkeys(found, pipe.id)
    return replace(system, trenches=trenches, within=within, old=old)


def _trenches(rest: shapely.Geometry, pipe: str, dig: DigGround) -> Iterator[Trench]:
    """Straight stretches of a line, one for each surface that they lie in."""
    for part in shapely.get_parts(rest):
        corners = shapely.get_coordinates(part).tolist()
        for start, end in pairwise(corners):
            line = LineString((start, end))
            for layer, low, high in dig.pieces(tuple(start), tuple(end)) if line.length > LEAST_PIECE else ():
                ends = [line.interpolate(at) for at in (low, high)]
                yield Trench(
                    id="",
                    path=((ends[0].x, ends[0].y), (ends[1].x, ends[1].y)),
                    surface=layer.name,
                    length=high - low,
                    pipes=(pipe,),
                    sleeve=layer.name == "paving",
                    cost=(high - low) * layer.per_metre + layer.per_crossing,
                )


def moving_cost(system: System, case: Case) -> float:
    """What giving up costs [currency] of the pipes and valve places from before that a system does not keep."""
    if not case.yard.existing.pipes and not case.yard.existing.places:
        return 0.0
    places = tuple(system.places.values())
    uses = find_reuse(case.yard, heads=system.heads, places=places, pipes=system.pipes)
    return sum(use.moving_cost for use in uses if use.kind != "head")
