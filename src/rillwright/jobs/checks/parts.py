"""Checks of the parts: that everything can be joined by what is on the shelf, and fits where it is drawn."""

from collections.abc import Iterator

from rillwright.errors import InputError
from rillwright.jobs.checks.inspection import Inspection
from rillwright.model.findings import Finding
from rillwright.solvers.manifold import TOO_LOW, assemble
from rillwright.solvers.takeoff import benches_of, take_off_plan

__all__ = ["can_be_assembled", "manifolds_sound"]

NAMED = 6  # of what is told in one finding


def can_be_assembled(case: Inspection) -> Iterator[Finding]:
    """Every end is joined by fittings that can be bought, and no run is shorter than the fittings at its ends."""
    if not case.plan.places:
        return
    tally = take_off_plan(case.plan, case.catalogue)
    for where, ends in dict.fromkeys(tally.open):
        yield Finding(
            rule="cannot-be-joined",
            severity="must",
            where=where,
            what=f"no fittings on the list join {ends}",
            do="Allow another pipe material or size, or let a fitter say what joins them.",
            source="docs/theory/parts.md",
        )
    if tally.short:
        most = max(tally.short, key=lambda each: each[1])
        runs = [name for name, _ in tally.short]
        more = f" and {len(runs) - NAMED} more" if len(runs) > NAMED else ""
        yield Finding(
            rule="too-short-for-fittings",
            severity="know",
            where=", ".join(runs[:NAMED]) + more,
            what=f"shorter than the fittings at both ends, {most[0]} by {case.show(most[1], 'length')}",
            do="Set the fittings end to end, or move the branch or head by so much.",
            source="docs/reference/fittings.md",
        )


def manifolds_sound(case: Inspection) -> Iterator[Finding]:
    """Every manifold fits its box and its valves come out; how high breakers stand is told for the valve place."""
    for bench in benches_of(case.plan, case.catalogue, case.plan.places):
        try:
            made = assemble(bench)
        except InputError:
            continue  # what cannot be joined is told by the check for that
        yield from (finding for finding in made.findings if finding.rule != TOO_LOW)
