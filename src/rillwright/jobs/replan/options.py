"""Everything that a job might do, as options for the search: zone by zone, and for what all zones share."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from rillwright.jobs.case import Case, make_case
from rillwright.jobs.replan.job import Job
from rillwright.jobs.replan.least import Alone, Leasts, Ledger, Swap
from rillwright.jobs.replan.moves import UPSIZE, Moves
from rillwright.jobs.replan.search import Option, Shared
from rillwright.jobs.replan.swaps import SWAP, Swaps
from rillwright.jobs.replan.system import Patch, patched
from rillwright.jobs.replan.weigh import Extra, weigh
from rillwright.jobs.ways_out import TYPICAL_BOOSTER, with_booster
from rillwright.physics.units import show
from rillwright.solvers.supply import with_second_service

__all__ = ["BOOSTER", "SECOND", "options_of"]

BOOSTER, SECOND = "booster pump", "second supply"


def options_of(job: Job, *, second_supply: float | None) -> tuple[Leasts, tuple[Shared, ...], tuple[Option, ...]]:
    """Every option of a job, for what all zones share and for zones, with what their least is reckoned by.

    Parameters: second_supply, its price [currency] if it may be had.
    """
    stay = [Patch(frozenset(), "", frozenset({zone}), {}) for zone in job.base.lines]
    moves = Moves(job)
    alone = [_alone(job, patch) for patch in (*stay, *moves.all())]
    pairs = [_alone(job, patch) for patch in moves.pairs()]
    mains = _wider_mains(job)
    other = Swaps(job)
    swaps = [[*_swaps(one.patch, job, other)] for one in alone]
    each = [(one.patch.zones, swap) for one, own in zip(alone, swaps, strict=True) for swap in own]
    leasts = Leasts(job, [*alone, *pairs, *(one for _, one in mains)], each)
    for supply in _supplies(job, second_supply):
        mains.append((supply, _alone(job, Patch(supply.kinds, supply.words, frozenset(), {}))))
    shared = [_shared(leasts, supply, one) for supply, one in mains]
    options: list[Option] = []
    for one, own in zip(alone, swaps, strict=True):
        options.append(_option(leasts, one.patch, leasts.ledger(one)))
        options += _with_nozzles(options[-1], own, leasts)
    options += [_option(leasts, one.patch, leasts.ledger(one)) for one in pairs]
    return leasts, tuple(sorted(shared, key=lambda each: (each.least, each.words))), tuple(options)


def _option(leasts: Leasts, patch: Patch, ledger: Ledger) -> Option:
    zones = frozenset(leasts.job.base.lines)
    return Option(patch, ledger, float(leasts.least(ledger, zones - patch.zones)))


def _alone(job: Job, patch: Patch) -> Alone:
    system = patched(job.base, [patch], job.case)
    return Alone(patch, system, weigh(job, system, [patch]))


def _swaps(patch: Patch, job: Job, other: Swaps) -> Iterator[Swap]:
    """Other nozzles in one of the zones after a change."""
    for line in patch.lines.values() or map(job.base.lines.__getitem__, patch.zones):
        for changed, screws, words in other.of(line):
            yield Swap(line, changed, screws, words)


def _with_nozzles(option: Option, swaps: Sequence[Swap], leasts: Leasts) -> Iterator[Option]:
    """A change with the nozzles of one of the zones after it changed besides."""
    patch = option.patch
    anew = 0.0 if patch.lines else leasts.job.worth({"run times set anew": 1.0})
    for swap in swaps:
        said = "; ".join(one for one in (patch.words, swap.words) if one)
        own = {**patch.lines, swap.after.zone: swap.after}
        other = replace(patch, kinds=patch.kinds | {SWAP}, words=said, lines=own, screws=swap.screws)
        yield _option(leasts, other, option.ledger.plus(leasts.swap_ledger(swap)).dearer(anew))


@dataclass(frozen=True)
class _Supply:
    """One way to have the water."""

    kinds: frozenset[str]
    words: str
    case: Case
    extras: tuple[Extra, ...]
    note: str = ""


def _wider_mains(job: Job) -> list[tuple[_Supply, Alone]]:
    """One wider pipe in the main."""
    found = []
    for words, main, within in Moves(job).wider_mains():
        base = replace(job.base, main=main, within={**job.base.within, **within})
        patch = Patch(frozenset({UPSIZE}), words, frozenset(), {})
        found.append((_Supply(patch.kinds, words, job.case, ()), Alone(patch, base, weigh(job, base, ()))))
    return found


def _shared(leasts: Leasts, supply: _Supply, one: Alone) -> Shared:
    extras = sum(extra.price + leasts.job.worth(extra.tasks) for extra in supply.extras)
    ledger = leasts.ledger(one).dearer(extras)
    least = float(leasts.least(ledger, frozenset(leasts.job.base.lines)))
    return Shared(supply.kinds, supply.words, supply.case, one.system, ledger, least, supply.extras, supply.note)


def _supplies(job: Job, second_supply: float | None) -> Sequence[_Supply]:
    case = job.case
    found = [_Supply(frozenset(), "", case, ())]
    if case.yard.water_entry.booster is None and case.yard.water_entry.well is None:
        pumped = make_case(
            with_booster(case.yard), case.catalogue, fit=case.fit, seed=case.seed, effort=case.effort, draws=case.draws
        )
        price = case.catalogue.prices["booster pump"].price
        extra = Extra("booster pump", price, {"booster pump fitted": 1.0})
        system = case.yard.units
        curve = TYPICAL_BOOSTER.curve
        points = ", ".join(f"{show(p.pressure, 'pressure', system)} at {show(p.flow, 'flow', system)}" for p in curve)
        note = (
            f"its curve is assumed: {points}; a pump on the drinking-water service needs the supplier's leave, and a "
            "licensed electrician for the line voltage"
        )
        found.append(_Supply(frozenset({BOOSTER}), "a booster pump at the water entry", pumped, (extra,), note))
    if second_supply is not None and case.yard.water_entry.well is None:
        twice = _twice(case)
        extra = Extra("second supply", second_supply, {"second supply joined": 1.0})
        note = (
            "a second service pipe and meter like the first, beside it, at the price you stated; the supplier's leave "
            "and a licensed plumber are needed; the yard file cannot hold it, so plan.json of this change alone does"
        )
        found.append(_Supply(frozenset({SECOND}), "a second service pipe and meter", twice, (extra,), note))
    return found


def _twice(case: Case) -> Case:
    """The case with two services side by side."""
    fit = with_second_service(case.fit, yard=case.yard, catalogue=case.catalogue)
    made = make_case(case.yard, case.catalogue, fit=fit, seed=case.seed, effort=case.effort, draws=case.draws)
    double = tuple(limit.model_copy(update={"flow": 2 * limit.flow}) for limit in made.limits.others)
    return replace(made, limits=replace(made.limits, others=double))
