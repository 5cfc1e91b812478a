"""Backflow devices of the size that makes the system cheapest, in place of ones as wide as the line."""

from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import replace
from functools import partial

from rillwright.jobs.build import on_pipes
from rillwright.jobs.case import Case
from rillwright.jobs.pipework import Pipework, size_routes
from rillwright.jobs.search.trial import worth
from rillwright.jobs.workers import run_all
from rillwright.jobs.zoned import Draft, safe_on_pipes
from rillwright.model.plan import ValvePlace
from rillwright.model.site import DeviceSize

__all__ = ["fit_devices"]

APART = 150  # heads up to which the devices of several valve places are chosen one by one


def fit_devices(draft: Draft, case: Case, pool: Executor | None = None) -> Draft:
    """Choose the size of each backflow device before all valves by what the whole system then costs.

    None is wider than its line. With each size the pipes on the same routes are sized anew, so that every head keeps
    its least pressure on the cautious supply; where pipe is in the ground, pipes stay as they are. A size that the user
    names, or a device already bought, stays; ties go to the wider. Parameters: pool, processes to share the sizes.
    """
    yard, device = case.yard, case.catalogue.backflow[draft.kind]
    if not draft.fits or device.scope == "zone" or yard.backflow.size is not None or yard.backflow.owned == draft.kind:
        return draft
    *narrow, wide = device.up_to(yard.backflow_line)
    paid = case.catalogue.prices
    cheaper = [size for size in narrow if paid[size.part].price < paid[wide.part].price]
    together = device.above_outlets is None or len(draft.room.heads) > APART
    best, least = draft, worth(draft, case) if cheaper else 0.0
    for names in [[p.id for p in draft.places]] if together else [[p.id] for p in draft.places]:
        resized = partial(_resized, best, names, case=case)
        for trial in run_all(pool, resized, [size.trade_size for size in cheaper]):
            total = worth(trial, case)
            if total < least:
                best, least = trial, total
    return best


def _resized(draft: Draft, places: Sequence[str], size: DeviceSize, *, case: Case) -> Draft:
    """The draft with a size of device at some places."""
    assert draft.pipework is not None
    fitted = tuple(p.model_copy(update={"backflow_size": size}) if p.id in places else p for p in draft.places)
    work = _pipes_for(fitted, draft, draft.pipework, case)
    if work.trouble:
        return replace(draft, pipework=work)
    bare = replace(draft, places=fitted, proofs=draft.proofs[: -len(work.proofs)])
    made = on_pipes(bare, work, case)
    assert made.settled is not None
    served = {zone for place in fitted if place.id in places for zone in place.zones}
    zones = [safe_on_pipes(z, made.settled, draft.kind, case, size=size) if z.id in served else z for z in draft.zones]
    return replace(made, zones=tuple(zones))


def _pipes_for(places: Sequence[ValvePlace], draft: Draft, work: Pipework, case: Case) -> Pipework:
    """Size the pipes anew on their routes; as they are where pipe is in the ground."""
    if work.routes is None:
        return work
    sized = size_routes(work.routes, {z.id: z.heads for z in draft.zones}, places, draft.kind, case)
    proofs = (*work.proofs[: -len(sized.proofs)], *sized.proofs)
    return replace(sized, proofs=proofs, board=work.board, laid=work.laid)
