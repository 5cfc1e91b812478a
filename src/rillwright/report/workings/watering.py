"""Workings of a watering programme: zones, months, seasons."""

from collections.abc import Iterator

from rillwright.model.watering import Method, MonthWater, WaterPlan, YearWater, ZoneWater
from rillwright.physics.units import show
from rillwright.report.workings.working import Given, Working

__all__ = ["water_workings"]

THEORY = "docs/theory/watering.md"


def water_workings(made: WaterPlan) -> Iterator[Working]:
    """Workings of every number of a programme."""
    yield from _soil(made)
    for zone in made.zones:
        yield from _zone(zone, made)
    for month in made.months:
        yield from _month(month, made)
    yield from _clock(made)
    yield from _season(made)
    for method in made.methods:
        yield from _way(method, made)
    yield from _saved(made)
    for year in made.years:
        yield from _year(year, made)
    yield from _allowance(made)
    yield from _wind(made)


def _soil(made: WaterPlan) -> Iterator[Working]:
    soil, units = made.soil, made.units
    layers = tuple(Given(f"layer {n}", text) for n, text in enumerate(soil.layers, start=1))
    roots = Given("root depth", show(soil.root_depth, "depth", units))
    yield Working(
        "water.soil.available",
        "Water that rooted soil holds for turf",
        soil.available,
        "depth",
        "sum over the layers to the root depth of thickness · (field capacity - wilting point)",
        (*layers, roots),
        "FAO-56 equation 82; textures: FAO-56 table 19, middles",
    )
    available = Given("available", show(soil.available, "depth", units), "water.soil.available")
    yield Working(
        "water.soil.limit",
        "Of it may be used before turf lacks water",
        soil.limit,
        "depth",
        "p · available; p of the mean day of the peak month, table value + 0.04 (5 mm - use)",
        (available, Given("p", f"{soil.share:.3f}")),
        "FAO-56 equation 83, table 22",
        soil.share * soil.available,
    )


def _zone(zone: ZoneWater, made: WaterPlan) -> Iterator[Working]:
    key, units = f"water.{zone.id}", made.units
    rate = Given("flow over its area", show(zone.precipitation, "rate", units), f"zone.{zone.id}.precipitation")
    yield Working(
        f"{key}.net-rate",
        f"{zone.id}: rate that reaches its ground",
        zone.net_rate,
        "rate",
        "flow over its area · share on its lawns · (1 - share that the air takes)",
        (
            rate,
            Given("on its lawns", show(zone.lands, "share", units)),
            Given("the air takes", show(zone.air_loss, "share", units)),
        ),
        THEORY,
        zone.precipitation * zone.lands * (1 - zone.air_loss),
    )
    yield Working(
        f"{key}.multiplier",
        f"{zone.id}: run-time multiplier by DU",
        zone.multiplier,
        "number",
        "1 / (0.4 + 0.6 DU)",
        (Given("DU of the low quarter, by flow over its lawns", f"{zone.du:.3f}"),),
        "Irrigation Association scheduling text, from memory",
        1 / (0.4 + 0.6 * max(zone.du, 0.2)),
    )
    yield Working(
        f"{key}.exact-multiplier",
        f"{zone.id}: multiplier by the depth grid",
        zone.exact_multiplier,
        "number",
        "mean depth of its lawns / least depth on the kept share of its ground, all zones running equally long",
        (Given("kept", show(zone.kept, "share", units)),),
        THEORY,
    )
    if zone.longest_run is not None:
        yield from _cycle(zone, made)


def _cycle(zone: ZoneWater, made: WaterPlan) -> Iterator[Working]:
    key, units = f"water.{zone.id}", made.units
    assert zone.longest_run is not None
    given = (
        Given("falls, nine tenths of its ground get less", show(zone.peak_rate, "rate", units)),
        Given("soil takes", show(zone.intake, "rate", units)),
        Given("slope", show(zone.slope, "share", units)),
    )
    yield Working(
        f"{key}.longest-run",
        f"{zone.id}: longest run without water standing",
        zone.longest_run,
        "minutes",
        "K ψ n / (R (R - K)), and the pores of what lies over the tightest layer / (R - K)",
        given,
        "Green and Ampt, ponding by Mein and Larson; " + THEORY,
    )
    yield Working(
        f"{key}.soak",
        f"{zone.id}: rest after the longest run",
        zone.soak,
        "minutes",
        "run · (R - K) / K",
        (*given[:2], Given("run", show(zone.longest_run, "minutes", units), f"{key}.longest-run")),
        THEORY,
        zone.longest_run * (zone.peak_rate - zone.intake) / zone.intake,
    )


