"""A long section along pipes that carry water together: ground, pipe, and the lines of static and working pressure."""

from collections.abc import Sequence
from typing import Literal

import numpy as np
import shapely
from shapely.geometry import LineString

from rillwright.errors import InputError
from rillwright.jobs.move import Workbench
from rillwright.jobs.pipework import ENTRY
from rillwright.model.plan import LossStep, Pipe, Plan, Zone
from rillwright.model.regulation import FALL_OFF
from rillwright.model.section import Section, SectionMark, SectionPoint
from rillwright.model.terrain import Terrain
from rillwright.solvers.hydraulics import Way
from rillwright.solvers.mains import distances

__all__ = ["section"]

_EVERY = 0.5  # [m] along the path
_LEAST_SHARE = 0.01  # of a zone's flow that a pipe must carry to count as one of its way


def section(bench: Workbench, to: str, *, start: str | None = None) -> Section:
    """Walk through the bench's plan, as it stands, to a head, a valve place or a pipe.

    Parameters: to; a pipe leads on to the farthest head beyond it; start, the head, valve place or pipe where the walk
    begins, the water entry when None: then the walk takes the shortest way, and a pipe at either end counts whole.
    Errors: InputError for what the plan does not have, or two ends that never carry water together.
    """
    plan = bench.plan
    known = [*(head.id for head in plan.heads), *(place.id for place in plan.places), *(pipe.id for pipe in plan.pipes)]
    for name in (to, start):
        if name is not None and name not in known:
            raise InputError(f"The plan has no '{name}': name one of its heads, valve places or pipes.")
    way, zone = _through(bench, to) if start is None else _between(plan, start, to)
    solved = bench.along(way, zone)
    walk = _Way(plan, bench.terrain, ENTRY if way.start is None else way.start, solved.begins)
    for step in solved.steps:
        walk.take(step)
    head = next((h for h in plan.heads if h.id == way.end), None)
    if head is not None:
        walk.rise(head.ground + plan.yard.rules.popup_height, f"head {head.id}")
    elif any(place.id == way.end for place in plan.places):
        walk.end(f"valve place {way.end}")
    weight = plan.yard.water_entry.weight
    return Section(way.start or ENTRY, way.end, zone.id, weight, tuple(walk.points), tuple(walk.marks))


def _through(bench: Workbench, to: str) -> tuple[Way, Zone]:
    """The way from the entry to a head or valve place, or through a pipe, and the zone that runs."""
    plan = bench.plan
    pipe = next((p for p in plan.pipes if p.id == to), None)
    place = next((p for p in plan.places if p.id == to), None)
    if place is not None:
        return Way(to), max((z for z in plan.zones if z.place == to), key=lambda z: z.flow)
    if pipe is None:
        return Way(to), next(z for z in plan.zones if to in z.heads)
    found: list[tuple[float, str, Zone]] = []
    main = distances([p for p in plan.pipes if p.role == "main"], ENTRY)
    for zone in plan.zones:
        laterals = [p for p in plan.pipes if p.zone == zone.id]
        if pipe.role == "lateral" and pipe.zone != zone.id:
            continue
        if pipe.role == "main" and not _carries(bench, pipe, zone):
            continue
        beyond = _beyond(laterals, pipe.end) if pipe.role == "lateral" else set(zone.heads)
        far = distances(laterals, zone.place)
        found += [(main.get(zone.place, 0.0) + far[head], head, zone) for head in zone.heads if head in beyond]
    if not found:
        raise InputError(f"Pipe '{to}' carries no water to any head: choose another.")
    _, head, zone = max(found, key=lambda each: each[:2])
    return Way(head, via=to), zone


def _carries(bench: Workbench, pipe: Pipe, zone: Zone) -> bool:
    """Whether a pipe of the main carries water while a zone runs."""
    flow = bench.along(Way(zone.place), zone).pipe_flow
    return flow.get(pipe.id, 0.0) > _LEAST_SHARE * zone.flow


def _beyond(pipes: Sequence[Pipe], node: str) -> set[str]:
    """Nodes beyond a node of a tree, the node among them."""
    found, stack = {node}, [node]
    while stack:
        here = stack.pop()
        stack += [pipe.end for pipe in pipes if pipe.start == here]
        found.update(stack)
    return found


