"""Why a draft cannot be built, as findings in the user's units: which limits clash and by how much."""

from collections.abc import Sequence

from rillwright.jobs.case import Case
from rillwright.jobs.zoned import PIPE_ALLOWANCE, Draft
from rillwright.model.findings import Finding
from rillwright.model.plan import Head
from rillwright.model.site import Yard
from rillwright.physics.units import show
from rillwright.solvers.hydraulics import ZoneHydraulics
from rillwright.solvers.sizing import Clash as SizeClash
from rillwright.solvers.zoning import Clash as ZoneClash

__all__ = ["clash_findings"]


def clash_findings(draft: Draft, heads: Sequence[Head], case: Case) -> list[Finding]:
    """Findings for every clash of a draft; like clashes of many heads are told once, with the worst."""
    yard = case.yard
    by_id = {head.id: head for head in heads}
    found: list[Finding] = []
    flows = [clash for clash in draft.zoning.clashes if clash.kind == "flow"]
    if flows:
        found.append(_flow(flows, by_id, draft, case))
    heights = [clash for clash in draft.zoning.clashes if clash.kind == "height"]
    if heights:
        found.append(_height(heights, draft, case))
    if draft.pipework is not None:
        found += [_unreachable(words) for words in draft.pipework.unreachable]
        found += [_size(clash, yard) for clash in draft.pipework.clashes]
        if draft.settled is not None and not draft.pipework.clashes:
            found += [_short(zone, draft.settled.cautious[zone], case) for zone in draft.settled.short]
    return found


def _flow(clashes: Sequence[ZoneClash], heads: dict[str, Head], draft: Draft, case: Case) -> Finding:
    worst = max(clashes, key=lambda clash: clash.short)
    head, system = heads[worst.where], case.yard.units
    needed = case.need(head, draft.kind, pipes=PIPE_ALLOWANCE).at(worst.need)
    stands = case.limits.cautious.pressure(worst.need)
    return Finding(
        rule="head-over-supply",
        severity="must",
        where=worst.where,
        what=f"{_heads(worst, clashes)}: one {head.head_class} head at {show(worst.need, 'flow', system)} needs "
        f"{show(needed, 'pressure', system)} at the entry under {_one(draft.kind)}; the supply surely keeps only "
        f"{show(max(stands, 0.0), 'pressure', system)}",
        do="Take a way out below: lower-flow heads, a larger service, another backflow kind or a booster.",
        source="docs/theory/supply.md",
    )


def _height(clashes: Sequence[ZoneClash], draft: Draft, case: Case) -> Finding:
    yard, catalogue = case.yard, case.catalogue
    worst = max(clashes, key=lambda clash: clash.short)
    rule = catalogue.backflow[draft.kind]
    return Finding(
        rule="place-height",
        severity="must",
        where=worst.where,
        what=f"{_heads(worst, clashes)}: no place for {_one(draft.kind)} stands high enough; it would have to reach "
        f"{show(worst.short, 'length', yard.units)} higher than the riser of "
        f"{show(yard.backflow.highest_riser, 'length', yard.units)} allows",
        do="Accept a higher riser or another backflow kind.",
        source=rule.source,
    )


def _heads(worst: ZoneClash, clashes: Sequence[ZoneClash]) -> str:
    others = len(clashes) - 1
    return worst.where + (f" and {others} more head{'s' if others > 1 else ''}" if others else "")


def _one(thing: str) -> str:
    return f"{'an' if thing[0] in 'aeiou' else 'a'} {thing}"


def _unreachable(words: str) -> Finding:
    return Finding(
        rule="unreachable", severity="must", where="trenches", what=words, do="Open a way for a trench on the drawing."
    )


def _short(zone: str, poor: ZoneHydraulics, case: Case) -> Finding:
    return Finding(
        rule="head-pressure-low",
        severity="must",
        where=zone,
        what=f"{poor.worst_head} gets only {show(poor.pressure_low, 'pressure', case.yard.units)} when the supply is "
        "poor, less than nine tenths of what it was laid out for",
        do="Split the zone, allow larger pipe materials or take a way out below.",
        source="docs/theory/limits.md",
    )


def _size(clash: SizeClash, yard: Yard) -> Finding:
    dimension = {"pressure": "pressure", "velocity": "velocity", "flow spread": "share"}[clash.kind]
    value, limit = show(clash.value, dimension, yard.units), show(clash.limit, dimension, yard.units)
    words = {
        "pressure": f"{clash.where} gets {value} with the largest pipes when the supply is poor, and needs {limit}",
        "velocity": f"{clash.where} runs at {value} in the largest size, the limit is {limit}",
        "flow spread": f"{clash.where} and {clash.against} differ by {value} in flow with the largest pipes, "
        f"allowed {limit}",
    }
    return Finding(
        rule=f"pipe-{clash.kind.replace(' ', '-')}",
        severity="must",
        where=clash.zone,
        what=words[clash.kind],
        do=f"{'Hold its pinned pipes at a wider size, split' if _held(yard) else 'Split'} the zone, allow larger pipe "
        "materials or take a way out below.",
    )


def _held(yard: Yard) -> bool:
    return any(pin.size is not None for pin in yard.pins.pipes)
