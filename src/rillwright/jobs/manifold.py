"""The manifold of every valve place of a plan, and its files."""

import math
from dataclasses import replace

from rillwright.errors import InputError
from rillwright.model.bench_parts import BenchBodies
from rillwright.model.manifold import BenchTerms, Facing, Manifold
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Plan, ValvePlace
from rillwright.report.manifold_drawing import draw_manifold
from rillwright.report.manifold_dxf import manifold_dxf
from rillwright.report.manifold_list import cut_list_csv
from rillwright.report.sheet import pdf_of
from rillwright.solvers.manifold import NO_ROOM, assemble
from rillwright.solvers.offsets import bearing
from rillwright.solvers.takeoff import benches_of, face

__all__ = ["MANIFOLD_FILES", "make_manifolds", "manifold_files", "place_of"]

MANIFOLD_FILES = ("manifold.svg", "manifold.pdf", "manifold.dxf", "cut-list.csv")


def make_manifolds(
    plan: Plan,
    catalogue: Catalogue,
    terms: BenchTerms | None = None,
    *,
    place: str | None = None,
    bodies: BenchBodies | None = None,
) -> tuple[Manifold, ...]:
    """Put together the manifold of one valve place, or of all.

    Parameters: terms, the yard's own when None, on which its parts list is made; bodies, when not the packaged ones.
    Errors: InputError for a plan without valve places, a place it does not have, a material that no dimension is
    known of, or a spacing that leaves no pipe for two fittings to hold.
    """
    if not plan.places:
        raise InputError("this plan has no valve places: mend what its findings say and plan again")
    wanted = plan.places if place is None else (place_of(plan, place),)
    made = tuple(assemble(bench) for bench in benches_of(plan, catalogue, wanted, terms=terms, bodies=bodies))
    for finding in (finding for one in made for finding in one.findings if finding.rule == NO_ROOM):
        raise InputError(f"{finding.what} {finding.do}")
    return tuple(replace(one, facing=_faced(one.place, plan)) for one in made)


def _faced(place: str, plan: Plan) -> Facing:
    found = face(place, plan.zones, plan.pipes)
    ahead = (math.cos(found.header), math.sin(found.header))
    return replace(found, towards=bearing((0.0, 0.0), ahead, north=plan.yard.north)[0])


def place_of(plan: Plan, name: str) -> ValvePlace:
    """A valve place by its name, capitals aside. Errors: InputError."""
    for place in plan.places:
        if place.id.lower() == name.strip().lower():
            return place
    raise InputError(f"the plan has no valve place '{name}': name one of {', '.join(p.id for p in plan.places)}")


def manifold_files(made: Manifold, plan: Plan) -> dict[str, bytes]:
    """Every file of a manifold, by name."""
    drawing = draw_manifold(made, plan)
    texts = (drawing.encode(), pdf_of([drawing]), manifold_dxf(made), cut_list_csv(made, plan).encode())
    return dict(zip(MANIFOLD_FILES, texts, strict=True))
