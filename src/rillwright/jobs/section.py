"""A long section from the water entry to a head: ground, pipe, and the lines of static and working pressure."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely
from shapely.geometry import LineString

from rillwright.errors import InputError
from rillwright.jobs.move import Workbench
from rillwright.jobs.pipework import ENTRY
from rillwright.model.plan import LossStep, Pipe, Plan
from rillwright.model.regulation import FALL_OFF
from rillwright.model.terrain import Terrain

__all__ = ["Section", "SectionMark", "SectionPoint", "section_to"]

_EVERY = 0.5  # [m] along the path


@dataclass(frozen=True, slots=True)
class SectionPoint:
    """One point along the way; a device takes its pressure between two points at one distance."""

    distance: float  # [m] along the pipe from the entry
    at: tuple[float, float]  # [m]
    ground: float  # [m] height
    pipe: float  # [m] height of the pipe, or of the nozzle at the end
    static: float  # [Pa] gauge in the pipe with nothing running: the supply's median static pressure, less height
    working: float  # [Pa] gauge in the pipe with the zone running on the expected supply


@dataclass(frozen=True, slots=True)
class SectionMark:
    """What stands at one place along the way."""

    distance: float  # [m]
    label: str  # a pipe, device or head
    kind: Literal["pipe", "device", "riser", "head"]
    loss: float  # [Pa] that it takes, height aside


@dataclass(frozen=True, slots=True)
class Section:
    """The section to one head while its zone runs."""

    head: str
    zone: str
    weight: float  # [Pa/m] of the water, to turn pressure into head
    points: tuple[SectionPoint, ...]
    marks: tuple[SectionMark, ...]


def section_to(name: str, bench: Workbench) -> Section:
    """Walk from the entry to a head of the bench's plan, as it stands.

    Errors: InputError for a head that the plan does not have.
    """
    plan = bench.plan
    head = next((h for h in plan.heads if h.id == name), None)
    if head is None:
        raise InputError(f"The plan has no head '{name}': its heads are {', '.join(h.id for h in plan.heads)}.")
    solved = bench.toward(head)
    way = _Way(plan, bench.terrain, solved.entry_pressure)
    for step in solved.steps:
        way.take(step)
    way.rise(head.ground + plan.yard.rules.popup_height, f"head {head.id}")
    return Section(head.id, solved.zone, plan.yard.water_entry.weight, tuple(way.points), tuple(way.marks))


class _Way:
    """The way from the entry so far."""

    def __init__(self, plan: Plan, terrain: Terrain, entry_pressure: float) -> None:
        entry = plan.yard.water_entry
        self._pipes = {pipe.id: pipe for pipe in plan.pipes}
        self._terrain = terrain
        self._depth = plan.yard.rules.trench_depth
        self._weight = entry.weight
        self._static = _static(plan) + self._weight * entry.height  # [Pa] over the datum
        self._working = entry_pressure + self._weight * entry.height
        self._node = ENTRY
        self._distance = 0.0
        self._at = entry.at
        self._ground = terrain.at(*entry.at)
        self.points: list[SectionPoint] = []
        self.marks: list[SectionMark] = []
        self._put(entry.height)

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
