"""A whole plan blown out, zone after zone, by one compressor."""

import math
from collections.abc import Sequence

from rillwright.model.parts import Catalogue
from rillwright.model.plan import Plan
from rillwright.model.winter import PE_LIMIT, POP_UP, RIGID_LIMIT, BlowOut, Compressor, ZoneBlow
from rillwright.physics.closed_pipe import ATMOSPHERE
from rillwright.physics.compressed_air import FREE_AIR, SPECIFIC_HEAT
from rillwright.physics.units import GRAVITY
from rillwright.physics.water import density
from rillwright.solvers.blowout.heating import MOST_DRY, WALLS, seconds_to_warm
from rillwright.solvers.blowout.line import BlowLine
from rillwright.solvers.blowout.lines import ZoneLine
from rillwright.solvers.blowout.source import AirSource
from rillwright.solvers.blowout.steady import air_needed, all_blowing, held
from rillwright.solvers.blowout.transient import Blown, blow_out

__all__ = ["SOFT", "air_limit", "blow_plan"]

SOFT = ("PE", "PEX")  # pipe that the lower limit of pressure is for
_HOSE_LOSS = 20.0  # [W/m² K] from a hose to the air round it; typical, from memory
_GROUND = 283.15  # [K] of pipe and water in autumn; judgement


def air_limit(plan: Plan, catalogue: Catalogue) -> tuple[float, str]:
    """Greatest pressure [Pa] of air that all pipe behind the fitting bears, and what sets it.

    50 psi with polyethylene, 80 psi with rigid pipe only: common practice; never over half of a pipe's rating.
    """
    ratings = {(size.material, size.trade_size): size.pressure_rating for size in catalogue.pipes}
    found = [
        (RIGID_LIMIT, "rigid pipe"),
        *((PE_LIMIT, f"{pipe.material} pipe") for pipe in plan.pipes if pipe.material in SOFT),
        *(
            (ratings[pipe.material, pipe.size] / 2, f"half the rating of {pipe.material} {pipe.size}")
            for pipe in plan.pipes
            if (pipe.material, pipe.size) in ratings
        ),
    ]
    return min(found, key=lambda one: one[0])


def blow_plan(
    plan: Plan, catalogue: Catalogue, lines: Sequence[ZoneLine], compressor: Compressor
) -> tuple[BlowOut, tuple[tuple[BlowLine, Blown], ...]]:
    """Blow every zone out in its turn.

    Parameters: plan, catalogue; lines, in order, as zone_lines gives them; compressor. Returns: what happens, and each
    zone's line with the course of its blow-out.
    """
    limit, weakest = air_limit(plan, catalogue)
    source = AirSource.of(compressor, regulator=limit, temperature=_GROUND)
    heats = [_heat(plan, catalogue, one, source, compressor) for one in lines]
    most_dry = min(seconds for _, seconds in heats)
    film: dict[str, float] = {}
    zones: list[ZoneBlow] = []
    courses: list[tuple[BlowLine, Blown]] = []
    for turn, one in enumerate(lines, start=1):
        line = one.line(temperature=_GROUND, film=film)
        blown = blow_out(line, source, most_dry=most_dry)
        film |= blown.passed(line)
        zones.append(_told(turn, one, line, blown, source))
        courses.append((line, blown))
    told = BlowOut(
        compressor=compressor,
        regulator=source.regulator,
        weakest=weakest,
        limit=limit,
        fitting=lines[0].enters if len({one.enters for one in lines}) == 1 else "each valve place",
        through_breakers=plan.backflow == "atmospheric vacuum breaker",
        most_dry=most_dry,
        air_temperature=max(air for air, _ in heats),
        zones=tuple(zones),
        not_blown=tuple(pipe.id for pipe in plan.pipes if pipe.role == "main" and pipe.id not in film),
    )
    return told, tuple(courses)


def _told(turn: int, one: ZoneLine, line: BlowLine, blown: Blown, source: AirSource) -> ZoneBlow:
    needs = air_needed(line)
    keeps = held(line, delivery=source.delivery)
    shares = 1 - blown.front / [run.length for run in line.runs] + blown.film / line.volume
    fullest = int(shares.argmax())
    arrivals = [blown.air_at.get(vent.node) for vent in line.vents]
    known = [at for at in arrivals if at is not None]
    lift = density(_GROUND) * GRAVITY * max(one.rise, 0.0) + POP_UP
    return ZoneBlow(
        zone=one.zone.id,
        turn=turn,
        way=one.way,
        rise=one.rise,
        far_head=one.far,
        volume=blown.volume,
        needs_pressure=max(lift, needs.fitting),
        needs_air=needs.air / FREE_AIR,
        holds_pressure=min(keeps.fitting, source.regulator),
        first_air=min(known, default=None),
        last_air=max(known) if len(known) == len(arrivals) else None,
        cycles=len(blown.runs),
        runs=blown.runs,
        rests=blown.rests,
        pushed=blown.pushed,
        swept=blown.swept,
        left=blown.left,
        fullest=line.runs[fullest].id,
        fullest_share=float(shares[fullest]),
        status=blown.status,
        dry=blown.dry,
    )


def _hose_end(source: AirSource, compressor: Compressor, flow: float) -> float:
    """Air [K] at the end of the hose at a flow [kg/s]: the tank's, mixed with what half a minute adds, cooled."""
    fresh = source.delivery * MOST_DRY
    share = fresh / (fresh + source.mass(source.regulator + ATMOSPHERE))
    surface = math.pi * compressor.hose_bore * compressor.hose_length
    cools = math.exp(-_HOSE_LOSS * surface / (flow * SPECIFIC_HEAT))
    return _GROUND + share * cools * (compressor.outlet - _GROUND)


def _heat(
    plan: Plan, catalogue: Catalogue, one: ZoneLine, source: AirSource, compressor: Compressor
) -> tuple[float, float]:
    """Air [K] at the hose's end and the longest time [s] of air alone in a zone."""
    line = one.line(temperature=_GROUND, film={})
    flow = max(min(source.delivery, all_blowing(line, source.regulator).air), 1e-6)
    air = _hose_end(source, compressor, flow)
    first = next((pipe for pipe in plan.pipes if pipe.id == one.runs[0].id), None)
    sizes = {(size.material, size.trade_size): size for size in catalogue.pipes}
    if first is None or (first.material, first.size) not in sizes:
        return air, MOST_DRY
    size = sizes[first.material, first.size]
    weight, specific = WALLS[first.material]
    seconds = seconds_to_warm(
        air=air,
        flow=flow,
        bore=first.bore,
        wall=(size.outside_diameter - size.inside_diameter) / 2,
        density=weight,
        specific=specific,
        start=_GROUND,
    )
    return air, min(MOST_DRY, seconds)
