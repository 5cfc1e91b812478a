"""Every measurement reduced to a flow and a pressure at the entry's height, for drawing and for explaining."""

import numpy as np

from rillwright.model.parts import Catalogue
from rillwright.model.plan import MeasuredPoint
from rillwright.model.site import BucketFill, FlowingGauge, MeterReading, StaticGauge, Yard
from rillwright.physics.supply import bucket_flow, bucket_flow_error, open_outlet_loss
from rillwright.physics.units import System, show
from rillwright.solvers.supply.prior import OUTLET_MEDIAN, OUTLET_SPREAD, service_bore
from rillwright.solvers.supply.readings import METER_CLOCK_ERROR

__all__ = ["measured_points"]


def measured_points(yard: Yard, *, catalogue: Catalogue) -> tuple[MeasuredPoint, ...]:
    """Reduce the yard's measurements; each bucket fill of a set is a point of its own.

    Errors: InputError for sizes the catalogue lacks or measurements without a time.
    """
    bore = service_bore(yard, catalogue=catalogue)
    counts: dict[str, int] = {}
    points: list[MeasuredPoint] = []
    for item in yard.supply:
        for seconds in item.seconds if isinstance(item, BucketFill) else [0.0]:
            counts[item.kind] = counts.get(item.kind, 0) + 1
            label = f"{item.kind} {counts[item.kind]}"
            if isinstance(item, BucketFill):
                points.append(_fill(yard, item, label, seconds, item.outlet_bore or bore))
            elif isinstance(item, MeterReading):
                points.append(_meter(yard, item, label, item.outlet_bore or bore))
            else:
                points.append(_gauge(yard, item, label))
    return tuple(points)


def _rise(yard: Yard, height: float | None) -> float:
    return 0.0 if height is None else height - yard.water_entry.height


def _at_outlet(flow: float, bore: float, lift: float) -> tuple[float, float]:
    """Pressure at the entry that lifts the flow to an open outlet and through it, and its standard error."""
    jet = open_outlet_loss(flow, bore=bore, loss_factor=1.0)
    return lift + jet * (1 + OUTLET_MEDIAN), jet * OUTLET_MEDIAN * OUTLET_SPREAD


def _outlet_inputs(bore: float, rise: float, system: System) -> dict[str, str]:
    return {
        "outlet bore": show(bore, "bore", system),
        "outlet over the entry": show(rise, "length", system),
        "outlet loss": f"{1 + OUTLET_MEDIAN:g} velocity heads",
    }


def _fill(yard: Yard, item: BucketFill, label: str, seconds: float, bore: float) -> MeasuredPoint:
    rise = _rise(yard, item.outlet_height)
    flow = bucket_flow(item.volume, seconds=seconds, start_delay=item.start_delay)
    pressure, pressure_error = _at_outlet(flow, bore, yard.water_entry.weight * rise)
    return MeasuredPoint(
        label=label,
        flow=flow,
        flow_error=bucket_flow_error(
            item.volume,
            seconds=seconds,
            start_delay=item.start_delay,
            volume_error=item.volume_error,
            time_error=item.time_error,
            start_delay_error=item.start_delay_error if item.start_delay > 0 else 0.0,
        ),
        pressure=pressure,
        pressure_error=pressure_error,
        formula="flow = volume / (seconds - start delay); pressure = rise of the outlet + outlet loss",
        inputs={
            "volume": show(item.volume, "volume", yard.units),
            "seconds": show(seconds, "time", yard.units),
            "start delay": show(item.start_delay, "time", yard.units),
            **_outlet_inputs(bore, rise, yard.units),
        },
    )


def _meter(yard: Yard, item: MeterReading, label: str, bore: float) -> MeasuredPoint:
    rise = _rise(yard, item.height)
    flow = bucket_flow(item.volume, seconds=item.seconds)
    pressure, pressure_error = item.pressure + yard.water_entry.weight * rise, item.pressure_error
    formula = "flow = volume / seconds; pressure = gauge + its rise over the entry"
    inputs = {"gauge": show(item.pressure, "pressure", yard.units), "rise": show(rise, "length", yard.units)}
    if item.pressure == 0:
        pressure, pressure_error = _at_outlet(flow, bore, yard.water_entry.weight * rise)
        formula = "flow = volume / seconds; pressure = rise of the outlet + outlet loss"
        inputs = _outlet_inputs(bore, rise, yard.units)
    return MeasuredPoint(
        label=label,
        flow=flow,
        flow_error=flow * float(np.hypot(item.volume_error, METER_CLOCK_ERROR / item.seconds)),
        pressure=pressure,
        pressure_error=pressure_error,
        formula=formula,
        inputs={
            "volume": show(item.volume, "volume", yard.units),
            "seconds": show(item.seconds, "time", yard.units),
            **inputs,
        },
    )


def _gauge(yard: Yard, item: StaticGauge | FlowingGauge, label: str) -> MeasuredPoint:
    rise = _rise(yard, item.height)
    flow, flow_error = (item.flow, item.flow * item.flow_error) if isinstance(item, FlowingGauge) else (0.0, 0.0)
    return MeasuredPoint(
        label=label,
        flow=flow,
        flow_error=flow_error,
        pressure=item.pressure + yard.water_entry.weight * rise,
        pressure_error=item.pressure_error,
        formula="pressure = gauge + its rise over the entry",
        inputs={
            "gauge": show(item.pressure, "pressure", yard.units),
            "rise": show(rise, "length", yard.units),
            "flow": show(flow, "flow", yard.units),
        },
    )
