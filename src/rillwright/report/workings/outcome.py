"""Workings of the counts in the verdict, of the ways out and of the proofs."""

from collections.abc import Iterator

from rillwright.model.plan import Plan
from rillwright.report.workings.working import Given, Working

__all__ = ["outcome_workings"]


def outcome_workings(plan: Plan) -> Iterator[Working]:
    """Workings of counts, ways out and proofs."""
    if plan.zones:
        given = tuple(Given(z.id, f"{len(z.heads)} heads", f"zone.{z.id}.flow") for z in plan.zones)
        formula = "zones chosen by the solver; see proof.1.value for the least number that can work"
        yield Working("count.zones", "Zones", len(plan.zones), "count", formula, given, "docs/theory/zoning.md")
    if plan.heads:
        given = tuple(
            Given(lawn.id, f"{sum(h.lawn == lawn.id for h in plan.heads)} heads", f"lawn.{lawn.id}.area")
            for lawn in plan.lawns
        )
        yield Working(
            "count.heads", "Heads", len(plan.heads), "count", "sum over the lawns", given, "docs/theory/coverage.md"
        )
    yield from _ways_out(plan)
    yield from _proofs(plan)


def _ways_out(plan: Plan) -> Iterator[Working]:
    money = f"({plan.yard.currency})"
    for number, way in enumerate(plan.ways_out, start=1):
        given = (Given("change", way.change),)
        if way.zones is not None:
            formula = "zones of the yard planned anew with the change"
            yield Working(f"way.{number}.zones", f"{way.change}: zones", way.zones, "count", formula, given, "solver")
        if way.cost is not None:
            formula = "parts and trenches of the yard planned anew with the change, and what the change itself adds"
            yield Working(
                f"way.{number}.cost", f"{way.change}: total {money}", way.cost, "money", formula, given, "prices"
            )
        if way.extra is not None:
            formula = "price of the change itself"
            yield Working(
                f"way.{number}.extra", f"{way.change}: added {money}", way.extra, "money", formula, given, "prices"
            )


def _proofs(plan: Plan) -> Iterator[Working]:
    for number, proof in enumerate(plan.proofs, start=1):
        key, status = f"proof.{number}", Given("ended", proof.status)
        value = Given("value", f"{proof.value:.6g}", f"{key}.value")
        yield Working(f"{key}.value", f"{proof.stage}: value", proof.value, "number", proof.method, (status,), "solver")
        if proof.bound is None or proof.gap is None:
            continue
        bound = Given("bound", f"{proof.bound:.6g}", f"{key}.bound")
        yield Working(
            f"{key}.bound",
            f"{proof.stage}: no plan can be better than",
            proof.bound,
            "number",
            proof.method,
            (status,),
            "solver",
        )
        again = abs(proof.value - proof.bound) / max(abs(proof.value), 1e-12)
        yield Working(
            f"{key}.gap",
            f"{proof.stage}: most that could be gained",
            proof.gap,
            "share",
            "|value - bound| / value",
            (value, bound),
            "definition",
            again,
        )
