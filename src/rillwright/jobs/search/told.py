"""What the owner of a plan is told of the search for it."""

from rillwright.jobs.zoned import Draft
from rillwright.model.findings import Finding

__all__ = ["cut_short"]


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
