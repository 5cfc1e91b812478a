"""A new lawn on a plan's zones: light and frequent at first, then fewer and longer, by stage and usual weather."""

import math
from datetime import date, timedelta

import numpy as np

from rillwright.data.tables import Row, read_table
from rillwright.errors import InputError
from rillwright.jobs.watering.clock import day_starts, night_start
from rillwright.jobs.watering.ground import WateredGround, watered_ground
from rillwright.jobs.watering.plan import WaterTerms
from rillwright.jobs.watering.seasons import place_of
from rillwright.model.new_lawn import LawnEvent, LawnStage, NewLawn, NewLawnKind, SeedWindow
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Plan
from rillwright.model.site import Watering
from rillwright.model.soils import turf_kinds
from rillwright.model.watering import ZoneWater
from rillwright.model.weather import DailyWeather
from rillwright.solvers.reference_et import reference_et
from rillwright.solvers.soil_water import profile_of
from rillwright.solvers.sowing import Sowing, sowing_days

__all__ = ["make_new_lawn"]

WET_SOIL = 1.05  # Kc of moist ground with little grass on it: FAO-56 table 12 and figure 29, from memory
FIRST_YEAR, LAST_YEAR = 2000, 2200  # of a start
RENOVATION = (  # days before sowing
    (28, "First weed or turf killing, by what local rules allow; grass must be growing. Wait for regrowth."),
    (14, "Second killing of what came up again."),
    (6, "Mow it short, rake out the dead grass. Mark every head and valve box before machines come."),
    (
        5,
        "Level hollows, sand cap or topdressing: at most 12 mm (1/2 in) over living grass; raise heads to grade.",
    ),
    (1, "Run each zone once and look: every head clears the ground, arcs are right. Loosen the top 10 mm (3/8 in)."),
)


def make_new_lawn(
    plan: Plan,
    weather: DailyWeather,
    catalogue: Catalogue,
    terms: WaterTerms,
    *,
    kind: NewLawnKind,
    start: date | None,
    after: date = date.min,
) -> NewLawn:
    """Make the course.

    Parameters: plan, with zones; weather; catalogue; terms, whose year counts where no start is given; kind; start, the
    day of sowing or laying, else the middle of the window in autumn, of warm-season grass in spring, of the first year
    in which that is not before `after`. Errors: InputError where no window is known, or the weather lacks a month.
    """
    if start is not None and not FIRST_YEAR <= start.year <= LAST_YEAR:
        raise InputError(f"a new lawn from {start}: give a day of the years {FIRST_YEAR} to {LAST_YEAR}")
    turf = turf_kinds()[plan.yard.turf.group]
    windows = sowing_days(weather, soil=turf.seed_soil, weeks=turf.weeks_before_frost)
    (latitude, altitude), _ = place_of(weather, plan.yard, terms.latitude, terms.altitude)
    late = (plan.yard.turf.group == "cool season") == (latitude >= 0)  # cool grass in autumn, warm grass in spring
    day = start or _best(windows, terms.year, autumn=late, after=after)
    ground = watered_ground(plan, catalogue)
    use = reference_et(weather, latitude=latitude, altitude=altitude).depth
    month = weather.days.astype("datetime64[M]").astype(int) % 12 + 1
    daily = {int(m): WET_SOIL * float(use[month == m].mean()) for m in np.unique(month)}
    stages, first = [], day
    for row in read_table("new_lawn"):
        if row.text("kind") == kind:
            days = round(turf.days_to_sprout) if row.text("stage") == "until it sprouts" else round(row.number("days"))
            last = first + timedelta(days=days - 1)
            if first.month not in daily:
                raise InputError(f"{weather.source}: no day of month {first.month} is in it: give weather of a year")
            stages.append(_stage(row, first, last, daily[first.month], ground, plan))
            first = last + timedelta(days=1)
    sown = windows if kind == "seed" else ()
    named = tuple(SeedWindow(first=w.first, last=w.last, chance=w.chance) for w in sown)
    return NewLawn(
        yard=plan.yard.name,
        kind=kind,
        start=day,
        windows=named,
        zones=ground.zones,
        stages=tuple(stages),
        events=tuple(_events(kind, day, stages)),
        notes=tuple(_notes(kind, day, named, stages, ground, plan)),
    )


