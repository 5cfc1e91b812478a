"""One network solved for many draws of its uncertain values."""

from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from rillwright.errors import InputError
from rillwright.model.network import Network
from rillwright.model.parts import DeviceLoss
from rillwright.model.plan import SupplyCurve
from rillwright.solvers.network.newton import solve_network

__all__ = ["BatchState", "Draws", "Prepared", "prepare", "solve_batch"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Prepared:
    """A network as arrays: names in the order of the columns, and the values that hold where a draw gives none."""

    network: Network
    nodes: tuple[str, ...]
    links: tuple[str, ...]
    outlets: tuple[str, ...]  # the nodes they stand at
    elevation: Floats  # (nodes,) [m]
    demand: Floats  # (nodes,) [m³/s]
    roughness: Floats  # (links,) [m]
    minor: Floats  # (links,) [-]
    device_factor: Floats  # (links,) [Pa/(m³/s)²]
    device_threshold: Floats  # (links,) [Pa]
    coefficient: Floats  # (outlets,) [m³/s / Pa^exponent]


@dataclass(frozen=True, slots=True, kw_only=True)
class Draws:
    """Values in place of the network's own, one row for each draw; None leaves the network's own in every draw.

    Columns stand in the order of Prepared.nodes, .links and .outlets. To spread a value around the network's own,
    multiply the array of the same name in Prepared, such as roughness=prepared.roughness * factors.
    """

    count: int
    static: Floats | None = None  # (count,) [Pa] of the supply
    supply_factor: Floats | None = None  # (count,) [Pa/(m³/s)^exponent]
    supply_exponent: Floats | None = None  # (count,) [-]
    temperature: Floats | None = None  # (count,) [K] of the water
    elevation: Floats | None = None  # (count, nodes) [m]
    demand: Floats | None = None  # (count, nodes) [m³/s] drawn whatever the pressure
    roughness: Floats | None = None  # (count, links) [m]
    minor: Floats | None = None  # (count, links) [-] sum of K of the fittings
    device_factor: Floats | None = None  # (count, links) [Pa/(m³/s)²]
    device_threshold: Floats | None = None  # (count, links) [Pa]
    coefficient: Floats | None = None  # (count, outlets) [m³/s / Pa^exponent]


@dataclass(frozen=True, slots=True)
class BatchState:
    """Where each draw of the network comes to rest; columns as in Prepared."""

    flow: Floats  # (count, links) [m³/s], positive from a link's start to its end
    pressure: Floats  # (count, nodes) [Pa] gauge
    outlet_flow: Floats  # (count, outlets) [m³/s]
    source_flow: Floats  # (count,) [m³/s] out of the supply
    source_pressure: Floats  # (count,) [Pa] gauge, at the source node
    iterations: NDArray[np.int64]  # (count,)
    residual: Floats  # (count,) [Pa] largest error left in a branch equation
    status: NDArray[np.str_]  # (count,) 'runs', 'outlets dry' or 'negative pressure', as in NetworkState


def prepare(network: Network) -> Prepared:
    """Turn a network into arrays, once for any number of draws.

    Errors: InputError for a network that is not connected or holds impossible values.
    """
    links = network.links
    devices = [link.device or DeviceLoss(0.0) for link in links]
    return Prepared(
        network=network,
        nodes=tuple(network.elevation),
        links=tuple(link.id for link in links),
        outlets=tuple(network.outlets),
        elevation=np.array(list(network.elevation.values()), dtype=float),
        demand=np.array([network.demands.get(node, 0.0) for node in network.elevation], dtype=float),
        roughness=np.array([link.roughness for link in links], dtype=float),
        minor=np.array([link.minor for link in links], dtype=float),
        device_factor=np.array([device.factor for device in devices], dtype=float),
        device_threshold=np.array([device.threshold for device in devices], dtype=float),
        coefficient=np.array([outlet.coefficient for outlet in network.outlets.values()], dtype=float),
    )


def solve_batch(prepared: Prepared, draws: Draws) -> BatchState:
    """Solve a network for each draw.

    Parameters: prepared, from prepare; draws, count rows. Returns: the states, each as solve_network would give it.
    Errors: InputError for an array of another shape or with an impossible value; SolverError when a draw does not
    converge.
    """
    _check_shapes(prepared, draws)
    states = [solve_network(_drawn(prepared, draws, row)) for row in range(draws.count)]
    return BatchState(
        flow=np.array([list(state.flow.values()) for state in states]),
        pressure=np.array([list(state.pressure.values()) for state in states]),
        outlet_flow=np.array([list(state.outlet_flow.values()) for state in states]),
        source_flow=np.array([state.source_flow for state in states]),
        source_pressure=np.array([state.source_pressure for state in states]),
        iterations=np.array([state.iterations for state in states]),
        residual=np.array([state.residual for state in states]),
        status=np.array([state.status for state in states]),
    )


def _check_shapes(prepared: Prepared, draws: Draws) -> None:
    if draws.count < 1:
        raise InputError(f"a batch needs at least one draw, not {draws.count}")
    for field in fields(Draws):
        values = getattr(draws, field.name)
        if field.name == "count" or values is None:
            continue
        wanted = (draws.count, *np.shape(getattr(prepared, field.name, 0.0)))
        if np.shape(values) != wanted:
            raise InputError(f"'{field.name}' of the draws has shape {np.shape(values)}: give {wanted}")


def _drawn(prepared: Prepared, draws: Draws, row: int) -> Network:
    def value(name: str, own: float) -> float:
        drawn = getattr(draws, name)
        return own if drawn is None else float(drawn[row])

    def values(name: str) -> list[float]:
        drawn = getattr(draws, name)
        return list(map(float, getattr(prepared, name) if drawn is None else drawn[row]))

    network = prepared.network
    per_link = zip(
        network.links,
        *(values(name) for name in ("roughness", "minor", "device_factor", "device_threshold")),
        strict=True,
    )
    outlets = zip(network.outlets.items(), values("coefficient"), strict=True)
    return replace(
        network,
        supply=SupplyCurve(
            static=value("static", network.supply.static),
            factor=value("supply_factor", network.supply.factor),
            exponent=value("supply_exponent", network.supply.exponent),
        ),
        temperature=value("temperature", network.temperature),
        elevation=dict(zip(prepared.nodes, values("elevation"), strict=True)),
        demands=dict(zip(prepared.nodes, values("demand"), strict=True)),
        links=tuple(
            replace(link, roughness=roughness, minor=minor, device=DeviceLoss(factor, threshold))
            for link, roughness, minor, factor, threshold in per_link
        ),
        outlets={node: replace(outlet, coefficient=coefficient) for (node, outlet), coefficient in outlets},
    )
