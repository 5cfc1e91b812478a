"""The lawns of a plan as points under its zones: what reaches each, what it needs, and how fast its soil takes it."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from rillwright.errors import InputError
from rillwright.jobs.turns import EXPOSURE
from rillwright.model.catalogue import slope_class
from rillwright.model.ground import Ground, resolve_ground
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Plan, Zone
from rillwright.model.soils import turf_kinds
from rillwright.model.watering import ZoneWater
from rillwright.physics.evenness import run_time_multiplier
from rillwright.solvers.certainty.spreads import AIR_LOSS
from rillwright.solvers.coverage import make_grid, scene_of, water_rate
from rillwright.solvers.coverage.grid import cells_of
from rillwright.solvers.season import Points, binding_points
from rillwright.solvers.season.points import kept_points
from rillwright.solvers.soil_water import intake_of

__all__ = ["WateredGround", "needs_at", "watered_ground"]

Floats = NDArray[np.float64]

_FINEST, _MOST_CELLS = 0.25, 40_000  # [m] side of a cell; cells over the whole yard
_THICK = 0.9  # share of a zone's ground that gets less than its peak rate
_WET = 0.1  # of the zone's mean, from which ground counts as its own


@dataclass(frozen=True, slots=True, eq=False)
class WateredGround:
    """Lawn cells under the plan's zones."""

    points: Points  # every cell
    at: Floats  # (points, 2) [m]
    lawn: NDArray[np.int64]  # (points,) number of the lawn
    names: tuple[str, ...]  # of the lawns
    area: float  # [m²] of all lawns
    flow: Floats  # (zones,) [m³/s]
    zones: tuple[ZoneWater, ...]

    @property
    def relative(self) -> Floats:
        """What each point gets when the zones run equally long, over its lawn's mean."""
        total = self.points.rate.sum(axis=1)
        mean = np.array([total[self.lawn == n].mean() for n in range(len(self.names))])
        return np.asarray(total / np.maximum(mean[self.lawn], 1e-12), dtype=float)

    def kept(self, share: float) -> Points:
        """Binding points of the share of each lawn that is kept."""
        return binding_points(kept_points(self.points, lawn=self.lawn, kept=share, relative=self.relative))


def watered_ground(plan: Plan, catalogue: Catalogue) -> WateredGround:
    """Lay a plan's water on its lawns. Errors: InputError for a plan without zones, or with nozzles of other charts."""
    if not plan.zones:
        raise InputError(
            "this plan has no zones, so there is nothing to water with: mend what its findings say, plan again"
        )
    unknown = sorted({head.nozzle for head in plan.heads} - set(catalogue.nozzles))
    if unknown:
        raise InputError(f"no chart here holds {', '.join(unknown)}: give the --charts that the plan was made with")
    ground = resolve_ground(plan.yard)
    low_x, low_y, high_x, high_y = ground.extent
    grid = make_grid(ground, cell=max(_FINEST, ((high_x - low_x) * (high_y - low_y) / _MOST_CELLS) ** 0.5))
    heads, scene = {head.id: head for head in plan.heads}, scene_of(ground, plan.yard)
    rates = [
        water_rate([heads[name] for name in zone.heads], catalogue=catalogue, grid=grid, scene=scene)
        for zone in plan.zones
    ]
    x, y = grid.centres()
    exposure = {area.id: EXPOSURE[area.exposure] for area in plan.yard.lawns}
    names = tuple(lawn.id for lawn in plan.lawns)
    rate, need, lawn, at = [], [], [], []
    for number, name in enumerate(names):
        cells = cells_of(ground.lawns[name], grid)
        rate.append(np.column_stack([r[cells] for r in rates]) * (1 - AIR_LOSS))
        spots = np.column_stack((x[cells], y[cells]))
        need.append(needs_at(spots, {shape: exposure[area] for area, shape in ground.drawn[name].items()}))
        lawn.append(np.full(len(spots), number))
        at.append(spots)
    points = Points(np.vstack(rate), np.concatenate(need))
    found = WateredGround(
        points=points,
        at=np.vstack(at),
        lawn=np.concatenate(lawn),
        names=names,
        area=sum(lawn.area for lawn in plan.lawns),
        flow=np.array([zone.flow for zone in plan.zones]),
        zones=(),
    )
    zones = tuple(_zone(n, zone, found, plan, ground, catalogue) for n, zone in enumerate(plan.zones))
    return WateredGround(found.points, found.at, found.lawn, names, found.area, found.flow, zones)


def needs_at(at: Floats, parts: Mapping[BaseGeometry, float]) -> Floats:
    """Share of the full need at spots (n, 2) of a lawn drawn in parts: that of the part a spot is in, or next to."""
    apart = shapely.distance(np.array(list(parts), dtype=object)[None, :], shapely.points(at)[:, None])
    needs: Floats = np.array(list(parts.values()))[apart.argmin(axis=1)]
    return needs


def _zone(
    number: int, zone: Zone, watered: WateredGround, plan: Plan, ground: Ground, catalogue: Catalogue
) -> ZoneWater:
    heads = [head for head in plan.heads if head.id in set(zone.heads)]
    lawns = {lawn.id: lawn for lawn in plan.lawns}
    flows = np.array([head.flow for head in heads])
    share = flows / max(flows.sum(), 1e-12)
    lands = sum(s * lawns[h.lawn].on_lawn / max(lawns[h.lawn].water, 1e-12) for s, h in zip(share, heads, strict=True))
    du = float(sum(s * lawns[h.lawn].least_du for s, h in zip(share, heads, strict=True)))
    own = watered.points.rate[:, number]
    wet = own[own > _WET * own[own > 0].mean()] if (own > 0).any() else np.zeros(1)
    peak, slope = float(np.quantile(wet, _THICK)), float(ground.terrain.slope([head.at for head in heads]).mean())
    names = tuple(name for name in watered.names if any(head.lawn == name for head in heads))
    inside = np.isin(watered.lawn, [watered.names.index(name) for name in names]) & (own > 0)
    kept = plan.yard.watering_terms.kept
    dry = float(np.quantile(watered.relative[inside], 1 - kept)) if inside.any() else 0.0
    turf = turf_kinds()[plan.yard.turf.group]
    takes = intake_of(
        plan.yard.soil,
        peak,
        slope=slope_class(slope),
        table=catalogue.intake,
        roots=plan.yard.turf.root_depth,
        share=turf.depletion,
    )
    return ZoneWater(
        id=zone.id,
        station=zone.station,
        lawns=names,
        flow=zone.flow,
        precipitation=zone.precipitation,
        lands=lands,
        air_loss=AIR_LOSS,
        net_rate=zone.precipitation * lands * (1 - AIR_LOSS),
        need=float(watered.points.need[inside].max(initial=0.0)) or 1.0,
        du=du,
        multiplier=run_time_multiplier(max(du, 0.2)),
        exact_multiplier=1 / max(dry, 0.05),
        kept=kept,
        peak_rate=peak,
        slope=slope,
        intake=takes.last,
        longest_run=None if takes.longest_run == float("inf") else takes.longest_run,
        soak=takes.soak,
    )
