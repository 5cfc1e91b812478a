"""Every head of a line blowing air: pressures along it, and the air it takes.

Statement. Isothermal flow, p_start² - p_end² = R T r G² in each run of resistance r = (f L/D + K)/A² with the mass
flow G; at each head G = nozzle_air(p). For a pressure at the fitting the flows are found by going from heads to
fitting (sum the flows) and back (spread the pressures) until no pressure moves by 1 Pa, each new pressure being the
mean of the last two; losses are small beside the pressures, which is why it settles. `air_needed` finds by bisection
the pressure at the fitting at which the least pressure at any head is POP_UP; `held` the one at which a delivery is
used up. Both rise evenly. No seed.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rillwright.errors import SolverError
from rillwright.model.winter import POP_UP
from rillwright.physics.closed_pipe import ATMOSPHERE
from rillwright.physics.compressed_air import AIR_CONSTANT, lead_through, nozzle_air
from rillwright.solvers.blowout.line import BlowLine

__all__ = ["Blowing", "air_needed", "all_blowing", "held"]

Floats = NDArray[np.float64]

_MOST_ROUNDS = 500
_SETTLED = 1.0  # [Pa]
_HIGHEST = 2e6  # [Pa] gauge at the fitting that is looked at


@dataclass(frozen=True, slots=True)
class Blowing:
    """A line with all its heads blowing."""

    fitting: float  # [Pa] gauge
    air: float  # [kg/s]
    heads: dict[str, float]  # [Pa] gauge, by node
    far: str  # the head with the least

    @property
    def least(self) -> float:
        """Least pressure [Pa] gauge at any head."""
        return self.heads[self.far]


def all_blowing(line: BlowLine, fitting: float) -> Blowing:
    """Pressures with a pressure [Pa] gauge at the fitting. Errors: SolverError when it does not settle."""
    thermal = AIR_CONSTANT * line.temperature
    resist = [
        thermal * (lead_through(length=run.length, bore=run.bore, fittings=run.minor) + 2 * run.device / 1000.0)
        for run in line.runs
    ]
    number = {run.end: n for n, run in enumerate(line.runs)}
    leads = np.array([number[vent.node] for vent in line.vents])
    areas = np.array([vent.area for vent in line.vents])
    top = fitting + ATMOSPHERE
    ends = np.full(len(line.runs), top)
    for _ in range(_MOST_ROUNDS):
        flows = np.zeros(len(line.runs))
        flows[leads] += nozzle_air(ends[leads], area=areas, temperature=line.temperature)
        for n in range(len(flows) - 1, -1, -1):
            if line.parent[n] >= 0:
                flows[line.parent[n]] += flows[n]
        new = np.empty_like(ends)
        for n in range(len(flows)):
            start = top if line.parent[n] < 0 else new[line.parent[n]]
            new[n] = np.sqrt(max(start**2 - resist[n] * flows[n] ** 2, ATMOSPHERE**2))
        moved = float(np.abs(new - ends).max())
        ends = (new + ends) / 2
        if moved < _SETTLED:
            heads = {vent.node: float(ends[n]) - ATMOSPHERE for vent, n in zip(line.vents, leads, strict=True)}
            total = float(flows[line.parent < 0].sum())
            return Blowing(fitting, total, heads, min(heads, key=lambda node: (heads[node], node)))
    raise SolverError(f"air along the line from '{line.fitting}' did not settle in {_MOST_ROUNDS} rounds")


def air_needed(line: BlowLine, *, least: float = POP_UP) -> Blowing:
    """The line at the pressure at its fitting that leaves every head a pressure [Pa] while all of them blow."""
    return _bisected(line, lambda state: state.least >= least)


def held(line: BlowLine, *, delivery: float) -> Blowing:
    """The line at the pressure that a delivery of air [kg/s] keeps while all heads blow."""
    return _bisected(line, lambda state: state.air >= delivery)


def _bisected(line: BlowLine, enough: Callable[[Blowing], bool]) -> Blowing:
    low, high = 0.0, _HIGHEST
    while high - low > 100.0:
        middle = (low + high) / 2
        low, high = (low, middle) if enough(all_blowing(line, middle)) else (middle, high)
    return all_blowing(line, high)
