"""One head of a finished plan set otherwise: what becomes of its water, its zone's pressures and the findings.

Routes, sizes, valve places and flow controls stay as the plan has them; the last piece of a head's lateral follows it.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import LineString, Point

from rillwright.errors import InputError
from rillwright.jobs.checks import inspect
from rillwright.jobs.pipework import at_flows
from rillwright.jobs.settle import solved_heads, zone_state
from rillwright.jobs.zone_models import zone_given
from rillwright.model.catalogue import flow_at, radius_at
from rillwright.model.findings import Finding
from rillwright.model.ground import resolve_ground
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Head, Lawn, Pipe, Plan, Zone
from rillwright.model.terrain import Terrain
from rillwright.physics.units import show
from rillwright.solvers.coverage import (
    Depth,
    Grid,
    Outlines,
    WaterBalance,
    judging_grid,
    lawn_of,
    outlines_round,
    scene_of,
    share_out,
)
from rillwright.solvers.devices import ZoneDevice
from rillwright.solvers.flow_control import controlled, flow_control, valve_regulator
from rillwright.solvers.hydraulics import Way, ZoneHydraulics, solve_zone

__all__ = ["Moved", "Workbench"]

_SAME_THROW = 0.02  # [m] a head whose throw changes by less keeps its shares of water
_OFF = 0.01  # [m] off its lawn that a head may stand


@dataclass(frozen=True, slots=True)
class Moved:
    """What a move makes of the plan."""

    plan: Plan  # with the head as set; trenches, parts, cost and certainty are those of the plan before
    new: tuple[Finding, ...]
    gone: tuple[Finding, ...]


@dataclass(slots=True)
class _Water:
    """One lawn's water, kept so that the next move costs little."""

    depth: Depth
    outlines: Outlines
    shares: dict[str, WaterBalance]  # by head


