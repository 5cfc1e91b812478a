"""Fit the supply curve to any mix of measurements, none included."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtrc

from rillwright.errors import InputError
from rillwright.model.parts import Catalogue
from rillwright.model.plan import MeasuredPoint
from rillwright.model.site import Yard
from rillwright.solvers.supply.points import measured_points
from rillwright.solvers.supply.posterior import best_point, hessian, sample
from rillwright.solvers.supply.prior import Supplies, SupplyPrior, service_bore, supply_prior
from rillwright.solvers.supply.readings import GaugeReading, Reading, joint_log_likelihood, readings_of

__all__ = ["Basis", "Strain", "SupplyFit", "fit_supply"]

FloatArray = NDArray[np.float64]
Basis = Literal[
    "static and flow measured",
    "flow measured, static assumed",
    "static measured only",
    "assumed",
    "pump's curve",
    "pump's curve and flow measured",
]

_DOUBT = 0.01  # chance below which the readings are taken to contradict each other
_ROUNDS = 6  # of widening
_SETTLED = 1.02
_LOOSE = 4.0  # what is assumed before measuring counts this much less when readings are judged against each other


@dataclass(frozen=True, slots=True)
class Strain:
    """How well the readings agree with each other and with the service data."""

    readings: tuple[float, ...]  # standard errors by which each reading strays from what all the rest foretell
    chance: float  # that readings this far apart come from their stated errors alone
    widening: float  # factor that the fit put on all standard errors; 1 when they agree
    loss: float  # standard errors by which the measured loss strays from the computed one
    static: float  # the same for the static pressure


@dataclass(frozen=True, slots=True)
class SupplyFit:
    """The supply as far as it is known: equally likely curves, and what they rest on."""

    supplies: Supplies  # the draws
    readings: tuple[Reading, ...]
    measured: tuple[MeasuredPoint, ...]
    basis: Basis
    strain: Strain
    prior: SupplyPrior
    effective: float  # effective sample size behind the draws

    @property
    def static(self) -> FloatArray:
        """Static pressure at the entry [Pa], one for each draw."""
        return self.supplies.static

    @property
    def factor(self) -> FloatArray:
        """Loss factor [Pa/(m³/s)^exponent], one for each draw."""
        return self.supplies.factor

    @property
    def exponent(self) -> FloatArray:
        """Exponent of the flow [-], one for each draw."""
        return self.supplies.exponent

    def pressures(self, flow: float) -> FloatArray:
        """Pressure at the entry [Pa] at a flow [m³/s], one for each draw."""
        return self.supplies.pressure(flow)

    def flows(self, pressure: float) -> FloatArray:
        """Flow [m³/s] at which the entry still has a pressure [Pa], one for each draw; 0 where static is less."""
        return self.supplies.flow(pressure)


def fit_supply(yard: Yard, catalogue: Catalogue, *, seed: int = 0, draws: int = 4000) -> SupplyFit:
    """Fit the supply curve of a yard.

    Parameters: yard; catalogue; seed; draws, number of equally likely curves, at least 500.
    Returns: the fit; the same for the same input and seed.
    Errors: InputError for sizes the catalogue lacks or measurements without a time; SolverError when the sampling
    degenerates.
    """
    if draws < 500:
        raise InputError(f"{draws} draws are too few for a band: ask for at least 500")
    prior = supply_prior(yard, catalogue=catalogue)
    bore = service_bore(yard, catalogue=catalogue)
    readings = readings_of(yard, bores=prior.bores, service=bore)
    centre, strain = _reconcile(prior, readings, seed)

    def log_density(z: FloatArray) -> FloatArray:
        return _log_density(prior, readings, z, strain.widening)

    posterior = sample(
        log_density,
        centre=centre,
        curvature=hessian(log_density, centre),
        draws=draws,
        seed=seed,
    )
    return SupplyFit(
        supplies=prior.supplies(posterior.draws),
        readings=readings,
        measured=measured_points(yard, catalogue=catalogue),
        basis=_basis(readings, well=yard.water_entry.well is not None),
        strain=strain,
        prior=prior,
        effective=posterior.effective,
    )


def _reconcile(prior: SupplyPrior, readings: Sequence[Reading], seed: int) -> tuple[FloatArray, Strain]:
    """Best point, with the errors widened until the readings agree; the strain tells of the readings as stated."""
    centre = _centre(prior, readings, widening=1.0, seed=seed)
    strain = _strain(prior, readings, centre, widening=1.0)
    for _ in range(_ROUNDS):
        before = strain.widening
        if before > 1:
            centre = _centre(prior, readings, widening=before, seed=seed)
            strain = replace(strain, widening=_strain(prior, readings, centre, widening=before).widening)
        if strain.widening <= _SETTLED * before:
            break
    return centre, strain


def _log_density(prior: SupplyPrior, readings: Sequence[Reading], z: FloatArray, widening: float) -> FloatArray:
    return prior.log_density(z) + joint_log_likelihood(readings, prior.supplies(z), widening=widening)


def _centre(prior: SupplyPrior, readings: Sequence[Reading], *, widening: float, seed: int) -> FloatArray:
    def log_density(z: FloatArray) -> FloatArray:
        return _log_density(prior, readings, z, widening)

    return best_point(log_density, size=prior.size, seed=seed)


def _basis(readings: Sequence[Reading], *, well: bool) -> Basis:
    static = any(isinstance(reading, GaugeReading) and reading.flow == 0 for reading in readings)
    flowing = any(not isinstance(reading, GaugeReading) or reading.flow > 0 for reading in readings)
    if well:
        return "pump's curve and flow measured" if flowing else "pump's curve"
    if static:
        return "static and flow measured" if flowing else "static measured only"
    return "flow measured, static assumed" if flowing else "assumed"


def _strain(prior: SupplyPrior, readings: Sequence[Reading], centre: FloatArray, *, widening: float) -> Strain:
    """Judge every reading by what the rest foretell, in the linear model at the best point.

    With predictions C = J·Jᵀ + errors (times `widening`), the residual of reading i against all others is
    (C⁻¹y)_i / (C⁻¹)_ii with variance 1/(C⁻¹)_ii. The assumed static pressure and the computed loss count little here:
    they are judged on their own, against all readings.
    """
    if not readings:
        return Strain((), 1.0, 1.0, 0.0, 0.0)
    jacobian, errors, residual = _linear_model(prior, readings, centre)
    loose = np.ones(prior.size)
    loose[:2] = _LOOSE
    inverse = np.linalg.inv(jacobian * loose**2 @ jacobian.T + errors * widening**2)
    offset = residual + jacobian @ centre
    pulled = inverse @ offset
    square = float(offset @ pulled)
    chance = float(chdtrc(len(readings), square))
    if chance < _DOUBT:
        widening *= float(np.sqrt(square / len(readings)))
    own = []
    for column in (1, 0):
        others = loose.copy()
        others[column] = 0.0
        gradient = jacobian[:, column]
        cover = np.linalg.inv(jacobian * others**2 @ jacobian.T + errors * widening**2)
        information = float(gradient @ cover @ gradient)
        estimate = float(gradient @ cover @ offset) / max(information, 1e-12)
        own.append(float(estimate / np.sqrt(1 + 1 / max(information, 1e-12))))
    strays = tuple(float(v) for v in pulled / np.sqrt(np.diag(inverse)))
    return Strain(strays, chance, widening, *own)


def _linear_model(
    prior: SupplyPrior, readings: Sequence[Reading], centre: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Slopes (m, size), error covariance (m, m) and residuals (m,) of the readings at a point."""
    step = 1e-4
    move = step * np.eye(prior.size)
    supplies = prior.supplies(np.vstack([centre, centre + move, centre - move]))
    means, own, shared = [], [], []
    for reading in readings:
        prediction = reading.predict(supplies)
        means.append(prediction.mean)
        own.append(prediction.variance[0])
        shared.append(prediction.shared[0])
    mean = np.asarray(means)
    jacobian = (mean[:, 1 : prior.size + 1] - mean[:, prior.size + 1 :]) / (2 * step)
    marks = np.asarray([reading.shares for reading in readings])
    errors = np.diag(own) + np.outer(shared, shared) * (marks[:, None] == marks[None, :])
    residual = np.asarray([reading.value for reading in readings]) - mean[:, 0]
    return jacobian, errors, residual
