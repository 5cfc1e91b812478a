"""The verdict: one word and one sentence, from the findings."""

from collections.abc import Sequence
from typing import Literal

from rillwright.jobs.checks.certainty import SOUND_BASES
from rillwright.model.findings import Finding
from rillwright.model.plan import Plan
from rillwright.physics.units import show

__all__ = ["judge"]


def judge(plan: Plan, findings: Sequence[Finding]) -> Plan:
    """Give a plan its findings, verdict and headline."""
    severities = {finding.severity for finding in findings}
    verdict: Literal["fits", "fits with cautions", "does not fit"] = "fits"
    if "must" in severities or not plan.zones:
        verdict = "does not fit"
    elif "should" in severities:
        verdict = "fits with cautions"
    headline = _headline(plan, findings, verdict)
    return plan.model_copy(update={"findings": tuple(findings), "verdict": verdict, "headline": headline})


def _headline(plan: Plan, findings: Sequence[Finding], verdict: str) -> str:
    system = plan.yard.units
    if verdict == "does not fit":
        first = next((f.what for f in findings if f.severity == "must"), "no zones could be made")
        words = f"{first[0].upper()}{first[1:].rstrip('.')}."
        assumed = plan.supply.basis not in SOUND_BASES
        return f"{words} The supply is partly assumed: measure it before you pay for a way out." if assumed else words
    heads, zones, places = len(plan.heads), len(plan.zones), len(plan.places)
    largest = max(plan.zones, key=lambda zone: zone.flow)
    words = (
        f"{heads} heads in {_count(zones, 'zone')} at {_count(places, 'valve place')}; the largest zone draws "
        f"{show(largest.flow, 'flow', system)}, {show(largest.safe_flow, 'flow', system)} is safe."
    )
    idea = next((f.what for f in findings if f.rule == "first-idea"), "")
    return f"{words} The first idea fails: {idea}." if idea else words


def _count(number: int, thing: str) -> str:
    return f"{number} {thing}{'' if number == 1 else 's'}"
