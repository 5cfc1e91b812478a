"""What a measured supply becomes when the service is changed: for pricing ways out before anyone has built them."""

from dataclasses import replace

import numpy as np

from rillwright.model.parts import Catalogue
from rillwright.model.site import BoosterPump, Yard
from rillwright.physics.pumps import fit_falling_curve
from rillwright.solvers.supply.fit import SupplyFit
from rillwright.solvers.supply.prior import REFERENCE_FLOW, supply_prior

__all__ = ["boosted", "pump_curve", "unboosted", "with_second_service", "with_service"]


def boosted(fit: SupplyFit, *, pump: BoosterPump) -> SupplyFit:
    """Supply behind a booster pump in line after the entry.

    The pump's curve, shutoff - a · Q^m through its points, is added to every draw; the sum is written in the draw's own
    exponent so that it holds at no flow and at REFERENCE_FLOW. Between and a little beyond, the misfit is a few kPa.
    Errors: InputError for points that do not fall.
    """
    shutoff, fall, exponent = pump_curve(pump)
    supplies = fit.supplies
    loss = supplies.loss + fall * REFERENCE_FLOW**exponent
    return replace(fit, supplies=replace(supplies, static=supplies.static + shutoff, loss=loss))


def unboosted(fit: SupplyFit, *, pump: BoosterPump) -> SupplyFit:
    """The service before the pump, of a supply that `boosted` gave."""
    shutoff, fall, exponent = pump_curve(pump)
    supplies = fit.supplies
    loss = supplies.loss - fall * REFERENCE_FLOW**exponent
    return replace(fit, supplies=replace(supplies, static=supplies.static - shutoff, loss=loss))


def pump_curve(pump: BoosterPump) -> tuple[float, float, float]:
    """Shutoff [Pa], factor [Pa/(m³/s)^exponent] and exponent [-] of a pump: gain = shutoff - factor · Q^exponent."""
    return fit_falling_curve([point.flow for point in pump.curve], [point.pressure for point in pump.curve])


def with_service(fit: SupplyFit, *, old: Yard, new: Yard, catalogue: Catalogue) -> SupplyFit:
    """Supply when the service pipe or meter of yard `old` is replaced by those of yard `new`.

    The loss falls by what the service data say pipe and meter lose less, but never below the same share of what was
    measured: what the street's side takes is unknown and stays.
    """
    before = supply_prior(old, catalogue=catalogue).loss
    after = supply_prior(new, catalogue=catalogue).loss
    loss = np.maximum(fit.supplies.loss - (before - after), fit.supplies.loss * after / before)
    return replace(fit, supplies=replace(fit.supplies, loss=loss))


def with_second_service(fit: SupplyFit, *, yard: Yard, catalogue: Catalogue) -> SupplyFit:
    """Supply when a second service pipe and meter like the first are laid beside it.

    Each carries half the flow, so that pipe and meter lose what they do at half the flow, by the draw's own exponent;
    the street's side of the loss stays, as in with_service.
    """
    before = supply_prior(yard, catalogue=catalogue).loss
    after = before * 0.5**fit.supplies.exponent
    loss = np.maximum(fit.supplies.loss - (before - after), fit.supplies.loss * after / before)
    return replace(fit, supplies=replace(fit.supplies, loss=loss))
