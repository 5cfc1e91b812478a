"""The way of the air: a tree of runs from the blow-out fitting over one zone's valve to its heads."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from rillwright.physics.pipes import area

__all__ = ["BlowLine", "Run", "Vent"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Run:
    """A run of pipe, from the node nearer the fitting to the other."""

    id: str
    start: str
    end: str
    length: float  # [m]
    bore: float  # [m]
    roughness: float  # [m]
    minor: float  # [-] K of its fittings
    rise: float  # [m] of its end over its start
    device: float = 0.0  # [Pa/(m³/s)²] of a valve at its start


@dataclass(frozen=True, slots=True)
class Vent:
    """A head: it lets out water, then air."""

    node: str
    coefficient: float  # [m³/s / Pa^exponent]
    exponent: float  # [-]
    area: float  # [m²] for air


@dataclass(frozen=True)
class BlowLine:
    """Runs in an order in which each comes after the one that feeds it; the first node is the fitting."""

    fitting: str
    runs: tuple[Run, ...]
    vents: tuple[Vent, ...]
    temperature: float = 283.15  # [K] of pipe and ground
    film: Mapping[str, float] = field(default_factory=dict)  # [m³] by run, of those that air has been blown through

    @classmethod
    def of(
        cls,
        fitting: str,
        runs: Sequence[Run],
        vents: Sequence[Vent],
        *,
        temperature: float = 283.15,
        film: Mapping[str, float] | None = None,
    ) -> "BlowLine":
        """Put runs in order. Runs that do not hang together with the fitting, or lead to no head, are left out."""
        leads = {vent.node for vent in vents}
        into = {run.end: run for run in runs}
        wanted: set[str] = set()
        for node in leads:
            here = node
            while here in into and into[here].id not in wanted:
                wanted.add(into[here].id)
                here = into[here].start
        ordered: list[Run] = []
        stack = [fitting]
        while stack:
            here = stack.pop()
            onward = [run for run in runs if run.start == here and run.id in wanted]
            ordered += onward
            stack += [run.end for run in onward]
        reached = {fitting, *(run.end for run in ordered)}
        return cls(fitting, tuple(ordered), tuple(v for v in vents if v.node in reached), temperature, film or {})

    @cached_property
    def parent(self) -> NDArray[np.int64]:
        """For each run (n,) the number of the one that feeds it, -1 at the fitting."""
        into = {run.end: number for number, run in enumerate(self.runs)}
        return np.array([into.get(run.start, -1) for run in self.runs], dtype=np.int64)

    @cached_property
    def height(self) -> dict[str, float]:
        """Height [m] of each node over the fitting."""
        found = {self.fitting: 0.0}
        for run in self.runs:
            found[run.end] = found[run.start] + run.rise
        return found

    @cached_property
    def area(self) -> Floats:
        """Areas (runs,) [m²]."""
        return np.array([area(run.bore) for run in self.runs])

    @cached_property
    def volume(self) -> Floats:
        """Volumes (runs,) [m³]."""
        return np.asarray(self.area * [run.length for run in self.runs])

    @cached_property
    def away(self) -> dict[str, float]:
        """Length [m] of the way from the fitting to each node."""
        found = {self.fitting: 0.0}
        for run in self.runs:
            found[run.end] = found[run.start] + run.length
        return found
