"""A plan built in phases: what each phase holds and costs, against all of it at once."""

from collections.abc import Sequence
from dataclasses import dataclass

from rillwright.errors import InputError
from rillwright.jobs.money.charges import ground_of
from rillwright.jobs.money.lawns import lawns_of, said_phases, tied_zones
from rillwright.model.labour import Rent
from rillwright.model.ledger import Ledger
from rillwright.model.own_prices import with_own_prices
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Plan
from rillwright.solvers.guide.materials import materials_of
from rillwright.solvers.money.allot import allot_parts, caps_of, lawn_units, trench_zones
from rillwright.solvers.money.phases import Item, Job, Split, Zones, cheapest_split, price_split

__all__ = ["Phased", "job_of", "make_phases", "read_sets"]

STEPS = 5  # of the front from the cheapest split to the most even one


@dataclass(frozen=True, slots=True)
class Phased:
    """A plan in phases [currency]."""

    at_once: Split
    given: Split | None  # as the owner would split it, or the yard puts its lawns in phases
    best: Split | None  # the cheapest split within the limit; None when there is none
    front: tuple[Split, ...]  # from the least whole cost to the least dearest phase
    units: tuple[Zones, ...]  # zones that are built together
    yearly: float | None
    least_yearly: float | None  # the least found that the dearest phase may cost
    tied: tuple[str, ...] = ()  # zones over lawns that the yard puts in two phases: plan it again
    open_now: tuple[str, ...] = ()  # trenches of the first phase of `given`, or of `best`


def make_phases(
    plan: Plan,
    catalogue: Catalogue,
    ledger: Ledger,
    *,
    given: Sequence[Sequence[str]] = (),
    phases: int = 2,
    yearly: float | None = None,
    whole_lawns: bool = True,
    seed: int = 0,
) -> Phased:
    """Split a plan into phases.

    Parameters: plan; catalogue, for the prices of caps; ledger, what of the plan is still to be paid; given,
    phases as lists of zones or lawns, if the owner has a split in mind, else as the yard puts its lawns; phases, at
    the most; yearly, the most that a phase may cost, the yard's own when None; whole_lawns, whether zones of one lawn
    are built together; seed.
    Errors: InputError for names that the plan does not have, zones named twice or left out.
    """
    yearly = plan.yard.money.yearly if yearly is None else yearly
    job = job_of(plan, catalogue, ledger)
    zones = [zone.id for zone in plan.zones]
    units = lawn_units(plan) if whole_lawns else [frozenset({zone}) for zone in zones]
    phases = min(phases, len(units))
    even = cheapest_split(job, units, phases=phases, even=True, seed=seed) if len(units) > 1 else None
    front = _front(job, units, phases, even, seed)
    best = front[0] if front else None
    if best is None or yearly is not None:
        best = cheapest_split(job, units, phases=phases, yearly=yearly, like=even, seed=seed)
    tied = () if given else tied_zones(plan)
    sets = given or (() if tied else said_phases(plan.yard))
    split = price_split(job, read_sets(plan, sets)) if sets else None
    return Phased(
        at_once=price_split(job, [zones]),
        given=split,
        best=best,
        front=front,
        units=tuple(units),
        yearly=yearly,
        least_yearly=even.dearest if even else None,
        tied=tied,
        open_now=_opened(plan, split or best),
    )


def job_of(plan: Plan, catalogue: Catalogue, ledger: Ledger) -> Job:
    """Everything that is still to be paid, each with the zones it is for."""
    facts, ground = plan.yard.money, ground_of(plan)
    serves = trench_zones(plan)
    every = frozenset(zone.id for zone in plan.zones)
    taxed = 1 + (facts.tax or 0.0)
    due = {part.part: part.due for part in ledger.parts}
    items = [
        Item(one.share * due[one.part] * taxed, one.zones, "parts", what=one.part)
        for one in allot_parts(plan, materials_of(plan, catalogue))
        if due[one.part] > 0
    ]
    open_still = {charge.kind: charge.due / charge.whole for charge in ledger.charges if charge.whole > 0}
    share = open_still.get("trenches", 0.0)
    items += [Item(share * one.cost, serves[one.id], "trenches", what=one.id) for one in ground.priced]
    items += [
        Item(c.due, every, "other", what=c.what) for c in ledger.charges if c.kind in ("permit", "other", "moving")
    ]
    if open_still.get("rental"):
        items += [
            Item(0.0, serves[one.dug.trench.id], "trenches", one.mean, one.dug.trench.id) for one in ground.machine
        ]
    rent = Rent(ground.rent.day * taxed, ground.rent.week * taxed, ground.rent.source)
    prices = with_own_prices(catalogue, plan.yard).prices
    return Job(
        items=tuple(items),
        caps=caps_of(plan, prices, tax=facts.tax or 0.0),
        fetch=ground.errand,
        day=ground.day,
        rent=rent,
        delivery=facts.delivery or 0.0,
        free_from=facts.delivery_free_from,
        rise=facts.price_rise,
    )


def read_sets(plan: Plan, given: Sequence[Sequence[str]]) -> list[list[str]]:
    """Turn names of zones and lawns into zones, phase by phase; what nobody names is built last.

    Errors: InputError for a name that the plan does not have, or a zone named in two phases.
    """
    drawn = lawns_of(plan)
    surface = {head.id: head.lawn for head in plan.heads}
    of_lawn: dict[str, list[str]] = {}
    for zone in plan.zones:
        for lawn in sorted({surface[head] for head in zone.heads} | drawn[zone.id]):
            of_lawn.setdefault(lawn, []).append(zone.id)
    known = {zone.id: [zone.id] for zone in plan.zones} | of_lawn
    found: list[list[str]] = []
    for names in given:
        zones: list[str] = []
        for name in names:
            if name not in known:
                raise InputError(f"--phases: '{name}' is no zone or lawn of this plan. It has {', '.join(known)}.")
            zones += [zone for zone in known[name] if zone not in zones]
        twice = next((zone for zone in zones if any(zone in before for before in found)), None)
        if twice is not None:
            raise InputError(
                f"--phases: zone {twice} would be built in two phases: it waters "
                f"{' and '.join(sorted(drawn[twice]))}. Name it in one of them, or --apart FOLDER plans again with "
                "no zone over lawns of two phases."
            )
        found.append(zones)
    rest = [zone.id for zone in plan.zones if not any(zone.id in zones for zones in found)]
    return [*found, rest] if rest else found


def _front(job: Job, units: Sequence[Zones], phases: int, even: Split | None, seed: int) -> tuple[Split, ...]:
    """Splits from the least whole cost to the least dearest phase, each the cheapest under its own limit on a phase.

    Parameters: even, the split whose dearest phase costs least; None when there is nothing to split.
    """
    first = None if even is None else cheapest_split(job, units, phases=phases, least=2, like=even, seed=seed)
    if first is None or even is None:
        return ()
    found = [first]
    for step in range(1, STEPS):
        limit = first.dearest + (even.dearest - first.dearest) * step / STEPS
        if limit < found[-1].dearest:
            split = cheapest_split(job, units, phases=phases, yearly=limit, like=even, seed=seed)
            found += [split] if split is not None else []
    return (*found, even) if even.dearest < found[-1].dearest else tuple(found)


def _opened(plan: Plan, split: Split | None) -> tuple[str, ...]:
    if split is None:
        return ()
    now = set(split.phases[0].zones)
    return tuple(name for name, zones in trench_zones(plan).items() if zones & now)
