"""What the measurements say and cannot say, in plain sentences in the yard's units."""

import numpy as np
from numpy.typing import NDArray

from rillwright.model.site import Yard
from rillwright.physics.units import from_system, show, to_system, unit_name
from rillwright.solvers.supply.fit import SupplyFit
from rillwright.solvers.supply.outlook import band
from rillwright.solvers.supply.readings import VolumeReading

__all__ = ["cannot_say", "doubts", "says"]

FloatArray = NDArray[np.float64]

_NOTABLE = 2.5  # standard errors from which a stray reading or pipe is named
_KERNEL = 0.02  # width of the static pressures counted as 'this pressure', as a share


def says(fit: SupplyFit, *, pressure: float, yard: Yard) -> tuple[str, ...]:
    """Sentences on what is known: the first idea confronted, the flow at the pressure, and what disagrees."""
    sentences = [_at_pressure(fit, pressure, yard)]
    if fit.basis == "flow measured, static assumed":
        sentences.append(_by_static(fit, pressure, yard))
    return (*sentences, *doubts(fit, yard=yard))


def doubts(fit: SupplyFit, *, yard: Yard) -> tuple[str, ...]:
    """Sentences on what calls for a second look: readings at odds, and service data that the readings contradict."""
    return (*_disagreement(fit), *_service_doubts(fit, yard))


def cannot_say(fit: SupplyFit, *, pressure: float, yard: Yard) -> tuple[str, ...]:
    """Sentences on what is not known, each with what would tell."""
    if yard.water_entry.well is not None:
        return _well_unknowns(fit)
    low, median, high = band(fit.static)
    span = f"{_pressure(low, yard)} to {_pressure(high, yard)}"
    sentences = []
    if fit.basis in ("flow measured, static assumed", "assumed"):
        origin = "stated by the supplier" if fit.prior.static_stated else "taken from what towns usually supply"
        sentences.append(
            f"Nobody has measured the static pressure here; it is {origin} and may lie anywhere from {span}. "
            "Without it no open-pipe flow says how much pressure is left while water runs: a gauge on a hose tap "
            "with nothing running settles it in a minute."
        )
    if fit.basis in ("static measured only", "assumed"):
        sentences.append(
            "No flow has been measured; the loss in the service pipe is computed from its length and bore and from "
            "the meter, and the pipe in the street and a half-closed stop are unknown. A static pressure alone says "
            "nothing of the flow."
        )
    if median > pressure > low:
        sentences.append(
            f"Whether the static pressure reaches the needed {_pressure(pressure, yard)} at all is not certain."
        )
    sentences.append(
        "Readings hold for the hour they were taken: early in the morning, when neighbours water too, the street may "
        "give less. A reading then is worth more than one at noon."
    )
    return tuple(sentences)


def _well_unknowns(fit: SupplyFit) -> tuple[str, ...]:
    sentences = []
    if fit.basis == "pump's curve":
        sentences.append(
            "No flow has been measured: the pump's printed curve is taken to hold within a few per cent, and pumps "
            "wear. A gauge reading while a known flow runs for some minutes, the pump on, settles it."
        )
    return (
        *sentences,
        "How much the well itself yields is not known here: over a long run its level may fall, and with it the "
        "pressure. Read gauge and bucket after as long a run as a night of watering, at the driest time of the year.",
    )


def _pressure(value: float, yard: Yard) -> str:
    return show(value, "pressure", yard.units)


def _flow(value: float, yard: Yard) -> str:
    return show(value, "flow", yard.units)


