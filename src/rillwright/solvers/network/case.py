"""One draw of a network at work: the figures of its branches, and the arrays that Newton fills."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rillwright.solvers.network.pattern import Pattern

__all__ = ["Case", "new_case"]

Floats = NDArray[np.float64]

# Columns of a link's law.
PER_FLOW = 0  # Reynolds number by flow
FRICTION = 1  # L/D · rho/2 / area²
ROUGH = 2  # relative roughness / 3.7
ROOT = 3  # 1/sqrt(f) when last it was needed
SQUARE = 4  # loss by flow², of fittings and device
THRESHOLD = 5  # [Pa] of the device
SHUTOFF, PUMP, PUMP_POWER = 6, 7, 8  # gain = SHUTOFF - PUMP · flow^PUMP_POWER
LEAST = 9  # [m³/s] bound of the flow
LINK_COLUMNS = 10

# Columns of an outlet's or the source's law: loss = SCALE · (flow / COEFFICIENT)^POWER up to the flow CEILING.
COEFFICIENT, SCALE, POWER, CEILING = 0, 1, 2, 3
FIXED = 4  # [Pa] the part of its drive that no potential gives
END_COLUMNS = 5


class Case(NamedTuple):
    """One draw at work. Laws have a row for each branch; lift and below have an entry for each node."""

    links: Floats
    ends: Floats
    lift: Floats  # [Pa] weight of the water from the source up to the node
    demand: Floats
    flows: Floats
    ahead: Floats  # flows that are tried
    at: Floats  # flows at which losses and slopes were reckoned
    loss: Floats
    slope: Floats
    ease: Floats  # [m³/s/Pa] one over the slope
    drive: Floats  # [Pa] what pushes the water through each branch
    step: Floats
    running: NDArray[np.bool_]  # False for outlets shut for good
    potentials: Floats
    ground: Floats  # conductance from each node to fixed pressures
    between: Floats  # conductance of each cell
    resistance: Floats  # of each node to all others


def new_case(pattern: Pattern) -> Case:
    """Make room for one draw at work."""
    nodes, links, ends = len(pattern.place), len(pattern.tails), len(pattern.outlets) + 1
    flows, ahead, at, loss, slope, ease, drive, step = np.empty((8, links + ends))
    lift, demand, potentials, ground, resistance = np.empty((5, nodes))
    return Case(
        links=np.empty((links, LINK_COLUMNS)),
        ends=np.empty((ends, END_COLUMNS)),
        lift=lift,
        demand=demand,
        flows=flows,
        ahead=ahead,
        at=at,
        loss=loss,
        slope=slope,
        ease=ease,
        drive=drive,
        step=step,
        running=np.empty(links + ends, dtype=np.bool_),
        potentials=potentials,
        ground=ground,
        between=np.empty(len(pattern.rows)),
        resistance=resistance,
    )
