"""One zone in every draw: first with its flow control wide open, then with the control as somebody sets it on site.

Setting the control. With the valve wide open a draw's zone passes Q; where that is more than the flow q it is to be
set to, the control must take what is over. Losses grow about as flow^1.9, nozzle pressures as flow^(1/x) by the chart's
exponent x, thresholds and heights stay, so with r = q/Q

    loss of the control = S(q) - weight · rise - thresholds - (losses at Q) · r^1.9 - (nozzle pressure at Q) · r^(1/x)

for each head, averaged by flow. It is set on a day without other use; then the zone runs while the house may draw.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from rillwright.model.network import Network
from rillwright.model.plan import Head
from rillwright.physics.units import GRAVITY
from rillwright.physics.water import density
from rillwright.solvers.certainty.draws import AT_ENTRY, YardDraws
from rillwright.solvers.network import BatchState, Draws, Prepared, prepare, solve_batch

__all__ = ["ZoneDraws", "ZoneModel", "as_drawn", "run_zone"]

Floats = NDArray[np.float64]

_LOSS_EXPONENT = 1.9


@dataclass(frozen=True, slots=True)
class ZoneModel:
    """What is to be drawn: the zone's network with a flow control that takes nothing yet."""

    id: str
    network: Network
    control: str | None  # id of the control's link; None where a regulator on the valve stands in its place
    outlets: Mapping[str, str]  # node of each head's nozzle
    heads: tuple[Head, ...]
    target: float  # [m³/s] that the control is set to
    cap: float = np.inf  # [Pa] that a pressure reducing valve or a pump's switch lets through at the entry
    cut_out: float | None = None  # [Pa] where a well's pump stops; its cap is then where the pump starts
    held: Mapping[str, float] = field(default_factory=dict)  # [Pa] that the regulator in a head lets through, by head


@dataclass(frozen=True, slots=True)
class ZoneDraws:
    """The zone in every draw; columns are the heads in the order of the model."""

    open_pressure: Floats  # (n, heads) [Pa] control wide open, nobody in the house drawing
    pressure: Floats  # (n, heads) [Pa] control set, the house drawing now and then
    head_flow: Floats  # (n, heads) [m³/s] then

    @property
    def flow(self) -> Floats:
        """Flow of the zone (n,) [m³/s]."""
        return np.asarray(self.head_flow.sum(axis=1))


def run_zone(model: ZoneModel, draws: YardDraws) -> ZoneDraws:
    """Solve a zone in every draw. Errors: as from solve_batch."""
    prepared = prepare(model.network)
    columns = [prepared.nodes.index(model.outlets[head.id]) for head in model.heads]
    own = [prepared.outlets.index(model.outlets[head.id]) for head in model.heads]
    batch = as_drawn(model, prepared, draws)
    wide = solve_batch(prepared, batch)
    demand = np.tile(prepared.demand, (draws.count, 1))
    demand[:, prepared.nodes.index(model.network.source)] += draws.house[model.id]
    assert batch.device_factor is not None
    devices = batch.device_factor.copy()
    if model.control is not None:
        factor = _control(model, prepared, batch, draws, wide, columns)
        devices[:, prepared.links.index(model.control)] = factor
    running = replace(
        batch,
        device_factor=devices,
        demand=demand,
        link_setting=_settings(model, draws, running=True),
        outlet_setting=_head_settings(model, draws, own),
    )
    state = solve_batch(_regulated(model, prepared), running)
    held = _held(model, draws)
    return ZoneDraws(
        open_pressure=np.minimum(wide.pressure[:, columns], held),
        pressure=np.minimum(state.pressure[:, columns], held),
        head_flow=state.outlet_flow[:, own],
    )


def _settings(model: ZoneModel, draws: YardDraws, *, running: bool) -> Floats | None:
    """Factors on what the regulators on links are set to; None without any.

    A well's pump that cycles while the zone runs stands somewhere between cut-in and cut-out; one that runs on follows
    its curve, under cut-out. The control is set, and the weakest head judged, at cut-in.
    """
    links = model.network.links
    if all(link.regulated_to is None for link in links):
        return None
    factor = np.ones((draws.count, len(links)))
    for column, link in enumerate(links):
        if link.regulated_to is not None:
            at_entry = link.start == model.network.source
            factor[:, column] = draws.regulator[AT_ENTRY if at_entry else model.id]
            if at_entry and running and model.cut_out is not None:
                cycles = draws.supplies.pressure(model.target) > model.cut_out
                stands = np.where(cycles, draws.moment[model.id], 1.0)
                factor[:, column] *= 1 + stands * (model.cut_out / model.cap - 1)
    return factor


def _held(model: ZoneModel, draws: YardDraws) -> Floats:
    """Pressure [Pa] that the regulators in heads let through (n, heads); infinite without one."""
    held = np.full((draws.count, len(model.heads)), np.inf)
    for column, head in enumerate(model.heads):
        if head.id in model.held:
            held[:, column] = model.held[head.id] * draws.regulator[head.id]
    return held


def _head_settings(model: ZoneModel, draws: YardDraws, own: list[int]) -> Floats | None:
    """Factors on what the regulators in heads are set to; None without any."""
    if not model.held:
        return None
    factor = np.ones((draws.count, len(model.network.outlets)))
    for column, head in zip(own, model.heads, strict=True):
        if head.id in model.held:
            factor[:, column] = draws.regulator[head.id]
    return factor


def _regulated(model: ZoneModel, prepared: Prepared) -> Prepared:
    """The network with the regulators in its heads; the control is set without them, as the plan sets it."""
    if not model.held:
        return prepared
    outlets = dict(model.network.outlets)
    for head, most in model.held.items():
        outlets[model.outlets[head]] = replace(outlets[model.outlets[head]], regulated_to=most)
    return prepare(replace(model.network, outlets=outlets))


def as_drawn(model: ZoneModel, prepared: Prepared, draws: YardDraws) -> Draws:
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
        link_setting=_settings(model, draws, running=False),
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
    cap = model.cap * draws.regulator.get(AT_ENTRY, 1.0)
    before, after = (np.minimum(draws.supplies.pressure(q), cap)[:, None] for q in (passed, target))
    lost = before - weight * rise - stands - fixed
    left = after - weight * rise - fixed
    over = left - lost * share**_LOSS_EXPONENT - stands * share ** (1 / exponent)
    mean = np.sum(over * wide.outlet_flow[:, own], axis=1) / np.maximum(passed, 1e-9)
    return np.asarray(np.where(passed > target, np.maximum(mean, 0.0) / target**2, 0.0))
