"""How sure a plan is: its zones solved in every draw of the yard, its week of watering, and what to measure next."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import replace
from functools import partial

import numpy as np
from numpy.typing import NDArray

from rillwright.jobs.case import Case
from rillwright.jobs.settle import ZoneSolver
from rillwright.jobs.turns import turn_of
from rillwright.jobs.workers import run_all
from rillwright.jobs.zoned import Draft
from rillwright.model.certainty import (
    Certainty,
    HeadChance,
    LawnCertainty,
    NextMeasurement,
    WindowCertainty,
    ZoneCertainty,
)
from rillwright.model.parts import Catalogue, DeviceLoss
from rillwright.model.plan import Head, Plan, Zone
from rillwright.model.regulation import Regulation
from rillwright.model.site import Watering
from rillwright.physics.units import show
from rillwright.solvers.certainty import (
    AT_ENTRY,
    Turn,
    WindowDraws,
    YardDraws,
    ZoneDraws,
    ZoneModel,
    band_of,
    chance_of,
    draw_yard,
    run_zone,
    spreads_of,
    uniformity_draws,
    window_draws,
)
from rillwright.solvers.certainty.spreads import NOZZLE_SPREAD
from rillwright.solvers.devices import ZoneDevice
from rillwright.solvers.flow_control import valve_regulator
from rillwright.solvers.preposterior import Candidate, Quantity, rank_measurements
from rillwright.solvers.supply import next_measurements, supply_candidates
from rillwright.solvers.watch import nobody
from rillwright.solvers.zone_network import nozzle_node

__all__ = ["assess", "drawn_model"]

_CONTROL = (ZoneDevice("flow control", "place", DeviceLoss(factor=0.0), ""),)
_TOGETHER = 4  # zones drawn in one piece of work
_AMPLE = 0.9  # share of the draws in which the ample hours suffice
_NOZZLE_TEST = 0.03  # standard error of one nozzle's flow, run into a bucket at its pressure
_LEVEL_ERROR = 0.01  # [m] of a height taken again with a level
_NEED_ERROR = 0.05  # share, of a need that the local advisory service states
_RING_ERROR = 0.20  # of the logarithm, of an intake timed in three rings

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]


def assess(
    plan: Plan,
    draft: Draft | None,
    *,
    case: Case,
    pool: Executor | None = None,
    tell: Callable[[float], None] = nobody,
) -> Certainty:
    """Draw the yard many times and say what comes of the plan.

    Parameters: draft, what the plan was made of; pool, processes that share zones and lawns, or None;
    tell, whom to tell the share of the whole assembly that is done, from 0.5 to 0.9.
    """
    if draft is None or draft.settled is None or not plan.zones:
        reference = plan.supply.reference_pressure
        further = next_measurements(case.fit, pressure=reference, yard=case.yard, seed=case.seed)
        return Certainty(draws=0, next_measurements=further)
    laid = [head for zone in draft.zones for head in zone.heads]
    zones = [zone.id for zone in plan.zones]
    regulators = [name for item in (plan.regulation.fitted if plan.regulation else ()) for name in item.where]
    at_entry = [AT_ENTRY] if case.limits.expected.cap is not None else []
    draws = draw_yard(
        case.yard,
        fit=case.fit,
        heads=laid,
        zones=zones,
        seed=case.seed,
        regulators=[*dict.fromkeys([*at_entry, *regulators])],
        count=case.draws,
    )
    models = _models(draft, plan.regulation, case)
    solved = _solved(list(models.values()), draws, pool, tell)
    sound = {name: _inside(solved[name].pressure, models[name].heads, case.catalogue) for name in zones}
    watering = case.yard.watering or Watering()
    even = _uniformity(plan, models, solved, draws, case, pool)
    week = window_draws(list(_turns(plan, solved, even, case)), watering=watering, draws=draws)
    return Certainty(
        draws=draws.count,
        zones=tuple(_zone(zone, models[zone.id], solved[zone.id], draws, case.catalogue) for zone in plan.zones),
        lawns=tuple(_lawn(lawn, du, case) for lawn, du in even.items()),
        sound=chance_of(np.logical_and.reduce(list(sound.values()))),
        window=_window(week, watering, assumed=case.yard.watering is None),
        next_measurements=_next(models, solved, sound, week, watering, draws, case),
        spreads=spreads_of(case.yard, regulated=bool(regulators)),
    )


def _models(draft: Draft, regulation: Regulation | None, case: Case) -> dict[str, ZoneModel]:
    """Every zone's network, with a flow control that takes nothing yet, and with what regulates it."""
    assert draft.pipework is not None
    assert draft.settled is not None
    expected, supply = draft.settled.expected, case.limits.expected
    solver = ZoneSolver({zone.id: zone.heads for zone in draft.zones}, draft.places, draft.pipework, case)
    fitted = regulation.fitted_at if regulation else {}
    models: dict[str, ZoneModel] = {}
    for zone in draft.zones:
        model = drawn_model(zone.id, zone.heads, solver=solver, case=case)
        if fitted.get(zone.id) == "valve":
            held = valve_regulator(expected[zone.id].after_valve)
            model = replace(model, network=solver.network(zone.id, supply, held), control=None)
        in_heads = [head for head in zone.heads if fitted.get(head.id) == "head"]
        most = {head.id: case.catalogue.nozzles[head.nozzle].design_pressure for head in in_heads}
        models[zone.id] = replace(model, held=most)
    return models


