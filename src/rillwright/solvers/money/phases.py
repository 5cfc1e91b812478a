"""Building in phases: which zones this year, which later, at the least whole cost, none of the years over its limit.

Statement. Units are sets of zones that are built together (by default those that share a lawn). Every unit u goes into
one phase k = 1..K. An item i (a part, a metre of pipe in a stretch of trench, a trench paid by the metre) is needed by
a set of zones Tᵢ and is paid in the first phase that builds one of them: a trench is opened once, and everything that
will ever lie in it, main, laterals and sleeves, is laid then. A cap j ends what is laid for later where its neighbour
is not there yet: between Aⱼ and Bⱼ it is paid when the phase of Aⱼ comes before that of Bⱼ.

    cost of k = (1 + rise)^(k-1) · (Σ items first needed in k + caps + rent of ⌈(hours in k + fetching) / day⌉ days
                                    + a delivery, unless the order is large enough)
    least Σₖ cost of k,   each at most the yearly limit

Method: CP-SAT with money in hundredths of a cent and time in seconds. o[T, k] says whether a zone of T is built by
phase k; what is paid in k are differences of o. It is exact but for that rounding; the split found is priced anew in
`price_split`, which knows nothing of CP-SAT and serves the tests for brute force. Of equal costs the one that builds
more early.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Literal

from rillwright.model.labour import Rent
from rillwright.solvers.cpsat import new_solver
from rillwright.solvers.guide.rent import least_rent
from rillwright.solvers.money.contingency import rental_days

__all__ = ["Cap", "Item", "Job", "PhaseCost", "Split", "cheapest_split", "price_split"]

Zones = frozenset[str]
SCALE = 10_000  # of a unit of currency: whole numbers for CP-SAT
SLACK = 0.01  # [currency] of rounding, over all items of a phase
TIME_LIMIT = 1.0  # [s] of CP-SAT's deterministic time


@dataclass(frozen=True, slots=True)
class Item:
    """Something paid once, when the first of its zones is built."""

    cost: float  # [currency] with tax
    zones: Zones
    kind: Literal["parts", "trenches", "other"]
    hours: float = 0.0  # [s] of the rented machine
    what: str = ""


@dataclass(frozen=True, slots=True)
class Cap:
    """An end closed where a later phase goes on."""

    cost: float  # [currency] with tax: the cap now and the joint later
    first: Zones  # of what is laid
    later: Zones  # of what goes on from it
    what: str = ""


@dataclass(frozen=True, slots=True)
class Job:
    """All that a split is priced by."""

    items: tuple[Item, ...]
    caps: tuple[Cap, ...]
    fetch: float  # [s] of fetching and returning the machine
    day: float  # [s] of work in a day of rent
    rent: Rent  # with tax
    delivery: float  # [currency] of one order
    free_from: float | None  # [currency] of parts in one order
    rise: float  # of prices from one phase to the next


@dataclass(frozen=True, slots=True)
class PhaseCost:
    """One phase [currency]."""

    zones: tuple[str, ...]
    parts: float
    trenches: float
    other: float
    caps: float
    rental: float
    days: int  # of rent
    delivery: float
    total: float
    stubs: tuple[Cap, ...]


@dataclass(frozen=True, slots=True)
class Split:
    """A job in phases."""

    phases: tuple[PhaseCost, ...]
    status: Literal["optimal", "feasible", "given"]
    bound: float | None = None  # [currency] that no split within the limit can cost less than

    @property
    def total(self) -> float:
        """Of all phases [currency]."""
        return sum(phase.total for phase in self.phases)

    @property
    def dearest(self) -> float:
        """The phase that costs most [currency]."""
        return max(phase.total for phase in self.phases)


def price_split(job: Job, phases: Sequence[Sequence[str]]) -> Split:
    """Price a job built in these phases, each a list of zones; a phase without zones is left out."""
    phases = [list(zones) for zones in phases if zones]
    phase_of = {zone: number for number, zones in enumerate(phases) for zone in zones}

    def first(zones: Zones) -> int:
        return min(phase_of[zone] for zone in zones)

    found = []
    for number, zones in enumerate(phases):
        own = [item for item in job.items if first(item.zones) == number]
        stubs = tuple(cap for cap in job.caps if first(cap.first) == number < first(cap.later))
        money: dict[str, float] = defaultdict(float)
        for item in own:
            money[item.kind] += item.cost
        hours = sum(item.hours for item in own)
        days = rental_days(hours + job.fetch, job.day) if hours > 0 else 0
        ordered = money["parts"] > 0 and (job.free_from is None or money["parts"] < job.free_from)
        rise = (1 + job.rise) ** number
        costs = {
            "parts": rise * money["parts"],
            "trenches": rise * money["trenches"],
            "other": rise * money["other"],
            "caps": rise * sum(cap.cost for cap in stubs),
            "rental": rise * least_rent(days, job.rent),
            "delivery": rise * (job.delivery if ordered else 0.0),
        }
        found.append(PhaseCost(zones=tuple(zones), days=days, total=sum(costs.values()), stubs=stubs, **costs))
    return Split(tuple(found), "given")


def cheapest_split(
    job: Job,
    units: Sequence[Zones],
    *,
    phases: int,
    yearly: float | None = None,
    least: int = 1,
    even: bool = False,
    like: Split | None = None,
    seed: int = 0,
    time_limit: float = TIME_LIMIT,
) -> Split | None:
    """Find the split of the least whole cost.

    Parameters: job; units, sets of zones that are built together; phases, at the most; yearly, the most that one phase
    may cost; least, how many phases must build something; even, whether to make the dearest phase as cheap as may
    be, before the whole; like, a split to begin at; seed; time_limit [s] of deterministic time.
    Returns: the split with its status and bound; None when there is none within the limit.
    """
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    opened = _Opened(model, units, phases)
    used = [opened.used(number) for number in range(phases)]
    for number in range(phases):
        if number < least:
            model.add(used[number] == 1)
        if number:
            model.add(used[number] <= used[number - 1])
    totals = [_phase_total(model, job, opened, number) for number in range(phases)]
    if yearly is not None:
        for total in totals:
            model.add(total <= int(yearly * SCALE))
    ends = len(units) * phases + 1
    if even:
        dearest = model.new_int_var(0, _most(job), "")
        for total in totals:
            model.add(dearest >= total)
        model.minimize(dearest)
    else:
        model.minimize(sum(totals) * ends - sum(sum(row) for row in opened.rows))
    if like is not None:
        opened.hint(like)
    solver = _solver(seed, time_limit, even=even)
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    found = price_split(job, opened.phases_in(solver))
    if even:
        again = cheapest_split(
            job,
            units,
            phases=phases,
            yearly=found.dearest + SLACK,
            least=least,
            like=found,
            seed=seed,
            time_limit=time_limit,
        )
        return again or found
    bound = min(solver.best_objective_bound / ends / SCALE, found.total)
    return Split(found.phases, "optimal" if status == cp_model.OPTIMAL else "feasible", bound)


class _Opened:
    """Whether a set of zones has one that is built by the end of a phase. By the last, all are."""

    def __init__(self, model: Any, units: Sequence[Zones], phases: int) -> None:
        self._model, self._units, self._phases = model, units, phases
        self.rows = [[model.new_bool_var("") for _ in range(phases - 1)] for _ in units]
        for row in self.rows:
            for before, after in pairwise(row):
                model.add_implication(before, after)
        self._known: dict[frozenset[int], list[Any]] = {frozenset({n}): row for n, row in enumerate(self.rows)}

    def by(self, zones: Zones, number: int) -> Any:
        """By the end of a phase; before the first, nothing is."""
        if number < 0 or number == self._phases - 1:
            return int(number >= 0)
        key = frozenset(n for n, unit in enumerate(self._units) if unit & zones)
        if key not in self._known:
            self._known[key] = [self._flag(key, phase) for phase in range(self._phases - 1)]
        return self._known[key][number]

    def now(self, zones: Zones, number: int) -> Any:
        """In just this phase."""
        return self.by(zones, number) - self.by(zones, number - 1)

    def used(self, number: int) -> Any:
        """Whether anything is built in a phase."""
        flag, built = self._model.new_bool_var(""), sum(self.now(unit, number) for unit in self._units)
        self._model.add(built >= flag)
        self._model.add(built <= len(self._units) * flag)
        return flag

    def hint(self, split: Split) -> None:
        """Begin the search at a split."""
        built = [
            {zone for phase in split.phases[: number + 1] for zone in phase.zones} for number in range(self._phases)
        ]
        for unit, row in zip(self._units, self.rows, strict=True):
            for number, flag in enumerate(row):
                self._model.add_hint(flag, int(unit <= built[number]))

    def phases_in(self, solver: Any) -> list[list[str]]:
        """Zones by phase, in what the solver found."""
        phase = [sum(not solver.boolean_value(flag) for flag in row) for row in self.rows]
        return [
            [z for unit, at in zip(self._units, phase, strict=True) if at == number for z in sorted(unit)]
            for number in range(self._phases)
        ]

    def _flag(self, key: frozenset[int], number: int) -> Any:
        flag = self._model.new_bool_var("")
        self._model.add_max_equality(flag, [self.rows[unit][number] for unit in key])
        return flag


def _phase_total(model: Any, job: Job, opened: _Opened, number: int) -> Any:
    """Cost of a phase [1 / SCALE of the currency] as a linear expression."""
    rise = SCALE * (1 + job.rise) ** number
    by_set: Mapping[Zones, list[Item]] = _grouped(job.items)
    total: Any = 0
    seconds: Any = 0
    parts: Any = 0
    for zones, items in by_set.items():
        now = opened.now(zones, number)
        total += round(rise * sum(item.cost for item in items)) * now
        parts += round(SCALE * sum(item.cost for item in items if item.kind == "parts")) * now
        seconds += round(sum(item.hours for item in items)) * now
    for cap in job.caps:
        closed = model.new_bool_var("")
        model.add(closed >= opened.now(cap.first, number) - opened.by(cap.later, number))
        total += round(rise * cap.cost) * closed
    dug = sum(round(sum(item.hours for item in items)) for items in by_set.values())
    if dug:
        total += _rent(model, job, seconds, dug, rise)
    if job.delivery:
        bought, free, ordered = (model.new_bool_var("") for _ in range(3))
        model.add(parts <= (round(SCALE * sum(item.cost for item in job.items)) + len(job.items)) * bought)
        if job.free_from is None:
            model.add(free == 0)
        else:
            model.add(parts >= round(SCALE * job.free_from)).only_enforce_if(free)
        model.add(ordered >= bought - free)
        total += round(rise * job.delivery) * ordered
    return total


def _rent(model: Any, job: Job, seconds: Any, dug: int, rise: float) -> Any:
    """Rent of a phase [1 / SCALE of the currency]: days that hold the digging and the fetching, at the least rent."""
    most = rental_days(dug + job.fetch, job.day) + 1
    days, cost = model.new_int_var(0, most, ""), model.new_int_var(0, round(rise * least_rent(most, job.rent)) + 1, "")
    digs = model.new_bool_var("")
    model.add(seconds <= dug * digs)
    model.add(days * round(job.day) >= seconds + round(job.fetch) * digs)
    model.add_element(days, [round(rise * least_rent(n, job.rent)) for n in range(most + 1)], cost)
    return cost


def _grouped(items: Sequence[Item]) -> dict[Zones, list[Item]]:
    found: dict[Zones, list[Item]] = defaultdict(list)
    for item in items:
        found[item.zones].append(item)
    return found


def _most(job: Job) -> int:
    """More than any split can cost [1 / SCALE of the currency]."""
    every = sum(item.cost for item in job.items) + sum(cap.cost for cap in job.caps)
    days = rental_days(sum(item.hours for item in job.items) + job.fetch, job.day) + 1
    return round(SCALE * 10 * (every + 10 * (least_rent(days, job.rent) + job.delivery))) + SCALE


def _solver(seed: int, time_limit: float, *, even: bool) -> Any:
    solver = new_solver(seed=seed, work=time_limit)
    # a relaxation tells nothing of a dearest phase, much of a sum
    solver.parameters.linearization_level = 1 if even else 2
    return solver
