"""Invented yards with measured supplies, and what is fitted to them."""

import numpy as np

from rillwright.model.catalogue import load_catalogue
from rillwright.model.site import Yard
from rillwright.physics.units import GALLON, PSI
from rillwright.solvers.supply import (
    fit_supply,
    next_measurements,
    report_supply,
)

CATALOGUE = load_catalogue()
WEIGHT = 999.1 * 9.80665  # [Pa/m] of water at 15 °C
NEEDED = 45 * PSI


def bucket(*seconds, volume=5 * GALLON, **more):
    return dict(kind="bucket fill", volume=volume, seconds=list(seconds), **more)


def static(pressure, **more):
    return dict(kind="static gauge", pressure=pressure, **more)


def flowing(pressure, flow, **more):
    return dict(kind="gauge at a flow", pressure=pressure, flow=flow, **more)


def metered(flow, **more):
    return dict(kind="meter reading", volume=flow * 300, seconds=300, **more)


BUCKET = bucket(9.5, 9.4, 9.6)


def yard_with(*supply, units="US", size="1 in", material="PE", length=20.0, meter="1 in", rules=None, **entry):
    return Yard(
        name="invented yard",
        units=units,
        areas=[{"id": "lawn", "kind": "lawn", "outline": [(0, 0), (10, 0), (10, 10), (0, 10)]}],
        water_entry=dict(
            at=(0, 0),
            height=3.0,
            pipe={"material": material, "size": size, "length": length},
            meter={"size": meter} if meter else None,
            **entry,
        ),
        supply=list(supply),
        controller={"stations": 6},
        backflow={"allowed": ["pressure vacuum breaker"]},
        rules=rules or {},
    )


def fitted(*supply, **more):
    return fit_supply(yard_with(*supply, **more), CATALOGUE, draws=2000)


def reported(*supply, pressure=NEEDED, **more):
    yard = yard_with(*supply, **more)
    return report_supply(fit_supply(yard, CATALOGUE, draws=2000), pressure=pressure, yard=yard, catalogue=CATALOGUE)


def measured_next(*supply, pressure=NEEDED, **more):
    yard = yard_with(*supply, **more)
    return next_measurements(fit_supply(yard, CATALOGUE, draws=2000), pressure=pressure, yard=yard)


def width(fit, pressure=NEEDED):
    low, high = np.quantile(fit.flows(pressure), (0.05, 0.95))
    return high - low