def drawn_model(zone: str, heads: Sequence[Head], *, solver: ZoneSolver, case: Case) -> ZoneModel:
    """A zone's network to be solved in draws, with a flow control that takes nothing yet and no regulator of its own.

    Parameters: heads, as they are laid out; solver, that knows the zone.
    """
    supply, well = case.limits.expected, case.yard.water_entry.well
    return ZoneModel(
        id=zone,
        network=solver.network(zone, supply, _CONTROL),
        control=f"device {_CONTROL[0].label}",
        outlets={head.id: nozzle_node(head.id) for head in heads},
        heads=tuple(heads),
        target=sum(head.flow for head in heads),
        cap=np.inf if supply.cap is None else supply.cap,
        cut_out=None if well is None else well.cut_out,
    )


def _solved(
    models: Sequence[ZoneModel], draws: YardDraws, pool: Executor | None, tell: Callable[[float], None]
) -> dict[str, ZoneDraws]:
    """Every zone in every draw, a few zones at a time."""
    parts = [models[k : k + _TOGETHER] for k in range(0, len(models), _TOGETHER)]
    tasks = [
        (part, draws.among([head.id for model in part for head in model.heads], [model.id for model in part]))
        for part in parts
    ]
    found: list[ZoneDraws] = []
    for some in run_all(pool, _run_zones, tasks):
        found += some
        tell(0.5 + 0.4 * len(found) / len(models))
    return {model.id: state for model, state in zip(models, found, strict=True)}


def _run_zones(task: tuple[Sequence[ZoneModel], YardDraws]) -> list[ZoneDraws]:
    models, draws = task
    return [run_zone(model, draws) for model in models]


def _limits(heads: Sequence[Head], catalogue: Catalogue) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Least and greatest pressure of each head's chart [Pa]."""
    nozzles = [catalogue.nozzles[head.nozzle] for head in heads]
    return np.array([n.lowest_pressure for n in nozzles]), np.array([n.highest_pressure for n in nozzles])


def _inside(pressure: NDArray[np.float64], heads: Sequence[Head], catalogue: Catalogue) -> Bools:
    """Whether every head is inside its band (n,), at pressures (n, heads)."""
    low, high = _limits(heads, catalogue)
    return np.asarray(np.all((pressure >= low) & (pressure <= high), axis=1))


def _zone(zone: Zone, model: ZoneModel, solved: ZoneDraws, draws: YardDraws, catalogue: Catalogue) -> ZoneCertainty:
    low, high = _limits(model.heads, catalogue)
    sound = _inside(solved.pressure, model.heads, catalogue)
    heads = tuple(
        HeadChance(
            id=head.id,
            enough=chance_of(solved.pressure[:, k] >= low[k]),
            not_too_much=chance_of(solved.pressure[:, k] <= high[k]),
        )
        for k, head in enumerate(model.heads)
    )
    return ZoneCertainty(
        id=zone.id,
        sound=chance_of(sound),
        undisturbed=chance_of(sound[draws.house[zone.id] == 0]),
        flow=band_of(solved.flow),
        worst=band_of(solved.pressure.min(axis=1)),
        best=band_of(solved.pressure.max(axis=1)),
        open_worst=band_of(solved.open_pressure.min(axis=1)),
        precipitation=band_of(solved.flow / zone.area if zone.area > 0 else np.zeros(draws.count)),
        heads=heads,
    )


def _uniformity(
    plan: Plan,
    models: Mapping[str, ZoneModel],
    solved: Mapping[str, ZoneDraws],
    draws: YardDraws,
    case: Case,
    pool: Executor | None,
) -> dict[str, Floats]:
    """DU of each lawn in every draw, as built."""
    flow = {head.id: solved[z].head_flow[:, k] for z, model in models.items() for k, head in enumerate(model.heads)}
    own = [[head for head in plan.heads if head.lawn == lawn.id] for lawn in plan.lawns]
    tasks = [(heads, np.column_stack([flow[head.id] for head in heads])) for heads in own]
    found = run_all(pool, partial(_lawn_in_draws, wind=draws.wind, case=case), tasks)
    return {lawn.id: np.clip(du + draws.evenness, 0.0, 1.0) for lawn, du in zip(plan.lawns, found, strict=True)}


