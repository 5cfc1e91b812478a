"""All readings together: the supply, the roughness and the nozzles as they turn out to be.

Statement. Unknown are the supply's coordinates (solvers/supply/prior.py), a factor on roughness, fittings and each
device, and one on the flow of each head class, all standard normal before measuring (solvers/certainty/spreads.py).
What readings of the supply and of zones with their flow control wide open show is compared with what z foretells,

    least of  sum of rho((shown - foretold(z))/error)² + sum of rho(z of static and loss)² + sum of z² of the rest,

rho the residual of Student's t in 4 degrees of freedom, so that one reading gone wrong does not drag all with it.
Solved by trust-region least squares with slopes from one batch of networks; bands from the curvature at the best point.
Nozzles as made and heights are each head's own and count as error of the readings. Source: Gauss and Newton; normal law
about the best point, Bishop, Pattern Recognition and Machine Learning (2006) 4.4, from memory.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy import optimize

from rillwright.errors import SolverError
from rillwright.model.plan import Head
from rillwright.model.pumps import BoosterPump
from rillwright.model.site import HeadClass
from rillwright.physics.units import GRAVITY
from rillwright.solvers.certainty import YardDraws
from rillwright.solvers.certainty.spreads import (
    CHART_SPREAD,
    DEVICE_SPREAD,
    FITTINGS_MEDIAN,
    FITTINGS_SPREAD,
    NOZZLE_SPREAD,
    ROUGHNESS_SPREAD,
)
from rillwright.solvers.startup import FLOW, Fault, Gauge, StartModel, simulate
from rillwright.solvers.supply import SupplyFit, boosted
from rillwright.solvers.supply.prior import TAIL, Supplies

__all__ = ["Recalibrated", "ZoneReading", "recalibrate"]

Floats = NDArray[np.float64]

HEIGHT_ERROR = 0.10  # [m] of a gauge's head over the entry; judgement
_DEVICES = 3
_STEP = 1e-3
_FAR = 30.0  # standard deviations beyond which nothing is sought


@dataclass(frozen=True, slots=True)
class ZoneReading:
    """A zone with its flow control wide open, and what its gauges showed."""

    model: StartModel
    gauges: tuple[Gauge, ...]


@dataclass(frozen=True, slots=True)
class Recalibrated:
    """The unknowns after all readings."""

    names: tuple[str, ...]  # of the unknowns
    best: Floats  # (unknowns,) standard coordinates
    covariance: Floats  # (unknowns, unknowns)
    strays: tuple[float, ...]  # standard errors by which each reading strays, supply readings first
    draws: YardDraws  # the yard after all readings

    @property
    def told(self) -> dict[str, float]:
        """Share of each unknown's spread that the readings took away."""
        spread = 1 - np.sqrt(np.minimum(np.diag(self.covariance), 1.0))
        return dict(zip(self.names, (float(v) for v in spread), strict=True))


def recalibrate(
    fit: SupplyFit,
    zones: Sequence[ZoneReading],
    draws: YardDraws,
    *,
    heads: Sequence[Head],
    booster: BoosterPump | None,
    seed: int = 0,
) -> Recalibrated:
    """Fit all unknowns to all readings.

    Parameters: fit, whose readings count as well, before a booster pump; zones; draws of the yard, which bring what
    each head has of its own; heads of the plan; booster, the yard's pump; seed.
    Errors: SolverError when the search ends nowhere.
    """
    problem = _Problem(fit, tuple(zones), draws, tuple(heads), booster)
    start = np.zeros(len(problem.names))

    def slopes(z: Floats) -> Floats:
        rows = problem.residuals(np.concatenate([z[None], z + _STEP * np.eye(len(z))]))
        return np.asarray((rows[1:] - rows[0]).T / _STEP)

    found = optimize.least_squares(
        lambda z: problem.residuals(z[None])[0], start, jac=slopes, bounds=(-_FAR, _FAR), xtol=1e-6, ftol=1e-8
    )
    if not found.success:
        raise SolverError("the readings together led to no best fit: report the log with its plan")
    slope = slopes(found.x)
    covariance = np.linalg.inv(slope.T @ slope)
    dice = np.random.default_rng([seed, 9])
    drawn = dice.multivariate_normal(found.x, covariance, size=draws.count, method="cholesky")
    return Recalibrated(
        names=problem.names,
        best=np.asarray(found.x),
        covariance=np.asarray(covariance),
        strays=tuple(float(v) for v in problem.misses(found.x[None])[0]),
        draws=problem.yard(drawn, own=True),
    )