class Workbench:
    """A plan whose heads can be set otherwise, one after another."""

    def __init__(self, plan: Plan, catalogue: Catalogue) -> None:
        """Errors: InputError when the plan has no zones, or nozzles that the catalogue does not hold."""
        if not plan.zones:
            raise InputError("this plan has no zones, so no head of it can be tried elsewhere: make a plan that fits")
        unknown = sorted({head.nozzle for head in plan.heads} - set(catalogue.nozzles))
        if unknown:
            raise InputError(f"no chart here holds {', '.join(unknown)}: give the --charts that the plan was made with")
        self.plan = plan
        self._catalogue = catalogue
        self._ground = resolve_ground(plan.yard)
        self._scene = scene_of(self._ground, plan.yard)
        self._findings = inspect(plan, self._ground, catalogue)
        fitted = plan.regulation.fitted_at if plan.regulation else {}
        self._on_valve = {zone.id: _as_set(zone, regulated=fitted.get(zone.id) == "valve") for zone in plan.zones}
        nozzles = {head.id: catalogue.nozzles[head.nozzle] for head in plan.heads if fitted.get(head.id) == "head"}
        self._in_heads = {head: nozzle.design_pressure for head, nozzle in nozzles.items()}
        self._water: dict[str, _Water] = {}

    def move(
        self,
        name: str,
        *,
        at: tuple[float, float] | None = None,
        arc_start: float | None = None,
        arc: float | None = None,
        radius_share: float | None = None,
    ) -> Moved:
        """Set a head otherwise; the bench's plan is then the plan with the head so set.

        Parameters: name, of the head; at [m]; arc_start [°]; arc [°]; radius_share of the full radius; what is
        left out stays.
        Errors: InputError for a head that the plan does not have, a place off its lawn, or an arc or a radius that its
        nozzle lacks.
        """
        head = next((h for h in self.plan.heads if h.id == name), None)
        if head is None:
            ids = [h.id for h in self.plan.heads]
            raise InputError(f"the plan has no head '{name}': its heads are {ids[0]} to {ids[-1]}")
        update: dict[str, object] = {}
        if at is not None:
            self._check_place(head, at)
            update |= {"at": at, "ground": self._ground.terrain.at(*at)}
        if arc_start is not None:
            update["arc_start"] = arc_start % 360
        if arc is not None:
            self._check_arc(head, arc)
            update["arc"] = arc
        if radius_share is not None:
            self._check_radius(head, radius_share)
            update["radius_share"] = radius_share
        before = self._findings
        self.plan = self._with(head.model_copy(update=update))
        self._findings = inspect(self.plan, self._ground, self._catalogue)
        new = tuple(f for f in self._findings if f not in before)
        return Moved(self.plan, new, tuple(f for f in before if f not in self._findings))

    @property
    def terrain(self) -> Terrain:
        """The heights of its ground."""
        return self._ground.terrain

    def along(self, way: Way, zone: Zone) -> ZoneHydraulics:
        """Solve a zone as it stands, with the steps along a way. Errors: InputError where none of its water runs."""
        return self._solved(self.plan, zone, cautious=False, way=way)

    def water(self, lawn: str) -> tuple[Grid, NDArray[np.float64]]:
        """The rate of water [m/s] on the grid by which a lawn is judged, in still air; shape (ny, nx)."""
        depth = self._laid(lawn).depth
        return depth.grid, depth.rate()

    def _zone_of(self, head: Head) -> Zone:
        return next(zone for zone in self.plan.zones if head.id in zone.heads)

    def _check_place(self, head: Head, at: tuple[float, float]) -> None:
        off = self._ground.lawns[head.lawn].distance(Point(at))
        if off > _OFF:
            told = show(off, "length", self.plan.yard.units)
            raise InputError(f"{head.id} would stand {told} off {head.lawn}, which it waters: keep it on that lawn")

    def _check_arc(self, head: Head, arc: float) -> None:
        nozzle = self._catalogue.nozzles[head.nozzle]
        if nozzle.pattern != "sector":
            raise InputError(f"{head.id} throws a {nozzle.pattern}, which has no arc to set")
        if not nozzle.can_throw(arc):
            told = nozzle.arcs_told
            raise InputError(f"{head.id} cannot throw {arc:g}°: its nozzle {nozzle.id} comes with {told}")

    def _check_radius(self, head: Head, share: float) -> None:
        nozzle = self._catalogue.nozzles[head.nozzle]
        least = 1 - nozzle.shorten
        if not least - 1e-9 <= share <= 1:
            full = radius_at(nozzle, head.pressure)
            able = " to ".join(show(s * full, "length", self.plan.yard.units) for s in (least, 1.0))
            raise InputError(f"{head.id} cannot throw {show(share * full, 'length', self.plan.yard.units)}: {able}")

    def _with(self, head: Head) -> Plan:
        """The plan with a head as given: its pipe, its zone's pressures, its lawn's water."""
        plan, nozzle = self.plan, self._catalogue.nozzles[head.nozzle]
        zone = self._zone_of(head)
        flow = flow_at(nozzle, head.pressure, head.arc, radius_share=head.radius_share)
        head = head.model_copy(update={"flow": flow, "radius": radius_at(nozzle, head.pressure) * head.radius_share})
        heads = tuple(head if h.id == head.id else h for h in plan.heads)
        spot = {"at": head.at, "ground": head.ground}
        nodes = tuple(n.model_copy(update=spot) if n.id == head.id else n for n in plan.nodes)
        pipes = tuple(_follow(pipe, head) if head.id in (pipe.start, pipe.end) else pipe for pipe in plan.pipes)
        plan = plan.model_copy(update={"heads": heads, "nodes": nodes, "pipes": pipes})
        expected, poor = self._solved(plan, zone, cautious=False), self._solved(plan, zone, cautious=True)
        own = set(zone.heads)
        solved = iter(solved_heads([h for h in heads if h.id in own], {zone.id: expected}, self._catalogue))
        heads = tuple(next(solved) if h.id in own else h for h in heads)
        update = zone_state(expected, poor, area=zone.area)
        flows = {p.id: expected.pipe_flow[p.id] if p.zone == zone.id else p.flow for p in pipes}
        return plan.model_copy(
            update={
                "heads": heads,
                "zones": tuple(z.model_copy(update=update) if z.id == zone.id else z for z in plan.zones),
                "pipes": at_flows(pipes, flows, self._catalogue, temperature=plan.yard.water_entry.temperature),
                "lawns": tuple(self._watered(lawn, heads, own) for lawn in plan.lawns),
            }
        )

    def _solved(self, plan: Plan, zone: Zone, *, cautious: bool, way: Way | None = None) -> ZoneHydraulics:
        """The zone on the expected supply, or on the cautious one with its flow control open."""
        by_id = {head.id: head for head in plan.heads}
        return solve_zone(
            [by_id[name] for name in zone.heads],
            **zone_given(plan, zone, self._catalogue),
            supply=plan.supply.cautious if cautious else plan.supply.expected,
            house=plan.yard.rules.house_reserve if cautious else 0.0,
            extra=() if cautious else self._on_valve[zone.id],
            regulated={} if cautious else {h: p for h, p in self._in_heads.items() if h in zone.heads},
            way=way,
        )

    def _watered(self, lawn: Lawn, heads: tuple[Head, ...], changed: set[str]) -> Lawn:
        """The lawn in still air with its heads as they stand."""
        own = [head for head in heads if head.lawn == lawn.id]
        if not any(head.id in changed for head in own):
            return lawn
        water = self._laid(lawn.id)
        before = water.depth.heads
        for head in own:
            if _throws_alike(before[head.id], head):
                water.shares[head.id] = _scaled(water.shares[head.id], head.flow / before[head.id].flow)
            else:
                water.shares[head.id] = self._share(head, water.outlines)
        water.depth.put(*own)
        rate, grid = water.depth.rate(), water.depth.grid
        now = lawn_of(own, water.shares, rate, grid, lawn_id=lawn.id, ground=self._ground)
        return now.model_copy(update={"in_wind": lawn.in_wind})

    def _laid(self, lawn: str) -> _Water:
        """The water of a lawn as the plan had it when it was first asked for."""
        if lawn not in self._water:
            own = [head for head in self.plan.heads if head.lawn == lawn]
            outlines = outlines_round(self._ground, lawn, reach=max(head.radius for head in own))
            grid = judging_grid(self._ground.lawns[lawn])
            depth = Depth(own, catalogue=self._catalogue, grid=grid, scene=self._scene)
            self._water[lawn] = _Water(depth, outlines, {head.id: self._share(head, outlines) for head in own})
        return self._water[lawn]

    def _share(self, head: Head, outlines: Outlines) -> WaterBalance:
        return share_out(head, catalogue=self._catalogue, outlines=outlines, scene=self._scene)


def _as_set(zone: Zone, *, regulated: bool) -> tuple[ZoneDevice, ...]:
    """What stands on the zone's valve, as the plan has it set."""
    return valve_regulator(zone.after_valve) if regulated else flow_control(controlled(zone), flow=zone.flow)


def _follow(pipe: Pipe, head: Head) -> Pipe:
    """A pipe that begins or ends at a head, its last piece drawn to where the head stands now."""
    path = list(pipe.path)
    path[0 if pipe.start == head.id else -1] = head.at
    return pipe.model_copy(update={"path": tuple(path), "length": LineString(path).length})


def _throws_alike(one: Head, two: Head) -> bool:
    set_alike = (one.at, one.arc_start, one.arc, one.nozzle) == (two.at, two.arc_start, two.arc, two.nozzle)
    return set_alike and abs(one.radius - two.radius) < _SAME_THROW


def _scaled(share: WaterBalance, factor: float) -> WaterBalance:
    parts: Mapping[str, float] = {name: factor * getattr(share, name) for name in WaterBalance.__dataclass_fields__}
    return replace(share, **parts)
