"""Zones and valve places: the fewest zones first, then the cheapest trenches and places at that number."""

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

from rillwright.errors import SolverError
from rillwright.model.findings import Proof
from rillwright.solvers.watch import Watch
from rillwright.solvers.zoning.bounds import cost_bound, forest_bound
from rillwright.solvers.zoning.count import Count, fewest_zones, simple_bound
from rillwright.solvers.zoning.partition import Partition, plan_cost
from rillwright.solvers.zoning.plans import cheapest_plans, differs
from rillwright.solvers.zoning.result import Clash, ZoneGroup, ZoneProblem, Zoning
from rillwright.solvers.zoning.task import ZoneTask, zone_task
from rillwright.solvers.zoning.wide import WHOLE, Spread, count_in_parts, wide_plan
from rillwright.solvers.zoning.windows import reworked

__all__ = ["cost_of", "make_zones", "make_zonings", "with_bound", "zoning_of"]

Zone = tuple[int, ...]

_COST = "zones: cost"
_SEARCHED = (
    "set partitioning over searched zones by CP-SAT; "
    "bound of the capacitated tree with capacity cuts, or by whole zones"
)
_LINEAR = 1_000  # heads up to which the linear programme bounds the cost; above, the shortest tree with K branches
_CLOSE = 0.04  # share of the cost that its bound may miss before whole zones are made for it
_WRONG = 1e-4  # relative; a bound over the cost by more is a fault, less is rounding
_EQUAL = 1e-6  # relative difference below which cost and bound are equal


def make_zones(problem: ZoneProblem, *, effort: float = 1.0, seed: int = 0, watch: Watch | None = None) -> Zoning:
    """Put heads into the fewest zones, and the zones at the places that cost least.

    Parameters: effort, of annealing the zones and of raising the bound by cases; 0 is enough to compare problems.
    Returns a Zoning. A head over its own capacity, or that no place may serve, is a clash: then no zones are made. Too
    few stations is a clash too, and the fewest zones are returned. The work is bounded by counts and by CP-SAT's
    deterministic time, so that the plan is the same on any machine; a watch that is over ends the search early with
    the best so far.
    Errors: SolverError when a cost is under its own bound, which is a fault of the solver.
    """
    zoning = make_zonings(problem, most=1, effort=effort, seed=seed, watch=watch)[0]
    return with_bound(problem, zoning, effort=effort, watch=watch)


def make_zonings(
    problem: ZoneProblem,
    *,
    most: int = 3,
    effort: float = 1.0,
    seed: int = 0,
    watch: Watch | None = None,
    spread: Spread = map,
    prove: bool = True,
) -> tuple[Zoning, ...]:
    """Up to `most` different zonings with the fewest zones, cheapest first.

    Where zones met in the search make a cheaper zoning than any searched, that one is added at the end.
    Each differs from every other in a quarter of its zones or more, by their heads or their place. Their costs are
    the estimate's, so the caller may route several and keep what is cheapest in truth; they have no bound yet, unless
    every zone was listed (`with_bound`).
    Parameters: spread, as for `wide_plan`; prove, as for `fewest_zones`.
    """
    watch = watch or Watch()
    clashes = _head_clashes(problem)
    if clashes or not problem.loads:
        return (Zoning((), (), 0.0, (), "infeasible" if clashes else "optimal", clashes),)
    task = zone_task(problem)
    whole = len(problem.loads) <= WHOLE
    counts = [
        fewest_zones(task, members, seed=seed, watch=watch, prove=prove)
        if len(members) <= WHOLE
        else count_in_parts(task, members)
        for members in task.groups
    ]
    start = [count.zones for count in counts]
    number = sum(map(len, start))
    if number > problem.stations:
        clashes = (Clash("stations", "controller", need=number, have=problem.stations),)
    if whole:
        first, *others = cheapest_plans(task, start, most=most, effort=effort, seed=seed, watch=watch)
        better = reworked(task, first, seed=seed, watch=watch) if effort > 0 else first
        if better is not first:
            others = [plan for plan in others if differs(plan, [better])]
        plans = [better, *others]
    else:
        plans = [wide_plan(task, start, effort=effort, seed=seed, watch=watch, spread=spread)]
    fixed, listed = number * problem.zone_cost, plans[0].proven
    least = fixed + plan_cost(task, plans[0]) if listed else None
    proofs = [(_count_proof(counts), _cost_proof(fixed + plan_cost(task, p), least, listed=listed)) for p in plans]
    return tuple(_zoning(problem, plan, pair, clashes) for plan, pair in zip(plans, proofs, strict=True))


