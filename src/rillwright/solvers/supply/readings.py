"""Measurements as the fit sees them: what a supply would have shown, and how far a reading strays from it.

Two kinds cover all: a gauge at a flow (0 for a static gauge), and the time an open outlet takes to give a volume
(bucket fills and meter readings). Errors that come back in every repeat, such as a bucket's mark, are shared.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rillwright.errors import InputError
from rillwright.model.site import BucketFill, FlowingGauge, MeterReading, StaticGauge, Yard
from rillwright.physics.supply import bucket_flow, open_outlet_flow
from rillwright.solvers.supply.prior import REFERENCE_FLOW, Supplies

__all__ = [
    "LEAST_TIME_ERROR",
    "LEAST_VOLUME_ERROR",
    "METER_CLOCK_ERROR",
    "GaugeReading",
    "Prediction",
    "Reading",
    "VolumeReading",
    "joint_log_likelihood",
    "readings_of",
    "shared_error",
]

FloatArray = NDArray[np.float64]

LEAST_GAUGE_ERROR = 500.0  # [Pa] no instrument is exact: smaller stated errors, 0 among them, count as these
LEAST_VOLUME_ERROR = 0.002  # share
LEAST_TIME_ERROR = 0.02  # [s]
METER_CLOCK_ERROR = 0.5  # [s] between the two looks at the meter
_LEAST_FLOW = 1e-9  # [m³/s] stands for 'no water comes'


class Prediction(NamedTuple):
    """What each of many supplies would have shown."""

    mean: FloatArray  # in the unit of the reading
    variance: FloatArray  # of this reading's own error
    shared: FloatArray  # shift for one standard error of what it shares with other readings


@dataclass(frozen=True, slots=True)
class GaugeReading:
    """Pressure at a gauge while a flow runs."""

    label: str
    value: float  # [Pa]
    error: float  # [Pa] standard
    flow: float  # [m³/s]
    flow_error: float  # share
    lift: float  # [Pa] of standing water from the entry up to the gauge
    shares: str = ""

    def predict(self, supplies: Supplies) -> Prediction:
        """Pressure that each supply would show."""
        mean = supplies.pressure(self.flow) - self.lift
        slope = supplies.exponent * (supplies.static - supplies.pressure(self.flow))
        return Prediction(mean, self.error**2 + (slope * self.flow_error) ** 2, np.zeros_like(mean))


@dataclass(frozen=True, slots=True)
class VolumeReading:
    """Time in which an open outlet gives a volume; the mean of the repeats."""

    label: str
    value: float  # [s]
    error: float  # [s] standard error of the mean
    volume: float  # [m³]
    volume_error: float  # share, common to all readings that share the mark
    start_delay: float  # [s]
    start_delay_error: float  # [s]
    lift: float  # [Pa] of standing water from the entry up to the outlet
    outlet: int  # column of Supplies.outlet
    shares: str  # name of the mark

    @property
    def flow(self) -> float:
        """Flow that the reading itself shows [m³/s]."""
        return bucket_flow(self.volume, seconds=self.value, start_delay=self.start_delay)

    def predict(self, supplies: Supplies) -> Prediction:
        """Time that each supply would take."""
        flow = open_outlet_flow(
            supplies.static - self.lift,
            loss=supplies.loss,
            reference_flow=REFERENCE_FLOW,
            exponent=supplies.exponent,
            outlet_factor=supplies.outlet[:, self.outlet],
        )
        filling = self.volume / np.maximum(flow, _LEAST_FLOW)
        own = np.full_like(filling, self.error**2 + self.start_delay_error**2)
        return Prediction(self.start_delay + filling, own, filling * self.volume_error)


Reading = GaugeReading | VolumeReading


def readings_of(yard: Yard, *, bores: tuple[float, ...], service: float) -> tuple[Reading, ...]:
    """Turn a yard's measurements into readings; labels count each kind from 1.

    Parameters: yard; bores [m] of the open outlets, in the order of Supplies.outlet; service [m] bore of the pipe.
    Errors: InputError when a fill or a meter reading leaves no time.
    """
    counts: dict[str, int] = {}
    readings: list[Reading] = []
    for item in yard.supply:
        counts[item.kind] = counts.get(item.kind, 0) + 1
        label = f"{item.kind} {counts[item.kind]}"
        if isinstance(item, BucketFill):
            lift = _lift(yard, item.outlet_height)
            readings.append(_fill(item, label, lift, bores.index(item.outlet_bore or service)))
        elif isinstance(item, MeterReading):
            lift = _lift(yard, item.height)
            readings.append(_meter(item, label, lift, bores, service))
        else:
            readings.append(_gauge(item, label, _lift(yard, item.height)))
    return tuple(readings)


def _lift(yard: Yard, height: float | None) -> float:
    return 0.0 if height is None else yard.water_entry.weight * (height - yard.water_entry.height)


def _gauge(item: StaticGauge | FlowingGauge, label: str, lift: float) -> GaugeReading:
    flow, flow_error = (item.flow, item.flow_error) if isinstance(item, FlowingGauge) else (0.0, 0.0)
    return GaugeReading(label, item.pressure, max(item.pressure_error, LEAST_GAUGE_ERROR), flow, flow_error, lift)


def _fill(item: BucketFill, label: str, lift: float, outlet: int) -> VolumeReading:
    for seconds in item.seconds:
        bucket_flow(item.volume, seconds=seconds, start_delay=item.start_delay)
    times = np.asarray(item.seconds)
    scatter = float(np.std(times, ddof=1)) if len(times) > 2 else 0.0
    return VolumeReading(
        label=label,
        value=float(np.mean(times)),
        error=max(item.time_error, scatter, LEAST_TIME_ERROR) / len(times) ** 0.5,
        volume=item.volume,
        volume_error=max(item.volume_error, LEAST_VOLUME_ERROR),
        start_delay=item.start_delay,
        start_delay_error=item.start_delay_error if item.start_delay > 0 else 0.0,
        lift=lift,
        outlet=outlet,
        shares=f"bucket of {item.volume:.6g}",
    )


def _meter(item: MeterReading, label: str, lift: float, bores: tuple[float, ...], service: float) -> Reading:
    if item.seconds <= 0:
        raise InputError(f"{label}: 'seconds' is 0. Write the seconds between the two looks at the meter.")
    volume_error = max(item.volume_error, LEAST_VOLUME_ERROR)
    if item.pressure > 0:
        flow, error = item.volume / item.seconds, max(item.pressure_error, LEAST_GAUGE_ERROR)
        flow_error = float(np.hypot(volume_error, METER_CLOCK_ERROR / item.seconds))
        return GaugeReading(label, item.pressure, error, flow, flow_error, lift)
    return VolumeReading(
        label=label,
        value=item.seconds,
        error=METER_CLOCK_ERROR,
        volume=item.volume,
        volume_error=volume_error,
        start_delay=0.0,
        start_delay_error=0.0,
        lift=lift,
        outlet=bores.index(item.outlet_bore or service),
        shares="meter",
    )


def joint_log_likelihood(readings: Sequence[Reading], supplies: Supplies, *, widening: float = 1.0) -> FloatArray:
    """Logarithm of the likelihood of all readings for each supply (n), up to a constant.

    Readings that share a mark are correlated: the shared error is integrated out by the matrix determinant lemma.
    Parameters: readings; supplies; widening [-], factor on all standard errors.
    """
    total = np.zeros_like(supplies.static)
    for mark in dict.fromkeys(reading.shares for reading in readings):
        square, weight, cross = (np.zeros_like(total) for _ in range(3))
        for reading in readings:
            if reading.shares != mark:
                continue
            mean, variance, shared = reading.predict(supplies)
            variance, shared = variance * widening**2, shared * widening
            residual = reading.value - mean
            square += residual**2 / variance
            weight += shared**2 / variance
            cross += residual * shared / variance
            total -= 0.5 * np.log(variance)
        total -= 0.5 * (square - cross**2 / (1 + weight) + np.log1p(weight))
    return total


def shared_error(
    readings: Sequence[Reading], supplies: Supplies, *, mark: str, widening: float = 1.0
) -> tuple[FloatArray, FloatArray]:
    """What the readings tell, supply by supply, of the error they share: mean and variance in standard errors (n)."""
    weight, cross = np.zeros_like(supplies.static), np.zeros_like(supplies.static)
    for reading in readings:
        if reading.shares == mark and isinstance(reading, VolumeReading):
            mean, variance, shared = reading.predict(supplies)
            weight += shared**2 / variance
            cross += (reading.value - mean) * shared / variance / widening
    return cross / (1 + weight), 1 / (1 + weight)
