"""Check of a plan for a yard part-built: what it keeps of what is in the ground, and what it gives up."""

from collections.abc import Iterator

from rillwright.jobs.checks.inspection import Inspection
from rillwright.model.findings import Finding

__all__ = ["existing_kept"]


def existing_kept(case: Inspection) -> Iterator[Finding]:
    """Things in the ground that the plan gives up are named, kind by kind, with what that costs."""
    plan = case.plan
    for kind in ("head", "valve place", "pipe"):
        uses = [use for use in plan.existing if use.kind == kind]
        left = [use for use in uses if not use.kept_as]
        if not left:
            continue
        cost = sum(use.moving_cost for use in left)
        names = ", ".join(use.id for use in left[:6]) + (f" and {len(left) - 6} more" if len(left) > 6 else "")
        yield Finding(
            rule="existing-given-up",
            severity="know",
            where=left[0].id if len(left) == 1 else "yard",
            what=f"{len(left)} of {len(uses)} {kind}s in the ground are not kept: {names}; moving them or taking them "
            f"out is charged at {cost:.0f} {plan.yard.currency}",
            do="Dig up, cap or leave them as you see fit; raise their 'moving_cost' where that is harder than said.",
            source="docs/how-to/write-a-yard.md",
        )
