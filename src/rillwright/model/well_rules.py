"""Rules that a yard with a well must keep."""

from collections.abc import Iterator

from rillwright.errors import InputError, Problem
from rillwright.model.pumps import Well
from rillwright.model.site import MeterReading, StaticGauge, Yard
from rillwright.physics.pumps import fit_falling_curve
from rillwright.physics.units import show

__all__ = ["well_problems"]

_PATH = "water_entry.well"


def well_problems(yard: Yard) -> Iterator[Problem]:
    """What does not go with a well, and what a well cannot be."""
    entry = yard.water_entry
    if entry.well is None:
        return
    for name in ("meter", "street_pressure", "booster"):
        if getattr(entry, name) is not None:
            yield Problem(f"water_entry.{name}", "stands beside a 'well'", "Leave one of the two out")
    yield from _switch(entry.well, yard)
    if (entry.well.drawdown is None) == (entry.well.tank is None):
        said = "both 'drawdown' and 'tank'" if entry.well.tank else "neither 'drawdown' nor 'tank'"
        yield Problem(_PATH, said, "Write the drawdown stated on the tank, or the tank's volume and precharge")
    for i, one in enumerate(yard.supply):
        if isinstance(one, StaticGauge):
            do = "Leave it out: with nothing running a gauge reads the tank. Read it at a flow, the pump running"
            yield Problem(f"supply[{i}]", "a static gauge beside a 'well'", do)
        if isinstance(one, MeterReading):
            do = "Use 'bucket fill' or 'gauge at a flow', after the pump has run some minutes"
            yield Problem(f"supply[{i}]", "a meter reading beside a 'well'", do)


def _switch(well: Well, yard: Yard) -> Iterator[Problem]:
    low, high = (show(p, "pressure", yard.units) for p in (well.cut_in, well.cut_out))
    if not 0 < well.cut_in < well.cut_out:
        yield Problem(f"{_PATH}.cut_out", f"{high}, and 'cut_in' is {low}", "The pump must stop higher than it starts")
    try:
        shutoff, _, _ = fit_falling_curve([p.flow for p in well.curve], [p.pressure for p in well.curve])
    except InputError:
        do = "Each point of a larger flow must have less pressure"
        yield Problem(f"{_PATH}.curve", "does not fall", do)
        return
    lift = 0.0 if well.water_level is None else yard.water_entry.height - well.water_level
    reaches = shutoff - yard.water_entry.weight * lift
    if reaches <= well.cut_out:
        said = f"the pump reaches {show(reaches, 'pressure', yard.units)} at the tank, under 'cut_out' of {high}"
        yield Problem(f"{_PATH}.curve", said, "It would never stop: check the curve, 'water_level' and the switch")
    if well.tank is not None and well.tank.precharge > well.cut_in:
        said = f"{show(well.tank.precharge, 'pressure', yard.units)}, over 'cut_in' of {low}"
        yield Problem(f"{_PATH}.tank.precharge", said, "Set it a little under cut-in, about 14 kPa (2 psi)")
