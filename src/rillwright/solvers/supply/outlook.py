"""Which measurement of the supply to take next, and what each would show under each of the equally likely supplies."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from rillwright.model.certainty import NextMeasurement
from rillwright.model.site import BucketFill, StaticGauge, Yard
from rillwright.physics.units import GALLON, from_system, show, to_system, unit_name
from rillwright.solvers.preposterior import Candidate, Quantity, rank_measurements
from rillwright.solvers.supply.fit import SupplyFit
from rillwright.solvers.supply.prior import Supplies
from rillwright.solvers.supply.readings import (
    LEAST_TIME_ERROR,
    LEAST_VOLUME_ERROR,
    METER_CLOCK_ERROR,
    GaugeReading,
    Reading,
    VolumeReading,
    shared_error,
)

__all__ = ["band", "next_measurements", "supply_candidates"]

FloatArray = NDArray[np.float64]

_FILLS = 3
_METER_SECONDS = 300.0
_FLOW_ERROR = 0.05  # share, of a flow timed by bucket
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
    name = f"flow that keeps {show(pressure, 'pressure', yard.units)} at the entry"
    flow = Quantity(name, "flow", fit.flows(pressure))
    candidates = supply_candidates(fit, yard, supplies=fit.supplies, flows=(), seed=seed)
    return rank_measurements(candidates, [flow], seed=seed)


def supply_candidates(
    fit: SupplyFit, yard: Yard, *, supplies: Supplies, flows: Sequence[tuple[str, float]], seed: int
) -> list[Candidate]:
    """What each measurement of the supply would show.

    Parameters: fit; yard; supplies, draws of the fit; flows, each a flow [m³/s] to read a gauge at and words for it,
    half the open flow when none is given; seed.
    """
    rng = np.random.default_rng([seed, 3])
    widening = fit.strain.widening
    found = []
    for what, reading in _readings(fit, yard, flows):
        mean, variance, shared = reading.predict(supplies)
        centre, spread = shared_error(fit.readings, supplies, mark=reading.shares, widening=widening)
        drawn = centre + np.sqrt(spread) * rng.standard_normal(len(mean))
        found.append(Candidate(what, "supply", mean + shared * widening * drawn, np.sqrt(variance) * widening))
    return found


def _readings(fit: SupplyFit, yard: Yard, flows: Sequence[tuple[str, float]]) -> list[tuple[str, Reading]]:
    static, open_flow = float(np.median(fit.static)), float(np.median(fit.flows(0.0)))
    half = _round_flow(0.5 * open_flow, yard)
    gauge = float(StaticGauge.model_fields["pressure_error"].default)
    found: list[tuple[str, Reading]] = []
    timed = "timed by bucket, the pump running"
    if yard.water_entry.well is None:
        found.append((_static_words(fit), GaugeReading("", static, gauge, 0.0, 0.0, 0.0)))
        timed = "timed by bucket or read off the meter"
    for words, flow in flows or [(f"{_whole(half, yard)} running", half)]:
        what = f"Gauge reading with {words} (flow {timed})"
        found.append((what, GaugeReading("", static, gauge, flow, _FLOW_ERROR, 0.0)))
    found.append(_fills(fit, yard, open_flow))
    if yard.water_entry.meter is not None:
        volume = open_flow * _METER_SECONDS
        what = "Meter reading over 5 minutes with the outlet wide open"
        found.append((what, VolumeReading("", 0.0, METER_CLOCK_ERROR, volume, 0.015, 0.0, 0.0, 0.0, 0, "meter")))
    return found


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
