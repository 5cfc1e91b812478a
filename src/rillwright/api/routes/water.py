"""The watering programme of a stored plan with where this season stands, what a change would save, a new lawn."""

import uuid
from datetime import date
from typing import Annotated, Literal

from fastapi import APIRouter, Depends, File, Form, Response, UploadFile
from pydantic import BaseModel

from rillwright.api.desk_access import TheDesk, TheStore
from rillwright.api.files import file_response
from rillwright.api.uploads import days_in, uploaded_weather
from rillwright.api.workings import WorkingOut, working_out
from rillwright.jobs.watering import WaterTerms, make_water_plan, weather_of_yard
from rillwright.jobs.watering.files import water_files
from rillwright.jobs.watering.new_lawn import make_new_lawn
from rillwright.jobs.watering.recent import so_far_or_why
from rillwright.jobs.watering.whatif import what_ifs
from rillwright.model.new_lawn import NewLawn, NewLawnKind
from rillwright.model.plan import Plan
from rillwright.model.watering import WaterPlan
from rillwright.model.watering_asked import SoFar, WhatIf
from rillwright.model.weather import DailyWeather
from rillwright.report.water.new_lawn import new_lawn_files
from rillwright.report.workings.new_lawn import new_lawn_workings
from rillwright.report.workings.watering import water_workings
from rillwright.report.workings.watering_asked import so_far_workings, what_if_workings
from rillwright.store.kept_files import KeptFile

__all__ = ["router"]

router = APIRouter(prefix="/api/plans/{plan}", tags=["water"])

FileName = Literal["water.html", "door.pdf", "water.csv", "water.ics"]
LawnFile = Literal["new-lawn.csv", "new-lawn.ics"]
Degrees = Annotated[float | None, Form(ge=-66, le=66, allow_inf_nan=False)]
Year = Annotated[int | None, Form(ge=2000, le=2200, description="Of the calendar; this year when left out")]
Kind = Annotated[NewLawnKind, Form()]
Start = Annotated[date | None, Form(description="Day of sowing or laying; the best window's middle when left out")]
WeatherFile = Annotated[
    UploadFile | None, File(description="Weather for this once: .csv of days or months, or .epw; what is kept else")
]


class WaterOut(BaseModel):
    """The programme, where this season stands by its kept days, and the working of every number."""

    programme: WaterPlan
    so_far: SoFar | None  # null where no days of the season are kept, or they do not tell it
    so_far_missing: str  # why they do not
    workings: dict[str, WorkingOut]


class WhatIfsOut(BaseModel):
    """The yard as it is, each change by itself, and the working of every number."""

    changes: list[WhatIf]
    workings: dict[str, WorkingOut]


class NewLawnOut(BaseModel):
    """The course of a new lawn, and the working of every number."""

    course: NewLawn
    workings: dict[str, WorkingOut]


def _terms(*, year: Year = None, latitude: Degrees = None) -> WaterTerms:
    return WaterTerms(year=year or date.today().year, latitude=latitude)


def _days(store: TheStore, desk: TheDesk, plan: uuid.UUID, weather: WeatherFile = None) -> DailyWeather:
    """The weather that counts: the file sent, else the one kept with the yard, else the yard's climate."""
    file = store.files.get(store.plans.get(plan).yard, "weather") if weather is None else uploaded_weather(weather)
    return weather_of_yard(desk.plan(plan).yard) if file is None else days_in(file)


def _recent(store: TheStore, plan: uuid.UUID) -> DailyWeather | None:
    """Days of this season that are kept with the yard; None when there are none."""
    file = store.files.get(store.plans.get(plan).yard, "recent")
    return None if file is None else days_in(file)


Terms = Annotated[WaterTerms, Depends(_terms)]
Days = Annotated[DailyWeather, Depends(_days)]
Recent = Annotated[DailyWeather | None, Depends(_recent)]


@router.post("/water")
def plan_water(desk: TheDesk, plan: uuid.UUID, terms: Terms, days: Days, recent: Recent) -> WaterOut:
    """What to set on the controller by month, nights and starts, water and cost."""
    document = desk.plan(plan)
    made = make_water_plan(document, days, desk.catalogue, terms)
    so_far, why = so_far_or_why(document, made, recent, desk.catalogue, terms)
    workings = (*water_workings(made), *(() if so_far is None else so_far_workings(so_far, made)))
    return WaterOut(
        programme=made,
        so_far=so_far,
        so_far_missing=why,
        workings={w.key: working_out(w, document) for w in workings},
    )


@router.post("/water/what-if")
def plan_what_if(desk: TheDesk, plan: uuid.UUID, terms: Terms, days: Days) -> WhatIfsOut:
    """What heads set anew, higher mowing or a sand cap would change in a season's water."""
    document = desk.plan(plan)
    found = what_ifs(document, days, desk.catalogue, terms)
    workings = what_if_workings(found, document.yard.units)
    return WhatIfsOut(changes=list(found), workings={w.key: working_out(w, document) for w in workings})


@router.post("/water/{name}", response_class=Response)
def water_file(
    store: TheStore, desk: TheDesk, plan: uuid.UUID, name: FileName, terms: Terms, days: Days, recent: Recent
) -> Response:
    """The programme as a page, a sheet for the controller's door, a table or a calendar.

    A calendar also cancels what the one given out before held and this one does not.
    """
    yard = store.plans.get(plan).yard
    made = make_water_plan(desk.plan(plan), days, desk.catalogue, terms)
    so_far, _ = so_far_or_why(desk.plan(plan), made, recent, desk.catalogue, terms)
    before = store.files.get(yard, "calendar")
    earlier = None if before is None else before.data
    files = water_files(made, today=date.today(), so_far=so_far, earlier=earlier)
    if name == "water.ics":
        store.files.put(yard, "calendar", KeptFile(name, files[name]))
    return file_response(name, files[name], download=name in ("water.csv", "water.ics"))


@router.post("/new-lawn")
def plan_new_lawn(
    desk: TheDesk, plan: uuid.UUID, terms: Terms, days: Days, *, kind: Kind = "seed", start: Start = None
) -> NewLawnOut:
    """When to sow, what comes before, and how to water a new lawn stage by stage."""
    document = desk.plan(plan)
    made = _course(document, days, desk, terms, kind, start)
    workings = new_lawn_workings(made, document.yard.units)
    return NewLawnOut(course=made, workings={w.key: working_out(w, document) for w in workings})


@router.post("/new-lawn/{name}", response_class=Response)
def new_lawn_file(
    desk: TheDesk,
    plan: uuid.UUID,
    name: LawnFile,
    terms: Terms,
    days: Days,
    *,
    kind: Kind = "seed",
    start: Start = None,
) -> Response:
    """The course of a new lawn as a table or a calendar."""
    document = desk.plan(plan)
    made = _course(document, days, desk, terms, kind, start)
    return file_response(name, new_lawn_files(made, document, today=date.today())[name], download=True)


def _course(
    document: Plan, days: DailyWeather, desk: TheDesk, terms: WaterTerms, kind: NewLawnKind, start: date | None
) -> NewLawn:
    today = date.today()
    after = today if terms.year == today.year else date.min
    return make_new_lawn(document, days, desk.catalogue, terms, kind=kind, start=start, after=after)