def _lawn_in_draws(task: tuple[Sequence[Head], Floats], *, wind: Floats, case: Case) -> Floats:
    """DU of one lawn by its heads' flows (n, heads) in every draw, before what comes of the building of it."""
    heads, flows = task
    return uniformity_draws(
        heads,
        flows,
        wind=wind,
        lawn_id=heads[0].lawn,
        ground=case.ground,
        yard=case.yard,
        catalogue=case.catalogue,
    )


def _lawn(name: str, du: Floats, case: Case) -> LawnCertainty:
    return LawnCertainty(id=name, du=band_of(du), even=chance_of(du >= case.yard.rules.lowest_du))


def _turns(plan: Plan, solved: Mapping[str, ZoneDraws], even: Mapping[str, Floats], case: Case) -> Iterator[Turn]:
    """Each zone's part in the week's watering."""
    heads = {head.id: head for head in plan.heads}
    lands = {lawn.id: lawn.on_lawn / max(lawn.water, 1e-12) for lawn in plan.lawns}
    for zone in plan.zones:
        own = [heads[name] for name in zone.heads]
        yield turn_of(zone.id, own, flow=solved[zone.id].flow, area=zone.area, lands=lands, even=even, case=case)


def _window(week: WindowDraws, watering: Watering, *, assumed: bool) -> WindowCertainty:
    available = watering.hours * watering.nights
    return WindowCertainty(
        assumed=assumed,
        available=available,
        nights=watering.nights,
        depth=band_of(week.depth),
        needed=band_of(week.needed),
        zone_needed={zone: band_of(run) for zone, run in week.runs.items()},
        suffices=chance_of(week.needed <= available),
        ample=float(np.quantile(week.needed, _AMPLE)),
    )


def _next(
    models: Mapping[str, ZoneModel],
    solved: Mapping[str, ZoneDraws],
    sound: Mapping[str, Bools],
    week: WindowDraws,
    watering: Watering,
    draws: YardDraws,
    case: Case,
) -> tuple[NextMeasurement, ...]:
    """Rank what could be measured by what the plan hangs on: its weakest zone's worst head, and the week's hours."""
    zone = min(models, key=lambda name: _margin(models[name], solved[name], case.catalogue))
    model, state = models[zone], solved[zone]
    worst = model.heads[int(np.argmin(np.median(state.open_pressure, axis=0)))]
    available = watering.hours * watering.nights
    pressure = Quantity(
        f"pressure at {worst.id} ({zone}), flow control open",
        "pressure",
        state.open_pressure[:, model.heads.index(worst)],
        case.catalogue.nozzles[worst.nozzle].lowest_pressure,
        np.logical_and.reduce(list(sound.values())),
    )
    hours = Quantity("hours of watering a week", "hours", week.needed, available, week.needed <= available)
    system = case.yard.units
    flows = [
        (f"one head's worth of flow running, {show(worst.flow, 'flow', system)}", worst.flow),
        (f"the flow of {zone} running, {show(model.target, 'flow', system)}", model.target),
    ]
    candidates = supply_candidates(case.fit, case.yard, supplies=draws.supplies, flows=flows, seed=case.seed)
    candidates += _on_site(worst, draws)
    if case.yard.watering is None:
        return rank_measurements(candidates, [pressure], seed=case.seed)
    candidates += _for_the_week(watering, draws)
    return rank_measurements(candidates, [pressure, hours], seed=case.seed)


def _margin(model: ZoneModel, state: ZoneDraws, catalogue: Catalogue) -> float:
    """How many standard deviations the weakest head's pressure lies over its least, control wide open."""
    over = (state.open_pressure - _limits(model.heads, catalogue)[0]).min(axis=1)
    return float(over.mean() / max(over.std(), 1.0))


def _on_site(head: Head, draws: YardDraws) -> list[Candidate]:
    one = np.ones(draws.count)
    return [
        Candidate(
            f"Height of the ground at {head.id} over the water entry, taken again with a level",
            "ground",
            draws.rise[head.id],
            _LEVEL_ERROR * one,
        ),
        Candidate(
            f"One {head.nozzle} nozzle run into a bucket for a minute, a gauge beside it",
            "heads",
            draws.chart[head.head_class],
            np.hypot(NOZZLE_SPREAD, _NOZZLE_TEST) * one,
        ),
    ]


def _for_the_week(watering: Watering, draws: YardDraws) -> list[Candidate]:
    return [
        Candidate(
            "Peak weekly need of turf here, asked of the local advisory service",
            "week",
            watering.peak_need_error * draws.need,
            np.full(draws.count, _NEED_ERROR),
        ),
        Candidate(
            "Soil intake: three cans without ends pushed into the turf, filled an inch (25 mm) deep and timed",
            "week",
            np.log(draws.intake),
            np.full(draws.count, _RING_ERROR),
        ),
    ]
