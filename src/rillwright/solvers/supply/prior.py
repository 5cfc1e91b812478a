"""What the service data alone say of a supply, before anybody measures: the prior of the fit.

A supply has a static pressure, a loss in the pipe at REFERENCE_FLOW, and an exponent; each open outlet that was
measured through adds its own loss coefficient. The fit works in standard coordinates: one column each, all zero at
the prior's median and one wide. See docs/theory/supply.md for every number here.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special

from rillwright.errors import InputError
from rillwright.model.parts import Catalogue
from rillwright.model.pumps import Well
from rillwright.model.site import BucketFill, Measurement, MeterReading, Yard
from rillwright.physics.pumps import fit_falling_curve
from rillwright.physics.supply import open_outlet_loss, service_line_loss
from rillwright.physics.units import PSI

__all__ = [
    "REFERENCE_FLOW",
    "Supplies",
    "SupplyPrior",
    "service_bore",
    "supply_prior",
    "tank_line_loss",
    "well_curve",
]

FloatArray = NDArray[np.float64]

REFERENCE_FLOW = 1e-3  # [m³/s] about 16 gpm: where the loss in the pipe is stated

TOWN_PRESSURE = 55 * PSI  # [Pa] median of town supplies; with TOWN_SPREAD nine in ten lie in 34 to 88 psi
TOWN_SPREAD = 0.22  # of the logarithm, in a Student's t of TAIL degrees of freedom
STREET_SPREAD = 0.06  # of a pressure that the supplier states, in the same t: nine in ten within 13 %
EXPONENT = 1.9  # Colebrook friction in smooth pipe about 1.8, meters and valves 2
EXPONENT_SPREAD = 0.06
EXPONENT_RANGE = (1.7, 2.05)
SERVICE_FITTINGS = 10.0  # velocity heads: street tap, stops, meter yoke, bends
LOSS_SPREAD = 0.40  # of the computed loss, in the logarithm
NO_METER_SPREAD = 0.25  # more when no meter is named
NO_BORE_SPREAD = 0.15  # more when the bore comes from the trade size
TAIL = 4.0  # degrees of freedom of static pressure and loss: a gauge on a hill, a half-closed stop must be believable
WELL_SPREAD = 0.05  # of a pump's shutoff pressure: its make, its wear and the water level; judgement
WELL_LOSS_SPREAD = 0.15  # of its fall at REFERENCE_FLOW; judgement
OUTLET_MEDIAN = 1.0  # velocity heads that an open outlet loses beyond its jet
OUTLET_SPREAD = 1.0


@dataclass(frozen=True, slots=True)
class Supplies:
    """Many candidate supplies at once."""

    static: FloatArray  # [Pa] (n)
    loss: FloatArray  # [Pa] at REFERENCE_FLOW (n)
    exponent: FloatArray  # [-] (n)
    outlet: FloatArray  # [Pa/(m³/s)²] open outlets' loss (n, outlets)

    @property
    def factor(self) -> FloatArray:
        """Loss factor of the curve [Pa/(m³/s)^exponent]."""
        return np.asarray(self.loss / REFERENCE_FLOW**self.exponent)

    def pressure(self, flow: float | FloatArray) -> FloatArray:
        """Pressure at the entry [Pa] at one flow [m³/s] or one for each supply."""
        return np.asarray(self.static - self.loss * (flow / REFERENCE_FLOW) ** self.exponent)

    def flow(self, pressure: float) -> FloatArray:
        """Flow [m³/s] at which the entry still has a pressure [Pa]; 0 where static is less."""
        left = np.maximum(self.static - pressure, 0.0)
        return np.asarray(REFERENCE_FLOW * (left / self.loss) ** (1 / self.exponent))

    def take(self, rows: NDArray[np.intp]) -> "Supplies":
        """Pick rows."""
        return Supplies(self.static[rows], self.loss[rows], self.exponent[rows], self.outlet[rows])


@dataclass(frozen=True, slots=True)
class SupplyPrior:
    """Medians and spreads of a yard's supply before measuring."""

    static: float  # [Pa]
    static_spread: float
    static_stated: bool
    loss: float  # [Pa] at REFERENCE_FLOW
    loss_spread: float
    bores: tuple[float, ...]  # [m] of the open outlets measured through
    exponent: float = EXPONENT  # [-] median; a pump's curve brings its own

    @property
    def size(self) -> int:
        """Number of coordinates."""
        return 3 + len(self.bores)

    def supplies(self, z: FloatArray) -> Supplies:
        """Turn standard coordinates (n, size) into supplies."""
        jet = np.asarray([open_outlet_loss(1.0, bore=bore, loss_factor=1.0) for bore in self.bores])
        return Supplies(
            static=np.asarray(self.static * np.exp(self.static_spread * z[:, 0])),
            loss=np.asarray(self.loss * np.exp(self.loss_spread * z[:, 1])),
            exponent=_exponent(z[:, 2]) + (self.exponent - EXPONENT),
            outlet=(1 + OUTLET_MEDIAN * np.exp(OUTLET_SPREAD * z[:, 3:])) * jet,
        )

    def log_density(self, z: FloatArray) -> FloatArray:
        """Logarithm of the prior density at standard coordinates (n, size), up to a constant."""
        heavy = -(TAIL + 1) / 2 * np.sum(np.log1p(z[:, :2] ** 2 / TAIL), axis=1)
        light = -0.5 * np.sum(z[:, 2:] ** 2, axis=1)
        return np.asarray(heavy + light)


