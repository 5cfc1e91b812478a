"""From heads to a buildable system under one backflow kind: zones, valve places, trenches, pipes, hydraulics.

The stages feed one another: pipe losses decide how much a zone may draw, and the zones decide the pipes. The loop
starts from a small allowance for pipe losses and raises it until sizes exist that leave every head its pressure.
"""

import math
import statistics
from collections.abc import Mapping
from concurrent.futures import Executor
from dataclasses import replace
from functools import partial

from rillwright.jobs.case import Case
from rillwright.jobs.pipework import MetrePrice, Pipework, homes, lay_pipes, nets_of, size_routes, usual_price
from rillwright.jobs.progress import Progress, silent
from rillwright.jobs.settle import ZoneSolver
from rillwright.jobs.zoned import (
    ANNEALED,
    PIPE_ALLOWANCE,
    Draft,
    highest_pipe,
    may_serve_over_ground,
    zone_system,
)
from rillwright.jobs.zones_in_part import zoned_in_part
from rillwright.model.plan import Head, Point, ValvePlace
from rillwright.model.site import BackflowKind
from rillwright.solvers.places import raised_over

__all__ = ["build_system", "far_losses", "on_pipes", "relaid", "with_pipes"]

ALLOWANCE_STEP = 25e3  # [Pa]
MOST_ALLOWANCES = 4
MARGIN = 1.1  # on what pipes took to heads that lacked pressure: other zones get other routes


def build_system(
    heads: tuple[Head, ...], zoned: Draft, *, case: Case, progress: Progress, pool: Executor | None = None
) -> Draft:
    """Route, size and solve the pipes of a zoned draft; zone anew with a larger allowance until that is stable.

    Stable: sizes exist, every head keeps its least pressure on the cautious supply, and on the expected supply every
    head's flow is within the yard's flow spread of the flow it was laid out for. When laterals cross ground too high
    for the devices before them, zones and places are chosen once more with that ground in mind.
    """
    if zoned.zoning.hard:
        return zoned
    progress("trenches and pipe sizes", 0.0)
    draft = with_pipes(zoned, case, progress=progress)
    zone = partial(zone_system, heads, zoned.kind, case=case, progress=progress, pool=pool)
    if draft.too_high:
        zone = partial(zone, serves=may_serve_over_ground)
        again = zone()
        draft = draft if again.zoning.hard else with_pipes(again, case, progress=progress)
    far: dict[str, float] = {}
    for attempt in range(1, MOST_ALLOWANCES):
        if not _unsettled(draft, case):
            break
        progress("zones anew, with more pressure left for pipes", attempt / MOST_ALLOWANCES)
        known = far_losses(draft, case) if len(heads) > ANNEALED else {}
        far |= {head: max(lost, far.get(head, 0.0)) for head, lost in known.items()}
        if known:
            again = zoned_in_part(draft, _short(draft), case=case, far=far, pool=pool)
        else:
            again = zone(pipes=PIPE_ALLOWANCE + attempt * ALLOWANCE_STEP)
        if again.zoning.hard:
            break
        progress("trenches and pipe sizes", 0.0)
        draft = (relaid(again, draft, case) if known else None) or with_pipes(again, case, progress=progress)
    return draft


def with_pipes(
    draft: Draft,
    case: Case,
    *,
    metre: MetrePrice | None = None,
    offered: Mapping[str, Point] | None = None,
    progress: Progress = silent,
) -> Draft:
    """Give a zoned draft its pipes and solve its hydraulics; metre and offered as for lay_pipes."""
    members = {zone.id: zone.heads for zone in draft.zones}
    work = lay_pipes(members, draft.places, draft.kind, case=case, metre=metre, offered=offered, progress=progress)
    if work.unreachable:
        return replace(draft, pipework=work, proofs=(*draft.proofs, *work.proofs))
    return on_pipes(draft, work, case)


def relaid(again: Draft, before: Draft, case: Case) -> Draft | None:
    """Pipes for zones made anew in part, at places that were used before: nets whose ends stay keep their trees.

    None where that cannot be: no board is known, or an end is out of reach on it.
    """
    work = before.pipework
    if work is None or work.board is None:
        return None
    node = {place.at: work.board.number[place.id] for place in before.places}
    gone = {place.id for place in before.places}
    number = {name: at for name, at in work.board.number.items() if name not in gone}
    board = replace(work.board, number=number | {place.id: node[place.at] for place in again.places})
    members = {zone.id: zone.heads for zone in again.zones}
    spots = {place.id: place.at for place in again.places}
    nets = nets_of(members, homes(again.places), spots, usual_price(case), case)
    laid = board.lay(nets, start=work.laid)
    if laid is None:
        return None
    sized = size_routes(board.write(nets, laid, names={}), members, again.places, again.kind, case)
    return on_pipes(again, replace(sized, board=board, laid=laid.trees), case)


def on_pipes(draft: Draft, work: Pipework, case: Case) -> Draft:
    """Solve the hydraulics of a zoned draft on its pipes."""
    members = {zone.id: zone.heads for zone in draft.zones}
    places = tuple(_over_its_laterals(place, work, draft.kind, case) for place in draft.places)
    highest = case.yard.backflow.highest_riser
    return replace(
        draft,
        places=places,
        pipework=work,
        settled=ZoneSolver(members, places, work, case).settle(),
        too_high=tuple(place.id for place in places if (place.device_height or 0.0) > highest + 1e-6),
        proofs=(*draft.proofs, *work.proofs),
    )


def _over_its_laterals(place: ValvePlace, work: Pipework, kind: BackflowKind, case: Case) -> ValvePlace:
    """Raise a place's device where a lateral crosses ground higher than all its heads; zoning knew the heads alone."""
    paths = [pipe.path for pipe in work.pipes if pipe.zone in place.zones]
    return raised_over(place, highest_pipe(paths, case), device=case.catalogue.backflow[kind])


def far_losses(draft: Draft, case: Case) -> dict[str, float]:
    """What the pipes to each head take at least [Pa/(m³/s)²], where some head lacks pressure in the widest sizes.

    For heads that lack pressure it is what the widest sizes take, and a margin; for all others that of the median of
    these, by the straight way from the water entry.
    """
    assert draft.pipework is not None
    heads = {head.id: head for head in draft.room.heads}
    entry, reserve = case.yard.water_entry.at, case.limits.reserve
    flows = {zone.id: sum(head.flow for head in zone.heads) for zone in draft.zones}
    own: dict[str, float] = {}
    for clash in draft.pipework.clashes:
        if clash.kind == "pressure":
            flow = flows[clash.zone]
            need = replace(case.need(heads[clash.where], draft.kind, pipes=0.0), head_pressure=clash.value)
            own[clash.where] = (case.limits.cautious.pressure(flow + reserve) - need.at(flow)) / flow**2
    if not own:
        return {}
    metre = statistics.median(lost / max(math.dist(entry, heads[name].at), 1.0) for name, lost in own.items())
    return {name: max(MARGIN * own.get(name, 0.0), metre * math.dist(entry, head.at)) for name, head in heads.items()}


def _short(draft: Draft) -> frozenset[str]:
    """Heads that lack pressure in the widest sizes."""
    clashes = () if draft.pipework is None else draft.pipework.clashes
    return frozenset(clash.where for clash in clashes if clash.kind == "pressure")


def _unsettled(draft: Draft, case: Case) -> bool:
    """Whether another round, with smaller zones, could bring heads nearer to what they were laid out for."""
    if draft.pipework is None or draft.settled is None:
        return False
    return draft.pipework.short_of_pressure or not draft.settled.stable(case.yard.rules.flow_spread)
