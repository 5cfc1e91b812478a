"""What an entry of the field log says, in a line."""

from collections.abc import Iterable

from rillwright.model.field_log import (
    CatchCups,
    Entry,
    HeadLook,
    HeadPressure,
    LeakWatch,
    MeterPair,
    MoneyPaid,
    PartFitted,
    PartsBought,
    PartsReturned,
    PipeBuried,
    Repair,
    SoilIntake,
    SpotLevel,
    SupplyTest,
    Ticked,
    TrenchWork,
    ValveSetting,
    WaterUsed,
    WinterWork,
    ZoneFlow,
    ZoneStart,
    ZoneWalk,
)
from rillwright.model.ground_readings import NOTHING
from rillwright.model.site import BucketFill, FlowingGauge, Measurement, MeterReading
from rillwright.physics.units import System, show

__all__ = ["entry_kind", "entry_words"]


def entry_kind(entry: Entry) -> str:
    """Kind of an entry; of a supply test that of its measurement."""
    what = entry.what
    return what.measurement.kind if isinstance(what, SupplyTest) else what.kind


def entry_words(entry: Entry, system: System) -> str:
    """Its figures in a system's units, without its words.

    Parameters: entry; system. Returns: a line; empty for a note.
    """
    what = entry.what
    if isinstance(what, SupplyTest):
        place = [f"at {what.outlet}"] if what.outlet else []
        valve = [f"its valve {show(what.valve_open, 'share', system)} open"] if what.valve_open < 1 else []
        return ", ".join([_test(what.measurement, system), *place, *valve])
    if isinstance(what, ZoneStart | ValveSetting):
        return _running(what, system)
    if isinstance(what, CatchCups):
        depths = _row((show(depth, "depth", system) for depth in what.depths), 8)
        return f"{what.zone}, ran {show(what.ran, 'minutes', system)}: {depths}{_read_to(what, system)}"
    if isinstance(what, LeakWatch):
        looks = _row(
            (f"{show(k.pressure, 'pressure', system)} after {show(k.after, 'minutes', system)}" for k in what.readings),
            6,
        )
        return f"{_row(what.closed_in, 6)}: {looks}"
    if isinstance(what, SoilIntake):
        last = what.readings[-1]
        ring = show(what.ring, "bore", system)
        return f"{show(last.soaked, 'depth', system)} in {show(last.after, 'minutes', system)}, ring {ring} wide"
    if isinstance(what, PartsBought):
        whole = ["the whole parts list"] if what.whole_list else []
        return _row([*whole, *(part.part for part in what.parts)], 6)
    if isinstance(what, PartsReturned):
        return f"back: {_row((part.part for part in what.parts), 6)}"
    if isinstance(what, MoneyPaid):
        return f"{what.of}: {what.amount:.2f}{' came back' if what.back else ''}"
    if isinstance(what, WaterUsed):
        return f"{show(what.volume, 'season volume', system)} from {what.since} to {what.until}"
    if isinstance(what, Repair):
        return f"{what.of}: {what.done}"
    return _short(entry, system)


def _read_to(what: CatchCups, system: System) -> str:
    errors = sorted({error for error in what.errors if error is not None})
    return f", each to {' or '.join(show(error, 'bore', system) for error in errors)}" if errors else ""


def _short(entry: Entry, system: System) -> str:
    what = entry.what
    if isinstance(what, HeadPressure):
        return f"{show(what.pressure, 'pressure', system)} at {what.head}, by {what.by}"
    if isinstance(what, HeadLook):
        return f"{what.head}: {what.seen}"
    if isinstance(what, ZoneWalk):
        return f"{what.zone}: {what.seen}" + (f" at {what.head}" if what.head else "")
    if isinstance(what, ZoneFlow):
        return f"{what.zone}: {show(what.volume, 'volume', system)} in {show(what.seconds, 'time', system)}"
    if isinstance(what, MeterPair):
        ran = "nothing ran" if what.running == NOTHING else f"{what.running} ran"
        return f"{ran}: {show(what.volume, 'volume', system)} in {show(what.seconds, 'minutes', system)}"
    if isinstance(what, SpotLevel):
        place = ", ".join(show(value, "length", system) for value in what.place)
        return f"{show(what.height, 'length', system)} at {place}"
    if isinstance(what, PipeBuried):
        return f"{what.pipe}: {show(what.depth, 'depth', system)} to its top"
    if isinstance(what, PartFitted):
        deep = "" if what.depth is None else f": {show(what.depth, 'depth', system)} deep"
        return f"{what.part} {what.name}{deep}"
    if isinstance(what, TrenchWork):
        return f"{_row(what.trenches, 6)}: {what.state}"
    if isinstance(what, Ticked):
        return f"{what.item}: {'done' if what.done else 'not done'}"
    if isinstance(what, WinterWork):
        return f"{what.zone}: {what.done}" if what.zone else what.done
    return ""


def _running(what: ZoneStart | ValveSetting, system: System) -> str:
    turns = [f"{what.turns:g} turns in"] if isinstance(what, ValveSetting) else []
    flow = [] if what.flow is None else [show(what.flow, "flow", system)]
    gauges = [f"{show(one.pressure, 'pressure', system)} at {one.at}" for one in what.pressures]
    return f"{what.zone}: {', '.join([*turns, *flow, *gauges])}"


def _test(given: Measurement, system: System) -> str:
    if isinstance(given, BucketFill):
        times = _row((show(one, "time", system) for one in given.seconds), 6)
        start = f", {show(given.start_delay, 'time', system)} of it before water came" if given.start_delay else ""
        return f"{show(given.volume, 'volume', system)} in {times}{start}"
    if isinstance(given, MeterReading):
        return f"{show(given.volume, 'volume', system)} in {show(given.seconds, 'time', system)}"
    at = f"at {show(given.flow, 'flow', system)}" if isinstance(given, FlowingGauge) else "with nothing running"
    return f"{show(given.pressure, 'pressure', system)} {at}"


def _row(words: Iterable[str], most: int) -> str:
    listed = list(words)
    more = [f"and {len(listed) - most} more"] if len(listed) > most else []
    return ", ".join([*listed[:most], *more])
