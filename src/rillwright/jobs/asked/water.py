"""Flows and pressures that pipes and supply can hardly have."""

import math
from collections.abc import Iterator
from itertools import pairwise

from scipy import optimize

from rillwright.errors import InputError
from rillwright.jobs.asked.question import GAUGES, HIGHEST_MAIN, Known, Question
from rillwright.model.field_log import (
    Entry,
    HeadPressure,
    LeakWatch,
    MeterPair,
    SupplyTest,
    ValveSetting,
    ZoneStart,
    supply_tests,
    zone_flow,
)
from rillwright.model.ground_readings import NOTHING
from rillwright.model.site import BucketFill, FlowingGauge, Measurement, MeterReading, StaticGauge, WaterEntry, Yard
from rillwright.physics.supply import bucket_flow, open_outlet_loss, service_line_loss
from rillwright.physics.units import LPM
from rillwright.solvers.supply.prior import service_bore

__all__ = ["most_flow", "water_questions"]

_SCATTER = 1.3  # longest of the repeats of a fill over the shortest, from which one is doubted; judgement
_DRY = 0.5  # of a fill's time before water came, from which it is doubted; judgement
_UNLIKE = 2.0  # times the nearest flow into the open; judgement
_DAYS = 20e3  # [Pa] standard deviation of a main's pressure from day to day, about 3 psi; judgement
_IDLE = 4 * LPM  # through a meter while nothing runs: more is a tap left open, not a leak; judgement
_SMOOTH = 1.5e-6  # [m] roughness of drawn tube: no pipe of that bore lets more through
_WARMER = 10.0  # [K] change of water in a closed pipe during a watch; judgement
_RISE = 1.25  # of the first pressure in a leak watch; judgement


def most_flow(yard: Yard, *, bore: float, static: float) -> float:
    """Most flow [m³/s] that a service pipe can pass: smooth, its end open, no meter and no bend in it.

    static = friction(flow) + one velocity head, by Brent's method. Parameters: bore [m]; static [Pa].
    """

    def short(flow: float) -> float:
        line = service_line_loss(flow, length=yard.water_entry.pipe.length, bore=bore, roughness=_SMOOTH)
        return line + open_outlet_loss(flow, bore=bore, loss_factor=1.0) - static

    fastest = math.pi / 4 * bore**2 * math.sqrt(2 * static / 990.0)
    return float(optimize.brentq(short, 1e-9, 1.01 * fastest))


def water_questions(entry: Entry, known: Known) -> Iterator[Question]:
    """Questions on flows, times and pressures."""
    too_much = [question for title, flow in _flows(entry) for question in _over_pipe(title, flow, known)]
    yield from too_much
    what = entry.what
    if isinstance(what, SupplyTest):
        yield from _of_test(what.measurement, known)
    for _, test in () if too_much else supply_tests([entry]):
        yield from _against_others(test, known)
    if isinstance(what, MeterPair):
        yield from _of_register(entry, what, known)
    if isinstance(what, MeterPair) and what.running == NOTHING and what.volume / what.seconds > _IDLE:
        ran = known.show(what.volume / what.seconds, "flow")
        why = "that is no leak of a few drops: something ran"
        yield Question("meter at rest", f"{ran} with nothing running", why, "Shut all taps and read the meter again.")
    elif isinstance(what, LeakWatch):
        yield from _of_watch(what, known)
    for place, pressure, error in _pressures(entry):
        yield from _over_static(place, pressure, error, known)


def _flows(entry: Entry) -> Iterator[tuple[str, float]]:
    """Every flow that an entry says ran through the service pipe [m³/s]."""
    what = entry.what
    metered = zone_flow(what)
    if metered is not None:
        yield f"{metered.zone} took", metered.volume / metered.seconds
    elif isinstance(what, ZoneStart | ValveSetting) and what.flow is not None:
        yield f"{what.zone} took", what.flow
    elif isinstance(what, SupplyTest):
        yield from _flow_of(what.measurement)
    else:
        for _, test in supply_tests([entry]):
            yield from _flow_of(test)


def _flow_of(test: Measurement) -> Iterator[tuple[str, float]]:
    if isinstance(test, FlowingGauge):
        yield "ran while the gauge was read:", test.flow
    elif isinstance(test, MeterReading) and test.seconds > 0:
        yield "went through the meter:", test.volume / test.seconds
    elif isinstance(test, BucketFill):
        for seconds in test.seconds:
            try:
                yield "into the bucket:", bucket_flow(test.volume, seconds=seconds, start_delay=test.start_delay)
            except InputError:
                continue  # asked on its own


