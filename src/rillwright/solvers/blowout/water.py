"""Water that still stands before the air, as a network: every front is a source at the air's pressure."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from rillwright.model.network import Link, Network, Outlet, PumpCurve
from rillwright.model.parts import DeviceLoss
from rillwright.model.plan import SupplyCurve
from rillwright.physics.units import GRAVITY
from rillwright.physics.water import density
from rillwright.solvers.blowout.line import BlowLine
from rillwright.solvers.network import solve_network

__all__ = ["water_flows"]

Floats = NDArray[np.float64]

_EASE = 1.0  # [Pa/(m³/s)] next to nothing: joins the fronts to the source without loss of their own


def water_flows(line: BlowLine, front: Floats, *, pressure: float) -> Floats:
    """Flow of water in each run that air drives.

    Parameters: front (runs,) [m] from each run's start to where air has come, its length where air has passed it;
    pressure [Pa] gauge of the air, the same at every front. Returns: (runs,) [m³/s], 0 in runs that air has passed.
    The network of solvers.network with pipe friction, fittings, levels and nozzles; water does not run back.
    """
    flows = np.zeros(len(line.runs))
    wet = [n for n, run in enumerate(line.runs) if front[n] < run.length]
    if not wet or pressure <= 0:
        return flows
    network = _network(line, front, wet, pressure)
    state = solve_network(network)
    for n in wet:
        flows[n] = max(state.flow[line.runs[n].id], 0.0)
    return flows


def _network(line: BlowLine, front: Floats, wet: Sequence[int], pressure: float) -> Network:
    weight = density(line.temperature) * GRAVITY
    low = min(line.height.values()) - 1.0  # so that every gain, the weight from there to a front, exceeds 0
    level = {"air": 0.0}
    links: list[Link] = []
    full = {line.runs[n].end for n in wet}
    for n in wet:
        run = line.runs[n]
        share = 1 - front[n] / run.length
        start = run.start
        if start not in full:  # air stands here: a front of its own
            start = f"front {run.id}"
            level[start] = line.height[run.start] - low + run.rise * front[n] / run.length
            links.append(Link(f"air {run.id}", "air", start, pump=PumpCurve(weight * level[start], _EASE, 1.0)))
        level[run.end] = line.height[run.end] - low
        device = DeviceLoss(run.device) if run.device and front[n] <= 0 else None
        if device is not None:
            valve = f"valve {run.id}"
            level[valve] = level[start]
            links.append(Link(valve, start, valve, device=device))
            start = valve
        links.append(Link(run.id, start, run.end, run.length * share, run.bore, run.roughness, run.minor * share))
    outlets = {v.node: Outlet(v.coefficient, v.exponent) for v in line.vents if v.node in full}
    curve = SupplyCurve(static=pressure, factor=_EASE, exponent=1.0)
    return Network("air", curve, level, tuple(links), outlets, temperature=line.temperature)
