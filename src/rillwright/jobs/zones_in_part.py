"""Zones of a large site made anew where heads lack pressure, and left as they are everywhere else.

Zoned anew as a whole, a site gets other zones, places and routes throughout, and heads that had their pressure lose it.
"""

from collections.abc import Collection, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import replace
from functools import partial

import networkx as nx
import numpy as np
from scipy.spatial import KDTree

from rillwright.jobs.case import Case
from rillwright.jobs.held_zones import joined, parted
from rillwright.jobs.workers import run_all
from rillwright.jobs.zoned import PIPE_ALLOWANCE, Draft, drafted, zone_capacities
from rillwright.solvers.zoning import ZoneGroup, ZoneProblem, Zoning, make_zonings, zoning_of

__all__ = ["zoned_in_part"]

_NEIGHBOURS = 2  # nearest zones that are made anew with each, so that what one sheds another can take


def zoned_in_part(
    draft: Draft, short: Collection[str], *, case: Case, far: Mapping[str, float], pool: Executor | None
) -> Draft:
    """A draft with the zones of some heads, and the zones nearest to these, made anew; before any pipe.

    Parameters: short, ids of the heads; far, as for zone_room; pool, processes to share the work. Valves stand at the
    places that the draft uses. The zoning's clashes say where some head can be in no zone.
    """
    room, groups = draft.room, draft.zoning.groups
    clusters = [
        frozenset(head for number in numbers for head in groups[number].heads)
        for numbers in _clusters(groups, short, room.problem)
    ]
    anew = frozenset[str]().union(*clusters)
    changed = [head for head in room.heads if head.id in anew]
    capacity = {**room.capacity, **zone_capacities(changed, room.kind, case=case, pipes=PIPE_ALLOWANCE, far=far)}
    loads = tuple(replace(load, capacity=capacity[load.id][0]) for load in room.problem.loads)
    problem = replace(room.problem, loads=loads)
    used = tuple(option for option in problem.options if option.id in draft.zoning.places_used)
    parts = [
        replace(problem, loads=tuple(load for load in loads if load.id in own), options=used, stations=len(own))
        for own in clusters
    ]
    kept = tuple(group for group in groups if anew.isdisjoint(group.heads))
    made = list(run_all(pool, partial(_zones, together=room.together, seed=case.seed), parts))
    clashes = tuple(clash for zoning in made for clash in zoning.clashes)
    if clashes:
        return replace(draft, zoning=replace(draft.zoning, groups=(), clashes=clashes, status="infeasible"))
    whole = zoning_of(problem, (*kept, *(group for zoning in made for group in zoning.groups)))
    return drafted(replace(room, capacity=capacity, problem=problem), whole, case)


def _zones(problem: ZoneProblem, *, together: Sequence[frozenset[str]], seed: int) -> Zoning:
    here = {load.id for load in problem.loads}
    own = tuple(held for held in together if held <= here)
    return parted(make_zonings(joined(problem, own), most=1, effort=0.0, seed=seed)[0], own)


def _clusters(groups: Sequence[ZoneGroup], short: Collection[str], problem: ZoneProblem) -> list[list[int]]:
    """Numbers of the zones to make anew, those that have neighbours in common together; rising."""
    at = {load.id: load.at for load in problem.loads}
    centres = np.array([np.mean([at[head] for head in group.heads], axis=0) for group in groups])
    near, lacking, tree = nx.Graph(), frozenset(short), KDTree(centres)
    for number in (k for k, group in enumerate(groups) if not lacking.isdisjoint(group.heads)):
        nearest = tree.query(centres[number], k=min(1 + _NEIGHBOURS, len(groups)))[1]
        nx.add_path(near, [number, *np.atleast_1d(nearest).tolist()])
    return sorted(sorted(part) for part in nx.connected_components(near))
