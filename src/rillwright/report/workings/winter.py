"""Workings of winter: frost depth, bodies over the ground, draining, blowing out, dates, spring."""

from collections.abc import Iterator

from rillwright.model.plan import Plan
from rillwright.model.winter import (
    CLEAR_SHARE,
    POP_UP,
    Drained,
    ExposedBody,
    FreezeDates,
    FrostLine,
    SlowFill,
    Winter,
    ZoneBlow,
)
from rillwright.model.winter_tables import load_winter
from rillwright.physics.frost import (
    LATENT_HEAT,
    MELTING,
    berggren_factor,
    frost_depth,
    frozen_conductivity,
    soil_latent_heat,
    stefan_depth,
    unfrozen_conductivity,
)
from rillwright.physics.units import System, show
from rillwright.report.workings.working import Given, Working

__all__ = ["winter_workings"]

_SOURCE = "docs/theory/winter.md"


def winter_workings(winter: Winter, plan: Plan) -> Iterator[Working]:
    """Workings of every number on the winter card."""
    system = plan.yard.units
    for line in winter.frost:
        yield from _frost(line, winter, system)
    for body in winter.bodies:
        yield from _body(body, system)
    for line_drained in winter.drained:
        yield from _drained(line_drained, system)
    yield from _blow_out(winter, system)
    for number, one in enumerate(winter.dates, start=1):
        yield from _date(number, one, winter, system)
    yield from _night(winter, system)
    for fill in winter.fills:
        yield from _fill(fill, plan, system)


def _frost(line: FrostLine, winter: Winter, system: System) -> Iterator[Working]:
    climate = winter.climate
    assert climate is not None
    soil = load_winter().soils[winter.soil]
    frozen = frozen_conductivity(soil.dry_density, water=soil.water, fine=soil.fine)
    mean = (frozen + unfrozen_conductivity(soil.dry_density, water=soil.water, fine=soil.fine)) / 2
    latent = soil_latent_heat(soil.dry_density, water=soil.water)
    index = line.n * climate.design
    key = f"winter.frost.{line.surface}"
    ground = (
        Given("air-freezing index", show(climate.design, "freezing index", system) + f" ({climate.design_is})"),
        Given("n of the surface", f"{line.n:g} ({line.n_source})"),
        Given(
            "soil", f"{winter.soil}: {soil.dry_density:.0f} kg/m³ dry, water {soil.water:.0%} of that ({soil.source})"
        ),
        Given("latent heat L", f"{latent / 1e6:.1f} MJ/m³"),
    )
    factor = berggren_factor(line.alpha, line.mu) if line.mu > 0 else 1.0
    yield Working(
        f"{key}.design",
        f"Frost under {line.surface}, design winter",
        line.design,
        "depth",
        "k (sqrt(R² + 2 λ² n I / (k L)) - R), λ by Neumann's solution from α and μ",
        (
            *ground,
            Given("conductivity k, mean of frozen and not", f"{mean:.2f} W/(m·K) (Kersten 1949)"),
            Given("thermal ratio α", f"{line.alpha:.2f}"),
            Given("fusion parameter μ", f"{line.mu:.3f}"),
            Given("λ", f"{line.factor:.3f}"),
            Given("cover R", f"{line.cover:.2f} m²·K/W"),
        ),
        f"modified Berggren, UFC 3-130-06; {_SOURCE}",
        frost_depth(index, conductivity=mean, latent=latent, factor=factor, cover=line.cover),
    )
    yield Working(
        f"{key}.usual",
        f"Frost under {line.surface}, usual winter",
        line.usual,
        "depth",
        "as in the design winter, with the median winter's index",
        (Given("air-freezing index", show(climate.usual, "freezing index", system)), *ground[1:]),
        f"modified Berggren, UFC 3-130-06; {_SOURCE}",
    )
    yield Working(
        f"{key}.most",
        f"No frost under {line.surface} is deeper",
        line.most,
        "depth",
        "sqrt(2 k n I / L)",
        (*ground, Given("conductivity k, frozen", f"{frozen:.2f} W/(m·K) (Kersten 1949)")),
        f"Stefan, UFC 3-130-06; {_SOURCE}",
        stefan_depth(index, conductivity=frozen, latent=latent),
    )


