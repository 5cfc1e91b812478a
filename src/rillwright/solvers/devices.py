"""The devices a zone's water passes between entry and laterals, in order, under each backflow kind."""

import math
from dataclasses import dataclass
from typing import Literal

from rillwright.model.parts import Catalogue, DeviceLoss, Valve
from rillwright.model.site import BackflowKind, Yard

__all__ = ["ZoneDevice", "losses_by_flow", "valve_for", "zone_devices"]

_MOST_LOSS = 35e3  # [Pa] of a valve
_ROUND = 1e-9


@dataclass(frozen=True, slots=True)
class ZoneDevice:
    """One device in the zone's way."""

    label: str
    where: Literal["entry", "place"]  # before the main, or at the valve place
    loss: DeviceLoss
    source: str
    regulated_to: float | None = None  # [Pa] gauge, that it lets through at the most


def valve_for(kind: BackflowKind, *, yard: Yard, catalogue: Catalogue, flow: float) -> Valve:
    """Choose the zone valve: the smallest size that passes the flow within 35 kPa (5 psi), common practice.

    An atmospheric breaker is bought as one piece with its valve where the user allows that kind.
    """
    sizes = _valves(kind, yard, catalogue)
    return next((v for v in sizes if v.loss.at(flow) <= _MOST_LOSS), sizes[-1])


def losses_by_flow(
    kind: BackflowKind, *, yard: Yard, catalogue: Catalogue, size: str | None = None
) -> tuple[tuple[float, tuple[DeviceLoss, ...]], ...]:
    """Losses of a zone's devices, with the largest flow [m³/s] up to which the zone's valve is of that size; rising.

    Parameters: size as for zone_devices.
    """
    *narrow, widest = _valves(kind, yard, catalogue)
    most = [math.sqrt(max(_MOST_LOSS - v.loss.threshold, 0.0) / v.loss.factor) * (1 - _ROUND) for v in narrow]
    steps = [(flow, zone_devices(kind, yard=yard, catalogue=catalogue, flow=flow, size=size)) for flow in most]
    steps.append((math.inf, _devices(kind, yard, catalogue, widest, size)))
    return tuple((flow, tuple(device.loss for device in devices)) for flow, devices in steps)


def _valves(kind: BackflowKind, yard: Yard, catalogue: Catalogue) -> list[Valve]:
    """Sizes of the zone valve, the narrowest first."""
    combined = "valve with vacuum breaker"
    wanted = combined if kind == "atmospheric vacuum breaker" and combined in yard.valves.allowed else "in-line valve"
    return sorted((v for v in catalogue.valves if v.kind == wanted), key=lambda v: -v.loss.factor)


def zone_devices(
    kind: BackflowKind, *, yard: Yard, catalogue: Catalogue, flow: float, size: str | None = None
) -> tuple[ZoneDevice, ...]:
    """Give the devices in the order the water meets them, for a zone's flow [m³/s].

    A double check or reduced pressure device stands at the entry; a pressure vacuum breaker at the valve place before
    the valve; an atmospheric one after the valve, unless valve and breaker are one piece. That one is of the valve's
    size.
    Parameters: size of a device before all valves; None, as wide as its line.
    """
    return _devices(kind, yard, catalogue, valve_for(kind, yard=yard, catalogue=catalogue, flow=flow), size)


def _devices(
    kind: BackflowKind, yard: Yard, catalogue: Catalogue, valve: Valve, size: str | None
) -> tuple[ZoneDevice, ...]:
    device = catalogue.backflow[kind]
    fitted = device.for_line(valve.trade_size if device.scope == "zone" else size or yard.backflow_line)
    own = ZoneDevice(f"{valve.kind} {valve.trade_size}", "place", valve.loss, valve.source)
    at_entry = device.scope == "system" and device.above_outlets is None
    guard = ZoneDevice(kind, "entry" if at_entry else "place", fitted.loss, fitted.source)
    if device.scope == "system":
        return (guard, own)
    return (own,) if valve.kind == "valve with vacuum breaker" else (own, guard)
