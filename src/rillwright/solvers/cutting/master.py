"""The master problem of cutting: whole numbers of patterns, by CP-SAT; its relaxation by columns, for a bound."""

import math
from collections import Counter
from collections.abc import Iterator, Sequence

import numpy as np

from rillwright.solvers.cpsat import new_solver

__all__ = ["best_of_patterns", "least_by_columns"]

MOST_PATTERNS = 1500  # up to which all maximal patterns are listed, which makes the answer exact
ROUNDS = 60  # of columns
WORK = 1.0  # of CP-SAT's deterministic seconds

Pattern = tuple[int, ...]  # number of pieces of each length
Column = tuple[int, Pattern]  # stock [mm] and what is cut from it


def least_by_columns(
    pieces: Sequence[int], stocks: Sequence[int], kerf: int, *, start: Sequence[Sequence[int]]
) -> tuple[list[Column], float]:
    """Columns that price out in the relaxation, and the length [mm] that no plan buys less than; start, some plan."""
    lengths, wanted = _demand(pieces)
    return _priced(lengths, wanted, stocks, kerf, start)


def best_of_patterns(
    pieces: Sequence[int], stocks: Sequence[int], kerf: int, *, columns: Sequence[Column], low: float
) -> tuple[list[list[int]], bool]:
    """The best plan that some patterns make, and whether it is the best of all.

    All maximal patterns of each stock where they are few, else the columns given; low, a length [mm] that no plan buys
    less than.
    """
    lengths, wanted = _demand(pieces)
    listed = _listed(lengths, wanted, stocks, kerf)
    counts, proven = _decided(listed or columns, wanted, low)
    left = Counter(pieces)
    plan = []
    for (_, pattern), number in zip(listed or columns, counts, strict=True):
        for _ in range(number):
            taken = [length for length, n in zip(lengths, pattern, strict=True) for _ in range(min(n, left[length]))]
            left.subtract(taken)
            plan.append(taken)
    return [taken for taken in plan if taken], proven and listed is not None


def _demand(pieces: Sequence[int]) -> tuple[list[int], list[int]]:
    counted = Counter(pieces)
    lengths = sorted(counted, reverse=True)
    return lengths, [counted[length] for length in lengths]


def _listed(lengths: Sequence[int], wanted: Sequence[int], stocks: Sequence[int], kerf: int) -> list[Column] | None:
    """Every maximal pattern of every stock; None when they are too many."""
    found: list[Column] = []
    for stock in stocks:
        for pattern in _maximal(lengths, wanted, stock + kerf, kerf):
            found.append((stock, pattern))
            if len(found) > MOST_PATTERNS:
                return None
    return found


def _maximal(lengths: Sequence[int], wanted: Sequence[int], room: int, kerf: int) -> Iterator[Pattern]:
    """Patterns to which no piece still wanted could be added, longest pieces first."""

    def grow(index: int, left: int, chosen: list[int]) -> Iterator[Pattern]:
        if index == len(lengths):
            if any(n < most and length + kerf <= left for n, most, length in zip(chosen, wanted, lengths, strict=True)):
                return
            if any(chosen):
                yield tuple(chosen)
            return
        for number in range(min(wanted[index], left // (lengths[index] + kerf)), -1, -1):
            yield from grow(index + 1, left - number * (lengths[index] + kerf), [*chosen, number])

    return grow(0, room, [])


def _priced(
    lengths: Sequence[int], wanted: Sequence[int], stocks: Sequence[int], kerf: int, start: Sequence[Sequence[int]]
) -> tuple[list[Column], float]:
    """Columns that price out in the relaxation, and its bound: Farley's, sum of duals over the worst ratio to cost."""
    from ortools.linear_solver import pywraplp

    columns = [_column(Counter(taken), lengths, stocks, kerf) for taken in start]
    low = 0.0
    for _ in range(ROUNDS):
        solver = pywraplp.Solver.CreateSolver("GLOP")
        rows = [solver.Constraint(float(number), solver.infinity()) for number in wanted]
        for stock, pattern in columns:
            variable = solver.NumVar(0.0, solver.infinity(), "")
            solver.Objective().SetCoefficient(variable, float(stock))
            for row, number in zip(rows, pattern, strict=True):
                row.SetCoefficient(variable, float(number))
        solver.Objective().SetMinimization()
        solver.Solve()
        duals = np.maximum(0.0, [row.dual_value() for row in rows])
        fresh, worst = [], 1.0
        for stock in stocks:
            pattern, worth = _knapsack(lengths, wanted, duals, stock + kerf, kerf)
            worst = max(worst, worth / stock)
            if worth > stock * (1 + 1e-9):
                fresh.append((stock, pattern))
        low = max(low, float(duals @ np.array(wanted)) / worst)
        if not fresh:
            break
        columns += fresh
    return columns, low


def _column(taken: Counter[int], lengths: Sequence[int], stocks: Sequence[int], kerf: int) -> Column:
    used = sum((length + kerf) * number for length, number in taken.items()) - kerf
    return next(stock for stock in stocks if stock >= used), tuple(taken[length] for length in lengths)


def _knapsack(
    lengths: Sequence[int], wanted: Sequence[int], worths: np.ndarray, room: int, kerf: int
) -> tuple[Pattern, float]:
    """The pattern worth most in a room, each piece once at most: by dynamic programming over the millimetres."""
    best = np.zeros(room + 1)
    items = [index for index, number in enumerate(wanted) for _ in range(number) if worths[index] > 0]
    taken = np.zeros((len(items), room + 1), dtype=bool)
    for row, index in enumerate(items):
        size = lengths[index] + kerf
        if size <= room:
            better = best[:-size] + worths[index]
            taken[row, size:] = better > best[size:]
            best[size:] = np.maximum(best[size:], better)
    chosen, at = [0] * len(lengths), room
    for row in range(len(items) - 1, -1, -1):
        if taken[row, at]:
            chosen[items[row]] += 1
            at -= lengths[items[row]] + kerf
    return tuple(chosen), float(best[room])


def _decided(columns: Sequence[Column], wanted: Sequence[int], low: float) -> tuple[list[int], bool]:
    """How often to cut each pattern, and whether no numbers of these patterns cost less."""
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    numbers = [model.new_int_var(0, sum(wanted), "") for _ in columns]
    for index, number in enumerate(wanted):
        model.add(sum(x * pattern[index] for x, (_, pattern) in zip(numbers, columns, strict=True)) >= number)
    cost = sum(x * stock for x, (stock, _) in zip(numbers, columns, strict=True))
    model.add(cost >= math.ceil(low - 1e-3))
    model.minimize(cost)
    solver = new_solver(seed=0, work=WORK)
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return [0] * len(columns), False
    return [solver.value(x) for x in numbers], status == cp_model.OPTIMAL
