"""One network solved for many draws of its uncertain values."""

from dataclasses import dataclass, replace
from functools import lru_cache
from types import MappingProxyType
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from rillwright.errors import InputError, SolverError
from rillwright.physics import water
from rillwright.solvers.network.case import new_case
from rillwright.solvers.network.prepared import Prepared, Regulated

__all__ = ["BatchState", "Draws", "solve_batch"]

Floats = NDArray[np.float64]

STATUSES = np.array(["runs", "negative pressure", "outlets dry"])
_ANY, _FROM_0, _OVER_0 = (-np.inf, "a number"), (0.0, "at least 0"), (np.nextafter(0, 1), "over 0")
_LEAST = MappingProxyType(
    {
        "static": _ANY,
        "supply_factor": _FROM_0,
        "supply_exponent": _OVER_0,
        "temperature": _ANY,
        "elevation": _ANY,
        "demand": _ANY,
        "roughness": _FROM_0,
        "minor": _FROM_0,
        "device_factor": _FROM_0,
        "device_threshold": _FROM_0,
        "coefficient": _OVER_0,
        "link_setting": _OVER_0,
        "outlet_setting": _OVER_0,
    }
)


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
    link_setting: Floats | None = None  # (count, links) factor on the pressure that a regulator is set to
    outlet_setting: Floats | None = None  # (count, outlets) the same for those in heads


@dataclass(frozen=True, slots=True)
class BatchState:
    """Where each draw of the network comes to rest; columns as in Prepared."""

    flow: Floats  # (count, links) [m³/s], positive from a link's start to its end
    pressure: Floats  # (count, nodes) [Pa] gauge
    outlet_flow: Floats  # (count, outlets) [m³/s]
    source_flow: Floats  # (count,) [m³/s] out of the supply
    source_pressure: Floats  # (count,) [Pa] gauge, at the source node
    iterations: NDArray[np.int64]  # (count,) Newton steps; none where the flows follow from the demands alone
    residual: Floats  # (count,) [Pa] largest error left in a branch equation
    status: NDArray[np.str_]  # (count,) 'runs', 'outlets dry' or 'negative pressure', as in NetworkState


class _Values(NamedTuple):
    """What each draw holds, (draws, columns), or one row where it holds for all."""

    supply: Floats  # (draws, 3) static, factor, exponent
    water: Floats  # (draws, 2) density [kg/m³], kinematic viscosity [m²/s]
    elevation: Floats
    demand: Floats
    roughness: Floats
    minor: Floats
    device_factor: Floats
    device_threshold: Floats
    coefficient: Floats
    outlet_setting: Floats
    most: Floats  # [m³/s] greatest flow of each link


def solve_batch(prepared: Prepared, draws: Draws) -> BatchState:
    """Solve a network for each draw.

    Parameters: prepared, from prepare; draws, count rows. Returns: the states, each as solve_network would give it.
    Errors: InputError for an array of another shape or with an impossible value; SolverError when a draw does not
    converge.
    """
    _check(prepared, draws)
    return _solve(prepared, draws)[0]


@dataclass(frozen=True, slots=True)
class _Held:
    """What lies behind a regulator, solved at its set pressure; its columns among those of the whole."""

    part: Regulated
    state: BatchState
    end: int  # the regulator's end node
    setting: Floats  # (draws,) or (1,) [Pa]

    def within(self, outer: Regulated) -> "_Held":
        """Name the columns anew for the network in which an outer regulator's part stands."""
        part = replace(
            self.part,
            link=int(outer.links[self.part.link]),
            nodes=outer.nodes[self.part.nodes],
            links=outer.links[self.part.links],
            outlets=outer.outlets[self.part.outlets],
        )
        return _Held(part, self.state, int(outer.nodes[self.end]), self.setting)


def _solve(prepared: Prepared, draws: Draws) -> tuple[BatchState, list[_Held]]:
    """Solve what lies behind each regulator first, then the whole, no regulator letting more through than that."""
    from rillwright.solvers.network.kernels import solve_draws

    count, links = draws.count, len(prepared.links)
    held: list[_Held] = []
    for part in prepared.regulated:
        behind = _drawn_behind(part, draws)
        state, inner = _solve(part.behind, behind)
        setting = np.array([part.behind.network.supply.static]) if behind.static is None else behind.static
        held += [_Held(part, state, int(part.nodes[part.behind.source]), setting), *(one.within(part) for one in inner)]
    most = np.full((count if held else 1, links), np.inf)
    for one in held:
        most[:, one.part.link] = one.state.source_flow
    flow, pressure = np.empty((count, links + len(prepared.outlets) + 1)), np.empty((count, len(prepared.nodes)))
    walled, steps, residual = np.empty((count, links)), np.empty(count, dtype=np.int64), np.empty(count)
    values, case = _values(prepared, draws, most), new_case(prepared.pattern)
    solve_draws(prepared.pattern, prepared.fixed, values, case, flow, pressure, walled, steps, residual)
    if (steps < 0).any():
        raise SolverError(
            f"the network's equations still miss by {residual[steps < 0].max():.3g} Pa after as many steps as allowed: "
            "look for a pipe, outlet or supply with a value far out of the ordinary, and report the case with its yard"
        )
    for one in held:
        _hold(one, flow, pressure, walled)
    if held:
        _feed(prepared, values, flow, pressure)
    return _state(prepared, flow, pressure, steps, residual), held