def _month(month: MonthWater, made: WaterPlan) -> Iterator[Working]:
    key, units = f"water.month.{month.month}", made.units
    reference = Given("reference ET", show(month.reference, "depth", units), f"{key}.reference")
    used = made.weather
    yield Working(
        f"{key}.reference",
        f"Month {month.month}: reference evapotranspiration",
        month.reference,
        "depth",
        f"{used.method} by days, mean of the seasons",
        (Given("weather", used.source), Given("latitude", f"{used.latitude:.2f}°")),
        "FAO-56 equation 6 or 52",
    )
    yield Working(
        f"{key}.need",
        f"Month {month.month}: what turf in full sun needs",
        month.need,
        "depth",
        "Kc · reference ET",
        (reference, Given("Kc", f"{made.soil.crop_coefficient:g}")),
        "FAO-56 equation 58, table 12",
        made.soil.crop_coefficient * month.reference,
    )
    yield Working(
        f"{key}.rain",
        f"Month {month.month}: rain that counts",
        month.effective,
        "depth",
        "by days: rain over a fifth of the day's reference ET, less what runs off by the soil's curve number, and rise "
        "from below; mean of the seasons",
        (Given("all rain of the month", show(month.rain, "depth", units)), reference),
        f"USDA NRCS curve number; {THEORY}",
    )
    yield Working(
        f"{key}.run",
        f"Month {month.month}: nights that run",
        month.run,
        "number",
        "nights planned less those that the rain switch skips, mean of the seasons",
        (Given("planned, mean", f"{month.planned:.2f}"), Given("nights", month.nights)),
        THEORY,
    )
    yield Working(
        f"{key}.percent",
        f"Month {month.month}: share of the peak month's minutes",
        month.percent / 100,
        "share",
        "minutes of all zones a night / those of the month with most",
        (Given("a night", show(sum(month.seconds.values()), "minutes", units)),),
        THEORY,
        sum(month.seconds.values()) / max(*(sum(m.seconds.values()) for m in made.months), 1e-9),
    )
    for zone in made.zones:
        night = show(month.seconds[zone.id], "minutes", units)
        yield Working(
            f"{key}.{zone.id}",
            f"Month {month.month}: {zone.id} runs a night",
            month.seconds[zone.id],
            "minutes",
            "least water that keeps the ground, all seasons and months together; up to whole minutes at each start",
            (
                Given("by the multiplier", show(month.baseline[zone.id], "minutes", units)),
                Given("nights", month.nights),
                Given("kept", show(zone.kept, "share", units)),
                Given("soil may lack", show(made.soil.limit, "depth", units), "water.soil.limit"),
                Given("a night", night),
            ),
            THEORY,
        )
    yield Working(
        f"{key}.water",
        f"Month {month.month}: water",
        month.water,
        "season volume",
        "nights that run · sum over the zones of flow · time",
        (
            Given("nights that run, mean", f"{month.run:.2f}"),
            *(Given(z.id, show(z.flow, "flow", units), f"zone.{z.id}.flow") for z in made.zones),
        ),
        THEORY,
        month.run * sum(zone.flow * month.seconds[zone.id] for zone in made.zones),
    )


def _season(made: WaterPlan) -> Iterator[Working]:
    units = made.units
    months = tuple(
        Given(f"month {m.month}", show(m.water, "season volume", units), f"water.month.{m.month}.water")
        for m in made.months
    )
    programme = made.method("programme")
    yield Working(
        "water.season",
        "Water of a season",
        programme.water,
        "season volume",
        "sum of the months",
        months,
        THEORY,
        sum(month.water for month in made.months),
    )


