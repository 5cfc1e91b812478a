"""What pipe sizes are chosen under: what each head needs, and which materials the main may be of."""

from collections.abc import Mapping, Sequence
from functools import partial
from typing import TypedDict

from rillwright.jobs.case import Case
from rillwright.model.catalogue import outlet_of, setting_of
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Head, Pipe, ValvePlace
from rillwright.model.site import BackflowKind, PipeMaterial
from rillwright.solvers.devices import zone_devices
from rillwright.solvers.fittings import riser_loss
from rillwright.solvers.mains import ring_of
from rillwright.solvers.places import outlet_level
from rillwright.solvers.sizing import Draw, HeadDemand, Run, Sizing, Span, size_looped, size_pipes
from rillwright.solvers.surge import bears_surge

__all__ = ["size_plan"]


class _Terms(TypedDict):
    """What sizes are chosen under, with or without loops in the main."""

    catalogue: Catalogue
    materials_main: Sequence[PipeMaterial]
    materials_lateral: Sequence[PipeMaterial]
    highest_velocity: float
    flow_spread: float
    temperature: float
    price: Mapping[tuple[str, str], float]


def size_plan(
    pipes: Sequence[Pipe],
    runs: Sequence[Run],
    members: Mapping[str, Sequence[Head]],
    places: Sequence[ValvePlace],
    *,
    kind: BackflowKind,
    root: str,
    case: Case,
) -> tuple[Sizing, dict[str, float]]:
    """Sizes of all runs, and the design flow [m³/s] of each pipe.

    Parameters: pipes, provisional, and their runs in the same order; members, heads by zone; places, valve places with
    their zones; root, the node of the water entry.
    """
    yard, catalogue = case.yard, case.catalogue
    at = {zone: place for place in places for zone in place.zones}
    demands = _demands(pipes, members, at, kind, case)
    price: dict[tuple[str, str], float] = {
        (p.material, p.trade_size): catalogue.prices[f"pipe {p.material} {p.trade_size}"].price for p in catalogue.pipes
    }
    terms = _Terms(
        catalogue=catalogue,
        materials_main=_strong(yard.pipes.main, pipes, case),
        materials_lateral=yard.pipes.laterals,
        highest_velocity=yard.rules.highest_velocity,
        flow_spread=yard.rules.flow_spread,
        temperature=yard.water_entry.temperature,
        price=price,
    )
    flows = {pipe.id: pipe.flow for pipe in pipes}
    main = [Span(r, p.start, p.end) for p, r in zip(pipes, runs, strict=True) if p.role == "main"]
    if not ring_of([pipe for pipe in pipes if pipe.role == "main"]):
        return size_pipes(runs, demands, **terms), flows
    laterals = [run for run in runs if run.role == "lateral"]
    draws = {zone: Draw(at[zone].id, sum(h.flow for h in heads)) for zone, heads in members.items()}
    looped = size_looped(main, laterals, demands, draws, root=root, **terms)
    return looped.sizing, flows | looped.flows


def _demands(
    pipes: Sequence[Pipe],
    members: Mapping[str, Sequence[Head]],
    at: Mapping[str, ValvePlace],
    kind: BackflowKind,
    case: Case,
) -> list[HeadDemand]:
    """What each head needs, with its way from the entry, or from its valve place where the main has loops."""
    yard, catalogue, supply = case.yard, case.catalogue, case.limits.cautious
    warm = yard.water_entry.temperature
    looped = bool(ring_of([pipe for pipe in pipes if pipe.role == "main"]))
    into = {(p.zone, p.end): p for p in pipes}

    def path(zone: str | None, node: str) -> list[str]:
        steps: list[str] = []
        while (zone, node) in into:
            pipe = into[zone, node]
            steps.append(pipe.id)
            node = pipe.start
        return steps[::-1]

    demands: list[HeadDemand] = []
    for zone, heads in members.items():
        flow = sum(h.flow for h in heads)
        devices = zone_devices(kind, yard=yard, catalogue=catalogue, flow=flow, size=at[zone].backflow_size)
        at_valve = supply.pressure(flow + case.limits.reserve) - sum(d.loss.at(flow) for d in devices)
        for head in heads:
            nozzle = catalogue.nozzles[head.nozzle]
            rise = outlet_level(head, yard) - yard.water_entry.height
            demands.append(
                HeadDemand(
                    id=head.id,
                    zone=zone,
                    path=(*(() if looped else path(None, at[zone].id)), *path(zone, head.id)),
                    available=at_valve
                    - yard.water_entry.weight * rise
                    - riser_loss(head.flow, head_class=head.head_class, temperature=warm),
                    least=case.least_pressure(nozzle, head.pressure),
                    most=nozzle.highest_pressure,
                    like=setting_of(head),
                    exponent=outlet_of(nozzle, head.arc).exponent,
                )
            )
    return demands


def _strong(materials: Sequence[PipeMaterial], pipes: Sequence[Pipe], case: Case) -> list[PipeMaterial]:
    """Materials for the main that stand static pressure and surge, else the static pressure alone, else all.

    The pressure is the top of the supply's band, at the lowest point of the main; the surge is that of the whole main
    at its highest velocity. The checks `pipe-rating` and `surge` hold the sizes chosen against both once more.
    """
    ground, rules = case.ground.terrain, case.yard.rules
    paths = [pipe.path for pipe in pipes if pipe.role == "main"]
    lowest = min((float(ground.along(path).min()) for path in paths), default=case.yard.water_entry.height)
    deep = case.yard.water_entry.height - lowest + rules.trench_depth
    static = case.highest_static + case.yard.water_entry.weight * deep
    length = case.yard.water_entry.pipe.length + sum(pipe.length for pipe in pipes if pipe.role == "main")
    closing_time = min(valve.closing_time for valve in case.catalogue.valves)
    sizes = {m: [p for p in case.catalogue.pipes if p.material == m] for m in materials}
    for speed in (rules.highest_velocity, 0.0):
        bears = partial(bears_surge, static=static, speed=speed, length=length, closing_time=closing_time)
        kept = [m for m in materials if bears(sizes[m], catalogue=case.catalogue)]
        if kept:
            return kept
    return list(materials)
