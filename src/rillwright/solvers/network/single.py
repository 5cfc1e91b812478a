"""One network solved, with its results by name."""

from collections.abc import Mapping
from dataclasses import dataclass

from rillwright.model.network import Network
from rillwright.solvers.network.batch import Draws, solve_batch
from rillwright.solvers.network.prepared import prepare

__all__ = ["NetworkState", "solve_network"]


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
    status: str  # 'runs', 'outlets dry' (at least one outlet gives nothing) or 'negative pressure'


def solve_network(network: Network) -> NetworkState:
    """Solve a network for its flows and pressures.

    Parameters: network, SI; its outlets may be none. Returns: the state; each branch equation holds to
    0.001 Pa or, where the loss is steep, to 1e-14 m³/s.
    A supply too weak for its outlets is a legal answer: the highest ones give nothing. So are negative pressures,
    at a crest or under fixed demands that the supply cannot give; the status tells.
    Errors: InputError for a network that is not connected or holds impossible values; SolverError when Newton does
    not converge.
    """
    prepared = prepare(network)
    state = solve_batch(prepared, Draws(count=1))
    return NetworkState(
        flow=dict(zip(prepared.links, state.flow[0].tolist(), strict=True)),
        pressure=dict(zip(prepared.nodes, state.pressure[0].tolist(), strict=True)),
        outlet_flow=dict(zip(prepared.outlets, state.outlet_flow[0].tolist(), strict=True)),
        source_flow=float(state.source_flow[0]),
        source_pressure=float(state.source_pressure[0]),
        iterations=int(state.iterations[0]),
        residual=float(state.residual[0]),
        status=str(state.status[0]),
    )