def _hold(one: _Held, flow: Floats, pressure: Floats, walled: Floats) -> None:
    """Put a regulator's end at its set pressure, with all behind it, or at what comes through where that is less.

    The bound on its flow says the same, but loses its hold on the pressure where what lies behind draws no more at a
    higher one; what the bound then took belongs to the nodes behind.
    """
    part, state, links = one.part, one.state, walled.shape[1]
    through = pressure[:, one.end] + walled[:, part.link]
    active = through > one.setting
    pressure[np.ix_(~active, part.nodes)] += walled[~active, part.link][:, None]
    flow[active, part.link] = state.source_flow[active]
    flow[np.ix_(active, part.links)] = state.flow[active]
    flow[np.ix_(active, links + part.outlets)] = state.outlet_flow[active]
    pressure[np.ix_(active, part.nodes)] = state.pressure[active]
    walled[np.ix_(active, part.links)] = 0.0


def _feed(prepared: Prepared, values: _Values, flow: Floats, pressure: Floats) -> None:
    """Let the supply give what leaves its node: behind a regulator without loss the solver's own figure may be over."""
    net, source = prepared.network, prepared.network.source
    out = np.array([(link.start == source) - (link.end == source) for link in net.links], dtype=float)
    taps = np.array([node == source for node in net.outlets], dtype=float)
    given = flow[:, : len(out)] @ out + flow[:, len(out) : -1] @ taps + values.demand[:, prepared.source]
    static, factor, power = values.supply.T
    flow[:, -1], pressure[:, prepared.source] = given, static - factor * np.sign(given) * np.abs(given) ** power


def _drawn_behind(part: Regulated, draws: Draws) -> Draws:
    """Keep the columns of what lies behind a regulator."""

    def kept(values: Floats | None, columns: Any) -> Floats | None:
        return None if values is None else values[:, columns]

    factor = kept(draws.link_setting, part.link)
    return Draws(
        count=draws.count,
        static=None if factor is None else part.behind.network.supply.static * factor,
        temperature=draws.temperature,
        elevation=kept(draws.elevation, part.nodes),
        demand=kept(draws.demand, part.nodes),
        roughness=kept(draws.roughness, part.links),
        minor=kept(draws.minor, part.links),
        device_factor=kept(draws.device_factor, part.links),
        device_threshold=kept(draws.device_threshold, part.links),
        coefficient=kept(draws.coefficient, part.outlets),
        link_setting=kept(draws.link_setting, part.links),
        outlet_setting=kept(draws.outlet_setting, part.outlets),
    )


def _values(prepared: Prepared, draws: Draws, most: Floats) -> _Values:
    def rows(name: str) -> Floats:
        drawn = getattr(draws, name)
        return np.ascontiguousarray(getattr(prepared, name)[None] if drawn is None else drawn, dtype=float)

    supply = prepared.network.supply
    curve = np.empty((draws.count, 3))
    for column, (drawn, own) in enumerate(
        (
            (draws.static, supply.static),
            (draws.supply_factor, supply.factor),
            (draws.supply_exponent, supply.exponent),
        )
    ):
        curve[:, column] = own if drawn is None else drawn
    temperatures = [prepared.network.temperature] if draws.temperature is None else draws.temperature.tolist()
    wet = np.array([_wet(t) for t in temperatures])
    return _Values(
        supply=curve,
        water=wet if len(wet) == draws.count else np.repeat(wet, draws.count, axis=0),
        elevation=rows("elevation"),
        demand=rows("demand"),
        roughness=rows("roughness"),
        minor=rows("minor"),
        device_factor=rows("device_factor"),
        device_threshold=rows("device_threshold"),
        coefficient=rows("coefficient"),
        outlet_setting=rows("outlet_setting"),
        most=most,
    )


@lru_cache(maxsize=1 << 14)
def _wet(temperature: float) -> tuple[float, float]:
    """Density [kg/m³] and viscosity [m²/s] of water; every zone of a yard is drawn at the same temperatures."""
    return water.density(temperature), water.viscosity(temperature)


def _state(
    prepared: Prepared, flow: Floats, pressure: Floats, steps: NDArray[np.int64], residual: Floats
) -> BatchState:
    links = len(prepared.links)
    outlet_flow = flow[:, links:-1]
    dry, negative = (outlet_flow == 0).any(axis=1), (pressure < 0).any(axis=1)
    return BatchState(
        flow=flow[:, :links],
        pressure=pressure,
        outlet_flow=outlet_flow,
        source_flow=flow[:, -1],
        source_pressure=pressure[:, prepared.source],
        iterations=steps,
        residual=residual,
        status=STATUSES[np.where(dry, 2, negative)],
    )


def _check(prepared: Prepared, draws: Draws) -> None:
    if draws.count < 1:
        raise InputError(f"a batch needs at least one draw, not {draws.count}")
    for name, (least, allowed) in _LEAST.items():
        values = getattr(draws, name)
        if values is None:
            continue
        wanted = (draws.count, *np.shape(getattr(prepared, name, 0.0)))
        if np.shape(values) != wanted:
            raise InputError(f"'{name}' of the draws has shape {np.shape(values)}: give {wanted}")
        wrong = ~((values >= least) & np.isfinite(values))
        if wrong.any():
            first = tuple(np.argwhere(wrong)[0].tolist())
            raise InputError(f"'{name}' of the draws holds {values[first]:g} at {list(first)}: give {allowed}")
    if draws.roughness is not None and (draws.roughness > 0.1 * prepared.fixed.bore).any():
        raise InputError("'roughness' of the draws is over a tenth of a bore, past any friction law: draw less")
