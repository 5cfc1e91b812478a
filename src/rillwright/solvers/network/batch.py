"""One network solved for many draws of its uncertain values."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from types import MappingProxyType
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rillwright.errors import InputError, SolverError
from rillwright.physics import water
from rillwright.solvers.network.case import new_case
from rillwright.solvers.network.prepared import Part, Prepared, Regulated, part_ahead

__all__ = ["BatchState", "Draws", "solve_batch"]

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Columns = NDArray[np.intp]

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


def solve_batch(prepared: Prepared, draws: Draws) -> BatchState:
    """Solve a network for each draw.

    Parameters: prepared, from prepare; draws, count rows. Returns: the states, each as solve_network would give it.
    Errors: InputError for an array of another shape or with an impossible value; SolverError when a draw does not
    converge.
    """
    _check(prepared, draws)
    return _state(prepared, _solve(prepared, draws)[0])


@dataclass(frozen=True, slots=True)
class _Answer:
    """What is found of each draw; its columns those of the kernel."""

    flow: Floats  # (draws, links, outlets and source) [m³/s]
    pressure: Floats  # (draws, nodes) [Pa]
    steps: NDArray[np.int64]  # (draws,)
    residual: Floats  # (draws,) [Pa]

    def count_in(self, found: "_Answer", rows: Columns) -> None:
        """Count the steps and the residual of a part's answer in."""
        self.steps[rows] += found.steps
        self.residual[rows] = np.maximum(self.residual[rows], found.residual)


@dataclass(frozen=True, slots=True)
class _Held:
    """What lies behind a regulator, solved at its set pressure; all columns among those of the whole."""

    link: int
    end: int  # the regulator's end node
    nodes: Columns
    branches: Columns  # the links and outlets behind it
    setting: Floats  # [Pa] of each draw
    through: Floats  # [m³/s] of each draw
    flow: Floats  # (draws, branches)
    pressure: Floats  # (draws, nodes)

    def within(self, part: Part, branches: Columns) -> "_Held":
        """Name the columns anew for the network that a part is taken from."""
        return replace(
            self,
            link=int(part.links[self.link]),
            end=int(part.nodes[self.end]),
            nodes=part.nodes[self.nodes],
            branches=branches[self.branches],
        )


def _solve(prepared: Prepared, draws: Draws) -> tuple[_Answer, list[_Held]]:
    """Solve every draw, each regulator either active, holding its set pressure, or open.

    What lies behind each is solved first at its set pressure. An active one is then a fixed demand. If every one that
    no other stands before may be active, that is the answer. Else all are opened; where more than the set pressure
    comes through, they are made active, and so on: each that becomes active draws less, so all pressures before it
    rise, none need be opened again, and the rounds end at the one answer there is.
    """
    if not prepared.regulated:
        return _run(prepared, draws), []
    count, held, outer = draws.count, list[_Held](), list[int]()
    answer = _room(prepared, count)
    for regulator in prepared.regulated:
        outer.append(len(held))
        held += _solve_behind(prepared, regulator, draws, answer)
    inside = np.array([[one is not other and one.end in other.nodes for one in held] for other in held])
    settings = np.column_stack([one.setting for one in held])
    active = np.zeros((count, len(held)), dtype=bool)
    active[:, outer] = True
    arriving = _solve_states(prepared, draws, held, active, np.arange(count), answer)
    rows = np.flatnonzero((arriving < settings).any(axis=1))
    active[rows] = False
    while len(rows):
        arriving = _solve_states(prepared, draws, held, active, rows, answer)
        over = (arriving > settings[rows]) & ~active[rows]
        active[rows] |= over
        active[rows] &= ~(active[rows] @ inside)
        rows = rows[over.any(axis=1)]
    return answer, held


def _solve_behind(prepared: Prepared, regulator: Regulated, draws: Draws, answer: _Answer) -> list[_Held]:
    """Solve what lies behind a regulator; returns it and the regulators among it."""
    part, links = regulator.behind, len(prepared.links)
    setting = np.full(draws.count, part.prepared.network.supply.static)
    if draws.link_setting is not None:
        setting *= draws.link_setting[:, regulator.link]
    behind = replace(
        _drawn(draws, part, np.arange(draws.count)), static=setting, supply_factor=None, supply_exponent=None
    )
    found, inner = _solve(part.prepared, behind)
    answer.count_in(found, np.arange(draws.count))
    branches = np.concatenate((part.links, links + part.outlets))
    one = _Held(
        link=regulator.link,
        end=int(part.nodes[part.prepared.source]),
        nodes=part.nodes,
        branches=branches,
        setting=setting,
        through=found.flow[:, -1],
        flow=found.flow[:, :-1],
        pressure=found.pressure,
    )
    return [one, *(other.within(part, branches) for other in inner)]