def _between(plan: Plan, start: str, to: str) -> tuple[Way, Zone]:
    """The way between two places of the network, and the zone that runs."""
    pipes = {pipe.id: pipe for pipe in plan.pipes}
    ends = [pipes[name].zone if name in pipes else _zone_of_head(plan, name) for name in (start, to)]
    zones = {zone for zone in ends if zone is not None}
    if len(zones) > 1:
        raise InputError(
            f"'{start}' is of zone {ends[0]} and '{to}' of zone {ends[1]}, which never run together: choose two places "
            "of one zone, or of the main."
        )
    places = {name for name in (start, to) if any(place.id == name for place in plan.places)}
    able = [z for z in plan.zones if z.id in zones] or [z for z in plan.zones if z.place in places] or list(plan.zones)
    begin = pipes[start].start if start in pipes else start
    end = pipes[to].end if to in pipes else to
    if begin == end:
        raise InputError(f"'{start}' and '{to}' are at one place: choose two.")
    return Way(end, start=None if begin == ENTRY else begin), max(able, key=lambda z: z.flow)


def _zone_of_head(plan: Plan, name: str) -> str | None:
    return next((zone.id for zone in plan.zones if name in zone.heads), None)


class _Way:
    """The way from the entry so far."""

    def __init__(self, plan: Plan, terrain: Terrain, start: str, pressure: float) -> None:
        entry = plan.yard.water_entry
        self._at = entry.at if start == ENTRY else next(node.at for node in plan.nodes if node.id == start)
        self._ground = terrain.at(*self._at)
        height = entry.height if start == ENTRY else self._ground - plan.yard.rules.trench_depth
        self._pipes = {pipe.id: pipe for pipe in plan.pipes}
        self._terrain = terrain
        self._depth = plan.yard.rules.trench_depth
        self._weight = entry.weight
        self._static = _static(plan) + self._weight * entry.height  # [Pa] over the datum
        self._working = pressure + self._weight * height
        self._node = start
        self._distance = 0.0
        self.points: list[SectionPoint] = []
        self.marks: list[SectionMark] = []
        self._put(height)

    def take(self, step: LossStep) -> None:
        """Go through what one step names."""
        role, _, rest = step.label.partition(" ")
        pipe = self._pipes.get(rest.partition(",")[0]) if role in ("main", "lateral") else None
        if pipe is not None:
            self.marks.append(SectionMark(self._distance, f"{role} {pipe.id}", "pipe", step.pressure))
            self._along(pipe, step.pressure)
        elif step.label != "height":
            kind: Literal["riser", "device"] = "riser" if step.label.startswith("riser") else "device"
            self.marks.append(SectionMark(self._distance, step.label, kind, step.pressure))
            self._working -= step.pressure
            self._put(self.points[-1].pipe)

    def rise(self, height: float, label: str) -> None:
        """End at a nozzle."""
        self.marks.append(SectionMark(self._distance, label, "head", 0.0))
        self._put(height)

    def end(self, label: str) -> None:
        """End at a valve place, before its devices."""
        self.marks.append(SectionMark(self._distance, label, "place", 0.0))

    def _along(self, pipe: Pipe, loss: float) -> None:
        backwards = pipe.end == self._node
        line = LineString(pipe.path[::-1] if backwards else pipe.path)
        self._node = pipe.start if backwards else pipe.end
        begin, full = self._distance, self._working
        if line.length == 0:  # a valve place at the entry itself
            self._working = full - loss
            return
        places = shapely.get_coordinates(shapely.segmentize(line, _EVERY))
        gone = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(places, axis=0).T))))
        heights = self._terrain.height(places)
        for (x, y), along, ground in zip(places.tolist(), gone.tolist(), heights.tolist(), strict=True):
            self._at, self._distance, self._ground = (x, y), begin + along, ground
            self._working = full - loss * along / line.length
            self._put(ground - self._depth)
        self._working = full - loss

    def _put(self, pipe: float) -> None:
        lift = self._weight * pipe
        self.points.append(
            SectionPoint(self._distance, self._at, self._ground, pipe, self._static - lift, self._working - lift)
        )


def _static(plan: Plan) -> float:
    """Median pressure [Pa] at the entry with nothing running."""
    if plan.yard.water_entry.well is not None:
        return plan.yard.water_entry.well.cut_out
    curve = plan.supply.expected
    return curve.static if curve.cap is None else min(curve.static, curve.cap + FALL_OFF)
