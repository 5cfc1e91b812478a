"""The yearly record of a yard: each season's readings out of the field log, what drifts, and what to replace."""

import math
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from rillwright.model.field_log import (
    CatchCups,
    Entry,
    HeadPressure,
    Repair,
    SupplyTest,
    ValveSetting,
    WaterUsed,
    WinterWork,
    ZoneStart,
    zone_flow,
)
from rillwright.model.plan import Head, Plan, Zone
from rillwright.model.site import StaticGauge
from rillwright.model.yearly import KNOWN, Change, Reading, RepairNote, SeasonSum, Series, Watched, YearlyRecord
from rillwright.physics.units import show
from rillwright.solvers.cups import Cup, cups_alone
from rillwright.solvers.drift import Drift, drift_of

__all__ = ["WORN", "make_record", "season_of"]

WORN = 1.10  # flow over that of the chart at which a nozzle is worn out: common practice, no source
FELL = 0.9  # of what the plan counts on, under which a pressure calls for a look; as checks of the plan
LOST = 0.10  # of DU under what the plan shows; judgement
_SURE = 1.645  # standard errors: nine in ten
_TWICE = 2  # repairs of one thing after which it is to be replaced; judgement


def season_of(day: date, *, southern: bool) -> int:
    """The year that a season is called by; south of the equator it begins in July of the year before."""
    return day.year + (1 if southern and day.month >= 7 else 0)


def make_record(plan: Plan, entries: Iterable[Entry], *, southern: bool = False) -> YearlyRecord:
    """Make the record of a plan from what counts of its field log (model.field_log.standing).

    Of several readings of a thing in one season the first counts, which is the one after the winter. Of catch cups the
    evenness is that of the cups alone. Nothing is concluded from what the plan does not hold.
    """
    told = sorted(entries, key=lambda entry: entry.made)
    book = _Book(plan, told, southern)
    series = tuple(
        _judged(watched, of, dimension, found, plan) for watched, of, dimension, found in book.series() if found
    )
    repairs = tuple(book.repairs())
    pressing = sorted((one for one in series if one.do), key=lambda one: (not one.past_limit, one.crosses or 9999))
    return YearlyRecord(
        seasons=tuple(book.sums()),
        series=series,
        replace=(*(f"{one.of}: {one.do}" for one in pressing), *(f"{note.of}: {note.do}" for note in repairs)),
        repairs=repairs,
        says=tuple(_says(series)),
    )


