"""Pressures and flows of a pipe network: one supply, any number of loops, outlets that close when they run dry.

Statement. Every branch i carries a flow q_i from its tail to its head node and takes a loss l_i(q_i) that rises with
q_i and is odd in it. H is the potential p + rho·g·z. Branches are the links, one branch from each outlet to the open
air, and one branch from the supply's static pressure to the source node:

    link     f(Re)·L/D·rho/2·v|v| + K·rho/2·v|v| + factor·q|q| + threshold·tanh(q/q0)    = H_tail - H_head
    outlet   sign(q)·(|q|/coefficient)^(1/exponent)                                      = H_node - rho·g·z_node
    source   factor·sign(q)·|q|^n                                                        = static + rho·g·z - H_source
    node     sum of q in - sum of q out                                                  = fixed demand

As all losses rise, the flows are the one minimum of a convex function (the network's content: the sum of the
integrals of l_i) under the node equations, H being their multipliers. Newton's step on these equations, flows and
potentials together, needs one sparse symmetric solve (the Schur complement on the nodes); a line search on the
content's slope makes it converge from any start. Source: Todini and Pilati's gradient method (1988), Cherry and
Millar's content (1951); both from memory.

An outlet cannot draw air in. Where the odd law above draws some in, the outlet is shut and the rest solved again:
shutting it lowers every pressure, so an outlet once shut stays shut, and the rounds end.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csc_matrix
from scipy.sparse.csgraph import breadth_first_order
from scipy.sparse.linalg import splu

from rillwright.errors import InputError, SolverError
from rillwright.model.network import Network
from rillwright.physics import pipes, water
from rillwright.physics.losses import friction_factor_and_slope
from rillwright.physics.units import GRAVITY

__all__ = ["NetworkState", "solve_network"]

Floats = NDArray[np.float64]

TOLERANCE = 1e-3  # [Pa] every branch equation holds to this,
FLOW_TOLERANCE = 1e-13  # [m³/s] or, where a loss is steep, to this much flow
MOST_ITERATIONS = 200
_CHECK_FLOW = 1e-7  # [m³/s] q0: over some 3 q0 a device shows its whole threshold, at no flow none of it
_LEAST_SLOPE = 1e3  # [Pa/(m³/s)] keeps Newton's matrix regular where a loss is flat; it does not move the solution
_LEAST_FLOW = 1e-14  # [m³/s] below it a pipe's loss is taken as linear, as laminar loss is
_GREATEST_LOSS = 1e30  # [Pa]


@dataclass(frozen=True, slots=True)
class NetworkState:
    """Where the network comes to rest."""

    flow: Mapping[str, float]  # [m³/s] by link, positive from its start to its end
    pressure: Mapping[str, float]  # [Pa] gauge, by node
    outlet_flow: Mapping[str, float]  # [m³/s] by node
    source_flow: float  # [m³/s] out of the supply
    source_pressure: float  # [Pa] gauge, at the source node
    iterations: int
    residual: float  # [Pa] largest error left in a branch equation
    status: Literal["runs", "outlets dry", "negative pressure"]  # 'outlets dry': at least one outlet gives nothing


def solve_network(network: Network) -> NetworkState:
    """Solve a network for its flows and pressures.

    Parameters: network, SI; its outlets may be none. Returns: the state; each branch equation holds to
    0.001 Pa or, where the loss is steep, to 1e-13 m³/s.
    A supply too weak for its outlets is a legal answer: the highest ones give nothing. So are negative pressures,
    at a crest or under fixed demands that the supply cannot give; the status tells.
    Errors: InputError for a network that is not connected or holds impossible values; SolverError when Newton does
    not converge.
    """
    _check(network)
    system = _System(network)
    running = np.ones(len(network.outlets), dtype=bool)
    flows, iterations = system.first_guess(), 0
    while True:
        flows = system.balanced(flows)
        flows, potentials, residual, steps = _newton(system, flows, running)
        iterations += steps
        drawing = running & (flows[system.outlets] < 0)
        if not drawing.any():
            return _state(network, system, flows, potentials, iterations, residual)
        running &= ~drawing
        flows[system.outlets] *= running


def _newton(system: "_System", flows: Floats, running: NDArray[np.bool_]) -> tuple[Floats, Floats, float, int]:
    """Run Newton from flows that balance at every node; returns flows, potentials, residual, iterations."""
    active = np.ones(len(flows), dtype=bool)
    active[system.outlets] = running
    loss, slope = system.losses(flows)
    for iteration in range(1, MOST_ITERATIONS + 1):
        step, potentials = system.newton_step(flows, loss, slope, active)
        drive = system.drive(potentials)
        falling = float((loss - drive) @ step)
        ahead = flows + step
        loss, slope = system.losses(ahead)
        missed = np.abs(loss - drive) * active
        residual = float(missed.max())
        if np.all(missed <= TOLERANCE + FLOW_TOLERANCE * slope):
            return ahead, potentials, residual, iteration
        if float((loss - drive) @ step) > -0.5 * falling:
            ahead = flows + _line_search(system, flows, step, drive, falling) * step
            loss, slope = system.losses(ahead)
        flows = ahead
    raise SolverError(
        f"the network's equations still miss by {residual:.3g} Pa after {MOST_ITERATIONS} steps: look for a pipe, "
        "outlet or supply with a value far out of the ordinary, and report the case with its yard"
    )


def _line_search(system: "_System", flows: Floats, step: Floats, drive: Floats, falling: float) -> float:
    """Halve into the share of an overlong step at which the content's slope is at most half of `falling`, at its start.

    The slope rises along the step, from falling < 0 to more than -falling / 2 at its end, as the content is convex.
    The potentials in `drive` add nothing to it, as the step is balanced; they keep its rounding small.
    """
    low, high = 0.0, 1.0
    for _ in range(60):
        share = (low + high) / 2
        slope = float((system.losses(flows + share * step)[0] - drive) @ step)
        if abs(slope) <= -0.5 * falling:
            break
        low, high = (share, high) if slope < 0 else (low, share)
    return share


class _System:
    """The network as arrays. Branches: links, then outlets, then the source; node index n is the open air."""

    def __init__(self, network: Network) -> None:
        self.nodes = list(network.elevation)
        place = {node: k for k, node in enumerate(self.nodes)}
        air, source = len(self.nodes), place[network.source]
        links, outlets = network.links, list(network.outlets)
        self.links = slice(0, len(links))
        self.outlets = slice(len(links), len(links) + len(outlets))
        tails = [place[k.start] for k in links] + [place[node] for node in outlets] + [air]
        heads = [place[k.end] for k in links] + [air] * len(outlets) + [source]
        self._tails, self._heads = np.array(tails, dtype=np.intp), np.array(heads, dtype=np.intp)
        self._source = source
        self.demand = np.array([network.demands.get(node, 0.0) for node in self.nodes])
        self._density = water.density(network.temperature)
        elevation = np.array([network.elevation[node] for node in self.nodes])
        self.lift = self._density * GRAVITY * (elevation - elevation[source])
        self.fixed = np.zeros(len(tails))  # the part of each branch's drive that no potential gives
        self.fixed[self.outlets] = -self.lift[self._tails[self.outlets]]
        self.fixed[-1] = network.supply.static
        self._read_links(network)
        self._read_outlets(network)
        self._pattern()

    def _read_links(self, network: Network) -> None:
        bore, length, rough, minor = (
            np.array([getattr(k, name) for k in network.links], dtype=float)
            for name in ("bore", "length", "roughness", "minor")
        )
        area = pipes.area(bore)
        self._per_flow = bore / (area * water.viscosity(network.temperature))  # Reynolds number by flow
        self._friction = length / bore * self._density / 2 / area**2
        self._relative_roughness = rough / bore
        devices = [k.device for k in network.links]
        factor = np.array([d.factor if d else 0.0 for d in devices])
        self._square = minor * self._density / 2 / area**2 + factor
        self._threshold = np.array([d.threshold if d else 0.0 for d in devices])

    def _read_outlets(self, network: Network) -> None:
        supply, outlets = network.supply, network.outlets.values()
        self._coefficient = np.array([o.coefficient for o in outlets] + [1.0])
        self._scale = np.array([1.0] * len(outlets) + [supply.factor])
        self._power = np.array([1 / o.exponent for o in outlets] + [supply.exponent])

    def _pattern(self) -> None:
        """Lay out the matrix on the nodes once; a solve then only fills in its values."""
        size, air = len(self.nodes), len(self.nodes)
        a, b, branch = self._tails, self._heads, np.arange(len(self._tails))
        rows, columns = np.concatenate([a, b, a, b]), np.concatenate([a, b, b, a])
        kept = (rows < air) & (columns < air)
        self._entry_branch = np.tile(branch, 4)[kept]
        self._entry_sign = np.repeat([1.0, 1.0, -1.0, -1.0], len(branch))[kept]
        cells, self._entry_cell = np.unique(columns[kept] * size + rows[kept], return_inverse=True)
        self._cell_rows = (cells % size).astype(np.int32)
        self._column_ends = np.searchsorted(cells, np.arange(size + 1) * size).astype(np.int32)

    def losses(self, flows: Floats) -> tuple[Floats, Floats]:
        """Give the loss of every branch [Pa] and its slope [Pa/(m³/s)]."""
        through, rest = flows[self.links], flows[self.links.stop :]
        size = np.maximum(np.abs(through), _LEAST_FLOW)
        reynolds = self._per_flow * size
        factor, by_reynolds = friction_factor_and_slope(reynolds, self._relative_roughness)
        check = np.tanh(through / _CHECK_FLOW)
        link_loss = (self._friction * factor + self._square) * size * through + self._threshold * check
        link_slope = (
            self._friction * (2 * factor + reynolds * by_reynolds) * size
            + 2 * self._square * size
            + self._threshold / _CHECK_FLOW * (1 - check**2)
        )
        size = np.maximum(np.abs(rest), _LEAST_FLOW)
        with np.errstate(over="ignore"):
            rest_loss = np.minimum(self._scale * (size / self._coefficient) ** self._power, _GREATEST_LOSS)
        rest_slope = self._power * rest_loss / size
        rest_loss = rest_loss * rest / size
        return np.concatenate([link_loss, rest_loss]), np.concatenate([link_slope, rest_slope])

    def drive(self, potentials: Floats) -> Floats:
        """Give what drives each branch [Pa]: potential at its tail less that at its head."""
        with_air = np.append(potentials, 0.0)
        return np.asarray(with_air[self._tails] - with_air[self._heads] + self.fixed)

    def inflow(self, flows: Floats) -> Floats:
        """Give what flows into each node, less what flows out [m³/s]."""
        size = len(self.nodes) + 1
        into = np.bincount(self._heads, flows, size) - np.bincount(self._tails, flows, size)
        return np.asarray(into[:-1])

    def newton_step(
        self, flows: Floats, loss: Floats, slope: Floats, active: NDArray[np.bool_]
    ) -> tuple[Floats, Floats]:
        """Solve the linearised equations; returns the step of the flows and the potentials of the nodes."""
        ease = active / np.maximum(slope, _LEAST_SLOPE)
        values = np.bincount(self._entry_cell, self._entry_sign * ease[self._entry_branch])
        size = len(self.nodes)
        matrix = csc_matrix((values, self._cell_rows, self._column_ends), shape=(size, size))
        right = self.inflow(flows + ease * (self.fixed - loss)) - self.demand
        factors = splu(matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
        potentials = np.asarray(factors.solve(right))
        return ease * (self.drive(potentials) - loss), potentials

    def first_guess(self) -> Floats:
        """Give every outlet what half the static pressure would drive through it."""
        flows = np.zeros(len(self._tails))
        half = max(float(self.fixed[-1]), 1e4) / 2
        flows[self.outlets] = (self._coefficient * half ** (1 / self._power))[:-1]
        return flows

    def balanced(self, flows: Floats) -> Floats:
        """Keep the flows of outlets and of links that close loops; set those of a spanning tree to balance them."""
        air, count = len(self.nodes), self.links.stop
        pairs = np.minimum(self._tails, self._heads)[:count] * air + np.maximum(self._tails, self._heads)[:count]
        link_of = dict(zip(pairs.tolist(), range(count), strict=True))
        ends = (np.ones(count), (self._tails[:count], self._heads[:count]))
        order, above = breadth_first_order(csc_matrix(ends, shape=(air, air)), self._source, directed=False)
        tree = [(k, above[k], link_of[min(k, above[k]) * air + max(k, above[k])]) for k in order[:0:-1].tolist()]
        result = flows.copy()
        result[[link for _, _, link in tree]] = 0.0
        result[-1] = 0.0
        need = self.demand - self.inflow(result)
        for node, parent, link in tree:
            result[link] = need[node] if self._heads[link] == node else -need[node]
            need[parent] += need[node]
        result[-1] = need[self._source]
        return result


def _state(
    network: Network, system: _System, flows: Floats, potentials: Floats, iterations: int, residual: float
) -> NetworkState:
    pressure = potentials - system.lift
    outlet_flow = dict(zip(network.outlets, flows[system.outlets].tolist(), strict=True))
    dry = any(flow == 0 for flow in outlet_flow.values())
    status: Literal["runs", "outlets dry", "negative pressure"] = "outlets dry" if dry else "runs"
    if not dry and pressure.min() < 0:
        status = "negative pressure"
    return NetworkState(
        flow={k.id: flow for k, flow in zip(network.links, flows[system.links].tolist(), strict=True)},
        pressure=dict(zip(system.nodes, pressure.tolist(), strict=True)),
        outlet_flow=outlet_flow,
        source_flow=float(flows[-1]),
        source_pressure=float(pressure[system.nodes.index(network.source)]),
        iterations=iterations,
        residual=residual,
        status=status,
    )


def _check(network: Network) -> None:
    """Refuse a network that has no answer, saying what is wrong with which part."""
    nodes = network.elevation
    if network.source not in nodes:
        raise InputError(f"the source '{network.source}' is no node: give its elevation")
    for what in (network.outlets, network.demands):
        for node in what:
            if node not in nodes:
                raise InputError(f"an outlet or demand stands at '{node}', which is no node: give its elevation")
    for node, outlet in network.outlets.items():
        if not (outlet.coefficient > 0 and outlet.exponent > 0):
            raise InputError(f"the outlet at '{node}' needs a coefficient and an exponent over 0, not {outlet}")
    supply = network.supply
    if not (supply.factor >= 0 and supply.exponent > 0 and np.isfinite(supply.static)):
        raise InputError(f"a supply needs a factor of at least 0 and an exponent over 0, not {supply}")
    _check_links(network)


def _check_links(network: Network) -> None:
    ids: set[str] = set()
    beside: dict[str, list[str]] = {node: [] for node in network.elevation}
    for link in network.links:
        if link.id in ids:
            raise InputError(f"two links are named '{link.id}': give each its own name")
        ids.add(link.id)
        for end in (link.start, link.end):
            if end not in beside:
                raise InputError(f"link '{link.id}' ends at '{end}', which is no node: give its elevation")
        if link.start == link.end:
            raise InputError(f"link '{link.id}' starts and ends at '{link.start}': leave it out")
        if not (link.bore > 0 and link.length >= 0 and link.roughness >= 0 and link.minor >= 0):
            raise InputError(f"link '{link.id}' needs a bore over 0 and nothing below 0: {link}")
        if link.device and not (link.device.factor >= 0 and link.device.threshold >= 0):
            raise InputError(f"the device in link '{link.id}' must not gain pressure: {link.device}")
        beside[link.start].append(link.end)
        beside[link.end].append(link.start)
    reached, edge = {network.source}, [network.source]
    while edge:
        fresh = [node for node in beside[edge.pop()] if node not in reached]
        reached.update(fresh)
        edge.extend(fresh)
    if cut := [node for node in beside if node not in reached]:
        named = ", ".join(f"'{node}'" for node in cut[:5]) + (" and more" if len(cut) > 5 else "")
        raise InputError(f"no link joins {named} to the source: draw the missing pipe or leave these nodes out")