def with_bound(problem: ZoneProblem, zoning: Zoning, *, effort: float = 1.0, watch: Watch | None = None) -> Zoning:
    """The zoning with a bound under the cost of any with as many zones in each group, where it has none yet.

    Parameters: problem, that the zoning was made for; effort, of raising the bound by cases, none at 0. The bound stays
    None when the watch is over before the first is reached.
    Errors: SolverError when the cost is under its own bound.
    """
    if not zoning.groups or zoning.proofs[1].bound is not None:
        return zoning
    task = zone_task(problem)
    home = {problem.loads[h].id: g for g, members in enumerate(task.groups) for h in members}
    zones = Counter(next(home[head] for head in group.heads if head in home) for group in zoning.groups)
    numbers = [zones[g] for g in range(len(task.groups))]
    if len(problem.loads) <= _LINEAR:
        fixed = len(zoning.groups) * problem.zone_cost
        enough = (1 - _CLOSE) * zoning.cost - fixed
        bound = cost_bound(task, numbers, effort=effort, enough=enough, watch=watch or Watch())
    else:
        bound = forest_bound(task, numbers)
    least = None if bound is None else bound + len(zoning.groups) * problem.zone_cost
    proofs = (zoning.proofs[0], _cost_proof(zoning.cost, least, listed=False))
    return replace(zoning, proofs=proofs, status="infeasible" if zoning.clashes else _status(proofs))


def cost_of(problem: ZoneProblem, groups: Sequence[ZoneGroup]) -> float:
    """Cost [currency] of zones by the estimate that zonings are made for; heads not in the problem are left out."""
    task, plan = _as_numbers(problem, groups)
    return plan_cost(task, plan) + len(groups) * problem.zone_cost


def zoning_of(problem: ZoneProblem, groups: Sequence[ZoneGroup]) -> Zoning:
    """A zoning of given lawful groups; their number is bounded by flow over capacity, their cost not yet."""
    task, plan = _as_numbers(problem, groups)
    bound = sum(simple_bound(task, members) for members in task.groups)
    proofs = (
        _count_proof([Count(plan.zones, bound, "as given; bound by flow over capacity")]),
        _cost_proof(plan_cost(task, plan) + len(groups) * problem.zone_cost, None, listed=False),
    )
    missing = (Clash("stations", "controller", need=len(groups), have=problem.stations),)
    return _zoning(problem, plan, proofs, missing if len(groups) > problem.stations else ())


def _as_numbers(problem: ZoneProblem, groups: Sequence[ZoneGroup]) -> tuple[ZoneTask, Partition]:
    task = zone_task(problem)
    number = {load.id: i for i, load in enumerate(problem.loads)}
    place = {option.id: i for i, option in enumerate(problem.options)}
    zones = tuple(tuple(sorted(number[head] for head in group.heads if head in number)) for group in groups)
    return task, Partition(zones, tuple(place[group.place] for group in groups), proven=False)


def _head_clashes(problem: ZoneProblem) -> tuple[Clash, ...]:
    options, may_serve = problem.options, problem.may_serve
    served = frozenset().union(*(may_serve.get(option.id, frozenset()) for option in options))
    highest = max((option.highest_level for option in options), default=-math.inf)
    clashes = []
    for load in problem.loads:
        if load.flow > load.capacity:
            clashes.append(Clash("flow", load.id, need=load.flow, have=load.capacity))
        elif load.id not in served:
            clashes.append(Clash("height", load.id, need=load.level + problem.clearance, have=highest))
    return tuple(clashes)


def _groups(problem: ZoneProblem, plan: Partition) -> tuple[ZoneGroup, ...]:
    return tuple(
        ZoneGroup(tuple(problem.loads[h].id for h in zone), problem.options[home].id)
        for zone, home in sorted(zip(plan.zones, plan.places, strict=True))
    )


def _zoning(problem: ZoneProblem, plan: Partition, proofs: tuple[Proof, Proof], clashes: tuple[Clash, ...]) -> Zoning:
    used = tuple(problem.options[p].id for p in sorted(set(plan.places)))
    status = "infeasible" if clashes else _status(proofs)
    return Zoning(_groups(problem, plan), used, proofs[1].value, proofs, status, clashes)


def _status(proofs: Sequence[Proof]) -> Literal["optimal", "feasible", "infeasible"]:
    return "optimal" if all(proof.status == "optimal" for proof in proofs) else "feasible"


def _count_proof(counts: Sequence[Count]) -> Proof:
    value, bound = sum(len(count.zones) for count in counts), sum(count.bound for count in counts)
    methods = "; ".join(dict.fromkeys(count.method for count in counts))
    status: Literal["optimal", "feasible"] = "optimal" if value == bound else "feasible"
    return Proof(stage="zones: fewest", status=status, value=value, bound=bound, method=methods)


def _cost_proof(cost: float, bound: float | None, *, listed: bool) -> Proof:
    """Proof of a cost against a bound; listed, when all zones were."""
    method = "set partitioning by CP-SAT over all feasible zones" if listed else _SEARCHED
    if bound is None:
        return Proof(stage=_COST, status="heuristic", value=cost, bound=None, method=method)
    if bound > cost + _WRONG * abs(cost):
        raise SolverError(
            f"Zoning: the cost {cost:.6g} is under its own lower bound {bound:.6g}. Please report this yard."
        )
    status: Literal["optimal", "feasible"] = "optimal" if cost - bound <= _EQUAL * abs(cost) else "feasible"
    return Proof(stage=_COST, status=status, value=cost, bound=min(bound, cost), method=method)
