"""Pipe sizes at least cost, proven: every zone and the main they share are sized together.

A run's size is written as a ladder of yes/no steps ('at least the k-th size'). Loss and cost are sums over the steps,
so pressure at each head, agreement of flow between like heads and sizes that never grow downstream are all linear,
and a mixed-integer programme finds the cheapest sizes and the bound that proves them. One material serves the main
and one the laterals; each pair of materials is a programme of its own, skipped once its bound cannot beat the best.
See docs/theory/sizing.md.
"""

import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from rillwright.errors import SolverError
from rillwright.model.findings import Proof
from rillwright.model.parts import Catalogue, PipeSize
from rillwright.model.site import PipeMaterial
from rillwright.solvers.sizing.cases import Case, HeadDemand, Run, able, grow, make_case
from rillwright.solvers.sizing.programme import Programme

__all__ = ["Clash", "HeadDemand", "Run", "Sizing", "size_pipes"]

_METHOD = "mixed-integer programme over size steps, all zones and the main together, each pair of materials"

_SPREAD_SLACK = 1e-5  # [-] of flow spread, within the solver's tolerance


@dataclass(frozen=True, slots=True)
class Clash:
    """A limit that no choice of sizes meets. `value` is the nearest that pipe sizes can come to `limit`.

    Both are [Pa] for 'pressure' (at a head), [m/s] for 'velocity' (in a run), a share for 'flow spread'.
    """

    kind: Literal["pressure", "velocity", "flow spread"]
    where: str  # run id for 'velocity', else head id
    zone: str
    value: float
    limit: float
    against: str | None = None  # 'flow spread': the head with the most pressure; `where` has the least

    @property
    def by(self) -> float:
        """How far the limit is missed, in the unit of `limit`."""
        return abs(self.value - self.limit)


@dataclass(frozen=True, slots=True)
class Sizing:
    """Sizes of all runs. With clashes, the sizes are the nearest that a builder could come."""

    sizes: dict[str, PipeSize]
    cost: float  # [currency] of the pipe
    proof: Proof
    pressures: dict[str, float]  # [Pa] by head
    clashes: tuple[Clash, ...] = ()


@dataclass(frozen=True, slots=True)
class _Best:
    case: Case
    steps: dict[str, int]
    cost: float


def size_pipes(
    runs: Sequence[Run],
    demands: Sequence[HeadDemand],
    *,
    catalogue: Catalogue,
    materials_main: Sequence[PipeMaterial],
    materials_lateral: Sequence[PipeMaterial],
    highest_velocity: float,
    flow_spread: float,
    price: Mapping[tuple[str, str], float],
    temperature: float = 288.15,
    time_limit: float = 300.0,
) -> Sizing:
    """Choose the cheapest size of every run within the limits, and prove it.

    Parameters: runs, a tree of pipe runs; demands, one for each head, with its path of runs from the entry;
    materials_main and materials_lateral, at least one each, of which one is chosen for each role;
    highest_velocity [m/s], the same for all materials; flow_spread [0..1], largest (most - least) / most flow of heads
    with equal `like` in a zone; price [currency/m] by (material, trade size); temperature [K] of the water;
    time_limit [s] for the whole search, a guard: with over 4,000 columns the proof may leave 0.1 % of the cost open.
    Returns: the sizes, their cost and the proof: 'optimal' when bound and cost meet, 'feasible' when the time ran out,
    'infeasible' with the limits that clash.
    Errors: TableError when a material has no sizes or a size no price; InputError when no material comes in the sizes
    that runs must have; SolverError when paths do not form a tree, or
    when the time ran out before any sizes were found.
    Pressure above a head's `most` does not count here: a smaller pipe is no pressure regulator.
    """
    end = time.monotonic() + time_limit
    tree = grow(runs, demands)
    of = {role: [run for run in runs if run.role == role] for role in ("main", "lateral")}
    mains = able(materials_main, of["main"], catalogue) if of["main"] else materials_main[:1]
    laterals = able(materials_lateral, of["lateral"], catalogue) if of["lateral"] else materials_lateral[:1]
    cases = [
        make_case(tree, catalogue, main, lateral, price, highest_velocity=highest_velocity, temperature=temperature)
        for main in mains
        for lateral in laterals
    ]
    missed = [(case, _misses(case, highest_velocity)) for case in cases]
    open_cases = [case for case, clashes in missed if not clashes]
    if not open_cases:
        case, clashes = min(missed, key=lambda pair: sum(clash.by / max(clash.limit, 1e-9) for clash in pair[1]))
        return _nearest([Programme(case.forgiving(), flow_spread)], flow_spread, time_limit, clashes)
    programmes = [Programme(case, flow_spread) for case in open_cases]
    best, bound = _search(programmes, end)
    if best is not None:
        done = best.cost - bound <= 1e-6 * max(1.0, best.cost)
        status: Literal["optimal", "feasible"] = "optimal" if done else "feasible"
        value = best.cost
        proof = Proof(stage="sizes", status=status, value=value, bound=value if done else bound, method=_METHOD)
        return Sizing(best.case.sizes(best.steps), value, proof, best.case.pressures(best.steps))
    return _nearest(programmes, flow_spread, time_limit, ())


