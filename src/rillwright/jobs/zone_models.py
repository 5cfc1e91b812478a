"""The zones of a finished plan as networks, each with its flow control wide open."""

from collections.abc import Mapping, Sequence
from typing import TypedDict

import numpy as np

from rillwright.errors import InputError
from rillwright.jobs.pipework import ENTRY
from rillwright.model.parts import Catalogue, DeviceLoss
from rillwright.model.plan import Node, Pipe, Plan, ValvePlace, Zone
from rillwright.model.site import Yard
from rillwright.solvers.certainty import AT_ENTRY, ZoneModel
from rillwright.solvers.devices import ZoneDevice
from rillwright.solvers.fittings import minor_losses
from rillwright.solvers.flow_control import valve_regulator
from rillwright.solvers.startup import StartModel
from rillwright.solvers.zone_network import nozzle_node, zone_network

__all__ = ["ZoneGiven", "regulators_of", "start_model", "zone_given", "zone_model", "zone_of"]

_CONTROL = ZoneDevice("flow control", "place", DeviceLoss(factor=0.0), "")


def zone_of(plan: Plan, name: str) -> Zone:
    """The zone of a name. Errors: InputError when the plan has none such."""
    found = next((zone for zone in plan.zones if zone.id == name), None)
    if found is None:
        names = ", ".join(zone.id for zone in plan.zones) or "none"
        raise InputError(f"the plan has no zone '{name}'; its zones: {names}")
    return found


class ZoneGiven(TypedDict):
    """What a plan says of one zone's pipes, as the network of the zone takes it."""

    zone: str
    pipes: Sequence[Pipe]
    nodes: Mapping[str, Node]
    entry: str
    place: ValvePlace
    yard: Yard
    catalogue: Catalogue
    minor: Mapping[str, float]


def zone_given(plan: Plan, zone: Zone, catalogue: Catalogue) -> ZoneGiven:
    """The pipes, fittings and place that carry a zone's water, for zone_network and solve_zone."""
    pipes = [pipe for pipe in plan.pipes if pipe.zone in (None, zone.id)]
    return {
        "zone": zone.id,
        "pipes": pipes,
        "nodes": {node.id: node for node in plan.nodes},
        "entry": ENTRY,
        "place": next(place for place in plan.places if zone.id in place.zones),
        "yard": plan.yard,
        "catalogue": catalogue,
        "minor": minor_losses(pipes),
    }


def zone_model(plan: Plan, zone: Zone, catalogue: Catalogue) -> ZoneModel:
    """A zone to be drawn. Errors: InputError for a nozzle or pipe that the catalogue does not hold."""
    heads = {head.id: head for head in plan.heads}
    own = tuple(heads[name] for name in zone.heads)
    fitted = plan.regulation.fitted_at if plan.regulation else {}
    extra: Sequence[ZoneDevice] = (_CONTROL,)
    if fitted.get(zone.id) == "valve":
        extra = (_CONTROL, *valve_regulator(zone.after_valve))
    supply, well = plan.supply.expected, plan.yard.water_entry.well
    network = zone_network(own, **zone_given(plan, zone, catalogue), supply=supply, extra=extra)
    return ZoneModel(
        id=zone.id,
        network=network,
        control=f"device {_CONTROL.label}",
        outlets={head.id: nozzle_node(head.id) for head in own},
        heads=own,
        target=zone.flow,
        cap=np.inf if supply.cap is None else supply.cap,
        cut_out=None if well is None else well.cut_out,
        held={h.id: catalogue.nozzles[h.nozzle].design_pressure for h in own if fitted.get(h.id) == "head"},
    )


def start_model(plan: Plan, zone: Zone, catalogue: Catalogue) -> StartModel:
    """A zone at its first start."""
    ends = [pipe.end for pipe in plan.pipes if pipe.role == "lateral" and pipe.zone == zone.id]
    return StartModel(zone_model(plan, zone, catalogue), zone.place, tuple(dict.fromkeys(ends)), zone.after_valve)


def regulators_of(plan: Plan) -> tuple[str, ...]:
    """Whatever in a plan is regulated, by the names that draws know."""
    fitted = plan.regulation.fitted_at if plan.regulation else ()
    at_entry = [AT_ENTRY] if plan.supply.expected.cap is not None else []
    return tuple(dict.fromkeys([*at_entry, *fitted]))
