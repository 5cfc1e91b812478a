"""Ways out when a plan does not fit: each change of terms that may mend it is planned anew and priced.

Every way may also need a controller with more stations; that is part of its price. The list holds the ways that fit,
cheapest first, then those that still do not. A way that needs as large a controller as more stations alone, and costs
no less, is left out.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from rillwright.jobs.progress import Progress
from rillwright.model.findings import WayOut
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Plan
from rillwright.model.site import BACKFLOW_KINDS, HEAD_CLASSES, BoosterPump, Meter, PumpPoint, Yard
from rillwright.physics.units import show
from rillwright.solvers.supply import SupplyFit, with_service

__all__ = ["TYPICAL_BOOSTER", "find_ways_out", "with_booster"]

_STATIONS = 60  # enough that the way itself is judged, not the controller
TYPICAL_BOOSTER = BoosterPump(  # a small booster pump, its curve assumed: typical of the class, from memory
    curve=[PumpPoint(flow=q, pressure=p) for q, p in ((0.0, 300e3), (6e-4, 260e3), (1.2e-3, 150e3))]
)
_RISER_STEP = 0.6  # [m]
_MORE_ZONES = frozenset({"stations", "pipe-pressure", "pipe-flow-spread"})  # rules that more zones may mend
_WATER = _MORE_ZONES | {"head-over-supply", "head-pressure-low", "zone-over-supply", "pipe-velocity"}
_HEIGHT = frozenset({"place-height", "riser-height"})
_LAWN = frozenset({"head-class", "water-on-building"})

Replan = Callable[[Yard, SupplyFit], Plan]  # plans a changed yard with a given supply, by a quicker search


@dataclass(frozen=True, slots=True)
class _Change:
    words: str
    yard: Yard
    fit: SupplyFit
    extra: float  # [currency] of the change itself
    note: str = ""


def find_ways_out(
    plan: Plan, catalogue: Catalogue, *, fit: SupplyFit, replan: Replan, progress: Progress
) -> tuple[WayOut, ...]:
    """Plan each change anew. Parameters: plan, the one that does not fit; fit, its supply."""
    changes = list(_changes(plan, catalogue, fit))
    ways: list[WayOut] = []
    for number, change in enumerate(changes):
        progress(f"way out: {change.words}", number / len(changes))
        ways.append(_solve(plan, change, catalogue, replan))
    plain = next((way for way, change in zip(ways, changes, strict=True) if not change.words and way.fits), None)
    ways = [way for way in ways if plain is None or way is plain or not _worse(way, plain)]
    return tuple(sorted(ways, key=lambda way: (not way.fits, way.cost if way.cost is not None else float("inf"))))


def _worse(way: WayOut, plain: WayOut) -> bool:
    """Whether a way that fits asks for as many zones as more stations alone and costs no less."""
    if way.zones is None or way.cost is None or plain.zones is None or plain.cost is None:
        return False
    return way.zones >= plain.zones and way.cost >= plain.cost - 0.01


def _solve(plan: Plan, change: _Change, catalogue: Catalogue, replan: Replan) -> WayOut:
    stations = plan.yard.controller.stations
    roomy = change.yard.controller.model_copy(update={"stations": max(_STATIONS, stations)})
    again = replan(change.yard.model_copy(update={"controller": roomy}), change.fit)
    fits = again.verdict != "does not fit"
    zones = len(again.zones)
    words, extra = change.words, change.extra
    if fits and zones > stations:
        words = f"{words}, with a controller of {zones} stations" if words else f"Controller of {zones} stations"
        extra += catalogue.prices["controller"].price + zones * catalogue.prices["controller station"].price
    cost = again.cost.total + extra if again.cost and fits else None
    first_must = next((f.what for f in again.findings if f.severity == "must"), "")
    note = change.note if fits else first_must
    return WayOut(
        change=words or "More stations alone",
        fits=fits,
        zones=zones if fits else None,
        cost=cost,
        extra=extra if fits else None,
        note=note,
    )


def _changes(plan: Plan, catalogue: Catalogue, fit: SupplyFit) -> Iterator[_Change]:
    yard = plan.yard
    broken = {finding.rule for finding in plan.findings if finding.severity == "must"}
    if broken & _MORE_ZONES:
        yield _Change("", yard, fit, 0.0)
    narrow = any(set(lawn.head_classes or yard.heads.allowed) != set(HEAD_CLASSES) for lawn in yard.lawns)
    if broken & (_WATER | _LAWN) and narrow:
        areas = [a.model_copy(update={"head_classes": None}) for a in yard.areas]
        heads = yard.heads.model_copy(update={"allowed": list(HEAD_CLASSES)})
        wider = yard.model_copy(update={"areas": areas, "heads": heads})
        yield _Change("All head classes allowed, low-flow ones too", wider, fit, 0.0)
    if broken & (_WATER | _HEIGHT) and (set(yard.backflow.allowed) != set(BACKFLOW_KINDS) or yard.backflow.owned):
        free = yard.backflow.model_copy(update={"allowed": list(BACKFLOW_KINDS), "owned": None})
        note = "only if the local code allows the kind it uses"
        yield _Change("Another backflow kind", yard.model_copy(update={"backflow": free}), fit, 0.0, note)
    if broken & _HEIGHT:
        taller = yard.backflow.model_copy(update={"highest_riser": yard.backflow.highest_riser + _RISER_STEP})
        words = f"Device riser up to {show(taller.highest_riser, 'length', yard.units)}"
        yield _Change(words, yard.model_copy(update={"backflow": taller}), fit, 0.0)
    yield from _ground_changes(yard, broken, fit)
    if broken & _WATER and yard.water_entry.well is None:
        larger_pipes = list(_service_pipes(yard, catalogue, fit))
        yield from larger_pipes
        yield from _larger_meter(yard, catalogue, fit)
        yield from _pumps(yard, catalogue, fit, larger_pipes)


def _ground_changes(yard: Yard, broken: set[str], fit: SupplyFit) -> Iterator[_Change]:
    """What the drawing may allow: a trench through keep-out ground, or a lawn left out."""

    def as_bed(names: set[str]) -> Yard:
        areas = [a.model_copy(update={"kind": "bed"}) if a.id in names else a for a in yard.areas]
        return yard.model_copy(update={"areas": areas})

    shut = {area.id for area in yard.areas if area.kind == "keep-out"}
    if "unreachable" in broken and shut:
        note = "only where nothing that is buried or protected forbids it"
        yield _Change(f"Trenches allowed through {', '.join(sorted(shut))}", as_bed(shut), fit, 0.0, note)
    if broken & (_LAWN | {"unreachable"}) and len(yard.lawns) > 1:
        for lawn in yard.lawns:
            yield _Change(f"No heads on {lawn.id}", as_bed({lawn.id}), fit, 0.0, "it is watered by hand then")


def _service_pipes(yard: Yard, catalogue: Catalogue, fit: SupplyFit) -> Iterator[_Change]:
    entry = yard.water_entry
    sizes = sorted({p.inside_diameter: p for p in catalogue.pipes if p.material == entry.pipe.material}.items())
    own = next((bore for bore, p in sizes if p.trade_size == entry.pipe.size), 0.0)
    larger = [p for bore, p in sizes if bore > own][:2]
    trench = catalogue.trenches["lawn"].per_metre or 0.0
    for size in larger:
        pipe = entry.pipe.model_copy(update={"size": size.trade_size, "bore": None})
        changed = yard.model_copy(update={"water_entry": entry.model_copy(update={"pipe": pipe})})
        price = catalogue.prices[f"pipe {size.material} {size.trade_size}"].price
        extra = entry.pipe.length * (price + trench)
        note = "work on the service pipe is for a licensed plumber and the supplier; fees not counted"
        words = f"Service pipe of {size.trade_size} {size.material}"
        yield _Change(words, changed, with_service(fit, old=yard, new=changed, catalogue=catalogue), extra, note)


def _larger_meter(yard: Yard, catalogue: Catalogue, fit: SupplyFit) -> Iterator[_Change]:
    meter = _next_meter(yard, catalogue)
    if meter:
        entry = yard.water_entry.model_copy(update={"meter": Meter(size=meter)})  # type: ignore[arg-type]
        changed = yard.model_copy(update={"water_entry": entry})
        note = "the supplier fits and charges for it; fee not counted"
        words = f"Water meter of {meter}"
        yield _Change(words, changed, with_service(fit, old=yard, new=changed, catalogue=catalogue), 0.0, note)


def _next_meter(yard: Yard, catalogue: Catalogue) -> str | None:
    if yard.water_entry.meter is None:
        return None
    order = sorted(catalogue.meters.values(), key=lambda m: m.safe_maximum)
    own = next(i for i, m in enumerate(order) if m.trade_size == yard.water_entry.meter.size)
    return order[own + 1].trade_size if own + 1 < len(order) else None


def _pumps(yard: Yard, catalogue: Catalogue, fit: SupplyFit, larger_pipes: Sequence[_Change]) -> Iterator[_Change]:
    """A booster pump, alone and with the largest service pipe, for supplies that either alone cannot mend."""
    if yard.water_entry.booster is not None:
        return
    price = catalogue.prices["booster pump"].price
    points = [
        (show(p.pressure, "pressure", yard.units), show(p.flow, "flow", yard.units)) for p in TYPICAL_BOOSTER.curve
    ]
    curve = ", ".join(f"{gain} at {flow}" for gain, flow in points)
    leave = "a pump on the drinking-water service needs the supplier's leave and a licensed electrician"
    note = f"its curve is assumed: {curve}; {leave}"
    yield _Change("Booster pump", with_booster(yard), fit, price, note)
    for last in larger_pipes[-1:]:
        words = f"{last.words} and a booster pump"
        yield _Change(words, with_booster(last.yard), last.fit, last.extra + price, note)


def with_booster(yard: Yard) -> Yard:
    """A yard with the usual small booster pump at its water entry."""
    entry = yard.water_entry.model_copy(update={"booster": TYPICAL_BOOSTER})
    return yard.model_copy(update={"water_entry": entry})
