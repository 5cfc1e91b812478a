"""What a zone can hardly do: flows far from the plan's, cups that hold too much, turns that a stem does not have."""

import statistics
from collections.abc import Iterator

from shapely.geometry import Point

from rillwright.jobs.asked.question import Known, Question
from rillwright.model.field_log import CatchCups, Entry, HeadPressure, ValveSetting, Written, ZoneStart, zone_flow
from rillwright.model.plan import Plan, Zone

__all__ = ["zone_questions"]

_FLOW = (0.3, 2.0)  # share of the planned flow outside which a zone's flow is doubted; judgement
_LOW = 0.15  # share of a head's planned pressure; judgement
_RATE = (0.2, 3.0)  # share of the planned precipitation outside which cups are doubted; judgement
_ONE_CUP = 6.0  # times the median of its cups; judgement
_BLURRED = 0.5  # of its cups' middle depth, over which an error is doubted; judgement
_OFF = 1.0  # [m] off the lawns that a cup may stand
_TURNS = 20.0  # turns in from wide open that stems of flow controls hardly have; judgement
_LONG = 4 * 3600.0  # [s] that a zone is hardly run for cups; judgement


def zone_questions(entry: Entry, known: Known) -> Iterator[Question]:
    """Questions on what one zone did."""
    what = entry.what
    if isinstance(what, ValveSetting) and what.turns > _TURNS:
        figure, why = f"{what.turns:.1f} turns in", f"stems of flow controls hardly have {_TURNS:.0f} turns"
        yield Question("turns of a stem", figure, why, "Write whole turns and parts, not degrees.")
    if isinstance(what, CatchCups):
        yield from _of_cups(what, known)
    metered = zone_flow(what)
    if known.plan is None:
        return
    yield from _low(what, known.plan, known)
    if metered is not None:
        yield from _of_flow(metered.zone, metered.volume / metered.seconds, 0.0, known.plan, known)
    elif isinstance(what, ZoneStart | ValveSetting) and what.flow is not None:
        turns = what.turns if isinstance(what, ValveSetting) else 0.0
        yield from _of_flow(what.zone, what.flow, turns, known.plan, known)


def _low(what: Written, plan: Plan, known: Known) -> Iterator[Question]:
    """Pressures at heads, wide open, that are a slip of the decimals or of the unit under the plan's."""
    read = [(gauge.at, gauge.pressure) for gauge in what.pressures] if isinstance(what, ZoneStart) else []
    if isinstance(what, HeadPressure):
        read = [(what.head, what.pressure)]
    planned = {head.id: head.pressure for head in plan.heads}
    for name, pressure in read:
        if name in planned and pressure < _LOW * planned[name]:
            figure = f"{known.show(pressure, 'pressure')} at {name}"
            why = f"the plan has {known.show(planned[name], 'pressure')} there, and so little hardly lifts a head"
            yield Question("low pressure", figure, why, "Look at the gauge and its unit, and whether the zone ran.")


def _zone(name: str, plan: Plan) -> Zone | None:
    return next((zone for zone in plan.zones if zone.id == name), None)


def _of_flow(name: str, flow: float, turns: float, plan: Plan, known: Known) -> Iterator[Question]:
    zone = _zone(name, plan)
    if zone is None:
        return
    share, (low, high) = flow / zone.flow, _FLOW
    if share > high or (share < low and turns == 0):
        yield Question(
            "flow of a zone",
            f"{known.show(flow, 'flow')} by {name}",
            f"the plan has {known.show(zone.flow, 'flow')}: {share:.1f} times that is more than a head or a valve amiss"
            if share > high
            else f"the plan has {known.show(zone.flow, 'flow')}: so little is hardly a zone wide open",
            "Look at the flow, or volume and time, and their units, and whether anything else ran.",
        )


def _of_cups(what: CatchCups, known: Known) -> Iterator[Question]:
    depths = what.depths
    middle = statistics.median(depths)
    if what.ran > _LONG:
        figure, why = f"ran {known.show(what.ran, 'hours')}", "cups are set out for minutes, not for a night"
        yield Question("long run", figure, why, "Look at the unit of the time.")
    if middle > 0 and max(depths) > _ONE_CUP * middle:
        figure = f"one cup with {known.show(max(depths), 'depth')}, the middle one with {known.show(middle, 'depth')}"
        yield Question("one cup", figure, "no place gets so much more", "Look at that cup's figure.")
    error = max((error for error in what.errors if error is not None), default=0.0)
    if error > _BLURRED * middle > 0:
        figure = f"cups read to {known.show(error, 'depth')}, the middle one holds {known.show(middle, 'depth')}"
        yield Question("error of cups", figure, "cups that say nothing", "Look at the unit of the error.")
    yield from _rate_of_cups(what, sum(depths) / len(depths), known)
    if known.ground is not None:
        lawn = known.ground.kinds["lawn"].buffer(_OFF)
        off = [cup.at for cup in what.cups if not lawn.covers(Point(cup.at))]
        if off:
            at = ", ".join(known.show(value, "length") for value in off[0])
            figure = f"{len(off)} of {len(depths)} cups off the lawns, the first at {at}"
            yield Question("cups off the lawn", figure, "they judge no lawn", "Look at their places and units.")


def _rate_of_cups(what: CatchCups, mean: float, known: Known) -> Iterator[Question]:
    zone = _zone(what.zone, known.plan) if known.plan else None
    if zone is None or what.ran <= 0 or mean <= 0:
        return
    share, (low, high) = mean / what.ran / zone.precipitation, _RATE
    if not low <= share <= high:
        yield Question(
            "rate of cups",
            f"{known.show(mean / what.ran, 'rate')} in the mean",
            f"the plan has {known.show(zone.precipitation, 'rate')} in {zone.id}",
            "Look at the time, and at depth or volume and the cups' mouth.",
        )
