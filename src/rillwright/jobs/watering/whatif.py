"""What another mowing height, soil or evenness would change in a season's water.

A change is tried on the nights of the yard as it is, so that what it saves is its own; only where those do not keep the
ground does it get nights of its own.
"""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from rillwright.jobs.watering.compared import season_cost
from rillwright.jobs.watering.ground import WateredGround, watered_ground
from rillwright.jobs.watering.methods import choose_nights, volumes, with_nights
from rillwright.jobs.watering.nights import Pattern, patterns
from rillwright.jobs.watering.plan import WaterTerms
from rillwright.jobs.watering.seasons import seasons_of, turf_soil
from rillwright.model.growing import SoilLayer
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Plan
from rillwright.model.site import Yard
from rillwright.model.watering_asked import WhatIf
from rillwright.model.weather import DailyWeather
from rillwright.physics.units import INCH, show
from rillwright.solvers.season import Points

__all__ = ["what_ifs"]

Floats = NDArray[np.float64]

CAP = {"US": 2 * INCH, "metric": 0.05}  # [m] of sand
HIGHER = {"US": INCH, "metric": 0.025}  # [m] of mowing height
HEADS = 2  # that are set anew together


def what_ifs(plan: Plan, weather: DailyWeather, catalogue: Catalogue, terms: WaterTerms) -> tuple[WhatIf, ...]:
    """The yard as it is, then each change by itself."""
    ground = watered_ground(plan, catalogue)
    yard = plan.yard
    here, nights = _solved("as it is", yard, ground, weather, terms, "", None)
    heads, fixed = _fixed(plan, ground)
    higher = _mown(yard, yard.turf.mowing_height + HIGHER[yard.units])
    cap = SoilLayer(thickness=CAP[yard.units], texture="sand")
    sand = f"{show(cap.thickness, 'depth', yard.units)} of sand over it"
    capped = yard.soil.model_copy(update={"over_it": [cap, *yard.soil.over_it]})
    units = yard.units
    changes = (
        (f"heads {' and '.join(heads)} set anew", yard, fixed, _EVEN),
        (f"mown at {show(higher.turf.mowing_height, 'depth', units)}", higher, ground, _MOWN),
        (sand, yard.model_copy(update={"soil": capped}), ground, _CAPPED),
    )
    return (here, *(_solved(what, its, on, weather, terms, why, (here, nights))[0] for what, its, on, why in changes))


_EVEN = "the dry ground nearest to them gets what its lawn gets in the middle"
_MOWN = "roots taken to reach deeper by the root of the height's ratio; judgement"
_CAPPED = "sand holds less, and water falls through it"


def _solved(
    what: str,
    yard: Yard,
    ground: WateredGround,
    weather: DailyWeather,
    terms: WaterTerms,
    why: str,
    before: tuple[WhatIf, tuple[Pattern, ...]] | None,
) -> tuple[WhatIf, tuple[Pattern, ...]]:
    """A change and its nights; before, the yard as it is, None for that itself."""
    soil = turf_soil(yard)
    seasons = seasons_of(weather, yard, soil, latitude=terms.latitude, altitude=terms.altitude)
    watering = yard.watering_terms
    chosen = None if before is None else with_nights(before[1], seasons, soil, ground, watering)
    if chosen is None or chosen.least.status != "optimal":
        chosen = choose_nights(seasons, soil, ground, patterns(watering), watering)
    months = volumes(chosen.season, chosen.least.seconds, ground.flow, month=seasons.month).mean(axis=0)
    water = float(months.sum())
    found = WhatIf(
        what=what,
        water=water,
        saved=0.0 if before is None else before[0].water - water,
        cost=season_cost(yard, seasons.months, months),
        nights=float(chosen.planned.sum(axis=1).mean()),
        holds=soil.available,
        why=why,
    )
    return found, chosen.patterns


def _mown(yard: Yard, height: float) -> Yard:
    deeper = yard.turf.root_depth * (height / yard.turf.mowing_height) ** 0.5
    return yard.model_copy(
        update={"turf": yard.turf.model_copy(update={"mowing_height": height, "root_depth": deeper})}
    )


def _fixed(plan: Plan, ground: WateredGround) -> tuple[list[str], WateredGround]:
    """The heads whose own ground is driest, and the ground with that raised to its lawn's middle."""
    at = np.array([head.at for head in plan.heads])
    apart = np.hypot(*(ground.at[:, None, :] - at[None, :, :]).transpose(2, 0, 1))
    nearest, relative = apart.argmin(axis=1), ground.relative
    lacks = np.maximum(1 - relative, 0.0) * (relative > 0)
    total = np.bincount(nearest, lacks**2, minlength=len(at))  # far below the mean counts most
    worst = np.argsort(-total, kind="stable")[:HEADS]
    middle = np.array([np.median(relative[ground.lawn == n]) for n in range(len(ground.names))])[ground.lawn]
    raise_by = np.where(np.isin(nearest, worst) & (relative > 0), np.maximum(middle / np.maximum(relative, 1e-9), 1), 1)
    points = Points(ground.points.rate * raise_by[:, None], ground.points.need)
    return [plan.heads[i].id for i in sorted(worst)], replace(ground, points=points)