def _body(body: ExposedBody, system: System) -> Iterator[Working]:
    cold = MELTING - 5.0
    ice = body.hours_to_ice or 0.0
    yield Working(
        f"winter.body.{body.kind}.harm",
        f"{body.name}: from {show(MELTING + 10, 'temperature', system)} until it is harmed",
        body.hours_to_harm or 0.0,
        "hours",
        "C/K ln((T - Ta)/(T0 - Ta)) + s m L / (K (T0 - Ta))",
        (
            Given("air Ta", show(cold, "temperature", system)),
            Given("conductance K", f"{body.conductance:.2f} W/K"),
            Given("heat capacity C", f"{body.capacity:.0f} J/K"),
            Given("water m", f"{body.water:g} kg"),
            Given("share s that freezes before it is harmed", f"{body.bursts_at:.0%}"),
            Given("until ice begins", show(ice, "hours", system)),
        ),
        f"lumped body; {body.source}; {_SOURCE}",
        ice + body.bursts_at * body.water * LATENT_HEAT / (body.conductance * (MELTING - cold)),
    )


def _drained(one: Drained, system: System) -> Iterator[Working]:
    lows = ", ".join(f"{low.pipe} {show(low.volume, 'volume', system)}" for low in one.low_points[:6])
    yield Working(
        f"winter.drain.{one.line}.trapped",
        f"{one.line}: stays after gravity drained it",
        one.trapped,
        "volume",
        "volume of pipe from which no way that never rises leads to the drain or a head",
        (
            Given("line, full", show(one.holds, "volume", system)),
            Given("drain", one.drain),
            Given("low points", lows or "none"),
        ),
        f"heights of the ground along the pipes, less the cover; {_SOURCE}",
        one.holds - one.runs_out,
    )


def _blow_out(winter: Winter, system: System) -> Iterator[Working]:
    blow = winter.blow_out
    yield Working(
        "winter.blow.regulator",
        "Pressure at the compressor's regulator, at the most",
        blow.regulator,
        "pressure",
        "least of 80 psi, 50 psi with PE or PEX, half of any pipe's rating, and what the compressor reaches",
        (
            Given("set by", blow.weakest),
            Given("compressor stops at", show(blow.compressor.cut_out, "pressure", system)),
        ),
        "common practice, no source",
        min(blow.limit, blow.compressor.cut_out),
    )
    for zone in blow.zones:
        yield from _zone(zone, winter, system)


def _zone(zone: ZoneBlow, winter: Winter, system: System) -> Iterator[Working]:
    key = f"winter.blow.{zone.zone}"
    yield Working(
        f"{key}.needs-air",
        f"{zone.zone}: air that keeps the far head up while every head blows",
        zone.needs_air,
        "air flow",
        "sum over heads of choked or subsonic nozzle flow, at the pressures that leave the least head this one",
        (Given("pressure at the least head", show(POP_UP, "pressure", system)), Given("far head", zone.far_head)),
        f"isentropic nozzles, isothermal pipes; {_SOURCE}",
    )
    yield Working(
        f"{key}.needs-pressure",
        f"{zone.zone}: pressure at the fitting for that",
        zone.needs_pressure,
        "pressure",
        "greater of: loss of air along the line + pressure at the least head; ρ g · rise + the same",
        (
            Given("rise of its highest head", show(zone.rise, "length", system)),
            Given("pressure at the least head", show(POP_UP, "pressure", system)),
        ),
        _SOURCE,
    )
    yield Working(
        f"{key}.left",
        f"{zone.zone}: water that stays",
        zone.left,
        "volume",
        "stood there - pushed out as a plug - swept out after it",
        (
            Given("stood there", show(zone.volume, "volume", system)),
            Given("pushed out", show(zone.pushed, "volume", system)),
            Given("swept out", show(zone.swept, "volume", system)),
            Given("counts as cleared up to", f"{CLEAR_SHARE:.0%} of its pipe, no run over half full"),
            Given("fullest run", f"{zone.fullest}, {zone.fullest_share:.0%} of its bore"),
        ),
        f"transient of plug and film; {_SOURCE}",
        zone.volume - zone.pushed - zone.swept,
    )
    compressor = winter.blow_out.compressor
    yield Working(
        f"{key}.time",
        f"{zone.zone}: air and rests",
        zone.seconds,
        "minutes",
        "seconds of air + seconds of filling the tank between cycles",
        (
            Given("cycles", str(zone.cycles)),
            Given("air", f"{sum(zone.runs):.0f} s"),
            Given("rests", f"{zone.rests:.0f} s"),
            Given("tank", show(compressor.tank, "volume", system)),
            Given("compressor gives", show(compressor.air, "air flow", system)),
        ),
        _SOURCE,
        sum(zone.runs) + zone.rests,
    )


