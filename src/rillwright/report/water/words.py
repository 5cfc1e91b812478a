"""The programme in words and figures of the yard's units, for the page and the door sheet."""

import calendar
from collections.abc import Iterator
from typing import Any

from rillwright.model.watering import Method, MonthWater, WaterPlan, ZoneWater
from rillwright.model.watering_asked import SoFar
from rillwright.physics.units import System, show, to_system, unit_name

__all__ = ["height", "month_name", "season_words", "so_far_words", "water_words"]


def month_name(month: int) -> str:
    """A month in English."""
    return calendar.month_name[month]


def height(altitude: float, units: System) -> str:
    """An altitude [m] in whole feet or metres."""
    return f"{to_system(altitude, 'length', units):.0f} {unit_name('length', units)}"


def season_words(made: WaterPlan) -> str:
    """The season in a few words."""
    return f"{month_name(made.months[0].month)} to {month_name(made.months[-1].month)}"


def water_words(made: WaterPlan) -> dict[str, Any]:
    """Everything that the templates print."""
    return {
        "yard": made.yard,
        "software": made.software,
        "year": made.year,
        "season": season_words(made),
        "headline": _headline(made),
        "facts": _facts(made),
        "weather": _weather(made),
        "soil": _soil(made),
        "months": [_month(month, made) for month in made.months],
        "month_names": [month_name(month.month)[:3] for month in made.months],
        "programs": _programs(made),
        "zones": [_zone(zone, made) for zone in made.zones],
        "methods": [_method(method, made) for method in made.methods],
        "years": [_year(made, number) for number in range(len(made.years))],
        "priced": made.methods[0].cost is not None,
        "allowance": _allowance(made),
        "findings": [finding.model_dump() for finding in made.findings],
        "opens": made.clock.opens,
        "closes": made.clock.closes,
        "clock": " ".join((_clock(made), *_calm(made), *_changes(made))),
        "changes": " ".join(_changes(made)),
    }


def so_far_words(told: SoFar, units: System) -> str:
    """Where the season stands, and what the next night needs."""
    lacking, limit, need, usual = (show(x, "depth", units) for x in (told.lacking, told.limit, told.need, told.usual))
    words = f"By {told.day} the driest kept ground lacks {lacking} of the {limit} that it may. "
    words += f"Turf used {need} in the last {told.days} days, {usual} is usual."
    if told.night is not None:
        words += f" The night that ends on {told.night} needs {told.percent:.0f} % of the month's minutes"
        words += ": skip it." if told.percent == 0 else ", if no rain comes."
    if told.by_hand is not None:
        zone, seconds = told.by_hand
        words += f" Ground of {zone} lacks water, and no minutes are planned for it: run it {seconds / 60:.0f} min "
        words += "once, in parts with rests where the soil asks for them."
    return words


def _volume(value: float, made: WaterPlan) -> str:
    return show(value, "season volume", made.units)


def _headline(made: WaterPlan) -> str:
    programme, raised = made.method("programme"), made.method("multiplier raised")
    share = made.saved / raised.water if raised.water > 0 else 0.0
    words = f"{_volume(programme.water, made)} a season keep {made.zones[0].kept:.0%} of the lawns"
    if share > 0.005:
        return f"{words}: {share:.0%} less than the plain multiplier needs to keep the same ground."
    return f"{words}, as much as the plain multiplier needs."


def _facts(made: WaterPlan) -> list[tuple[str, str]]:
    programme = made.method("programme")
    facts = [
        ("water a season", _volume(programme.water, made)),
        ("over the years", f"{_volume(programme.low, made)} to {_volume(programme.high, made)}"),
        ("saved against the multiplier raised", _volume(made.saved, made)),
        ("rooted soil holds", show(made.soil.available, "depth", made.units)),
        ("of it may be used", show(made.soil.limit, "depth", made.units)),
    ]
    if programme.cost is not None:
        facts.insert(2, ("cost a season", f"{programme.cost:.2f} {made.currency}"))
    return facts


def _weather(made: WaterPlan) -> str:
    used = made.weather
    years = (
        f"{used.years[0]} to {used.years[-1]}, {len(used.years)} seasons" if len(used.years) > 1 else str(used.years[0])
    )
    kind = "monthly normals" if used.normals else f"days of {years}"
    words = f"{used.source} ({kind}), reference evapotranspiration by {used.method} at {used.latitude:.1f}°"
    return " ".join((f"{words}, {height(used.altitude, made.units)} over the sea.", *used.assumed))