def _exponent(z: FloatArray) -> FloatArray:
    """Exponent from its standard coordinate: the normal truncated to EXPONENT_RANGE, quantile by quantile."""
    low, high = (special.ndtr((bound - EXPONENT) / EXPONENT_SPREAD) for bound in EXPONENT_RANGE)
    return np.asarray(EXPONENT + EXPONENT_SPREAD * special.ndtri(low + (high - low) * special.ndtr(z)))


def service_bore(yard: Yard, *, catalogue: Catalogue) -> float:
    """True bore of the service pipe [m]: measured, else from the dimension table.

    Errors: InputError when the table has no such size.
    """
    pipe = yard.water_entry.pipe
    if pipe.bore is not None:
        return pipe.bore
    return _table_row(yard, catalogue)[0]


def _table_row(yard: Yard, catalogue: Catalogue) -> tuple[float, float]:
    pipe = yard.water_entry.pipe
    rows = [row for row in catalogue.pipes if row.material == pipe.material]
    for row in rows:
        if row.trade_size == pipe.size:
            return row.inside_diameter, row.roughness
    if pipe.bore is not None and rows:
        return pipe.bore, rows[0].roughness
    sizes = ", ".join(row.trade_size for row in rows) or "none"
    raise InputError(
        f"water_entry.pipe.size: no {pipe.material} pipe of size '{pipe.size}' in the dimension table. "
        f"Sizes there: {sizes}. Or give the measured 'bore'."
    )


def supply_prior(yard: Yard, *, catalogue: Catalogue) -> SupplyPrior:
    """Centre the prior on the yard's service data.

    Errors: InputError when the pipe or meter size is not in the catalogue.
    """
    entry = yard.water_entry
    if entry.well is not None:
        return _well_prior(yard, entry.well, catalogue)
    bore = service_bore(yard, catalogue=catalogue)
    _, roughness = _table_row(yard, catalogue)
    spread, meter_factor = LOSS_SPREAD**2, 0.0
    if entry.meter is None:
        spread += NO_METER_SPREAD**2
    elif entry.meter.size in catalogue.meters:
        meter_factor = catalogue.meters[entry.meter.size].loss.factor
    else:
        raise InputError(f"water_entry.meter.size: no meter of size '{entry.meter.size}' in the catalogue")
    if entry.pipe.bore is None:
        spread += NO_BORE_SPREAD**2
    loss = service_line_loss(
        REFERENCE_FLOW,
        length=entry.pipe.length,
        bore=bore,
        roughness=roughness,
        fittings=SERVICE_FITTINGS,
        meter_factor=meter_factor,
        temperature=entry.temperature,
    )
    stated = entry.street_pressure is not None and entry.street_pressure > 0
    return SupplyPrior(
        static=entry.street_pressure if entry.street_pressure else TOWN_PRESSURE,
        static_spread=STREET_SPREAD if stated else TOWN_SPREAD,
        static_stated=stated,
        loss=loss,
        loss_spread=float(np.sqrt(spread)),
        bores=_outlet_bores(yard.supply, bore),
    )


def well_curve(yard: Yard, well: Well) -> tuple[float, float, float]:
    """Shutoff pressure [Pa], factor [Pa/(m³/s)^exponent] and exponent [-] of a well pump at the tank.

    Errors: InputError for points that do not fall.
    """
    shutoff, factor, exponent = fit_falling_curve([p.flow for p in well.curve], [p.pressure for p in well.curve])
    lift = 0.0 if well.water_level is None else yard.water_entry.height - well.water_level
    return shutoff - yard.water_entry.weight * lift, factor, exponent


def _well_prior(yard: Yard, well: Well, catalogue: Catalogue) -> SupplyPrior:
    """Centre the prior on a pump's curve, less the pipe from its tank to the entry."""
    bore = service_bore(yard, catalogue=catalogue)
    shutoff, factor, exponent = well_curve(yard, well)
    return SupplyPrior(
        static=shutoff,
        static_spread=WELL_SPREAD,
        static_stated=True,
        loss=factor * REFERENCE_FLOW**exponent + tank_line_loss(REFERENCE_FLOW, yard=yard, catalogue=catalogue),
        loss_spread=WELL_LOSS_SPREAD,
        bores=_outlet_bores(yard.supply, bore),
        exponent=exponent,
    )


def tank_line_loss(flow: float, *, yard: Yard, catalogue: Catalogue) -> float:
    """Pressure [Pa] lost between a well's tank and the entry at a flow [m³/s]."""
    return service_line_loss(
        flow,
        length=yard.water_entry.pipe.length,
        bore=service_bore(yard, catalogue=catalogue),
        roughness=_table_row(yard, catalogue)[1],
        fittings=SERVICE_FITTINGS,
        temperature=yard.water_entry.temperature,
    )


def _outlet_bores(measurements: list[Measurement], bore: float) -> tuple[float, ...]:
    """Distinct bores of the open outlets; the service pipe's own first, which further fills may run through."""
    open_outlets = [
        m.outlet_bore or bore
        for m in measurements
        if isinstance(m, BucketFill) or (isinstance(m, MeterReading) and m.pressure == 0)
    ]
    return tuple(dict.fromkeys(open_outlets or [bore]))
