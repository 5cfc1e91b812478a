"""What the owner of a plan is told of the search for it."""

from collections import Counter
from dataclasses import replace
from typing import Literal

from rillwright.jobs.held_zones import joined
from rillwright.jobs.zoned import Draft
from rillwright.model.findings import Finding, Proof
from rillwright.solvers.zoning import Zoning, cost_of

__all__ = ["cut_short", "zones_proven"]


def cut_short(draft: Draft) -> list[Finding]:
    """A finding when somebody stopped the search."""
    if not draft.cut_short:
        return []
    proof = next(proof for proof in draft.proofs if proof.stage == "whole system: cost")
    gap = (
        "" if proof.gap is None else f"; no system for these heads on the lines searched can cost {proof.gap:.0%} less"
    )
    return [
        Finding(
            rule="search-cut-short",
            severity="know",
            where="yard",
            what=f"the search for a cheaper system was stopped: this is the best complete plan found until then{gap}",
            do="Plan again without stopping it to have the whole search.",
            source="docs/theory/joint.md",
        )
    ]


def zones_proven(draft: Draft, first: Draft, zoning: Zoning) -> Draft:
    """The draft that a search ended with, its proofs telling what its zones cost by the estimate they were made for.

    Parameters: first, the draft that the search began with; zoning, its own, with a bound. The bound holds for the
    same backflow kind with as many zones of each group; where the search ended with others, the proof is of the zones
    that it began with, and says so.
    """
    begun = zoning.proofs[1]
    if draft.kind == first.kind and _zones_by_group(draft) == _zones_by_group(first):
        cost = cost_of(joined(first.room.problem, first.room.together), draft.zoning.groups)
        told = f"; the search over whole systems began at {begun.value:.0f} by this estimate and went on by true cost"
    else:
        cost, told = begun.value, "; of the zones that the search over whole systems began with: it ended with others"
    status: Literal["optimal", "feasible", "heuristic"] = "heuristic" if begun.bound is None else "feasible"
    if begun.bound is not None and cost <= begun.bound * (1 + 1e-6):
        status = "optimal"
    bound = begun.bound and min(begun.bound, cost)
    proof = Proof(stage=begun.stage, status=status, value=cost, bound=bound, method=begun.method + told)
    count, *others = (known for known in draft.proofs if known.stage != begun.stage)
    return replace(draft, proofs=(count, proof, *others))


def _zones_by_group(draft: Draft) -> Counter[str]:
    group = {load.id: load.group for load in draft.room.problem.loads}
    return Counter(group[zone.heads[0]] for zone in draft.zoning.groups)
