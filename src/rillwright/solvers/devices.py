"""The devices a zone's water passes between entry and laterals, in order, under each backflow kind."""

from dataclasses import dataclass
from typing import Literal

from rillwright.model.parts import Catalogue, DeviceLoss, Valve
from rillwright.model.site import BackflowKind, Yard

__all__ = ["ZoneDevice", "valve_for", "zone_devices"]


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
    combined = "valve with vacuum breaker"
    wanted = combined if kind == "atmospheric vacuum breaker" and combined in yard.valves.allowed else "in-line valve"
    sizes = sorted((v for v in catalogue.valves if v.kind == wanted), key=lambda v: -v.loss.factor)
    return next((v for v in sizes if v.loss.at(flow) <= 35e3), sizes[-1])


def zone_devices(kind: BackflowKind, *, yard: Yard, catalogue: Catalogue, flow: float) -> tuple[ZoneDevice, ...]:
    """Give the devices in the order the water meets them, for a zone's flow [m³/s].

    A double check or reduced pressure device stands at the entry; a pressure vacuum breaker at the valve place before
    the valve; an atmospheric one after the valve, unless valve and breaker are one piece.
    """
    device = catalogue.backflow[kind]
    valve = valve_for(kind, yard=yard, catalogue=catalogue, flow=flow)
    own = ZoneDevice(f"{valve.kind} {valve.trade_size}", "place", valve.loss, valve.source)
    at_entry = device.scope == "system" and device.above_outlets is None
    guard = ZoneDevice(kind, "entry" if at_entry else "place", device.loss, device.source)
    if device.scope == "system":
        return (guard, own)
    return (own,) if valve.kind == "valve with vacuum breaker" else (own, guard)