def _best(windows: tuple[Sowing, ...], year: int, *, autumn: bool, after: date) -> date:
    """The middle of the year's last window, or of its first; a later year's where that is past."""
    if not windows:
        raise InputError("no days of this weather do well for sowing four years in five: give the day with --start")
    chosen = windows[-1] if autumn else windows[0]
    first, last = (date.fromisoformat(f"{year}-{text}") for text in (chosen.first, chosen.last))
    middle = first + (last - first) / 2
    return middle if middle >= after else _best(windows, year + 1, autumn=autumn, after=after)


def _stage(row: Row, first: date, last: date, use: float, ground: WateredGround, plan: Plan) -> LawnStage:
    layer, share = row.number("layer_mm", low=1) * 1e-3, row.number("share", low=0.05, high=1)
    held = profile_of(plan.yard.soil, depth=layer).available(layer)
    runs = min(max(math.ceil(use / (share * held)), 1), round(row.number("most_a_day", low=1)))
    depth = min(use / runs, held)
    seconds = {zone.id: _seconds(zone, depth) for zone in ground.zones}
    busy = math.ceil(sum(seconds.values()) / 60)
    if runs > 1:
        starts = day_starts(runs, busy, plan.yard.watering_terms)
    else:
        starts = night_start(busy, plan.yard.watering_terms)
    return LawnStage(
        name=row.text("stage"),
        first=first,
        last=last,
        depth=depth,
        use=use,
        wanted=share * held,
        holds=held,
        runs=runs,
        starts=starts,
        seconds=seconds,
        advice=row.text("advice"),
        source=row.text("source"),
    )


def _seconds(zone: ZoneWater, depth: float) -> float:
    """Whole minutes that put the depth on, no longer than water takes to stand."""
    wanted = depth * zone.need * zone.multiplier / max(zone.net_rate, 1e-9)
    most = math.inf if zone.longest_run is None else zone.longest_run
    return (
        60.0 * max(math.ceil(min(wanted, most) / 60 - 1e-6), 1)
        if wanted <= most
        else 60.0 * max(math.floor(most / 60), 1)
    )


def _events(kind: NewLawnKind, day: date, stages: list[LawnStage]) -> list[LawnEvent]:
    found = [LawnEvent(day=day - timedelta(days=before), what=what) for before, what in RENOVATION]
    found.append(
        LawnEvent(day=day, what="Sow and press the seed in." if kind == "seed" else "Lay the sod tight and roll it.")
    )
    for stage in stages:
        runs = f"{stage.runs} runs a day" if stage.runs > 1 else "one run a day"
        found.append(
            LawnEvent(day=stage.first, what=f"{stage.name[0].upper()}{stage.name[1:]}: {runs}. {stage.advice}")
        )
    found.append(
        LawnEvent(day=stages[-1].last + timedelta(days=1), what="Set the controller to the programme of the month.")
    )
    return found


def _notes(
    kind: NewLawnKind,
    day: date,
    windows: tuple[SeedWindow, ...],
    stages: list[LawnStage],
    ground: WateredGround,
    plan: Plan,
) -> list[str]:
    notes = []
    text = f"{day:%m-%d}"
    if kind == "seed" and windows and not any(w.first <= text <= w.last for w in windows):
        notes.append(f"{day} lies outside the days on which seed does well four years in five.")
    if kind == "seed" and not windows:
        notes.append("In this weather no day does well for seed four years in five: sow with a cover, or lay sod.")
    for stage in stages:
        if stage.depth > stage.wanted * 1.001:
            notes.append(f"{stage.name}: this soil holds little; one more run a day would keep its top moister.")
        if len(stage.starts) < stage.runs:
            busy = sum(stage.seconds.values()) / 60
            room = f"room for {len(stage.starts)}" if stage.starts else "no room for one"
            notes.append(
                f"{stage.name}: a round of all zones takes {busy:.0f} min, and the hours that are not forbidden leave "
                f"{room} of {stage.runs}: ask for leave for a new lawn, or water the newest ground alone by hand."
            )
    notes += _days_cut(plan.yard.watering_terms)
    notes.append("Rain of a day's use or more: leave that day out. Local rules may forbid daytime water: ask first.")
    if any(zone.longest_run is not None for zone in ground.zones):
        notes.append("Where a run was cut so that no water stands, add a start in place of minutes.")
    return notes


def _days_cut(watering: Watering) -> list[str]:
    """Days without water are more than seed bears: who must leave some out has to ask."""
    if watering.dates == "any" and len(watering.weekdays) == 7 and watering.nights == 7:
        return []
    return ["The yard's rule leaves out days; a new lawn wants water every day: ask for leave before you sow."]