def _search(programmes: list[Programme], end: float) -> tuple[_Best | None, float]:
    """Cheapest sizes over all pairs of materials and the bound under them; (None, inf) when none fit."""
    relaxed = [(programme.relaxed_bound(), programme) for programme in programmes]
    relaxed = sorted((pair for pair in relaxed if pair[0] < float("inf")), key=lambda pair: pair[0])
    best: _Best | None = None
    bounds: list[float] = []
    unsettled = False
    for low, programme in relaxed:
        if best is not None and low >= best.cost:
            break
        beaten = float("inf") if best is None else best.cost
        answer = programme.solve(max(end - time.monotonic(), 0.05), below=beaten)
        if answer.steps is not None:
            cost = programme.case.cost(answer.steps)
            if best is None or cost < best.cost:
                best = _Best(programme.case, answer.steps, cost)
        unsettled = unsettled or not answer.settled
        bounds.append(max(low, answer.bound))
    if best is None and unsettled:
        raise SolverError("no pipe sizes found within the time limit, nor a proof that none fit: allow more time")
    return best, min(bounds, default=float("inf"))


def _misses(case: Case, highest_velocity: float) -> tuple[Clash, ...]:
    """Limits on velocity and pressure missed with the largest pipe everywhere: no sizes can mend these."""
    too_fast = [
        Clash("velocity", run, zone, speed, highest_velocity)
        for run, (zone, speed) in case.fastest_in_largest().items()
        if speed > highest_velocity
    ]
    pressures = case.pressures(case.largest())
    too_low = [
        Clash("pressure", head.id, head.zone, pressures[head.id], head.least)
        for head in case.tree.demands
        if pressures[head.id] < head.least
    ]
    return (*too_fast, *too_low)


def _nearest(programmes: list[Programme], flow_spread: float, time_limit: float, misses: tuple[Clash, ...]) -> Sizing:
    """Sizes that come nearest when none fit, with the misses nothing can mend and the flow spread that is left."""
    nearest: Sizing | None = None
    for programme in programmes:
        case = programme.case
        widest = bool(misses) and programme.is_large  # a site's zones are then made anew anyway
        steps = case.largest() if widest else programme.nearest(time_limit / len(programmes))
        pressures = case.pressures(steps)
        clashes = list(misses)
        for group in case.tree.like_groups():
            low, high = (pick(group, key=lambda head: pressures[head.id]) for pick in (min, max))
            ratio = max(pressures[low.id], 0.0) / max(pressures[high.id], 1.0)
            spread = 1 - ratio**low.exponent
            if spread > flow_spread + _SPREAD_SLACK:
                clashes.append(Clash("flow spread", low.id, low.zone, spread, flow_spread, against=high.id))
        cost = case.cost(steps)
        proof = Proof(stage="sizes", status="infeasible", value=cost, bound=None, method=_METHOD)
        found = Sizing(case.sizes(steps), cost, proof, pressures, tuple(clashes))
        if nearest is None or sum(c.by for c in found.clashes) < sum(c.by for c in nearest.clashes):
            nearest = found
    if nearest is None or not nearest.clashes:
        raise SolverError("pipe sizes were called infeasible, yet none of the limits is missed")
    return nearest