@dataclass(frozen=True, slots=True)
class _Problem:
    """What the search evaluates."""

    fit: SupplyFit
    zones: tuple[ZoneReading, ...]
    draws: YardDraws
    heads: tuple[Head, ...]
    booster: BoosterPump | None

    @property
    def classes(self) -> tuple[HeadClass, ...]:
        return tuple(sorted({head.head_class for head in self.heads}))

    @property
    def names(self) -> tuple[str, ...]:
        supply = ("static pressure", "loss in the supply", "exponent", *("outlet",) * (self.fit.prior.size - 3))
        devices = ("backflow device", "zone valve", "further devices")
        return (*supply, "roughness", "fittings", *devices, *(f"flow of {kind} nozzles" for kind in self.classes))

    def residuals(self, z: Floats) -> Floats:
        """Residuals (n, readings + unknowns) whose squares the search makes least."""
        prior = z.copy()
        prior[:, :2] = _tailed(z[:, :2])
        return np.concatenate([_tailed(self.misses(z)), prior], axis=1)

    def misses(self, z: Floats) -> Floats:
        """Standard errors (n, readings) by which z misses each reading."""
        supplies = self.fit.prior.supplies(z[:, : self.fit.prior.size])
        columns = []
        for reading in self.fit.readings:
            foretold = reading.predict(supplies)
            error = np.sqrt(foretold.variance + foretold.shared**2) * self.fit.strain.widening
            columns.append((foretold.mean - reading.value) / error)
        yard = self.yard(z, own=False)
        for zone in self.zones:
            shown = simulate(zone.model, yard, [Fault("as planned")] * len(z))
            heads = zone.model.zone.heads
            places = (FLOW, "entry", "valve", *(head.id for head in heads))
            for gauge in zone.gauges:
                k = places.index(gauge.column)
                made = NOZZLE_SPREAD / len(heads) ** 0.5 * gauge.value if gauge.column == FLOW else 0.0
                height = 1000 * GRAVITY * HEIGHT_ERROR if k > 2 else 0.0
                columns.append((shown[:, k] - gauge.value) / np.sqrt(gauge.error**2 + made**2 + height**2))
        return np.column_stack(columns) if columns else np.zeros((len(z), 0))

    def yard(self, z: Floats, *, own: bool) -> YardDraws:
        """The yard at z (n, unknowns); with what each head has of its own, or without."""
        size, count = self.fit.prior.size, len(z)
        shared = z[:, size:]
        kinds = {kind: 1 + CHART_SPREAD * shared[:, 2 + _DEVICES + k] for k, kind in enumerate(self.classes)}
        changed = replace(
            self.draws,
            supplies=self._supplies(z[:, :size]),
            roughness=np.exp(ROUGHNESS_SPREAD * shared[:, 0]),
            fittings=FITTINGS_MEDIAN * np.exp(FITTINGS_SPREAD * shared[:, 1]),
            devices=np.exp(DEVICE_SPREAD * shared[:, 2 : 2 + _DEVICES]),
            nozzle={head.id: kinds[head.head_class] * self._own(head, count, own=own) for head in self.heads},
            chart=kinds,
        )
        if own:
            return changed
        middle = float(np.median(self.draws.temperature))
        return replace(
            changed,
            need=np.zeros(count),  # its length is the number of draws
            temperature=np.full(count, middle),
            rise=_filled(self.draws.rise, 0.0, count),
            control=_filled(self.draws.control, 1.0, count),
            house=_filled(self.draws.house, 0.0, count),
            regulator=_filled(self.draws.regulator, 1.0, count),
            moment=_filled(self.draws.moment, 0.5, count),
        )

    def _own(self, head: Head, count: int, *, own: bool) -> Floats:
        """What a head's nozzle has of its own beside its chart."""
        if not own:
            return np.ones(count)
        return np.asarray(self.draws.nozzle[head.id] / self.draws.chart[head.head_class])

    def _supplies(self, z: Floats) -> Supplies:
        supplies = self.fit.prior.supplies(z)
        if self.booster is None:
            return supplies
        return boosted(replace(self.fit, supplies=supplies), pump=self.booster).supplies


def _filled(names: Mapping[str, Floats], value: float, count: int) -> dict[str, Floats]:
    return {name: np.full(count, value) for name in names}


def _tailed(miss: Floats) -> Floats:
    """Residual whose square is twice the minus-log density of Student's t in TAIL degrees of freedom."""
    return np.asarray(np.sign(miss) * np.sqrt((TAIL + 1) * np.log1p(miss**2 / TAIL)))
