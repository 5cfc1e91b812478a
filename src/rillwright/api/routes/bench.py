"""The bench: manifolds put together on asked terms, and the control wire."""

import uuid
from typing import Annotated, Literal

from fastapi import APIRouter, Query, Response
from pydantic import BaseModel, ConfigDict, Field, ValidationError

from rillwright.api.desk_access import TheDesk
from rillwright.api.files import file_response
from rillwright.api.uploads import sent_bodies
from rillwright.errors import InputError
from rillwright.exchange.yard_problems import allowed
from rillwright.jobs.manifold import make_manifolds, manifold_files
from rillwright.jobs.wire import wire_findings, wire_of
from rillwright.model.findings import Finding
from rillwright.model.manifold import BenchTerms
from rillwright.model.wire import WirePlan
from rillwright.report.manifold_list import manifold_cautions, manifold_told
from rillwright.report.manifold_views import ViewDrawn, cut_list, fittings_of, views_of
from rillwright.report.wire_list import wire_told
from rillwright.solvers.wire import wire_terms

__all__ = ["router"]

router = APIRouter(prefix="/api/plans/{plan}", tags=["plans"])

PlaceName = Annotated[str, Field(min_length=1, max_length=60)]
ManifoldFile = Literal["manifold.svg", "manifold.pdf", "manifold.dxf", "cut-list.csv"]
BodiesTable = Annotated[str, Field(max_length=12_000, description="What valves measure, as CSV")]


class BenchRequest(BaseModel):
    """Which manifold to put together, and how."""

    model_config = ConfigDict(extra="forbid")

    place: PlaceName
    terms: BenchTerms | None = None  # the yard's own when left out
    bodies: BodiesTable | None = None


class Told(BaseModel):
    """A name and what it is, both as printed."""

    name: str
    value: str


class CutOut(BaseModel):
    """Pipes of one kind that are cut to one length."""

    letter: str  # on the drawing
    part: str
    length: str  # as a tape reads
    runs: list[str]  # one for each


class ManifoldOut(BaseModel):
    """A manifold put together."""

    place: str
    told: list[Told]
    views: list[ViewDrawn]  # in marks of a tape: 1/16 in or 1 mm
    cuts: list[CutOut]
    fittings: list[Told]  # number by part
    cautions: list[str]
    findings: list[Finding]


class WireRequest(BaseModel):
    """Terms of the wire; what is left out is the yard's own."""

    model_config = ConfigDict(extra="forbid")

    at_once: Annotated[int, Field(ge=1, le=4)] | None = None
    transformer: Annotated[float, Field(gt=0, le=1000)] | None = None  # [VA]
    inrush: Annotated[float, Field(gt=0, le=2)] | None = None  # [A]
    holding: Annotated[float, Field(gt=0, le=2)] | None = None  # [A]
    least: Annotated[float, Field(gt=0, le=30)] | None = None  # [V]
    temperature: Annotated[float, Field(ge=233, le=363)] | None = None  # [K]


class WireOut(BaseModel):
    """The control wire."""

    wire: WirePlan
    told: list[Told]
    findings: list[Finding]


@router.post("/manifold")
def plan_manifold(desk: TheDesk, plan: uuid.UUID, body: BenchRequest) -> ManifoldOut:
    """Put the manifold of a valve place together: what it measures, three views, the cut list, what to mend."""
    document = desk.plan(plan)
    (made,) = make_manifolds(document, desk.catalogue, body.terms, place=body.place, bodies=sent_bodies(body.bodies))
    return ManifoldOut(
        place=made.place,
        told=[Told(name=name, value=value) for name, value in manifold_told(made, document)],
        views=list(views_of(made)),
        cuts=[
            CutOut(letter=cut.letter, part=cut.what, length=made.grid.show(cut.length), runs=list(cut.runs))
            for cut in cut_list(made)
        ],
        fittings=[Told(name=part, value=str(number)) for part, number in fittings_of(made).items()],
        cautions=list(manifold_cautions(made)),
        findings=list(made.findings),
    )


@router.get("/manifold/{place}/{name}", response_class=Response)
def manifold_file(
    desk: TheDesk,
    plan: uuid.UUID,
    place: PlaceName,
    name: ManifoldFile,
    *,
    terms: Annotated[str | None, Query(max_length=4000, description="Terms as JSON; the yard's own else")] = None,
    bodies: BodiesTable | None = None,
    download: bool = False,
) -> Response:
    """A file of a manifold: drawing as SVG, PDF or DXF, or the cut list as CSV."""
    document = desk.plan(plan)
    try:
        read = None if terms is None else BenchTerms.model_validate_json(terms)
    except ValidationError as error:
        first = error.errors()[0]
        raise InputError(f"terms {'.'.join(map(str, first['loc']))}: {allowed(first)}") from None
    (made,) = make_manifolds(document, desk.catalogue, read, place=place, bodies=sent_bodies(bodies))
    return file_response(name, manifold_files(made, document)[name], download=download)


@router.post("/wire")
def plan_wire(desk: TheDesk, plan: uuid.UUID, body: WireRequest) -> WireOut:
    """Plan the control wire on asked terms: runs, gauges, the voltage at every valve, what to mend."""
    document = desk.plan(plan)
    terms = wire_terms(document.yard).model_copy(update=body.model_dump(exclude_none=True))
    made = wire_of(document, desk.catalogue, terms)
    if made is None:
        raise InputError("this plan has no valves: mend what its findings say and plan again")
    return WireOut(
        wire=made,
        told=[Told(name=name, value=value) for name, value in wire_told(made, document.yard.units)],
        findings=list(wire_findings(document, made, desk.catalogue)),
    )