def _solve_states(
    prepared: Prepared, draws: Draws, held: Sequence[_Held], active: Flags, rows: Columns, answer: _Answer
) -> Floats:
    """Write down some draws' answers with some regulators active and all others open.

    Returns: what comes through each regulator [Pa], (rows, regulators); NaN behind an active one.
    """
    arriving = np.full((len(rows), len(held)), np.nan)
    for states in np.unique(active[rows], axis=0):
        members = np.flatnonzero((active[rows] == states).all(axis=1))
        these, holding = rows[members], [one for one, on in zip(held, states, strict=True) if on]
        part = _ahead(prepared, holding)
        found = _run(part.prepared, _drawn(draws, part, these, holding))
        branches = np.concatenate((part.links, len(prepared.links) + part.outlets, [-1]))
        answer.flow[np.ix_(these, branches)] = found.flow
        answer.pressure[np.ix_(these, part.nodes)] = found.pressure
        answer.count_in(found, these)
        for k, one in enumerate(held):
            if one.end in part.nodes:
                arriving[members, k] = answer.pressure[these, one.end]
        for one in holding:
            answer.flow[np.ix_(these, one.branches)] = one.flow[these]
            answer.pressure[np.ix_(these, one.nodes)] = one.pressure[these]
    return arriving


def _ahead(prepared: Prepared, holding: Sequence[_Held]) -> Part:
    """Give what stands before some regulators."""
    links = [one.link for one in holding]
    if prepared.ahead and links == [one.link for one in prepared.regulated]:
        return prepared.ahead
    return part_ahead(prepared.network, links)


def _room(prepared: Prepared, count: int) -> _Answer:
    return _Answer(
        flow=np.empty((count, len(prepared.links) + len(prepared.outlets) + 1)),
        pressure=np.empty((count, len(prepared.nodes))),
        steps=np.zeros(count, dtype=np.int64),
        residual=np.zeros(count),
    )


def _run(prepared: Prepared, draws: Draws) -> _Answer:
    """Solve every draw as if each regulator were open."""
    from rillwright.solvers.network.kernels import solve_draws

    answer, values, case = _room(prepared, draws.count), _values(prepared, draws), new_case(prepared.pattern)
    steps, residual = answer.steps, answer.residual
    solve_draws(prepared.pattern, prepared.fixed, values, case, answer.flow, answer.pressure, steps, residual)
    if (steps < 0).any():
        raise SolverError(
            f"the network's equations still miss by {residual[steps < 0].max():.3g} Pa after as many steps as allowed: "
            "look for a pipe, outlet or supply with a value far out of the ordinary, and report the case with its yard"
        )
    return answer


def _drawn(draws: Draws, part: Part, rows: Columns, holding: Sequence[_Held] = ()) -> Draws:
    """Keep some draws' values of a part, with what regulators let through as demands at their ends."""

    def kept(values: Floats | None, columns: Columns | None = None) -> Floats | None:
        if values is None:
            return None
        return values[rows] if columns is None else values[np.ix_(rows, columns)]

    demand = kept(draws.demand, part.nodes)
    if holding:
        demand = np.tile(part.prepared.demand, (len(rows), 1)) if demand is None else demand
        for one in holding:
            demand[:, part.nodes == one.end] = one.through[rows, None]
    return Draws(
        count=len(rows),
        static=kept(draws.static),
        supply_factor=kept(draws.supply_factor),
        supply_exponent=kept(draws.supply_exponent),
        temperature=kept(draws.temperature),
        elevation=kept(draws.elevation, part.nodes),
        demand=demand,
        roughness=kept(draws.roughness, part.links),
        minor=kept(draws.minor, part.links),
        device_factor=kept(draws.device_factor, part.links),
        device_threshold=kept(draws.device_threshold, part.links),
        coefficient=kept(draws.coefficient, part.outlets),
        link_setting=kept(draws.link_setting, part.links),
        outlet_setting=kept(draws.outlet_setting, part.outlets),
    )


def _values(prepared: Prepared, draws: Draws) -> _Values:
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
    )


@lru_cache(maxsize=1 << 14)
def _wet(temperature: float) -> tuple[float, float]:
    """Density [kg/m³] and viscosity [m²/s] of water; every zone of a yard is drawn at the same temperatures."""
    return water.density(temperature), water.viscosity(temperature)


def _state(prepared: Prepared, answer: _Answer) -> BatchState:
    links, flow, pressure = len(prepared.links), answer.flow, answer.pressure
    outlet_flow = flow[:, links:-1]
    dry, negative = (outlet_flow == 0).any(axis=1), (pressure < 0).any(axis=1)
    return BatchState(
        flow=flow[:, :links],
        pressure=pressure,
        outlet_flow=outlet_flow,
        source_flow=flow[:, -1],
        source_pressure=pressure[:, prepared.source],
        iterations=answer.steps,
        residual=answer.residual,
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
