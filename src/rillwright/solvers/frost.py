"""How deep frost goes under each surface of a yard, and which of its pipes lie in it.

Statement. The soil is one layer; under turf, bare soil and paving the surface feels n times the air's freezing index,
under snow all of it through the snow's thermal resistance. Depth by the modified Berggren formula with the means of
frozen and unfrozen conductivity and heat capacity, lambda by Neumann's solution; Stefan's formula with the frozen
conductivity bounds it. The design index is the mean of the three coldest winters of thirty on record, else the coldest
of ten and more, else the coldest on record, said so. A pipe freezes when frost in the design winter reaches its top
under the worst surface over it. Closed formulas; no seed. See docs/theory/winter.md.
"""

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from rillwright.model.plan import Pipe, Plan
from rillwright.model.winter import FrostLine, LineFreeze, WinterClimate
from rillwright.model.winter_tables import FrostSoil, WinterTables
from rillwright.physics.frost import (
    DAY,
    MELTING,
    berggren_factor,
    berggren_parameters,
    freezing_index,
    frost_depth,
    frozen_conductivity,
    snow_conductivity,
    soil_heat_capacity,
    soil_latent_heat,
    stefan_depth,
    unfrozen_conductivity,
)

__all__ = ["SNOW_DENSITY", "climate_of", "frost_lines", "pipe_freezing", "surface_over"]

Floats = NDArray[np.float64]
Days = NDArray[np.datetime64]

SNOW_DENSITY = 250.0  # [kg/m³] of settled snow; typical, from memory
_SURFACES = ("turf", "bare soil", "paving")
_OVER = {
    "lawn": "turf",
    "bed": "bare soil",
    "paving": "paving",
    "building": "paving",
    "roots": "turf",
    "ground": "turf",
}
_SHORTEST = 10 * DAY  # [s] of a freezing season, so that a few frosty days do not count as a steep one


def climate_of(seasons: Sequence[tuple[Days, Floats]], *, snow: float, source: str) -> WinterClimate:
    """Climate from daily mean temperatures.

    Parameters: seasons, for each winter its days and means (n,) [K]; snow [m]; source. Errors: as freezing_index.
    """
    indices = [freezing_index(means) for _, means in seasons]
    ranked = sorted(indices, reverse=True)
    if len(ranked) >= 30:
        design, words = float(np.mean(ranked[:3])), f"mean of the 3 coldest of {len(ranked)} winters (UFC 3-130)"
    elif len(ranked) >= 10:
        design, words = ranked[0], f"coldest of {len(ranked)} winters (UFC 3-130: coldest of the last 10)"
    else:
        design, words = ranked[0], f"coldest of {len(ranked)} winters: too few to know a hard one, 10 are wanted"
    coldest = seasons[int(np.argmax(indices))][1]
    return WinterClimate(
        mean=float(np.nanmean(np.concatenate([means for _, means in seasons]))),
        indices=tuple(indices),
        usual=float(np.median(indices)),
        design=design,
        design_is=words,
        season=_length(coldest),
        snow=snow,
        source=source,
    )


def _length(means: Floats) -> float:
    """Length [s] of a freezing season: from the top of the running sum to the bottom after it."""
    run = np.concatenate([[0.0], np.cumsum(np.nan_to_num(means - MELTING, nan=0.0))])
    fall = np.maximum.accumulate(run) - run
    bottom = int(np.argmax(fall))
    top = int(np.argmax(run[: bottom + 1]))
    return max((bottom - top) * DAY, _SHORTEST)


def frost_lines(climate: WinterClimate, soil: FrostSoil, tables: WinterTables) -> tuple[FrostLine, ...]:
    """Frost under every kind of surface; under turf with its snow too, where there is some."""
    names = (*_SURFACES, *(("snow",) if climate.snow > 0 else ()))
    return tuple(_line(name, climate, soil, tables) for name in names)


def _line(name: str, climate: WinterClimate, soil: FrostSoil, tables: WinterTables) -> FrostLine:
    data = tables.covers[name]
    cover = climate.snow / snow_conductivity(SNOW_DENSITY) if name == "snow" else 0.0
    latent = soil_latent_heat(soil.dry_density, water=soil.water)
    frozen = frozen_conductivity(soil.dry_density, water=soil.water, fine=soil.fine)
    mean = (frozen + unfrozen_conductivity(soil.dry_density, water=soil.water, fine=soil.fine)) / 2

    def depth(index: float) -> tuple[float, float, float, float]:
        if index <= 0:
            return 0.0, 0.0, 0.0, 1.0
        alpha, mu = berggren_parameters(
            index,
            season=climate.season,
            mean=climate.mean,
            heat_capacity=soil_heat_capacity(soil.dry_density, water=soil.water),
            latent=latent,
        )
        factor = berggren_factor(alpha, mu)
        return frost_depth(index, conductivity=mean, latent=latent, factor=factor, cover=cover), alpha, mu, factor

    deep, alpha, mu, factor = depth(data.n * climate.design)
    return FrostLine(
        surface=name,
        n=data.n,
        n_source=data.source,
        cover=cover,
        usual=depth(data.n * climate.usual)[0],
        design=deep,
        most=stefan_depth(data.n * climate.design, conductivity=frozen, latent=latent),
        alpha=alpha,
        mu=mu,
        factor=factor,
    )


def surface_over(pipe: Pipe, plan: Plan, lines: Mapping[str, FrostLine]) -> FrostLine:
    """The surface over a pipe under which frost goes deepest; turf where no trench of the plan holds it."""
    found = {_OVER.get(trench.surface, "turf") for trench in plan.trenches if pipe.id in trench.pipes}
    return max((lines[name] for name in found or {"turf"}), key=lambda line: (line.design, line.surface))


def pipe_freezing(
    plan: Plan, pipes: Sequence[Pipe], lines: Sequence[FrostLine], *, logged: Mapping[str, float]
) -> tuple[LineFreeze, ...]:
    """Every pipe against the frost over it. Parameters: logged, by pipe the cover [m] that was measured."""
    by_name = {line.surface: line for line in lines}
    found = []
    for pipe in pipes:
        over = surface_over(pipe, plan, by_name)
        cover = logged.get(pipe.id, plan.yard.rules.trench_depth)
        found.append(
            LineFreeze(
                line=pipe.zone or "main",
                pipe=pipe.id,
                cover=cover,
                logged=pipe.id in logged,
                surface=over.surface,
                frost=over.design,
                freezes=over.design >= cover,
            )
        )
    return tuple(found)
