"""Starts and minutes that a plain controller can hold, by CP-SAT.

A program has up to so many start times; at each it runs all its stations one after another, each for its own whole
minutes. A station that must soak is split over the starts of its program. Given for each station the minutes that it
needs in a watering, the longest run without water standing and the rest that such a run wants, find programs such that

- every station is in one program and gets its minutes, rounded up to whole ones at each start;
- no run is longer than the soil or the controller allows, and between two runs of a station lies the rest it wants;
- one station runs at a time, within the spans of time that are allowed.

Least: surplus minutes from rounding, then starts to type in, then time that the last start ends before the span does.
When one night is too short and the ground can wait, programs are shared out over the nights in between.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

from rillwright.solvers.cpsat import new_solver

__all__ = ["ClockLimits", "ClockPlan", "ClockProgram", "Station", "set_clock"]

EFFORT = 8.0  # [s] of the solver's own, deterministic clock
NIGHT = 1440  # [min] between the nights on one axis


@dataclass(frozen=True, slots=True)
class Station:
    """What one station needs in a watering."""

    zone: str
    minutes: int  # whole minutes
    longest: int  # [min] run without water standing
    soak: float  # [min] of rest for each minute of run


@dataclass(frozen=True, slots=True)
class ClockLimits:
    """What the controller and the rules allow."""

    programs: int
    starts: int  # of a program
    longest_run: int  # [min]
    spans: tuple[tuple[int, int], ...]  # [min] from the opening of a night: begin and end


@dataclass(frozen=True, slots=True)
class ClockProgram:
    """One program: its stations in order with the minutes of each start."""

    stations: tuple[tuple[str, int], ...]
    starts: tuple[int, ...]  # [min] from the opening of the night
    night: int  # of those between two waterings, from 0


@dataclass(frozen=True, slots=True)
class ClockPlan:
    """The programs, or why there are none."""

    status: Literal["optimal", "feasible", "infeasible", "effort used up"]
    programs: tuple[ClockProgram, ...]
    surplus: int  # [min] a watering, from rounding
    nights: int  # over which one watering is shared out
    relief: tuple[str, ...] = ()  # what would make room, where there are no programs


def set_clock(stations: Sequence[Station], limits: ClockLimits, *, nights: int = 1, seed: int = 0) -> ClockPlan:
    """Set the clock.

    Parameters: stations with minutes above 0; limits; nights between two waterings, over which programs may be shared;
    seed.
    """
    if not stations:
        return ClockPlan("optimal", (), 0, 1)
    plan = ClockPlan("infeasible", (), 0, 1)
    for number in range(1, nights + 1):
        plan = _solve(stations, limits, number, seed)
        if plan.programs:
            return plan
    return replace(plan, relief=_relief(stations, limits, nights, seed))


def _relief(stations: Sequence[Station], limits: ClockLimits, nights: int, seed: int) -> tuple[str, ...]:
    """Which one limit, set wide, would do."""
    wider = {
        "more start times": replace(limits, starts=12),
        "more programs": replace(limits, programs=min(8, len(stations))),
        "longer hours": replace(limits, spans=((0, NIGHT),)),
    }
    return tuple(what for what, wide in wider.items() if _solve(stations, wide, nights, seed).programs)


def _minutes(station: Station, starts: int) -> int:
    return math.ceil(station.minutes / starts)


def _solve(stations: Sequence[Station], limits: ClockLimits, nights: int, seed: int) -> ClockPlan:
    from ortools.sat.python import cp_model  # takes a second to import

    made = _Model.of(stations, limits, nights)
    if made is None:
        return ClockPlan("infeasible", (), 0, nights)
    solver = new_solver(seed=seed, work=EFFORT)
    status = solver.solve(made.model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return ClockPlan("infeasible" if status == cp_model.INFEASIBLE else "effort used up", (), 0, nights)
    programs = []
    for p in range(limits.programs):
        held = [(z, k) for (z, q, k), b in made.chosen.items() if q == p and solver.value(b)]
        if held:
            runs = tuple((stations[z].zone, _minutes(stations[z], k)) for z, k in sorted(held))
            times = [solver.value(made.starts[p, j]) for j in range(held[0][1])]
            programs.append(ClockProgram(runs, tuple(t % NIGHT for t in times), times[0] // NIGHT))
    surplus = sum(m * len(p.starts) for p in programs for _, m in p.stations) - sum(s.minutes for s in stations)
    return ClockPlan("optimal" if status == cp_model.OPTIMAL else "feasible", tuple(programs), surplus, nights)


@dataclass(frozen=True, slots=True)
class _Model:
    """The constraint model and the variables that are read back."""

    model: Any
    chosen: dict[tuple[int, int, int], Any]  # station, program, number of starts
    starts: dict[tuple[int, int], Any]  # program, number of the start

    @classmethod
    def of(cls, stations: Sequence[Station], limits: ClockLimits, nights: int) -> "_Model | None":
        from ortools.sat.python import cp_model

        model = cp_model.CpModel()
        count = {
            (p, k): model.new_bool_var(f"k{p},{k}") for p in range(limits.programs) for k in range(limits.starts + 1)
        }
        chosen: dict[tuple[int, int, int], Any] = {}
        for z, station in enumerate(stations):
            for k in range(1, limits.starts + 1):
                if _minutes(station, k) <= min(station.longest, limits.longest_run):
                    chosen |= {(z, p, k): model.new_bool_var(f"z{z},{p},{k}") for p in range(limits.programs)}
            if not any(key[0] == z for key in chosen):
                return None
            model.add_exactly_one(b for key, b in chosen.items() if key[0] == z)
        for p in range(limits.programs):
            model.add_exactly_one(count[p, k] for k in range(limits.starts + 1))
            if p:
                model.add_implication(count[p - 1, 0], count[p, 0])
        for (_, p, k), b in chosen.items():
            model.add_implication(b, count[p, k])
        made = cls(model, chosen, {})
        made._place(stations, limits, nights, count)
        return made

    def _place(
        self, stations: Sequence[Station], limits: ClockLimits, nights: int, count: dict[tuple[int, int], Any]
    ) -> None:
        """Place every start on one axis of all nights."""
        model, horizon = self.model, nights * NIGHT
        spans = [(n, n * NIGHT + a, n * NIGHT + b) for n in range(nights) for a, b in limits.spans]
        runs, first = [], model.new_int_var(0, NIGHT, "first")
        for p in range(limits.programs):
            own = [(key, b) for key, b in self.chosen.items() if key[1] == p]
            length = sum(_minutes(stations[z], k) * b for (z, _, k), b in own)
            night = [model.new_bool_var(f"n{p},{n}") for n in range(nights)]
            model.add_exactly_one(night)
            for j in range(limits.starts):
                runs.append(self._start(p, j, length, count, limits, horizon))
                self._within(p, j, runs[-1], spans, night, first)
            for (z, _, k), b in own:
                minutes = _minutes(stations[z], k)
                apart = minutes + math.ceil(minutes * stations[z].soak)
                for j in range(1, k):
                    model.add(self.starts[p, j] - self.starts[p, j - 1] >= apart).only_enforce_if(b)
        model.add_no_overlap(run for run, _, _ in runs)
        surplus = sum((_minutes(stations[z], k) * k) * b for (z, _, k), b in self.chosen.items())
        entered = sum(k * b for (_, k), b in count.items())
        model.minimize(surplus * 10 * NIGHT + entered * NIGHT - first)

    def _start(
        self, p: int, j: int, length: Any, count: dict[tuple[int, int], Any], limits: ClockLimits, horizon: int
    ) -> tuple[Any, Any, Any]:
        """A start that may be, its end, and whether it is."""
        model = self.model
        there = model.new_bool_var(f"a{p},{j}")
        model.add(there == sum(count[p, k] for k in range(j + 1, limits.starts + 1)))
        begin, end = model.new_int_var(0, horizon, f"s{p},{j}"), model.new_int_var(0, horizon, f"e{p},{j}")
        self.starts[p, j] = begin
        size = model.new_int_var(0, horizon, f"l{p},{j}")
        model.add(size == length)
        return model.new_optional_interval_var(begin, size, end, there, f"i{p},{j}"), end, there

    def _within(
        self, p: int, j: int, run: tuple[Any, Any, Any], spans: list[tuple[int, int, int]], night: list[Any], first: Any
    ) -> None:
        model, (_, end, there) = self.model, run
        within = [model.new_bool_var(f"w{p},{j},{i}") for i in range(len(spans))]
        model.add(sum(within) == there)
        for inside, (n, low, high) in zip(within, spans, strict=True):
            model.add_implication(inside, night[n])
            model.add(self.starts[p, j] >= low).only_enforce_if(inside)
            model.add(end <= high).only_enforce_if(inside)
            model.add(first <= self.starts[p, j] - n * NIGHT).only_enforce_if(inside)
