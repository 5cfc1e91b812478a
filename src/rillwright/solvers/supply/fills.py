"""What repeated bucket fills say by themselves, whether their outlet held the water back, and what is left at work."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rillwright.model.site import BucketFill
from rillwright.physics.supply import bucket_flow, bucket_flow_error, open_outlet_flow
from rillwright.solvers.supply.fit import SupplyFit
from rillwright.solvers.supply.outlook import band
from rillwright.solvers.supply.prior import REFERENCE_FLOW
from rillwright.solvers.supply.readings import LEAST_TIME_ERROR, LEAST_VOLUME_ERROR, VolumeReading

__all__ = ["FillsFound", "read_fills"]

Band = tuple[float, float, float]
FloatArray = NDArray[np.float64]

THROTTLES = 0.10  # share of the flow that an outlet holds back, from which it is said to throttle; judgement
_NINE_IN_TEN = 1.645  # standard errors


@dataclass(frozen=True, slots=True)
class FillsFound:
    """One bucket test."""

    seconds: float  # [s] mean on the clock
    flow: Band  # [m³/s] by the fills alone: 5 %, 50 % and 95 %
    scatter: float  # [s] standard deviation of the fills; 0 with fewer than three
    expected_scatter: float  # [s] by the stopwatch's stated error
    held_back: Band  # [-] share of the flow that the outlet held back, by the whole fit
    throttled: float  # chance that it held back more than THROTTLES
    bare: Band  # [m³/s] that the pipe would give with nothing at its end


def read_fills(item: BucketFill, reading: VolumeReading, fit: SupplyFit) -> FillsFound:
    """Read a bucket test by itself and by the fit that it is part of.

    Parameters: item; reading, of the fit, made of it; fit. Errors: InputError when a fill leaves no time.
    """
    times = np.asarray(item.seconds)
    mean = float(times.mean())
    scatter = float(np.std(times, ddof=1)) if len(times) > 2 else 0.0
    flow = bucket_flow(item.volume, seconds=mean, start_delay=item.start_delay)
    error = bucket_flow_error(
        item.volume,
        seconds=mean,
        start_delay=item.start_delay,
        repeats=len(times),
        volume_error=max(item.volume_error, LEAST_VOLUME_ERROR),
        time_error=max(item.time_error, scatter, LEAST_TIME_ERROR),
        start_delay_error=item.start_delay_error if item.start_delay > 0 else 0.0,
    )
    bare = fit.flows(0.0)
    held = 1 - _through(reading, fit) / np.maximum(bare, 1e-9)
    return FillsFound(
        seconds=mean,
        flow=(flow - _NINE_IN_TEN * error, flow, flow + _NINE_IN_TEN * error),
        scatter=scatter,
        expected_scatter=max(item.time_error, LEAST_TIME_ERROR),
        held_back=band(held),
        throttled=float((held > THROTTLES).mean()),
        bare=band(bare),
    )


def _through(reading: VolumeReading, fit: SupplyFit) -> FloatArray:
    """Flow [m³/s] through the reading's outlet in each draw, at the entry's own height."""
    supplies = fit.supplies
    return open_outlet_flow(
        supplies.static,
        loss=supplies.loss,
        reference_flow=REFERENCE_FLOW,
        exponent=supplies.exponent,
        outlet_factor=supplies.outlet[:, reading.outlet],
    )
