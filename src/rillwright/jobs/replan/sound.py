"""Whether zones are sound on a supply, and what becomes of their water.

A zone is sound when on the cautious supply, its flow control wide open, every head keeps the least pressure of its
chart, no pipe runs faster than the limit, and the service and the meter pass its flow. Where a head falls under 0.9 of
the pressure it was laid out for, the whole zone is laid out anew, for the highest pressures of which the cautious
supply leaves it 0.9 and that the expected supply gives: it puts on less, and runs longer. A system is sound when all
its zones are, when the devices stand no higher than the owner accepts, when no lawn is less even than the least DU of
the rules, or than it was, and when the week's water fits into the hours.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from rillwright.jobs.case import KEPT_SHARE, Case
from rillwright.jobs.replan.job import Job
from rillwright.jobs.replan.system import Line, System, solver_of
from rillwright.jobs.settle import Settled, solved_heads
from rillwright.jobs.turns import turn_of
from rillwright.model.catalogue import flow_at, radius_at
from rillwright.model.plan import Head
from rillwright.model.site import Watering
from rillwright.physics.pipes import velocity
from rillwright.solvers.areas import zone_areas
from rillwright.solvers.certainty import usual_week
from rillwright.solvers.coverage import Depth, evenness_of, judging_grid, scene_of
from rillwright.solvers.hydraulics import ZoneHydraulics

__all__ = ["Judge", "Verdict"]

_SLACK = 0.99  # of the pressure a head was laid out for, as when a plan is made
_LEAST_FALL = 0.01  # [0..1] of DU under that of the first plan which is no change


@dataclass(frozen=True, slots=True)
class Verdict:
    """A system with all its zones solved."""

    settled: Settled
    even: Mapping[str, float]  # DU by lawn
    needed: float  # [s] of watering in a usual week of the peak
    fault: str  # what is not sound; empty when all is


@dataclass(frozen=True, slots=True)
class _State:
    """One zone, its flow control set."""

    line: Line
    expected: ZoneHydraulics
    cautious: ZoneHydraulics


class Judge:
    """Judges systems of one job on one supply."""

    def __init__(self, job: Job, case: Case) -> None:
        self.job, self.case = job, case
        self._settled: dict[int, _State] = {}  # by zone, as the object that it is: each keeps its own alive
        self._known_du: dict[tuple[str, tuple[int, ...]], float] = {}

    @cached_property
    def _depth(self) -> dict[str, Depth]:
        scene, heads = scene_of(self.case.ground, self.case.yard), self.job.base.heads
        return {
            lawn.id: Depth(
                [head for head in heads if head.lawn == lawn.id],
                catalogue=self.case.catalogue,
                grid=judging_grid(self.case.ground.lawns[lawn.id]),
                scene=scene,
            )
            for lawn in self.job.plan.lawns
        }

    def lines(self, system: System, zones: Iterable[str]) -> dict[str, Line] | None:
        """Zones of a system that are sound, laid out anew where they must run longer; None when one is not sound."""
        found: dict[str, Line] = {}
        names = list(zones)
        solver = solver_of(system, self.case, names)
        for name in names:
            line = system.lines[name]
            if line.flow > self._most + 1e-12:
                return None
            state = solver.solve(name, self.case.limits.cautious, self.case.limits.reserve)
            least = {head.id: self.case.catalogue.nozzles[head.nozzle].lowest_pressure for head in line.heads}
            if any(state.pressure[head] < pressure for head, pressure in least.items()):
                return None
            if self._too_fast(system, line, state):
                return None
            strict = all(
                state.pressure[h.id]
                >= _SLACK * self.case.least_pressure(self.case.catalogue.nozzles[h.nozzle], h.pressure)
                for h in line.heads
            )
            found[name] = line
            if not strict:
                usual = solver.solve(name, self.case.limits.expected, 0.0)
                found[name] = replace(line, heads=self._laid_anew(line, state, usual))
        return found

    @property
    def _most(self) -> float:
        """Most [m³/s] that service, meter and pump let a zone draw."""
        limits = self.case.limits
        return min(limit.flow for limit in limits.others) - limits.reserve

    def _too_fast(self, system: System, line: Line, state: ZoneHydraulics) -> bool:
        """Whether a pipe runs over the limit while the zone draws what it is laid out for, or all it can get."""
        share = min(1.0, line.flow / state.flow)
        limit = self.case.yard.rules.highest_velocity * 1.001
        pipes = {pipe.id: pipe for pipe in (*system.main, *line.pipes)}
        return any(
            velocity(flow * share, inside_diameter=pipes[name].bore) > limit for name, flow in state.pipe_flow.items()
        )

    def _laid_anew(self, line: Line, poor: ZoneHydraulics, usual: ZoneHydraulics) -> tuple[Head, ...]:
        """Heads laid out for pressures in the ratio that they have on the cautious supply, control open."""
        rise = min(1 / KEPT_SHARE, *(usual.pressure[head.id] / poor.pressure[head.id] for head in line.heads))
        found = []
        for head in line.heads:
            nozzle, pressure = self.case.catalogue.nozzles[head.nozzle], rise * poor.pressure[head.id]
            flow = flow_at(nozzle, pressure, head.arc, radius_share=head.radius_share)
            radius = radius_at(nozzle, pressure) * head.radius_share
            found.append(head.model_copy(update={"pressure": pressure, "flow": flow, "radius": radius}))
        return tuple(found)

    def knows(self, lines: Iterable[Line]) -> bool:
        """Whether zones are settled."""
        return all(id(line) in self._settled for line in lines)

    def too_uneven(self, lines: Sequence[Line]) -> str:
        """The first lawn all of whose heads are in some settled zones and that is too uneven; empty when none is."""
        there = {head.id for line in lines for head in line.heads}
        for lawn, heads in self._on_lawn.items():
            if heads <= there and self._even(lawn, lines) < self._least_du[lawn]:
                return lawn
        return ""

    @cached_property
    def _on_lawn(self) -> dict[str, set[str]]:
        heads = self.job.base.heads
        return {lawn.id: {head.id for head in heads if head.lawn == lawn.id} for lawn in self.job.plan.lawns}

    @cached_property
    def _least_du(self) -> dict[str, float]:
        first = {lawn.id: lawn.evenness.du for lawn in self.job.plan.lawns}
        return {lawn: min(self.case.yard.rules.lowest_du, du - _LEAST_FALL) for lawn, du in first.items()}

    def verdict(self, system: System) -> Verdict:
        """Solve all zones, lay their water, count their hours."""
        riser = self.case.yard.backflow.highest_riser + 1e-6
        settled = self._settle(system)
        lines = list(system.lines.values())
        heads = solved_heads(system.heads, settled.expected, self.case.catalogue)
        even = {lawn: self._even(lawn, lines) for lawn in self._on_lawn}
        needed = self._hours(system, settled, heads, even)
        watering = self.case.yard.watering or Watering()
        fault = ""
        if settled.short:
            fault = f"{settled.short[0]} lacks pressure"
        elif any((place.device_height or 0.0) > riser for place in system.places.values()):
            fault = "a device would stand too high"
        elif uneven := [lawn for lawn, du in even.items() if du < self._least_du[lawn]]:
            fault = f"{uneven[0]} is too uneven"
        elif needed > watering.hours * watering.nights:
            fault = "the week's water does not fit into the hours"
        return Verdict(settled, even, needed, fault)

    def settle(self, system: System, lines: Sequence[Line]) -> dict[str, _State]:
        """Zones with their flow controls set. Where a device stands shifts no flow, so each is solved once."""
        fresh = [line.zone for line in lines if id(line) not in self._settled]
        if fresh:
            settled = solver_of(system, self.case, fresh).settle()
            for name in fresh:
                line = system.lines[name]
                self._settled[id(line)] = _State(line, settled.expected[name], settled.cautious[name])
        return {line.zone: self._settled[id(line)] for line in lines}

    def _settle(self, system: System) -> Settled:
        states = self.settle(system, list(system.lines.values()))
        expected = {name: state.expected for name, state in states.items()}
        cautious = {name: state.cautious for name, state in states.items()}
        drift = max(abs(expected[z].head_flow[h.id] / h.flow - 1) for z, s in states.items() for h in s.line.heads)
        return Settled(expected, cautious, drift, tuple(z for z, s in states.items() if self._short(s)))

    def _short(self, state: _State) -> bool:
        nozzles, stands = self.case.catalogue.nozzles, state.cautious.pressure
        least = {h.id: self.case.least_pressure(nozzles[h.nozzle], h.pressure) for h in state.line.heads}
        return any(stands[head] < _SLACK * pressure for head, pressure in least.items())

    def _even(self, lawn: str, lines: Sequence[Line]) -> float:
        """DU of a lawn under the zones that water it, settled before."""
        own = [line for line in lines if any(head.lawn == lawn for head in line.heads)]
        key = (lawn, tuple(sorted(id(line) for line in own)))
        if key not in self._known_du:
            heads = [head for line in own for head in line.heads]
            states = {line.zone: self._settled[id(line)].expected for line in own}
            solved = solved_heads(heads, states, self.case.catalogue)
            depth = self._depth[lawn]
            depth.put(*(head for head in solved if head.lawn == lawn))
            self._known_du[key] = evenness_of(depth.rate(), depth.grid, self.case.ground.lawns[lawn]).du
        return self._known_du[key]

    def _hours(self, system: System, settled: Settled, heads: Sequence[Head], even: Mapping[str, float]) -> float:
        """Watering [s] in a usual week of the peak."""
        by_id = {head.id: head for head in heads}
        zone_of = {head.id: name for name, line in system.lines.items() for head in line.heads}
        areas = zone_areas(heads, zone_of, ground=self.case.ground)
        lands = {lawn.id: lawn.on_lawn / max(lawn.water, 1e-12) for lawn in self.job.plan.lawns}
        evens = {lawn: np.array([du]) for lawn, du in even.items()}
        turns = [
            turn_of(
                name,
                [by_id[head.id] for head in line.heads],
                flow=np.array([settled.expected[name].flow]),
                area=areas[name],
                lands=lands,
                even=evens,
                case=self.case,
            )
            for name, line in system.lines.items()
        ]
        return float(usual_week(turns, watering=self.case.yard.watering or Watering()).needed[0])
