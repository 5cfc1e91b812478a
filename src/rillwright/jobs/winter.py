"""Winter for one plan: what freezes and when, how it is drained and blown out, and how spring begins."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from rillwright.errors import InputError
from rillwright.jobs.spring import slow_fills
from rillwright.model.field_log import Entry, PipeBuried
from rillwright.model.ground import Ground, resolve_ground
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Pipe, Plan
from rillwright.model.weather import DailyWeather
from rillwright.model.winter import (
    BlowOut,
    Compressor,
    Drained,
    ExposedBody,
    FreezeDates,
    FrostLine,
    NightPart,
    Tonight,
    Winter,
    WinterClimate,
)
from rillwright.model.winter_card import WinterCard
from rillwright.model.winter_tables import WinterTables, load_winter
from rillwright.physics.frost import DAY
from rillwright.physics.units import show
from rillwright.report.winter_card import card_pdf, emptied
from rillwright.solvers.blowout import BlowLine, Blown, blow_plan, zone_lines
from rillwright.solvers.cold_bodies import (
    clear_sky_drop,
    exposed_body,
    harmed_days,
    harmful_low,
    one_night,
)
from rillwright.solvers.drain_down import drain_down
from rillwright.solvers.freeze_dates import Season, Turning, split_seasons, turning
from rillwright.solvers.frost import climate_of, frost_lines, pipe_freezing, surface_over
from rillwright.solvers.frozen_ground import frozen_days

__all__ = [
    "WINTER_FILES",
    "Courses",
    "Record",
    "WinterTerms",
    "as_laid",
    "make_winter",
    "record_of",
    "winter_files",
]

WINTER_FILES = ("winter.json", "winter.pdf")

Floats = NDArray[np.float64]
Days = NDArray[np.datetime64]
Courses = tuple[tuple[BlowLine, Blown], ...]

VALVE_COVER = 0.10  # [m] from the lid of a box to the bonnets of its valves; judgement
LAGGING = 0.013 / 0.036  # [m² K/W] of half an inch of pipe foam; typical, from memory
ENOUGH_WINTERS = 20  # that show 1 in 20
USUAL_SWING = 10.0  # [K] between a frosty night and the day before it, where no record says; typical, from memory


@dataclass(frozen=True, slots=True, eq=False)
class Record:
    """Daily temperatures."""

    source: str
    days: Days  # (n,) rising
    low: Floats  # (n,) [K], nan where not known
    high: Floats  # (n,) [K]
    latitude: float | None = None  # [°]
    says: tuple[str, ...] = ()  # what was wrong in the file, and what stands in its place


@dataclass(frozen=True, slots=True)
class WinterTerms:
    """What the user says beside plan and log."""

    compressor: Compressor
    record: Record | None = None
    index: float | None = None  # [K·s] design air-freezing index, where it is known without a record
    mean: float | None = None  # [K] of the year
    snow: float = 0.0  # [m]
    lagged: bool = False  # whether the parts over the ground have half an inch of foam round them
    season: int = 2000  # year in which the winter begins that dates are told for
    southern: bool = False
    tonight: float | None = None  # [K] least temperature foretold
    today: float | None = None  # [K] highest of the day before


def record_of(weather: DailyWeather) -> Record:
    """Daily temperatures out of a weather file. Errors: InputError for monthly normals, which hold no frosty night."""
    if weather.normals:
        raise InputError(
            f"{weather.source}: monthly normals hold no single night of frost: give daily weather of several years"
        )
    told = tuple(f"{finding.what} {finding.do}".strip() for finding in weather.findings)
    return Record(weather.source, weather.days, weather.tmin, weather.tmax, weather.place.latitude, told)


def make_winter(
    plan: Plan, catalogue: Catalogue, terms: WinterTerms, entries: Iterable[Entry] = ()
) -> tuple[Winter, Courses]:
    """Everything about winter for a plan, and the course of every zone's blow-out in order.

    Parameters: plan, with zones; catalogue that it was made with; terms; entries, what counts of the field log, of
    which pipes with their real line and cover are taken. Errors: InputError for a plan without zones.
    """
    study = _Study.of(plan, catalogue, terms, entries)
    return study.told(), study.blown[1]


def winter_files(winter: Winter, card: WinterCard, plan: Plan) -> dict[str, bytes]:
    """Every file of a winter card, by name."""
    return dict(zip(WINTER_FILES, (winter.model_dump_json(indent=1).encode(), card_pdf(card, plan)), strict=True))


def as_laid(plan: Plan, entries: Iterable[Entry]) -> tuple[tuple[Pipe, ...], dict[str, float]]:
    """The plan's pipes on the lines that the log says they lie on, and the cover [m] of those that were measured."""
    last = {entry.what.pipe: entry.what for entry in entries if isinstance(entry.what, PipeBuried)}

    def laid(pipe: Pipe) -> Pipe:
        told = last.get(pipe.id)
        if told is None or told.line is None:
            return pipe
        path = tuple(told.line)
        length = sum(float(np.hypot(b[0] - a[0], b[1] - a[1])) for a, b in pairwise(path))
        return pipe.model_copy(update={"path": path, "length": length})

    known = {pipe.id for pipe in plan.pipes}
    return tuple(laid(pipe) for pipe in plan.pipes), {name: told.depth for name, told in last.items() if name in known}