def _at_pressure(fit: SupplyFit, pressure: float, yard: Yard) -> str:
    open_readings = [reading for reading in fit.readings if isinstance(reading, VolumeReading)]
    low, median, high = band(fit.flows(pressure))
    wanted = _pressure(pressure, yard)
    if open_readings:
        flow = float(np.mean([reading.flow for reading in open_readings]))
        first = f"With the outlet wide open {_flow(flow, yard)} ran, but at no pressure: that is no headroom."
    else:
        flow = float(np.median(fit.flows(0.0)))
        first = f"With the outlet wide open about {_flow(flow, yard)} would run, but at no pressure."
    if median <= 0:
        static = _pressure(float(np.median(fit.static)), yard)
        return f"{first} The static pressure of about {static} does not reach the needed {wanted}: no flow is left."
    return (
        f"{first} At the {wanted} that this plan needs at the water entry only {_flow(median, yard)} remain "
        f"(90 % band {_flow(low, yard)} to {_flow(high, yard)})."
    )


def _by_static(fit: SupplyFit, pressure: float, yard: Yard) -> str:
    """Flow at the pressure for a few static pressures; draws near each count by closeness."""
    step = 10.0 if yard.units == "US" else 100.0
    low, _, high = (to_system(value, "pressure", yard.units) for value in band(fit.static))
    if high - low < 2 * step:
        step /= 2
    rows = step * np.arange(np.ceil(low / step), np.ceil(high / step) + 1)
    flows = fit.flows(pressure)
    parts = []
    for value in rows:
        static = from_system(value, "pressure", yard.units)
        if static <= pressure:
            parts.append(f"{value:.0f} {unit_name('pressure', yard.units)}: none")
            continue
        weights = np.exp(-0.5 * (np.log(fit.static / static) / _KERNEL) ** 2)
        ratio = flows / np.maximum(fit.static - pressure, 1e-9) ** (1 / fit.exponent)
        here = ratio * (static - pressure) ** (1 / fit.exponent)
        median = _weighted_median(here[fit.static > pressure], weights[fit.static > pressure])
        parts.append(f"{value:.0f} {unit_name('pressure', yard.units)}: {_flow(median, yard)}")
    return (
        f"What flow keeps the needed {_pressure(pressure, yard)} hangs on the static pressure, which nobody measured. "
        f"If it is {'; '.join(parts)}."
    )


def _weighted_median(values: FloatArray, weights: FloatArray) -> float:
    order = np.argsort(values)
    running = np.cumsum(weights[order])
    return float(values[order][np.searchsorted(running, running[-1] / 2)])


def _disagreement(fit: SupplyFit) -> list[str]:
    strain = fit.strain
    strays = np.abs(strain.readings)
    if not strain.readings or (strain.widening == 1 and strays.max() < _NOTABLE):
        return []
    worst = int(np.argmax(strays))
    label = fit.readings[worst].label
    text = f"{label[0].upper()}{label[1:]} disagrees with all the rest by {strays[worst]:.1f} standard errors."
    level = [r.label for i, r in enumerate(fit.readings) if i != worst and strays[i] > 0.8 * strays[worst]]
    if level:
        text += f" It may as well be {' or '.join(level)} that is at fault."
    if strain.widening > 1:
        text += f" The stated errors cannot explain it, so all were taken {strain.widening:.1f} times as wide."
    return [text + " Repeat it, with every other tap closed, before you trust the band."]


def _service_doubts(fit: SupplyFit, yard: Yard) -> list[str]:
    sentences = []
    if abs(fit.strain.loss) > _NOTABLE:
        ratio = float(np.median(fit.supplies.loss)) / fit.prior.loss
        cause = (
            "look for a half-closed stop, a pressure regulator or a smaller pipe than written"
            if ratio > 1
            else "the pipe may be wider or shorter than written"
        )
        source = "service pipe's data suggest"
        if yard.water_entry.well is not None:
            cause, source = "look at the pump's name plate, for wear, and for a valve half shut", "pump's curve says"
        sentences.append(f"The measurements show {ratio:.1f} times the pressure loss that the {source}: {cause}.")
    if fit.prior.static_stated and abs(fit.strain.static) > _NOTABLE:
        stated = _pressure(fit.prior.static, yard)
        origin = "stated street pressure" if yard.water_entry.well is None else "pump's stated shutoff pressure"
        sentences.append(f"The measurements do not fit the {origin} of {stated}; they count for more.")
    return sentences