def _date(number: int, one: FreezeDates, winter: Winter, system: System) -> Iterator[Working]:
    climate = winter.climate
    if one.first_safe is None or climate is None:
        return
    buried: tuple[Given, ...] = ()
    if one.depth is not None and one.surface is not None:
        buried = (
            Given("depth", show(one.depth, "depth", system)),
            Given("surface", one.surface),
            Given("harm", "half of the soil's water there is ice, by heat conducted day by day, snow in n only"),
        )
    yield Working(
        f"winter.date.{number}.first",
        f"{one.part}: day of the year that 1 year in 20 has harm before",
        float(one.first_safe.timetuple().tm_yday),
        "count",
        "mean + z(0.05 / share of winters harmed) · standard deviation of the first days of harm",
        (
            Given("date", str(one.first_safe)),
            *buried,
            Given("winters on record", str(one.years)),
            Given("harmed", str(one.harmed)),
            Given("band, 90 %", f"{one.first_low} to {one.first_high}"),
            Given("counted off the record", str(one.first_counted or "too few winters to hold 1 in 20")),
            Given("earliest on record", str(one.first_earliest)),
            Given("rests on", one.says),
        ),
        f"{climate.source}; normal days of first harm, noncentral t for the band; {_SOURCE}",
    )
    if one.last_safe is not None:
        yield Working(
            f"winter.date.{number}.last",
            f"{one.part}: day of the year that 1 year in 20 has harm after",
            float(one.last_safe.timetuple().tm_yday),
            "count",
            "mean + z(1 - 0.05 / share of winters harmed) · standard deviation of the last days of harm",
            (
                Given("date", str(one.last_safe)),
                *buried,
                Given("harmed", str(one.harmed)),
                Given("band, 90 %", f"{one.last_low} to {one.last_high}"),
                Given("latest on record", str(one.last_latest)),
                Given("rests on", one.says),
            ),
            f"{climate.source}; normal days of last harm, noncentral t for the band; {_SOURCE}",
        )


def _night(winter: Winter, system: System) -> Iterator[Working]:
    night = winter.tonight
    for number, part in enumerate(() if night is None else night.parts, start=1):
        assert night is not None
        yield Working(
            f"winter.tonight.{number}.ice",
            f"{part.part}: share of its water that freezes tonight",
            part.ice,
            "share",
            "lumped body through the night's course of temperature, sky clear, from today's highest to the least",
            (
                Given("least tonight", show(night.low, "temperature", system)),
                Given("highest today", show(night.high, "temperature", system)),
                Given("is harmed at", f"{part.bursts_at:.0%}"),
                Given("after six in the evening", "not" if part.hours is None else show(part.hours, "hours", system)),
            ),
            _SOURCE,
        )


def _fill(fill: SlowFill, plan: Plan, system: System) -> Iterator[Working]:
    key = f"winter.spring.{fill.line}"
    yield Working(
        f"{key}.fill",
        f"{fill.line}: slow filling",
        fill.fill_seconds,
        "minutes",
        "volume of the line / flow at which its narrowest run carries 0.3 m/s",
        (
            Given("volume", show(fill.volume, "volume", system)),
            Given("flow", show(fill.fill_flow, "flow", system)),
            Given("narrowest run", fill.pipe, f"pipe.{fill.pipe}.bore"),
        ),
        f"1 ft/s while filling: advice for plastic pipe, from memory; {_SOURCE}",
        fill.volume / fill.fill_flow,
    )
    yield Working(
        f"{key}.slam",
        f"{fill.line}: surge if its valve is thrown open, at the most",
        fill.slam,
        "pressure",
        "ρ a v (Joukowsky), v the supply's open flow in the run",
        (
            Given("speed", show(fill.full_speed, "velocity", system)),
            Given("open flow", show(plan.supply.open_flow, "flow", system), "supply.open-flow"),
            Given("room under what the pipe bears", show(fill.allowed, "pressure", system)),
        ),
        f"{_SOURCE}; docs/theory/water.md",
    )
