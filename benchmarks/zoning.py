"""Zones against their bounds as a yard grows: count, cost, gaps and CPU seconds, beside a plain assignment model.

Run: python benchmarks/zoning.py [HEADS ...], or python benchmarks/zoning.py gaps [HEADS ...] for the gaps of cost
alone, over seeds. Yards are invented: heads on a jittered grid, flows by the arc each needs (corner, edge, middle) and
one of three throws, hydrozones as bands, capacity set so that the fewest zones run nearly full. Up to 80 heads also the
hard kind (h): every flow different. Above 200 heads one hydrozone, searched lightly. The baseline in the same run is
CP-SAT with one variable for each head and zone, given the same CPU seconds.
"""

import itertools
import math
import random
import sys
import time
from collections.abc import Sequence

from rillwright.solvers.places import PlaceOption
from rillwright.solvers.zoning import HeadLoad, ZoneProblem, make_zones

SIZES = (20, 40, 60, 80, 200, 500, 1000, 5000)
FILLS = (0.90, 0.97, 0.985, 0.996)
GAP_SIZES, GAP_FILLS, GAP_SEEDS = (60, 200), (0.97, 0.99, 0.996), 5
PER_ZONE = 8
PLAIN_UP_TO = 80  # heads
WHOLE = 200  # heads; above, one hydrozone and effort 0
PLACE, ZONE, TRENCH = 100.0, 60.0, 8.0  # [currency], [currency], [currency/m]; invented
THROWS = (1.0, 1.29, 1.83)  # flow of a full circle at three throws, in the least of them
LITRES = 6.3e-5  # [m³/s] quarter circle at the least throw


