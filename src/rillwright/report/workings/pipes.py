"""Workings of pipes and trenches."""

import math
from collections.abc import Iterator

from shapely.geometry import LineString

from rillwright.model.plan import Pipe, Plan, Trench
from rillwright.physics.units import show
from rillwright.report.workings.working import HYDRAULICS, Given, Working

__all__ = ["pipe_workings"]


def pipe_workings(plan: Plan) -> Iterator[Working]:
    """Workings of every pipe and every trench."""
    for pipe in plan.pipes:
        yield from _pipe(pipe, plan)
    for trench in plan.trenches:
        yield from _trench(trench, plan)


def _pipe(pipe: Pipe, plan: Plan) -> Iterator[Working]:
    key, system = f"pipe.{pipe.id}", plan.yard.units
    bore = Given("bore", show(pipe.bore, "bore", system), f"{key}.bore")
    flow = Given("flow", show(pipe.flow, "flow", system), f"{key}.flow")
    length = Given("length", show(pipe.length, "length", system), f"{key}.length")
    drawn = LineString(pipe.path).length
    ends = (Given("from", pipe.start), Given("to", pipe.end), Given("corners", str(len(pipe.path))))
    yield Working(f"{key}.length", f"{pipe.id}: length", pipe.length, "length", "along its path", ends, "plan", drawn)
    what = (Given("material", pipe.material), Given("size", pipe.size))
    formula = "inside diameter of the dimension standard"
    yield Working(f"{key}.bore", f"{pipe.id}: bore", pipe.bore, "bore", formula, what, "pipe table of the catalogue")
    served = tuple(
        Given("zone", zone.id, f"zone.{zone.id}.flow") for zone in plan.zones if pipe.zone in (None, zone.id)
    )
    formula = "most that any zone draws through it"
    yield Working(f"{key}.flow", f"{pipe.id}: flow", pipe.flow, "flow", formula, served, HYDRAULICS)
    yield Working(
        f"{key}.velocity",
        f"{pipe.id}: velocity",
        pipe.velocity,
        "velocity",
        "v = 4 Q / (π d²)",
        (flow, bore),
        "continuity",
        4 * pipe.flow / (math.pi * pipe.bore**2),
    )
    formula = "f · L/D · ρ v²/2 + K · ρ v²/2, f by Colebrook-White, K of the fittings"
    speed = Given("velocity", show(pipe.velocity, "velocity", system), f"{key}.velocity")
    yield Working(
        f"{key}.loss",
        f"{pipe.id}: loss",
        pipe.loss,
        "pressure",
        formula,
        (flow, bore, length, speed),
        "Darcy-Weisbach; docs/theory/hydraulics.md",
    )


def _trench(trench: Trench, plan: Plan) -> Iterator[Working]:
    key, drawn = f"trench.{trench.id}", LineString(trench.path).length
    inside = (Given("pipes", ", ".join(trench.pipes)),)
    yield Working(
        f"{key}.length", f"{trench.id}: length", trench.length, "length", "along its path", inside, "plan", drawn
    )
    given = (
        Given("length", show(trench.length, "length", plan.yard.units), f"{key}.length"),
        Given("surface", trench.surface),
        Given("sleeve", "yes" if trench.sleeve else "no"),
    )
    formula = "length · cost of digging in this surface, and the cost of a crossing where there is a sleeve"
    title = f"{trench.id}: cost ({plan.yard.currency})"
    yield Working(f"{key}.cost", title, trench.cost, "money", formula, given, "trench table of the catalogue")