@dataclass(frozen=True)
class _Study:
    plan: Plan
    catalogue: Catalogue
    terms: WinterTerms
    ground: Ground
    pipes: tuple[Pipe, ...]
    logged: Mapping[str, float]
    tables: WinterTables
    seasons: tuple[Season, ...]
    blown: tuple[BlowOut, Courses]

    @classmethod
    def of(cls, plan: Plan, catalogue: Catalogue, terms: WinterTerms, entries: Iterable[Entry]) -> "_Study":
        if not plan.zones:
            raise InputError("this plan has no zones, so nothing can freeze: mend what its findings say, plan again")
        unknown = sorted({head.nozzle for head in plan.heads} - set(catalogue.nozzles))
        if unknown:
            raise InputError(f"no chart here holds {', '.join(unknown)}: give the --charts that the plan was made with")
        ground = resolve_ground(plan.yard)
        pipes, logged = as_laid(plan, entries)
        lines = zone_lines(plan, catalogue, pipes, terrain=ground.terrain, logged=logged)
        blown = blow_plan(plan, catalogue, lines, terms.compressor)
        return cls(plan, catalogue, terms, ground, pipes, logged, load_winter(), _seasons(terms), blown)

    def told(self) -> Winter:
        climate = self._climate()
        soil = self.tables.soils[self.plan.yard.soil.texture]
        frost = () if climate is None else frost_lines(climate, soil, self.tables)
        bodies = tuple(self._bodies())
        dates = tuple(self._dates(bodies, frost))
        return Winter(
            climate=climate,
            soil=self.plan.yard.soil.texture,
            frost=frost,
            freezes=pipe_freezing(self.plan, self.pipes, frost, logged=self.logged) if frost else (),
            bodies=bodies,
            drained=tuple(self._drained()),
            blow_out=self.blown[0],
            dates=dates,
            drain_by=self._turn(dates, first=True),
            start_after=self._turn(dates, first=False),
            tonight=self._tonight(bodies),
            fills=slow_fills(self.plan, self.catalogue, self.pipes),
            says=tuple(self._says()),
        )

    def _climate(self) -> WinterClimate | None:
        terms = self.terms
        if self.seasons and terms.record is not None:
            means = [(season.days, season.means) for season in self.seasons]
            found = climate_of(means, snow=terms.snow, source=terms.record.source)
            if terms.index is None:
                return found
            mean = found.mean if terms.mean is None else terms.mean
            return found.model_copy(update={"design": terms.index, "design_is": "as you said", "mean": mean})
        if terms.index is None or terms.mean is None:
            return None
        return WinterClimate(
            mean=terms.mean,
            indices=(),
            usual=0.6 * terms.index,
            design=terms.index,
            design_is="as you said; a usual winter is taken to have 0.6 of it (judgement)",
            season=_usual_season(terms.index),
            snow=terms.snow,
            source="as you said",
        )

    def _bodies(self) -> Iterator[ExposedBody]:
        """Parts that stand over the ground."""
        lag = LAGGING if self.terms.lagged else 0.0
        kind = self.plan.backflow
        assert kind is not None
        device = self.catalogue.backflow[kind]
        if device.above_ground >= 0:
            per_zone = device.scope == "zone"
            count = len(self.plan.zones) if per_zone else 1
            where = "after each zone valve" if per_zone else "at the water entry"
            if device.scope == "system" and device.above_outlets is not None:
                count, where = len(self.plan.places), "at the valve places"
            yield exposed_body(f"{kind} {where}", kind, self.tables.bodies[kind], count=count, insulation=lag)
            metre = show(1.0, "length", self.plan.yard.units)
            yield exposed_body(
                f"riser to it, each {metre}", "riser", self.tables.bodies["riser"], count=count, insulation=lag
            )

    def _drained(self) -> Iterator[Drained]:
        heads = {head.id: head for head in self.plan.heads}
        main = [pipe for pipe in self.pipes if pipe.role == "main"]
        depth, terrain = self.plan.yard.rules.trench_depth, self.ground.terrain
        checked = {one.zone: [head.head for head in one.checked] for one in self.plan.drainage}
        if main:
            yield drain_down("main", main, terrain=terrain, depth=depth, logged=self.logged)
        for zone in self.plan.zones:
            own = [pipe for pipe in self.pipes if pipe.zone == zone.id]
            stand = [heads[name] for name in zone.heads]
            yield drain_down(
                zone.id,
                own,
                terrain=terrain,
                depth=depth,
                heads=stand,
                logged=self.logged,
                shut=checked.get(zone.id, ()),
            )

    def _dates(self, bodies: Sequence[ExposedBody], frost: Sequence[FrostLine]) -> Iterator[FreezeDates]:
        if not self.seasons:
            return
        swing = float(np.mean([np.mean(season.high - season.low) for season in self.seasons]))
        for body in bodies:
            drop = clear_sky_drop(self.tables.bodies[body.kind].diameter)
            days = [harmed_days(body, low=s.low, high=s.high, drop=drop) for s in self.seasons]
            threshold = harmful_low(body, swing=swing, drop=drop)
            yield self._dated(body.name, threshold, days)
        buried = tuple(self._buried(frost))
        soil, ice = self.tables.soils[self.plan.yard.soil.texture], {}
        for n in {line.n for _, _, line in buried}:
            depths = [depth for _, depth, line in buried if line.n == n]
            ice[n] = iter(frozen_days(self.seasons, depths, n=n, soil=soil))
        for name, depth, line in buried:
            dated = self._dated(name, None, next(ice[line.n]))
            yield dated.model_copy(update={"depth": depth, "surface": line.surface})

    def _buried(self, frost: Sequence[FrostLine]) -> Iterator[tuple[str, float, FrostLine]]:
        """The shallowest pipe of main and laterals with the surface over it, and valves in their boxes."""
        by_name = {line.surface: line for line in frost}
        if not by_name:
            return
        yield "valves in their boxes", VALVE_COVER, by_name["bare soil"]
        for role, words in (("main", "main"), ("lateral", "laterals")):
            own = [pipe for pipe in self.pipes if pipe.role == role]
            if own:
                covers = {pipe.id: self.logged.get(pipe.id, self.plan.yard.rules.trench_depth) for pipe in own}
                over = {pipe.id: surface_over(pipe, self.plan, by_name) for pipe in own}
                worst = min(own, key=lambda pipe: (covers[pipe.id] / max(over[pipe.id].design, 1e-9), pipe.id))
                yield f"{words} at the coldest place", covers[worst.id], over[worst.id]

    def _dated(self, part: str, threshold: float | None, days: Sequence[NDArray[np.bool_]]) -> FreezeDates:
        midsummer = sum(bool(one[0] or one[-1]) for one in days)
        if midsummer:
            days = [np.zeros_like(one) for one in days]  # of harm that never ends no first day is a date
        held = [np.flatnonzero(one) for one in days]
        first = turning([int(one[0]) if len(one) else None for one in held], first=True)
        last = turning([int(one[-1]) if len(one) else None for one in held], first=False)
        on = self._day
        return FreezeDates(
            part=part,
            threshold=threshold,
            years=first.years,
            harmed=first.harmed,
            first_median=on(first.median),
            first_safe=on(first.safe),
            first_low=on(first.low),
            first_high=on(first.high),
            first_earliest=on(first.extreme),
            first_counted=on(first.counted),
            last_median=on(last.median),
            last_safe=on(last.safe),
            last_low=on(last.low),
            last_high=on(last.high),
            last_latest=on(last.extreme),
            says=f"harm at midsummer too, in {midsummer} of {first.years} winters" if midsummer else _carries(first),
            midsummer=midsummer,
        )

    def _day(self, number: float | None) -> date | None:
        """A day of the season asked for, from its number."""
        if number is None:
            return None
        start = date(self.terms.season, 1 if self.terms.southern else 7, 1)
        return start + timedelta(days=int(np.floor(number)))

    @staticmethod
    def _turn(dates: Sequence[FreezeDates], *, first: bool) -> date | None:
        """The day before the first harm, or after the last, of any part, with the risk that is asked for.

        A record of fewer than ENOUGH_WINTERS shows harm more often than that on its earliest and latest day: they count
        too. None where a part is harmed at midsummer.
        """
        if any(one.midsummer for one in dates):
            return None
        short = [one for one in dates if one.years < ENOUGH_WINTERS]
        if first:
            found = [*(one.first_safe or one.first_earliest for one in dates), *(one.first_earliest for one in short)]
            known = [day for day in found if day is not None]
            return min(known) - timedelta(days=1) if known else None
        found = [*(one.last_safe or one.last_latest for one in dates), *(one.last_latest for one in short)]
        known = [day for day in found if day is not None]
        return max(known) + timedelta(days=1) if known else None

    def _tonight(self, bodies: Sequence[ExposedBody]) -> Tonight | None:
        if self.terms.tonight is None:
            return None
        low = self.terms.tonight
        high = self.terms.today if self.terms.today is not None else low + USUAL_SWING
        parts = tuple(
            one_night(b, low=low, high=high, drop=clear_sky_drop(self.tables.bodies[b.kind].diameter)) for b in bodies
        )
        return Tonight(low=low, high=high, parts=parts, do=tuple(_advice(parts, self.plan)))

    def _says(self) -> Iterator[str]:
        if self.terms.record is None:
            yield "No weather record was given: dates need daily least and greatest temperatures of several years."
        elif 0 < len(self.seasons) < ENOUGH_WINTERS:
            yield (
                f"{len(self.seasons)} winters on record cannot show what 1 year in 20 brings: the dates rest on the "
                "first and last days of harm being normal, and on those winters; go by the early end of the band."
            )
        elif not self.seasons:
            yield "The weather record holds no whole winter, from midsummer to midsummer: no date is told."
        if self.terms.record is not None:
            yield from self.terms.record.says
        if self.terms.index is None and not self.seasons:
            yield "How deep frost goes needs a weather record, or a freezing index and the year's mean temperature."
        if not self.logged:
            yield "No cover of any pipe is in the field log: all pipes are taken to lie as planned."


