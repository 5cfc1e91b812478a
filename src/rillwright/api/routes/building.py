"""Building a plan: steps, guide, as-built record, each as data and on paper."""

import uuid
from datetime import date
from typing import Annotated, Literal

from fastapi import APIRouter, Depends, Query, Response
from pydantic import Field

from rillwright.api.desk_access import TheDesk, TheSite
from rillwright.api.files import file_response
from rillwright.jobs.as_built import as_built_files
from rillwright.jobs.guide import guide_files
from rillwright.model.as_built import AsBuilt
from rillwright.model.guide import BuildTerms, Digging, Guide, Step, Weekday

__all__ = ["router"]

router = APIRouter(prefix="/api/plans/{plan}", tags=["building"])

GuideName = Literal["guide.html", "guide.pdf"]
RecordName = Literal["as-built.svg", "as-built.pdf"]
Degrees = Annotated[float, Field(ge=-66, le=66, allow_inf_nan=False)]


def _terms(
    *,
    start: Annotated[
        date | None, Query(ge=date(2000, 1, 1), le=date(2200, 1, 1), description="First day; today when left out")
    ] = None,
    days: Annotated[list[Weekday] | None, Query(min_length=1, max_length=7)] = None,
    hours: Annotated[float, Query(ge=1, le=16)] = 7.0,
    crew: Annotated[int, Query(ge=1, le=12)] = 2,
    digging: Digging = "machine",
    latitude: Annotated[Degrees | None, Query()] = None,
    lost_days: Annotated[float | None, Query(ge=0, le=0.9)] = None,
) -> BuildTerms:
    worked = tuple(dict.fromkeys(days)) if days else ("Sat", "Sun")
    return BuildTerms(
        start=start or date.today(),
        days=worked,
        hours=hours,
        crew=crew,
        digging=digging,
        latitude=latitude,
        lost_days=lost_days,
    )


Terms = Annotated[BuildTerms, Depends(_terms)]


@router.get("/steps")
def plan_steps(site: TheSite, plan: uuid.UUID, digging: Digging = "machine") -> list[Step]:
    """The steps of the build in their usual order, each with the items that are ticked off; none without zones."""
    return list(site.steps(plan, BuildTerms(start=date(2000, 1, 1), digging=digging)))


@router.get("/done")
def plan_done(site: TheSite, plan: uuid.UUID) -> dict[str, date]:
    """Day on which each item of the build was done, by what was ticked and what the log shows; by its key."""
    return dict(site.done(plan))


@router.get("/guide")
def plan_guide(site: TheSite, plan: uuid.UUID, terms: Terms) -> Guide:
    """The build guide with dates, less what is ticked off or in the log by now."""
    return site.guide(plan, terms)


@router.get("/guide/{name}", response_class=Response)
def guide_file(
    site: TheSite, desk: TheDesk, plan: uuid.UUID, name: GuideName, terms: Terms, *, download: bool = False
) -> Response:
    """The guide as a page, or on paper with one sheet for each work day."""
    files = guide_files(site.guide(plan, terms), desk.plan(plan))
    return file_response(name, files[name], download=download)


@router.get("/as-built")
def as_built(site: TheSite, plan: uuid.UUID) -> AsBuilt:
    """What lies in the ground by the log: buried parts with two taped offsets, pipes with depths."""
    return site.as_built(plan)


@router.get("/as-built/{name}", response_class=Response)
def as_built_file(
    site: TheSite, desk: TheDesk, plan: uuid.UUID, name: RecordName, *, download: bool = False
) -> Response:
    """The as-built sheet, true to scale, and its table."""
    files = as_built_files(site.as_built(plan), desk.plan(plan))
    return file_response(name, files[name], download=download)
