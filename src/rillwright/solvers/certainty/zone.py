"""One zone in every draw: first with its flow control wide open, then with the control as somebody sets it on site.

Setting the control. With the valve wide open a draw's zone passes Q; where that is more than the flow q it is to be
set to, the control must take what is over. Losses grow about as flow^1.9, nozzle pressures as flow^(1/x) by the chart's
exponent x, thresholds and heights stay, so with r = q/Q

    loss of the control = S(q) - weight · rise - thresholds - (losses at Q) · r^1.9 - (nozzle pressure at Q) · r^(1/x)

for each head, averaged by flow. It is set on a day without other use; then the zone runs while the house may draw.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from rillwright.model.network import Network
from rillwright.model.plan import Head
from rillwright.physics.units import GRAVITY
from rillwright.physics.water import density
from rillwright.solvers.certainty.draws import YardDraws
from rillwright.solvers.network import BatchState, Draws, Prepared, prepare, solve_batch

__all__ = ["ZoneDraws", "ZoneModel", "run_zone"]

Floats = NDArray[np.float64]

_LOSS_EXPONENT = 1.9


@dataclass(frozen=True, slots=True)
class ZoneModel:
    """What is to be drawn: the zone's network with a flow control that takes nothing yet."""

    id: str
    network: Network
    control: str  # id of the control's link
    outlets: Mapping[str, str]  # node of each head's nozzle
    heads: tuple[Head, ...]
    target: float  # [m³/s] that the control is set to


@dataclass(frozen=True, slots=True)
class ZoneDraws:
    """The zone in every draw; columns are the heads in the order of the model."""

    open_pressure: Floats  # (n, heads) [Pa] control wide open, nobody in the house drawing
    pressure: Floats  # (n, heads) [Pa] control set, the house drawing now and then
    flow: Floats  # (n,) [m³/s] then


def run_zone(model: ZoneModel, draws: YardDraws) -> ZoneDraws:
    """Solve a zone in every draw. Errors: as from solve_batch."""
    prepared = prepare(model.network)
    columns = [prepared.nodes.index(model.outlets[head.id]) for head in model.heads]
    batch = _batch(model, prepared, draws)
    wide = solve_batch(prepared, batch)
    factor = _control(model, prepared, batch, draws, wide, columns)
    assert batch.device_factor is not None
    devices = batch.device_factor.copy()
    devices[:, prepared.links.index(model.control)] = factor
    demand = np.tile(prepared.demand, (draws.count, 1))
    demand[:, prepared.nodes.index(model.network.source)] += draws.house[model.id]
    state = solve_batch(prepared, replace(batch, device_factor=devices, demand=demand))
    return ZoneDraws(wide.pressure[:, columns], state.pressure[:, columns], state.outlet_flow.sum(axis=1))


def _batch(model: ZoneModel, prepared: Prepared, draws: YardDraws) -> Draws:
    """The draws as values of this network, the control wide open."""
    elevation = np.tile(prepared.elevation, (draws.count, 1))
    coefficient = np.tile(prepared.coefficient, (draws.count, 1))
    for head in model.heads:
        node = model.outlets[head.id]
        elevation[:, prepared.nodes.index(node)] += draws.rise[head.id]
        coefficient[:, prepared.outlets.index(node)] *= draws.nozzle[head.id]
    factor = np.tile(prepared.device_factor, (draws.count, 1))
    devices = [k for k, link in enumerate(model.network.links) if link.device and link.id != model.control]
    for order, column in enumerate(devices):
        factor[:, column] *= draws.devices[:, min(order, draws.devices.shape[1] - 1)]
    factor[:, prepared.links.index(model.control)] = 0.0
    supplies = draws.supplies
    return Draws(
        count=draws.count,
        static=supplies.static,
        supply_factor=supplies.factor,
        supply_exponent=supplies.exponent,
        temperature=draws.temperature,
        elevation=elevation,
        roughness=prepared.roughness * draws.roughness[:, None],
        minor=prepared.minor * draws.fittings[:, None],
        device_factor=factor,
        coefficient=coefficient,
    )


def _control(
    model: ZoneModel, prepared: Prepared, batch: Draws, draws: YardDraws, wide: BatchState, columns: list[int]
) -> Floats:
    """Loss factor [Pa/(m³/s)²] that the control is set to in each draw."""
    assert batch.elevation is not None
    own = [prepared.outlets.index(model.outlets[head.id]) for head in model.heads]
    exponent = np.array([model.network.outlets[model.outlets[head.id]].exponent for head in model.heads])
    target = model.target * draws.control[model.id]
    passed = wide.outlet_flow.sum(axis=1)
    share = np.minimum(target / np.maximum(passed, 1e-9), 1.0)[:, None]
    rise = batch.elevation[:, columns] - batch.elevation[:, [prepared.nodes.index(model.network.source)]]
    weight = density(model.network.temperature) * GRAVITY
    stands = np.maximum(wide.pressure[:, columns], 0.0)
    fixed = float(prepared.device_threshold.sum())
    lost = draws.supplies.pressure(passed)[:, None] - weight * rise - stands - fixed
    left = draws.supplies.pressure(target)[:, None] - weight * rise - fixed
    over = left - lost * share**_LOSS_EXPONENT - stands * share ** (1 / exponent)
    mean = np.sum(over * wide.outlet_flow[:, own], axis=1) / np.maximum(passed, 1e-9)
    return np.asarray(np.where(passed > target, np.maximum(mean, 0.0) / target**2, 0.0))