def _seasons(terms: WinterTerms) -> tuple[Season, ...]:
    if terms.record is None:
        return ()
    record = terms.record
    return split_seasons(record.days, record.low, record.high, southern=terms.southern)


def _usual_season(index: float) -> float:
    """Length [s] of a freezing season of an index [K·s]: as UFC's worked cases have it, 100 to 160 days."""
    return float(np.clip(60.0 + 70.0 * np.sqrt(index / DAY / 700.0), 60.0, 180.0)) * DAY


def _carries(found: Turning) -> str:
    """How far a record carries."""
    if found.harmed == 0:
        return f"none in {found.years} winters"
    if found.safe is None:
        return f"{found.harmed} of {found.years} winters: too few for a date"
    return f"{found.harmed} of {found.years} winters, as normal"


def _advice(parts: Sequence[NightPart], plan: Plan) -> Iterator[str]:
    if not any(part.ice > 0 for part in parts):
        yield "Nothing over the ground freezes tonight. Look at the forecast again tomorrow."
        return
    yield "Before dusk: switch the controller off, so that nothing runs in the night and leaves ice on paving."
    harmed = [part for part in parts if part.harmed]
    if harmed:
        yield "Shut the isolating valve to the sprinklers inside the house, or in its box under the frost."
        yield f"Open the drain behind it. {emptied(plan)}"
    else:
        yield f"Wrap the {plan.backflow} and its risers in blankets under a plastic sheet, open to the ground below."
    yield "No lamp, torch or heating wire of your own making at the pipes: fire and shock. Leave ice to thaw by itself."
