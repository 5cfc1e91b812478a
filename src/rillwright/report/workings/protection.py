"""Workings of surge."""

from collections.abc import Iterator

from rillwright.model.plan import Plan
from rillwright.model.protection import Surge
from rillwright.physics.units import show
from rillwright.physics.water import density
from rillwright.report.workings.working import Given, Working

__all__ = ["protection_workings"]

_THEORY = "docs/theory/water.md"


def protection_workings(plan: Plan) -> Iterator[Working]:
    """Workings of what each zone does to its pipes."""
    for surge in plan.surges:
        yield from _surge(surge, plan)


def _surge(surge: Surge, plan: Plan) -> Iterator[Working]:
    key, title, system = f"surge.{surge.zone}.{surge.role}", f"{surge.zone}, {surge.role}", plan.yard.units
    pipe = Given("pipe with the least room", surge.pipe, f"pipe.{surge.pipe}.velocity")
    standing = "with nothing running, supply at the top of its band" if surge.slow is not None else "while it runs"
    yield Working(
        f"{key}.standing",
        f"{title}: pressure before the surge",
        surge.standing,
        "pressure",
        f"at the lowest point of the pipe, {standing}",
        (pipe,),
        _THEORY,
    )
    rho = density(plan.yard.water_entry.temperature)
    sharp = rho * surge.wave_speed * surge.velocity
    slow = None if surge.slow is None else 2 * rho * surge.column / surge.closing_time
    given = [
        Given("density ρ", f"{rho:.1f} kg/m³"),
        Given("velocity v", show(surge.velocity, "velocity", system)),
        Given("wave speed a = 4660 ft/s / sqrt(1 + (K/E)(DR - 2))", show(surge.wave_speed, "velocity", system)),
        Given("sudden stop ρ a v", show(surge.sharp, "pressure", system)),
    ]
    formula = "ρ a v, stopped at once"
    if surge.slow is not None:
        formula = (
            "the lesser of ρ a v and 2 ρ Σ(L v) / T, from the "
            + ("tank" if plan.yard.water_entry.well else "street")
            + " to the valve"
        )
        given += [
            Given("Σ(L v)", f"{surge.column:.1f} m²/s"),
            Given("closing time T", show(surge.closing_time, "time", system)),
            Given("way of the wave there and back", f"{surge.wave_time:.2f} s"),
            Given("slow stop 2 ρ Σ(L v) / T", show(surge.slow, "pressure", system)),
        ]
    yield Working(
        f"{key}.rise",
        f"{title}: surge",
        surge.rise,
        "pressure",
        formula,
        tuple(given),
        f"Joukowsky; Michaud; {_THEORY}",
        sharp if slow is None else min(sharp, slow),
    )
    yield Working(
        f"{key}.peak",
        f"{title}: highest pressure",
        surge.peak,
        "pressure",
        "pressure before + surge",
        (
            Given("before", show(surge.standing, "pressure", system), f"{key}.standing"),
            Given("surge", show(surge.rise, "pressure", system), f"{key}.rise"),
        ),
        _THEORY,
        surge.standing + surge.rise,
    )
    yield Working(
        f"{key}.allowed",
        f"{title}: pressure that the pipe may bear with surge",
        surge.allowed,
        "pressure",
        "rating · share that surge may reach",
        (
            pipe,
            Given("rating with water this warm", show(surge.rating, "pressure", system)),
            Given("share", f"{surge.allowed / surge.rating:.2f}"),
        ),
        surge.source,
    )