def _soil(made: WaterPlan) -> str:
    soil = made.soil
    roots = show(soil.root_depth, "depth", made.units)
    return (
        f"{'; under it '.join(soil.layers)}. Roots to {roots} reach {show(soil.available, 'depth', made.units)} of "
        f"water, of which {soil.share:.0%}, {show(soil.limit, 'depth', made.units)}, may be used without stress."
    )


def _month(month: MonthWater, made: WaterPlan) -> dict[str, Any]:
    units = made.units
    return {
        "name": month_name(month.month),
        "reference": show(month.reference, "depth", units),
        "need": show(month.need, "depth", units),
        "rain": show(month.effective, "depth", units),
        "nights": month.nights,
        "run": f"{month.run:.1f} of {month.planned:.1f}",
        "minutes": [f"{month.seconds[zone.id] / 60:.0f}" for zone in made.zones],
        "water": _volume(month.water, made),
        "percent": f"{month.percent:.0f} %",
        "dates": [date[8:].lstrip("0") for date in month.dates],
    }


def _programs(made: WaterPlan) -> list[dict[str, Any]]:
    told = []
    for program in made.clock.programs:
        rows = [
            {
                "station": str(run.station),
                "zone": run.zone,
                "lawns": ", ".join(next(zone.lawns for zone in made.zones if zone.id == run.zone)),
                "minutes": [str(run.minutes[month.month]) for month in made.months],
            }
            for run in program.stations
        ]
        after = f", {program.night} night{'s' if program.night > 1 else ''} after the first" if program.night else ""
        told.append({"name": program.name, "starts": ", ".join(program.starts), "after": after, "stations": rows})
    return told


def _zone(zone: ZoneWater, made: WaterPlan) -> dict[str, str]:
    units = made.units
    cycle = "no limit"
    if zone.longest_run is not None:
        cycle = f"{show(zone.longest_run, 'minutes', units)}, then rest {show(zone.soak, 'minutes', units)}"
    return {
        "id": zone.id,
        "station": str(zone.station),
        "lawns": ", ".join(zone.lawns),
        "flow": show(zone.flow, "flow", units),
        "net": show(zone.net_rate, "rate", units),
        "du": f"{zone.du:.2f}",
        "multiplier": f"{zone.multiplier:.2f}",
        "exact": f"{zone.exact_multiplier:.2f}",
        "peak": show(zone.peak_rate, "rate", units),
        "intake": show(zone.intake, "rate", units),
        "cycle": cycle,
    }


def _method(method: Method, made: WaterPlan) -> dict[str, str]:
    tried = method.name != "with foresight"
    return {
        "name": method.name,
        "water": _volume(method.water, made),
        "band": f"{_volume(method.low, made)} to {_volume(method.high, made)}",
        "cost": f"{method.cost:.2f} {made.currency}" if method.cost is not None else "",
        "over": f"{method.over_days:.1f}" if tried else "none",
        "lack": f"{method.lack:.0%}" if tried else "",
        "proven": method.proven,
    }


def _year(made: WaterPlan, number: int) -> dict[str, Any]:
    year = made.years[number]
    return {
        "year": str(year.year),
        "need": show(year.need, "depth", made.units),
        "rain": show(year.rain, "depth", made.units),
        "water": [_volume(year.water[method.name], made) for method in made.methods],
    }


def _allowance(made: WaterPlan) -> str:
    told = made.allowance
    share = told.programme / told.allowance if told.allowance > 0 else 0.0
    return (
        f"In {month_name(told.month)}, the month of the highest reference evapotranspiration "
        f"({show(told.reference, 'depth', made.units)}), the US EPA's water budget approach would allow "
        f"{show(told.area, 'area', made.units)} of landscape 70 % of it: {_volume(told.allowance, made)} (baseline "
        f"{_volume(told.baseline, made)}). The programme takes {_volume(told.programme, made)}, {share:.0%} of that."
    )


def _clock(made: WaterPlan) -> str:
    if not made.clock.programs:
        return "No programs fit the controller: see the findings."
    surplus = show(made.clock.surplus, "minutes", made.units)
    return f"One station runs at a time; sharing minutes out over starts adds {surplus} to a night of the longest runs."


def _calm(made: WaterPlan) -> Iterator[str]:
    if made.calm is not None:
        clock = "" if made.calm.time_zone else " if they are standard time"
        yield f"Wind at 2 m in these hours{clock}, by the weather file: {show(made.calm.mean, 'wind', made.units)}."


def _changes(made: WaterPlan) -> Iterator[str]:
    turns = [f"{'forward' if one.minutes > 0 else 'back'} on {one.day}" for one in made.clock_changes]
    if turns:
        yield f"Clocks go {' and '.join(turns)}: set the controller's too, unless it does so by itself."