@dataclass(frozen=True)
class _Book:
    """A plan and its log, read by seasons."""

    plan: Plan
    entries: Sequence[Entry]
    southern: bool

    def _season(self, entry: Entry) -> int:
        """The season that an entry tells of: water used may be written down later."""
        what = entry.what
        return season_of(what.until if isinstance(what, WaterUsed) else entry.made.date(), southern=self.southern)

    def series(self) -> Iterator[tuple[Watched, str, str, list[Reading]]]:
        yield "static pressure", "supply", "pressure", self._static()
        heads = {head.id: head for head in self.plan.heads}
        for zone in self.plan.zones:
            yield "wear", zone.id, "share", self._wear(zone, heads)
            yield "evenness", zone.id, "share", self._evenness(zone)
        for head in heads.values():
            yield "head pressure", head.id, "pressure", self._pressures(head.id)
        yield "water used", "all zones", "season volume", self._water()

    def _first(self, found: Iterable[tuple[int, Reading]]) -> list[Reading]:
        """The first reading of each season, oldest season first."""
        first: dict[int, Reading] = {}
        for season, reading in found:
            first.setdefault(season, reading)
        return [first[season] for season in sorted(first)]

    def _reading(self, entry: Entry, value: float, error: float) -> tuple[int, Reading]:
        season = self._season(entry)
        return season, Reading(season=season, made=entry.made.date(), value=value, error=error)

    def _static(self) -> list[Reading]:
        weight, level = self.plan.yard.water_entry.weight, self.plan.yard.water_entry.height
        return self._first(
            self._reading(
                entry,
                test.pressure + weight * ((level if test.height is None else test.height) - level),
                max(test.pressure_error, 1.0),
            )
            for entry in self.entries
            if isinstance(entry.what, SupplyTest) and isinstance(test := entry.what.measurement, StaticGauge)
        )

    def _pressures(self, head: str) -> list[Reading]:
        return self._first(self._at_heads(head))

    def _at_heads(self, head: str) -> Iterator[tuple[int, Reading]]:
        for entry in self.entries:
            what = entry.what
            if isinstance(what, HeadPressure) and what.head == head:
                yield self._reading(entry, what.pressure, max(what.pressure_error, 1.0))
            elif isinstance(what, (ZoneStart, ValveSetting)):
                for gauge in what.pressures:
                    if gauge.at == head:
                        yield self._reading(entry, gauge.pressure, max(gauge.pressure_error, 1.0))

    def _evenness(self, zone: Zone) -> list[Reading]:
        found = []
        for entry in self.entries:
            what = entry.what
            if isinstance(what, CatchCups) and what.zone == zone.id and any(what.depths):
                cups = [Cup(cup.at, depth) for cup, depth in zip(what.cups, what.depths, strict=True)]
                low, middle, high = cups_alone(cups).du
                found.append(self._reading(entry, middle, max((high - low) / (2 * _SURE), 0.01)))
        return self._first(found)

    def _wear(self, zone: Zone, heads: dict[str, Head]) -> list[Reading]:
        """Flow through the zone over that of its nozzles' charts at the pressures read on the nearest day."""
        own = [heads[name] for name in zone.heads]
        gauges = {head.id: list(self._at_heads(head.id)) for head in own}
        found = []
        for entry in self.entries:
            flow = _flow_of(entry, zone)
            if flow is None:
                continue
            ratios = [
                (near.value / head.pressure, near.error / head.pressure)
                for head in own
                if (near := self._near(entry, gauges[head.id])) is not None and near.value > 0
            ]
            if not ratios:
                continue
            share = sum(ratio for ratio, _ in ratios) / len(ratios)
            error = math.sqrt(sum(e * e for _, e in ratios)) / len(ratios)
            exponents = {used.id: used.exponent for used in self.plan.nozzles}
            expected = sum(head.flow * share ** exponents.get(head.nozzle, 0.5) for head in own)
            value = flow[0] / expected
            found.append(self._reading(entry, value, value * math.hypot(flow[1], 0.5 * error / share)))
        return self._first(found)

    def _near(self, entry: Entry, gauges: Sequence[tuple[int, Reading]]) -> Reading | None:
        """The gauge reading of the same season nearest in days."""
        day = entry.made.date()
        same = [reading for season, reading in gauges if season == self._season(entry)]
        return min(same, key=lambda reading: abs((reading.made - day).days), default=None)

    def _water(self) -> list[Reading]:
        by_season: dict[int, list[WaterUsed]] = defaultdict(list)
        made: dict[int, date] = {}
        for entry in self.entries:
            if isinstance(entry.what, WaterUsed):
                season = self._season(entry)
                by_season[season].append(entry.what)
                made[season] = entry.made.date()
        return [
            Reading(season=season, made=made[season], value=total, error=max(_error_of(used), 1e-3 * total))
            for season, used in sorted(by_season.items())
            if (total := sum(one.volume for one in used)) > 0
        ]

    def sums(self) -> Iterator[SeasonSum]:
        for season, group in groupby(sorted(self.entries, key=self._season), key=self._season):
            entries = list(group)
            whats = [(entry, entry.what) for entry in entries]
            used = [what for _, what in whats if isinstance(what, WaterUsed)]
            mended = [what for _, what in whats if isinstance(what, Repair)]
            work = [(entry.made.date(), what.done) for entry, what in whats if isinstance(what, WinterWork)]
            yield SeasonSum(
                season=season,
                entries=len(entries),
                water=sum(one.volume for one in used) if used else None,
                water_days=sum((one.until - one.since).days for one in used),
                repairs=len(mended),
                repair_cost=sum(one.cost for one in mended),
                drained=max((day for day, done in work if done != "started up"), default=None),
                started=min((day for day, done in work if done == "started up"), default=None),
            )

    def repairs(self) -> Iterator[RepairNote]:
        """What was mended twice or more."""
        found: dict[tuple[str, str], list[int]] = defaultdict(list)
        for entry in self.entries:
            if isinstance(entry.what, Repair) and not entry.what.done.endswith("replaced"):
                found[entry.what.of, entry.what.done].append(self._season(entry))
        for (of, done), seasons in found.items():
            if len(seasons) >= _TWICE:
                yield RepairNote(
                    of=of,
                    times=len(seasons),
                    seasons=tuple(dict.fromkeys(seasons)),
                    do=f"{done} {len(seasons)} times: {_INSTEAD.get(done, 'replace it instead of mending it again')}",
                )


_INSTEAD = {
    "screen cleaned": "look for what feeds it: flush the laterals, or fit a filter before the valve",
    "valve mended": "replace its inside, or the valve",
    "pipe mended": "replace the run; look for roots, wheels or frost over it",
    "wiring mended": "lay the run anew, with gel-filled joints",
    "backflow device mended": "have a licensed tester say whether it is to be replaced",
}


def _error_of(used: Iterable[WaterUsed]) -> float:
    """Standard error of several volumes together [m³], each with its own."""
    return math.hypot(*(one.volume * one.volume_error for one in used))


def _flow_of(entry: Entry, zone: Zone) -> tuple[float, float] | None:
    """Flow [m³/s] through a zone and its standard error as a share."""
    what = entry.what
    metered = zone_flow(what)
    if metered is not None and metered.zone == zone.id:
        return metered.volume / metered.seconds, max(metered.volume_error, 0.005)
    if isinstance(what, (ZoneStart, ValveSetting)) and what.zone == zone.id and what.flow is not None:
        return what.flow, max(what.flow_error, 0.005)
    return None