def draw(
    heads: int, *, fill: float, seed: int = 0, slope: float = 0.0, step: float = 4.2, hard: bool = False
) -> ZoneProblem:
    """Heads, valve places and who may serve whom.

    Parameters: fill, share of the safe flow used if every hydrozone gets by with one zone for eight heads; slope, how
    much the safe flow differs over the yard, as a share; step [m] between heads; hard, whether every flow is another.
    """
    chance = random.Random(f"{heads} {fill} {seed}")
    across = math.ceil(math.sqrt(heads * 1.4))
    down = math.ceil(heads / across)
    bands = 1 if heads > WHOLE else max(1, min(down // 4, round(heads / 45)))
    raw: list[tuple[str, tuple[float, float], float]] = []
    for k in range(heads):
        row, column = divmod(k, across)
        at = (step * column + chance.uniform(-0.8, 0.8), step * row + chance.uniform(-0.8, 0.8))
        edges = (row in (0, down - 1)) + (column in (0, across - 1))
        flow = LITRES * THROWS[(column // 3 + row // 4) % 3] * (4 if edges == 0 else 2 if edges == 1 else 1)
        raw.append(
            (
                f"band {row * bands // down}",
                at,
                flow * (chance.uniform(0.8, 1.0) if hard else chance.choice((1.0, 0.93, 0.87))),
            )
        )
    loads = []
    for name, members in itertools.groupby(raw, key=lambda head: head[0]):
        band = list(members)
        zones = max(1, round(len(band) / PER_ZONE))
        safe = max(sum(f for _, _, f in band) / zones / fill, max(f for _, _, f in band))
        for _, at, flow in band:
            more = 1 + slope * at[0] / (step * across)
            loads.append(HeadLoad(f"H{len(loads)}", at, level=0.1, flow=flow, capacity=safe * more, group=name))
    number = min(60, 4 + heads // 6)
    options = []
    for k in range(number):
        at = (chance.uniform(0, step * across), chance.uniform(0, step * down))
        options.append(PlaceOption(f"P{k}", at, ground=0.0, entry_distance=math.dist(at, (0, 0)), highest_level=1.0))
    every = frozenset(load.id for load in loads)
    may = {option.id: every for option in options}
    return ZoneProblem(
        tuple(loads), tuple(options), may, stations=1000, place_cost=PLACE, zone_cost=ZONE, trench_cost=TRENCH
    )


def plain(problem: ZoneProblem, *, most: int, seconds: float) -> tuple[int | None, int]:
    """Zones that a plain assignment model finds, or None, and its bound: one variable for each head and zone."""
    from ortools.sat.python import cp_model

    loads = problem.loads
    model = cp_model.CpModel()
    put = [[model.new_bool_var("") for _ in range(most)] for _ in loads]
    used = [model.new_bool_var("") for _ in range(most)]
    names = sorted({load.group for load in loads})
    room = {load.group: round(load.capacity * 1e9) for load in loads}
    kind = [[model.new_bool_var("") for _ in names] for _ in range(most)]
    for load, row in zip(loads, put, strict=True):
        model.add_exactly_one(row)
        for z, here in enumerate(row):
            model.add_implication(here, kind[z][names.index(load.group)])
    for z in range(most):
        model.add_exactly_one([*kind[z], used[z].negated()])
        flow = sum(math.ceil(load.flow * 1e9) * row[z] for load, row in zip(loads, put, strict=True))
        model.add(flow <= sum(room[name] * kind[z][g] for g, name in enumerate(names)))
    model.minimize(sum(used))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_time_in_seconds = seconds
    status = solver.solve(model)
    found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    return round(solver.objective_value) if found else None, math.ceil(solver.best_objective_bound - 1e-6)


def report(heads: int, fill: float, *, hard: bool = False) -> float:
    """Print one line; returns CPU seconds."""
    problem = draw(heads, fill=fill, hard=hard)
    start = time.process_time()
    zoning = make_zones(problem, effort=1.0 if heads <= WHOLE else 0.0)
    spent = time.process_time() - start
    count, cost = zoning.proofs
    room = {load.group: load.capacity for load in problem.loads}
    group = {load.id: load.group for load in problem.loads}
    held = sum(load.flow for load in problem.loads) / sum(room[group[zone.heads[0]]] for zone in zoning.groups)
    line = f"{heads:6d}{'h' if hard else ' '}{fill:6.3f} {held:6.3f}"
    line += f" {count.value:6.0f} {count.bound or 0:6.0f} {count.status:>9}"
    gap = "-" if cost.gap is None else f"{100 * cost.gap:.1f}"
    line += f" {cost.value:10.0f} {cost.bound or 0:10.0f} {gap:>6} {spent:8.1f}"
    if heads <= PLAIN_UP_TO:
        found, bound = plain(problem, most=round(count.value) + 1, seconds=max(0.5, spent))
        line += f"   {'none' if found is None else found} ({bound})"
    print(line, flush=True)
    return spent


def gaps(heads: int) -> None:
    """Print the gap of cost [%] and CPU seconds for each fill and seed, at effort 0 and at 1, which `plan` zones at."""
    kinds = (False, True) if heads <= PLAIN_UP_TO else (False,)
    for fill, hard, seed in itertools.product(GAP_FILLS, kinds, range(GAP_SEEDS)):
        problem = draw(heads, fill=fill, seed=seed, hard=hard)
        line = f"{heads:6d}{'h' if hard else ' '}{fill:6.3f} {seed:4d}"
        for effort in (0.0, 1.0):
            start = time.process_time()
            cost = make_zones(problem, effort=effort).proofs[1]
            gap = "-" if cost.gap is None else f"{100 * cost.gap:.1f}"
            line += f" {cost.value:10.0f} {cost.bound or 0:10.0f} {gap:>6} {time.process_time() - start:8.1f}"
        print(line, flush=True)


def main(sizes: Sequence[int]) -> None:
    """Print the table."""
    print(f"{'heads':>6} {'aim':>6} {'fill':>6} {'zones':>6} {'bound':>6} {'status':>9}", end="")
    print(f" {'cost':>10} {'bound':>10} {'gap %':>6} {'CPU s':>8}   plain model: zones (bound), in the same time")
    times = []
    for heads in sizes:
        fills = FILLS if heads <= PLAIN_UP_TO else FILLS[2:3]
        spent = [report(heads, fill) for fill in fills]
        if heads <= PLAIN_UP_TO:
            spent += [report(heads, fill, hard=True) for fill in fills[1:]]
        times.append(sum(spent) / len(spent))
    if len(times) > 1:
        logs = [math.log(heads) for heads in sizes], [math.log(max(t, 1e-3)) for t in times]
        rise = (logs[1][-1] - logs[1][0]) / (logs[0][-1] - logs[0][0])
        print(f"time grows as heads^{rise:.2f} from the first size to the last")


if __name__ == "__main__":
    if sys.argv[1:2] == ["gaps"]:
        print(
            f"{'heads':>6} {'fill':>6} {'seed':>4}   at effort 0: cost, bound, gap %, CPU s; then at 1, as `plan` zones"
        )
        for number in [int(a) for a in sys.argv[2:]] or GAP_SIZES:
            gaps(number)
    else:
        main([int(a) for a in sys.argv[1:]] or SIZES)
