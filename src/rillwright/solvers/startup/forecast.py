"""What a meter and gauges would show under every fault, with everything uncertain about the yard folded in.

Each fault is solved once with the yard at its medians; what the uncertain yard adds is taken from a few dozen draws of
it at one middling fault of each cause and place: a shift of the mean and a covariance, alike for all severities there.

A severity is not one of a few steps: each fault stands for all severities about it. Its readings are spread along the
way from its neighbour below to the one above, with half a step as the standard deviation: normal bumps so wide add up
to an even spread within 2 %. So the gauges may be finer than the steps.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from rillwright.model.network import Network, Outlet
from rillwright.model.parts import Catalogue
from rillwright.solvers.certainty import YardDraws, ZoneModel, as_drawn
from rillwright.solvers.network import Draws, Prepared, prepare, solve_batch
from rillwright.solvers.startup.causes import Fault, faults_of

__all__ = ["ENTRY", "FLOW", "VALVE", "Forecast", "StartModel", "forecast", "simulate"]

Floats = NDArray[np.float64]

FLOW, ENTRY, VALVE = "flow", "entry", "valve"  # columns besides the heads
_ROUGHEST = 0.09  # of the bore; the friction law ends at a tenth
_NO_LEAK = 1e-15  # [m³/s / Pa^0.5]


@dataclass(frozen=True, slots=True)
class StartModel:
    """A zone with its flow control wide open, and where its gauges stand."""

    zone: ZoneModel
    valve: str  # node behind the zone's valve
    laterals: tuple[str, ...]  # nodes where a lateral may leak
    pressure: float  # [Pa] behind the valve as planned


@dataclass(frozen=True, slots=True)
class Forecast:
    """Readings foretold, in SI; columns are FLOW, ENTRY, VALVE and the heads."""

    columns: tuple[str, ...]
    faults: tuple[Fault, ...]
    mean: Floats  # (faults, columns)
    covariance: Floats  # (faults, columns, columns)


def forecast(model: StartModel, draws: YardDraws, *, catalogue: Catalogue) -> Forecast:
    """Foretell the readings of a zone under every fault.

    Parameters: model; draws, of the yard, for the zone's heads; some 64 will do, their first row is not special.
    """
    network = _with_leaks(model)
    prepared = prepare(network)
    risers = {link.id.removeprefix("riser "): link for link in network.links if link.id.startswith("riser ")}
    heads = model.zone.heads
    faults = faults_of(
        heads,
        risers=risers,
        nodes=model.laterals,
        flow=model.zone.target,
        pressure=model.pressure,
        catalogue=catalogue,
    )
    drawn = as_drawn(replace(model.zone, network=network), prepared, draws)
    middle = _repeated(_median_of(drawn), len(faults))
    mean = _shown(model, prepared, _faulted(model, prepared, middle, faults))
    steps = _half_steps(faults, mean)
    covariance = steps[:, :, None] * steps[:, None, :]
    places = [(fault.cause, fault.where) for fault in faults]
    for place in dict.fromkeys(places):
        rows = [k for k, one in enumerate(places) if one == place]
        typical = rows[len(rows) // 2]
        seen = _shown(model, prepared, _faulted(model, prepared, drawn, [faults[typical]] * draws.count))
        covariance[rows] += np.cov(seen, rowvar=False)
        mean[rows] += seen.mean(axis=0) - mean[typical]
    columns = (FLOW, ENTRY, VALVE, *(head.id for head in heads))
    return Forecast(columns, faults, mean, covariance)


def _half_steps(faults: Sequence[Fault], mean: Floats) -> Floats:
    """Half of what one step of the severity moves each reading; nothing where a fault has no severity."""
    steps = np.zeros_like(mean)
    kinds = [(fault.cause, fault.where, fault.words) for fault in faults]
    for kind in dict.fromkeys(kinds):
        rows = [k for k, one in enumerate(kinds) if one == kind]
        if len(rows) > 1:
            steps[rows] = 0.5 * np.gradient(mean[rows], axis=0)
    return steps


def simulate(model: StartModel, draws: YardDraws, faults: Sequence[Fault]) -> Floats:
    """What each draw of a yard shows with a fault of its own (draws, columns), read without error."""
    prepared = prepare(_with_leaks(model))
    drawn = as_drawn(replace(model.zone, network=prepared.network), prepared, draws)
    return _shown(model, prepared, _faulted(model, prepared, drawn, faults))


def _with_leaks(model: StartModel) -> Network:
    """The network with a closed hole at every node of the laterals, and what regulates its heads."""
    network = model.zone.network
    outlets = dict(network.outlets)
    for head, most in model.zone.held.items():
        node = model.zone.outlets[head]
        outlets[node] = replace(outlets[node], regulated_to=most)
    outlets |= {node: Outlet(_NO_LEAK, 0.5) for node in model.laterals}
    return replace(network, outlets=outlets)


def _median_of(drawn: Draws) -> Mapping[str, Floats]:
    names = [name for name in Draws.__dataclass_fields__ if name != "count"]
    held = {name: getattr(drawn, name) for name in names}
    return {name: np.median(values, axis=0) for name, values in held.items() if values is not None}


def _repeated(values: Mapping[str, Floats], count: int) -> Draws:
    return Draws(count=count, **{name: np.repeat(value[None], count, axis=0) for name, value in values.items()})


def _faulted(model: StartModel, prepared: Prepared, drawn: Draws, faults: Sequence[Fault]) -> Draws:
    """Draws with a fault in each row."""
    assert drawn.coefficient is not None
    assert drawn.device_factor is not None
    assert drawn.static is not None
    assert drawn.supply_factor is not None
    assert drawn.roughness is not None
    coefficient, device = drawn.coefficient.copy(), drawn.device_factor.copy()
    control = None if model.zone.control is None else prepared.links.index(model.zone.control)
    for row, fault in enumerate(faults):
        if fault.leak:
            coefficient[row, prepared.outlets.index(fault.where)] = fault.leak
        elif fault.where:
            coefficient[row, prepared.outlets.index(model.zone.outlets[fault.where])] *= fault.nozzle
        if control is not None:
            device[row, control] += fault.control
    most = np.where(prepared.fixed.length > 0, _ROUGHEST * prepared.fixed.bore, 0.0)
    rough = np.minimum(np.array([fault.rough for fault in faults])[:, None], most)
    return replace(
        drawn,
        coefficient=np.maximum(coefficient, _NO_LEAK),
        device_factor=device,
        static=drawn.static * np.array([fault.static for fault in faults]),
        supply_factor=drawn.supply_factor * np.array([fault.loss for fault in faults]),
        roughness=np.maximum(drawn.roughness, rough),
    )


def _shown(model: StartModel, prepared: Prepared, drawn: Draws) -> Floats:
    state = solve_batch(prepared, drawn)
    source = prepared.network.source
    first = next(link for link in prepared.network.links if link.start == source)
    entry = source if first.regulated_to is None else first.end
    nodes = [entry, model.valve, *(model.zone.outlets[head.id] for head in model.zone.heads)]
    pressure = state.pressure[:, [prepared.nodes.index(node) for node in nodes]]
    return np.column_stack([state.source_flow, np.maximum(pressure, 0.0)])
