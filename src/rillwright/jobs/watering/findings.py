"""What an owner should know of a programme: limits that cannot be kept, a clock that does not fit, thin weather."""

from collections.abc import Iterator

from rillwright.model.findings import Finding
from rillwright.model.site import Yard
from rillwright.model.watering import WaterPlan
from rillwright.physics.units import show
from rillwright.solvers.season import Least
from rillwright.solvers.season.points import HOPELESS

__all__ = ["programme_findings"]

FEW_YEARS = 5  # fewer make a thin band; judgement
CALMER = 0.5  # [m/s] by which other hours must be calmer to be told; judgement
TELLING = 1e-3  # [m] over a limit that a lawn shows; judgement
_RELIEF = {
    "more start times": "a controller with more start times a program",
    "more programs": "a controller with more programs",
    "longer hours": "longer hours of watering",
}


def programme_findings(made: WaterPlan, yard: Yard, least: Least) -> Iterator[Finding]:
    """Findings of a programme, gravest first."""
    yield from _clock(made, yard)
    yield from _short(made, yard, least)
    yield from _dry(made)
    yield from _years(made)
    yield from _worst(made)
    yield from _windy(made)


def _clock(made: WaterPlan, yard: Yard) -> Iterator[Finding]:
    clock = made.clock
    if clock.programs or clock.busy == 0:
        return
    limits = yard.controller
    what = (
        f"{show(clock.busy, 'minutes', yard.units)} of running in a night of the peak month, with the cycles that the "
        f"soil asks for, do not fit {clock.opens} to {clock.closes} with {limits.programs} programs of {limits.starts} "
        "starts."
    )
    told = " or ".join(_RELIEF[one] for one in clock.relief)
    do = f"It would fit with {told}." if told else "Allow more nights, longer hours and more starts together."
    yield Finding(rule="clock", severity="must", where="controller", what=what, do=do)


def _short(made: WaterPlan, yard: Yard, least: Least) -> Iterator[Finding]:
    worst = float(least.short.max(initial=0.0))
    if least.status == "short":
        month = made.months[int(least.short.max(axis=1).argmax())].month
        yield Finding(
            rule="limit-passed",
            severity="should",
            where=f"month {month}",
            what=f"With these nights and hours the driest kept ground passes its limit by up to "
            f"{show(worst, 'depth', yard.units)} in the driest of the years.",
            do="Allow more nights or hours, or accept that this ground yellows in such a year.",
        )
    elif least.status == "rounds used up":
        telling = least.over >= TELLING
        passed = f"up to {show(least.over, 'depth', yard.units)}" if telling else "less than 1 mm (0.04 in)"
        yield Finding(
            rule="limit-passed",
            severity="should" if telling else "know",
            where="programme",
            what="The search for the least water used up its rounds: the driest kept ground passes its limit by "
            f"{passed}.",
            do="Give fewer years of weather." if telling else "Take it as it is: no lawn shows that.",
        )


def _dry(made: WaterPlan) -> Iterator[Finding]:
    if made.hopeless > 1 - made.zones[0].kept:
        yield Finding(
            rule="dry-ground",
            severity="must",
            where="lawns",
            what=f"{made.hopeless:.0%} of the lawns get less than {HOPELESS:.0%} of their lawn's mean: no programme "
            "waters that ground without drowning the rest, so it is left out.",
            do="Set heads anew or add some there, and plan again.",
            source="judgement",
        )


def _years(made: WaterPlan) -> Iterator[Finding]:
    count = len(made.weather.years)
    if made.weather.normals:
        what, do = (
            "The weather is monthly normals: no dry year is in it, and no band",
            "Give some years of daily weather.",
        )
    elif count < FEW_YEARS:
        what, do = (
            f"The weather holds {count} season{'s' if count > 1 else ''}: the band is thin",
            "Give ten years or more.",
        )
    else:
        return
    yield Finding(rule="weather-years", severity="know", where="weather", what=what + ".", do=do)


def _worst(made: WaterPlan) -> Iterator[Finding]:
    lack = made.method("programme").lack
    if lack > 0.1:
        yield Finding(
            rule="driest-spot",
            severity="know",
            where="lawns",
            what=f"The worst spot of all, outside the {made.zones[0].kept:.0%} of ground that is kept, gets "
            f"{1 - lack:.0%} of what it needs.",
            do="Set the heads there anew, or keep more of the ground (`watering.kept`), which costs water everywhere.",
        )


def _windy(made: WaterPlan) -> Iterator[Finding]:
    calm = made.calm
    if calm is None or calm.calmest_ends is None or calm.mean - calm.calmest < CALMER:
        return
    clock = "standard time, an hour later on a clock set to summer time (say `watering.time_zone` to have it by that)"
    if calm.time_zone is not None:
        clock = f"by the clock of {calm.time_zone}"
    yield Finding(
        rule="windy-hours",
        severity="know",
        where="hours of a night",
        what=f"The wind at 2 m blows {show(calm.mean, 'wind', made.units)} in them on the mean of the season, and "
        f"{show(calm.calmest, 'wind', made.units)} from {calm.calmest_opens} to {calm.calmest_ends}, {clock}.",
        do="Let the hours end then (`watering.ends`), as far as rules and the house allow: calm water lands evenly.",
        source="wind by the hour of the weather file",
    )
