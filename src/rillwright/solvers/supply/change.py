"""What a measured supply becomes when the service is changed: for pricing ways out before anyone has built them."""

from dataclasses import replace

import numpy as np

from rillwright.model.parts import Catalogue
from rillwright.model.site import Yard
from rillwright.solvers.supply.fit import SupplyFit
from rillwright.solvers.supply.prior import supply_prior

__all__ = ["boosted", "with_service"]


def boosted(fit: SupplyFit, *, boost: float) -> SupplyFit:
    """Supply behind a booster pump that adds a pressure [Pa], taken as constant over the flows asked for."""
    return replace(fit, supplies=replace(fit.supplies, static=fit.supplies.static + boost))


def with_service(fit: SupplyFit, *, old: Yard, new: Yard, catalogue: Catalogue) -> SupplyFit:
    """Supply when the service pipe or meter of yard `old` is replaced by those of yard `new`.

    The loss falls by what the service data say pipe and meter lose less, but never below the same share of what was
    measured: what the street's side takes is unknown and stays.
    """
    before = supply_prior(old, catalogue=catalogue).loss
    after = supply_prior(new, catalogue=catalogue).loss
    loss = np.maximum(fit.supplies.loss - (before - after), fit.supplies.loss * after / before)
    return replace(fit, supplies=replace(fit.supplies, loss=loss))