def _over_pipe(title: str, flow: float, known: Known) -> Iterator[Question]:
    if known.yard is None or known.yard.water_entry.well is not None:
        return
    try:
        bore = service_bore(known.yard, catalogue=known.catalogue)
    except InputError:
        return
    static = known.static or HIGHEST_MAIN
    most = most_flow(known.yard, bore=bore, static=static)
    if flow > most:
        pipe = known.yard.water_entry.pipe
        speed = known.show(flow / (math.pi / 4 * bore**2), "velocity")
        yield Question(
            "flow over pipe",
            f"{title} {known.show(flow, 'flow')}",
            f"{known.show(pipe.length, 'length')} of {pipe.size} {pipe.material} pass at most "
            f"{known.show(most, 'flow')} at {known.show(static, 'pressure')}, its end open; in it this is {speed}",
            "Look at the flow, or volume and time, and their units, and whether the service pipe in the yard is right.",
        )


def _of_test(test: Measurement, known: Known) -> Iterator[Question]:
    if isinstance(test, BucketFill):
        yield from _of_fill(test, known)
    elif isinstance(test, StaticGauge):
        yield from _of_static(test, known)
    elif isinstance(test, FlowingGauge) and known.static is not None:
        yield from _over_static("the water entry", test.pressure, test.pressure_error, known)


def _of_fill(test: BucketFill, known: Known) -> Iterator[Question]:
    shortest, longest = min(test.seconds), max(test.seconds)
    if test.start_delay >= shortest:
        start, short = known.show(test.start_delay, "time"), known.show(shortest, "time")
        why = f"a fill took {short} in all, so that no time is left to fill in"
        yield Question("no time to fill", f"{start} before water came", why, "Write the whole time on the clock.")
        return
    if test.start_delay > _DRY * shortest:
        start = known.show(test.start_delay, "time")
        why = f"that is most of a fill of {known.show(shortest, 'time')}"
        yield Question("long start", f"{start} before water came", why, "Look whether it is time on the same clock.")
    if longest - test.start_delay > _SCATTER * (shortest - test.start_delay) + 2 * test.time_error:
        figure = f"fills of {known.show(shortest, 'time')} and {known.show(longest, 'time')}"
        why = "one bucket under one pipe fills in nearly the same time each time"
        yield Question("fills apart", figure, why, "Look for swapped digits, or water drawn elsewhere meanwhile.")


def _against_others(test: Measurement, known: Known) -> Iterator[Question]:
    """Of flows into the open the nearest, of gauges that pressure falls as the flow grows."""
    flow = _free_flow(test)
    others = [other for one in known.readings if _bore(one) == _bore(test) and (other := _free_flow(one))]
    if flow and others:
        near = min(others, key=lambda other: abs(math.log(other / flow)))
        if not 1 / _UNLIKE <= near / flow <= _UNLIKE:
            yield Question(
                "open flow apart",
                f"{known.show(flow, 'flow')} into the open",
                f"the nearest reading so far ran {known.show(near, 'flow')}; one pipe does not give so unlike flows",
                "Look at volume and time, and write how far the outlet's valve stood open when it was not wide open.",
            )
    if isinstance(test, FlowingGauge) and known.yard is not None:
        yield from _against_gauges(test, known.yard.water_entry, known)


def _against_gauges(test: FlowingGauge, entry: WaterEntry, known: Known) -> Iterator[Question]:
    for other in known.readings:
        if not isinstance(other, FlowingGauge) or other.flow == test.flow:
            continue
        heights = [entry.height if one.height is None else one.height for one in (test, other)]
        more = test.pressure - other.pressure + entry.weight * (heights[0] - heights[1])
        error = math.hypot(test.pressure_error, other.pressure_error, _DAYS)
        if more * (test.flow - other.flow) > 0 and abs(more) > GAUGES * error:
            yield Question(
                "pressure against flow",
                f"{known.show(test.pressure, 'pressure')} at {known.show(test.flow, 'flow')}",
                f"another has {known.show(other.pressure, 'pressure')} at {known.show(other.flow, 'flow')}, and "
                "pressure falls as the flow grows",
                "Look whether pressure and flow were read at the same moment, and at their units.",
            )
            return


def _free_flow(test: Measurement) -> float | None:
    """Flow [m³/s] that ran into the open; None of other readings."""
    if isinstance(test, BucketFill) or (isinstance(test, MeterReading) and test.pressure == 0):
        flows = [flow for _, flow in _flow_of(test)]
        return sum(flows) / len(flows) if flows else None
    return None