def _way(method: Method, made: WaterPlan) -> Iterator[Working]:
    key, units = f"water.way.{method.name.replace(' ', '-')}", made.units
    title = f"Water of a season{' ' if method.name.startswith(('by', 'with ')) else ', '}{method.name}"
    seasons = [year.water[method.name] for year in made.years]
    given = tuple(Given(str(year.year), show(year.water[method.name], "season volume", units)) for year in made.years)
    mean = sum(seasons) / len(seasons)
    yield Working(key, title, method.water, "season volume", method.proven, given, THEORY, mean)
    for name, value, again in (("least", method.low, min(seasons)), ("most", method.high, max(seasons))):
        words = f"the {name} of all seasons"
        yield Working(f"{key}.{name}", f"{title}: {words}", value, "season volume", words, given, THEORY, again)
    yield Working(
        f"{key}.lacks",
        f"{method.name}: days a season on which kept ground lacks water",
        method.over_days,
        "number",
        "days on which some point that is kept is past its limit by 0.1 mm or more, mean of the seasons",
        (Given("kept", show(made.zones[0].kept, "share", units)),),
        THEORY,
    )
    yield Working(
        f"{key}.without",
        f"{method.name}: what the worst spot of all goes without",
        method.lack,
        "share",
        "1 - water taken up / need, where it is most, on kept ground or not; mean of the seasons",
        (Given("seasons", str(len(made.years))),),
        THEORY,
    )
    if method.cost is not None:
        yield Working(
            f"{key}.cost",
            f"{method.name}: what a season's water costs",
            method.cost,
            "money",
            "sum over the bills of tariff(house + yard) - tariff(house)",
            (Given("a season", show(method.water, "season volume", units), key),),
            "docs/theory/money.md",
        )


def _saved(made: WaterPlan) -> Iterator[Working]:
    raised, programme, units = made.method("multiplier raised"), made.method("programme"), made.units
    yield Working(
        "water.saved",
        "Saved against the multiplier raised",
        made.saved,
        "season volume",
        "multiplier raised - programme",
        (
            Given("raised", show(raised.water, "season volume", units), "water.way.multiplier-raised"),
            Given("programme", show(programme.water, "season volume", units), "water.season"),
        ),
        THEORY,
        raised.water - programme.water,
    )


def _year(year: YearWater, made: WaterPlan) -> Iterator[Working]:
    kc, weather = Given("Kc", f"{made.soil.crop_coefficient:g}"), Given("weather", made.weather.source)
    for name, words, value, formula, given in (
        ("need", "what turf in full sun needs", year.need, "sum over the days of Kc · reference ET", (kc,)),
        ("rain", "rain that counts", year.rain, "as by months, all days of the season", (weather,)),
    ):
        yield Working(f"water.year.{year.year}.{name}", f"{year.year}: {words}", value, "depth", formula, given, THEORY)


def _clock(made: WaterPlan) -> Iterator[Working]:
    yield Working(
        "water.clock.surplus",
        "Minutes that sharing out over starts adds to a night of the longest runs",
        made.clock.surplus,
        "minutes",
        "sum over the stations of starts · whole minutes at each - minutes wanted",
        tuple(
            Given(f"program {program.name}", f"{len(program.starts)} starts of {len(program.stations)} stations")
            for program in made.clock.programs
        ),
        THEORY,
    )


def _allowance(made: WaterPlan) -> Iterator[Working]:
    told, units = made.allowance, made.units
    yield Working(
        "water.allowance",
        "Landscape water allowance of the peak month",
        told.allowance,
        "season volume",
        "0.70 · reference ET of the month · area",
        (
            Given("month", str(told.month)),
            Given("reference ET", show(told.reference, "depth", units)),
            Given("area of the lawns", show(told.area, "area", units)),
        ),
        "US EPA, water budget approach, from memory",
        0.70 * told.reference * told.area,
    )
    yield Working(
        "water.allowance.share",
        "Of the allowance, the programme takes",
        told.programme / told.allowance if told.allowance > 0 else 0.0,
        "share",
        "water of the programme in that month / allowance",
        (
            Given("programme", show(told.programme, "season volume", units), f"water.month.{told.month}.water"),
            Given("allowance", show(told.allowance, "season volume", units), "water.allowance"),
        ),
        THEORY,
    )


def _wind(made: WaterPlan) -> Iterator[Working]:
    calm = made.calm
    if calm is None:
        return
    hours = (f"{calm.calmest_opens} to {calm.calmest_ends}", show(calm.calmest, "wind", made.units))
    yield Working(
        "water.wind",
        f"Wind in the hours of a night, {made.clock.opens} to {made.clock.closes}",
        calm.mean,
        "wind",
        "mean of the season's months over the minutes in which water may run; 10 m wind brought to 2 m",
        (
            Given("clock", "standard time" if calm.time_zone is None else f"{calm.time_zone}, by the law of each day"),
            *(Given(f"{n:02d}:00", show(wind, "wind", made.units)) for n, wind in enumerate(calm.by_hour)),
            Given("the calmest as many hours", ", ".join(hours) if calm.calmest_ends else "these"),
        ),
        f"{THEORY}; FAO-56 equation 47",
    )
