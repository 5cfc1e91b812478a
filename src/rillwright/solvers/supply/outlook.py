"""Which measurement to take next: how much each would narrow the flow that the supply keeps at a pressure.

For each candidate the reading is simulated under many of the equally likely supplies; each simulated reading weighs
all supplies anew, and the width of the band is averaged: the expected width after measuring.
"""

import numpy as np
from numpy.typing import NDArray

from rillwright.model.plan import NextMeasurement
from rillwright.model.site import BucketFill, StaticGauge, Yard
from rillwright.physics.units import GALLON, from_system, show, to_system, unit_name
from rillwright.solvers.supply.fit import SupplyFit
from rillwright.solvers.supply.readings import (
    LEAST_TIME_ERROR,
    LEAST_VOLUME_ERROR,
    METER_CLOCK_ERROR,
    GaugeReading,
    Reading,
    VolumeReading,
    shared_error,
)

__all__ = ["band", "next_measurements"]

FloatArray = NDArray[np.float64]

_SIMULATED = 64  # readings simulated for each candidate
_FILLS = 3
_METER_SECONDS = 300.0
_LOW, _HIGH = 0.05, 0.95


def band(values: FloatArray) -> tuple[float, float, float]:
    """5 %, 50 % and 95 % quantile."""
    low, median, high = np.quantile(values, (_LOW, 0.5, _HIGH))
    return float(low), float(median), float(high)


def next_measurements(fit: SupplyFit, *, pressure: float, yard: Yard, seed: int = 0) -> tuple[NextMeasurement, ...]:
    """Rank further measurements by the expected width of the 90 % band of the flow at a pressure.

    Parameters: fit; pressure [Pa] at the entry; yard, for its units and instruments; seed.
    Returns: best first.
    """
    flows = fit.flows(pressure)
    low, _, high = band(flows)
    ranked = [
        NextMeasurement(what=what, band_before=high - low, band_after=min(high - low, after))
        for what, reading in _candidates(fit, yard)
        for after in [_expected_band(fit, reading, flows, seed)]
    ]
    return tuple(sorted(ranked, key=lambda item: item.band_after))


def _candidates(fit: SupplyFit, yard: Yard) -> list[tuple[str, Reading]]:
    static, open_flow = float(np.median(fit.static)), float(np.median(fit.flows(0.0)))
    half = _round_flow(0.5 * open_flow, yard)
    gauge = float(StaticGauge.model_fields["pressure_error"].default)
    flowing = f"Gauge reading with {_whole(half, yard)} running (flow timed by bucket or read off the meter)"
    candidates: list[tuple[str, Reading]] = [
        (_static_words(fit), GaugeReading("", static, gauge, 0.0, 0.0, 0.0)),
        (flowing, GaugeReading("", static, gauge, half, 0.05, 0.0)),
        _fills(fit, yard, open_flow),
    ]
    if yard.water_entry.meter is not None:
        volume = open_flow * _METER_SECONDS
        what = "Meter reading over 5 minutes with the outlet wide open"
        reading = VolumeReading("", 0.0, METER_CLOCK_ERROR, volume, 0.015, 0.0, 0.0, 0.0, 0, "meter")
        candidates.append((what, reading))
    return candidates


def _static_words(fit: SupplyFit) -> str:
    again = fit.basis in ("static and flow measured", "static measured only")
    return f"Static {'reading with another gauge' if again else 'gauge reading'}, nothing running in house or yard"


def _round_flow(flow: float, yard: Yard) -> float:
    step = 1.0 if yard.units == "US" else 5.0
    return from_system(max(step, step * round(to_system(flow, "flow", yard.units) / step)), "flow", yard.units)


def _whole(flow: float, yard: Yard) -> str:
    return f"{to_system(flow, 'flow', yard.units):.0f} {unit_name('flow', yard.units)}"


def _fills(fit: SupplyFit, yard: Yard, open_flow: float) -> tuple[str, Reading]:
    """Three more fills of the bucket already used, or of a common one, swung under the running stream."""
    used = [item for item in yard.supply if isinstance(item, BucketFill)]
    volume = used[0].volume if used else (5 * GALLON if yard.units == "US" else 0.020)
    template = used[0] if used else BucketFill(kind="bucket fill", volume=volume, seconds=[volume / open_flow])
    known = [r for r in fit.readings if isinstance(r, VolumeReading) and r.volume == volume]
    reading = VolumeReading(
        label="",
        value=0.0,
        error=max(template.time_error, LEAST_TIME_ERROR) / _FILLS**0.5,
        volume=volume,
        volume_error=max(template.volume_error, LEAST_VOLUME_ERROR),
        start_delay=0.0,
        start_delay_error=0.0,
        lift=known[0].lift if known else 0.0,
        outlet=known[0].outlet if known else 0,
        shares=known[0].shares if known else "bucket",
    )
    word = "Three more" if used else "Three"
    return f"{word} fills of a bucket of {show(volume, 'volume', yard.units)}, swung under the running stream", reading


def _expected_band(fit: SupplyFit, reading: Reading, flows: FloatArray, seed: int) -> float:
    rng = np.random.default_rng(seed)
    order = np.argsort(flows, kind="stable")
    supplies, ordered = fit.supplies.take(order), flows[order]
    widening = fit.strain.widening
    mean, variance, shared = reading.predict(supplies)
    centre, spread = shared_error(fit.readings, supplies, mark=reading.shares, widening=widening)
    mean = mean + shared * widening * (centre + np.sqrt(spread) * rng.standard_normal(len(mean)))
    error = np.sqrt(variance) * widening
    true = np.linspace(0, len(flows) - 1, _SIMULATED).astype(np.intp)
    shown = mean[true] + error[true] * rng.standard_normal(_SIMULATED)
    logs = -0.5 * ((shown[:, None] - mean) / error) ** 2 - np.log(error)
    weights = np.cumsum(np.exp(logs - logs.max(axis=1, keepdims=True)), axis=1)
    weights /= weights[:, -1:]
    low = np.asarray([np.searchsorted(row, _LOW) for row in weights])
    high = np.asarray([np.searchsorted(row, _HIGH) for row in weights])
    return float(np.mean(ordered[np.minimum(high, len(flows) - 1)] - ordered[low]))