def _bore(test: Measurement) -> float | None:
    """Bore [m] of the outlet, where it was written."""
    return test.outlet_bore if isinstance(test, BucketFill | MeterReading) else None


def _of_register(entry: Entry, what: MeterPair, known: Known) -> Iterator[Question]:
    """A meter only counts up: what was read later is not less."""
    pairs = [(one.made, one.what) for one in known.log if isinstance(one.what, MeterPair)]
    made = entry.when or entry.made
    wrong = [pair for then, pair in pairs if (pair.after > what.before if then < made else pair.before < what.after)]
    if wrong:
        figure = f"the meter at {known.show(what.before, 'volume')} and {known.show(what.after, 'volume')}"
        other = f"{known.show(wrong[0].before, 'volume')} and {known.show(wrong[0].after, 'volume')}"
        why = f"at another time it was read at {other}, and a meter only counts up"
        yield Question("meter register", figure, why, "Look at the digits, the unit, and the time of this reading.")


def _of_static(test: StaticGauge, known: Known) -> Iterator[Question]:
    yard = known.yard
    if test.pressure > HIGHEST_MAIN:
        figure = known.show(test.pressure, "pressure")
        why = f"a main hardly ever has over {known.show(HIGHEST_MAIN, 'pressure')}"
        yield Question("pressure of a main", figure, why, "Look at the gauge's unit.")
    if yard is None:
        return
    entry, told = yard.water_entry, []
    for other in known.readings:
        if isinstance(other, StaticGauge):
            heights = [entry.height if one.height is None else one.height for one in (test, other)]
            apart = test.pressure - other.pressure + entry.weight * (heights[0] - heights[1])
            error = math.hypot(test.pressure_error, other.pressure_error, _DAYS)
            told.append((abs(apart) / error, apart, other.pressure))
    if told and min(told)[0] > GAUGES:
        _, apart, pressure = min(told)
        yield Question(
            "static pressure apart",
            f"{known.show(test.pressure, 'pressure')} with nothing running",
            f"{known.show(abs(apart), 'pressure')} {'more' if apart > 0 else 'less'} than the nearest reading so far, "
            f"{known.show(pressure, 'pressure')}, at one height; days and gauges do not differ so",
            "Look whether something ran, whether the main's stop is wholly open, and read again.",
        )


def _of_watch(what: LeakWatch, known: Known) -> Iterator[Question]:
    first = what.readings[0].pressure
    for before, after in pairwise(what.readings):
        if before.water is not None and after.water is not None and abs(after.water - before.water) > _WARMER:
            figure = f"water from {known.show(before.water, 'temperature')} to {known.show(after.water, 'temperature')}"
            why = "buried pipe does not warm or cool so fast"
            yield Question("water temperature", figure, why, "Read the water, not the air or a pipe in the sun.")
            break
    highest = max(look.pressure for look in what.readings)
    if highest > _RISE * first and highest - first > 2 * GAUGES * what.pressure_error:
        figure = f"from {known.show(first, 'pressure')} up to {known.show(highest, 'pressure')}"
        why = "a closed pipe gains pressure only when it warms or a valve lets water in"
        yield Question("pressure rose", figure, why, "See that the valve before the closed pipes is tight.")


def _pressures(entry: Entry) -> Iterator[tuple[str, float, float]]:
    """Pressures read while water ran, with place and standard error [Pa]."""
    what = entry.what
    if isinstance(what, HeadPressure):
        yield what.head, what.pressure, what.pressure_error
    elif isinstance(what, ZoneStart | ValveSetting):
        for gauge in what.pressures:
            yield gauge.at, gauge.pressure, gauge.pressure_error


def _over_static(place: str, pressure: float, error: float, known: Known) -> Iterator[Question]:
    """No place has more than the standing pressure there."""
    if known.static is None or known.yard is None:
        return
    entry = known.yard.water_entry
    spots = {} if known.plan is None else {head.id: head.ground for head in known.plan.heads}
    drop = entry.weight * (entry.height - spots[place]) if place in spots else 0.0
    most = known.static + known.boost + max(drop, 0.0)
    if pressure > most + GAUGES * error:
        yield Question(
            "pressure over static",
            f"{known.show(pressure, 'pressure')} at {place} while water ran",
            f"standing water has at most {known.show(most, 'pressure')} there",
            "Look at the gauge and its unit; if it is so, the supply's own reading is too low: take it again.",
        )