def _judged(watched: Watched, of: str, dimension: str, found: Sequence[Reading], plan: Plan) -> Series:
    limit, worse_up = _limit(watched, of, plan)
    drift = drift_of([one.season for one in found], [one.value for one in found])
    last = found[-1]
    past = limit is not None and (last.value > limit if worse_up else last.value < limit)
    worsens = drift is not None and drift.sure and (drift.slope > 0) == worse_up and drift.slope != 0
    crosses = None
    if worsens and limit is not None and drift is not None and not past:
        crosses = last.season + math.ceil((limit - last.value) / drift.slope)
    clear = past and limit is not None and abs(last.value - limit) > _SURE * last.error
    return Series(
        watched=watched,
        of=of,
        dimension=dimension,
        readings=tuple(found),
        change=_change(found),
        slope=drift.slope if drift else None,
        low=drift.low if drift else None,
        high=drift.high if drift else None,
        held=drift.held if drift else 0.0,
        limit=limit,
        worse_up=worse_up,
        past_limit=past,
        crosses=crosses,
        verdict=_verdict(found, drift, dimension, plan, past=past, clear=clear, crosses=crosses),
        do=_do(watched, of, plan, clear=clear) if past or crosses is not None else "",
    )


def _limit(watched: Watched, of: str, plan: Plan) -> tuple[float | None, bool]:
    """What a reading is held against, and whether more is worse."""
    if watched == "wear":
        return WORN, True
    if watched == "static pressure":
        return FELL * plan.supply.expected.static, False
    if watched == "head pressure":
        return FELL * next(head.pressure for head in plan.heads if head.id == of), False
    if watched == "evenness":
        zone = next(zone for zone in plan.zones if zone.id == of)
        lawns = {head.lawn for head in plan.heads if head.id in zone.heads}
        shown = [lawn.evenness.du for lawn in plan.lawns if lawn.id in lawns]
        return (min(shown) - LOST if shown else plan.yard.rules.lowest_du), False
    return None, True


def _change(found: Sequence[Reading]) -> Change | None:
    if len(found) < 2:
        return None
    before, now = found[-2:]
    by, error = now.value - before.value, math.hypot(now.error, before.error)
    told = "no clear change" if abs(by) <= _SURE * error else ("more" if by > 0 else "less")
    return Change.model_validate({"by": by, "error": error, "told": told})


def _verdict(
    found: Sequence[Reading],
    drift: Drift | None,
    dimension: str,
    plan: Plan,
    *,
    past: bool,
    clear: bool,
    crosses: int | None,
) -> str:
    def told(value: float) -> str:
        return show(value, dimension, plan.yard.units)

    words = [f"{told(found[-1].value)} in {found[-1].season}"]
    if drift is None:
        words.append("first season: nothing to compare with")
    elif drift.sure:
        words.append(f"drifts by {told(drift.slope)} a year ({told(drift.low)} to {told(drift.high)})")
    elif drift.held < KNOWN:
        words.append(f"{len(found)} seasons cannot tell a drift from chance")
        words += [moved] if (moved := _moved(found, told)) else []
    else:
        words.append("no drift beyond chance")
    if past:
        words.append("past its limit" if clear else "past its limit, within the reading's error")
    elif crosses is not None:
        words.append(f"at its limit about {crosses}")
    return "; ".join(words)


def _moved(found: Sequence[Reading], told: Callable[[float], str]) -> str:
    """How far three seasons and more have come since the first, where that is more than the readings' error."""
    by, error = found[-1].value - found[0].value, math.hypot(found[-1].error, found[0].error)
    if len(found) < 3 or abs(by) <= _SURE * error:
        return ""
    return f"but {told(abs(by))} {'more' if by > 0 else 'less'} than in {found[0].season}, past the readings' error"


def _do(watched: Watched, of: str, plan: Plan, *, clear: bool) -> str:
    if watched == "wear":
        heads = {head.id: head for head in plan.heads}
        zone = next(zone for zone in plan.zones if zone.id == of)
        counted: dict[str, int] = defaultdict(int)
        for name in zone.heads:
            counted[heads[name].nozzle] += 1
        parts = ", ".join(f"{count} x {nozzle}" for nozzle, count in sorted(counted.items()))
        sure = "" if clear else "read again first; then "
        return f"{sure}replace its nozzles ({parts}): they pass more than their charts, or a pipe leaks"
    if watched == "static pressure":
        return "measure the supply anew (gauge at a flow) and re-plan on it; ask the supplier, look at stop valves"
    if watched == "head pressure":
        return "look for a leak, a clogged screen or a half-shut valve in its zone, then start the zone up again"
    return "look at heads that tilt, sink or are clogged; clean the screens, set arcs anew, put out the cups again"


def _says(series: Sequence[Series]) -> Iterator[str]:
    if not series:
        yield "The log holds no reading that comes back each season yet: static gauge, zone starts, cups, water used."
    elif all(len(one.readings) < 4 for one in series):
        yield "A drift is told from chance with four seasons or more; until then each is held against the one before."
