"""The watering programme of a stored plan, what a change would save, where this season stands, and a new lawn."""

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
from rillwright.jobs.watering.recent import season_so_far
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
    """The programme, and the working of every number."""

    programme: WaterPlan
    workings: dict[str, WorkingOut]


class WhatIfsOut(BaseModel):
    """The yard as it is, each change by itself, and the working of every number."""

    changes: list[WhatIf]
    workings: dict[str, WorkingOut]


class SoFarOut(BaseModel):
    """Where the season stands, and the working of every number."""

    so_far: SoFar
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


Terms = Annotated[WaterTerms, Depends(_terms)]
Days = Annotated[DailyWeather, Depends(_days)]


@router.post("/water")
def plan_water(desk: TheDesk, plan: uuid.UUID, terms: Terms, days: Days) -> WaterOut:
    """What to set on the controller by month, nights and starts, water and cost."""
    document = desk.plan(plan)
    made = make_water_plan(document, days, desk.catalogue, terms)
    return WaterOut(programme=made, workings={w.key: working_out(w, document) for w in water_workings(made)})


@router.post("/water/what-if")
def plan_what_if(desk: TheDesk, plan: uuid.UUID, terms: Terms, days: Days) -> WhatIfsOut:
    """What heads set anew, higher mowing or a sand cap would change in a season's water."""
    document = desk.plan(plan)
    found = what_ifs(document, days, desk.catalogue, terms)
    workings = what_if_workings(found, document.yard.units)
    return WhatIfsOut(changes=list(found), workings={w.key: working_out(w, document) for w in workings})


@router.post("/water/so-far")
def plan_so_far(
    desk: TheDesk,
    plan: uuid.UUID,
    terms: Terms,
    days: Days,
    recent: Annotated[UploadFile, File(description="This year's days from the season's first on, .csv")],
) -> SoFarOut:
    """How dry the lawns are by this year's weather, and what share of the month's minutes the next night needs."""
    document = desk.plan(plan)
    made = make_water_plan(document, days, desk.catalogue, terms)
    found = season_so_far(document, made, days_in(uploaded_weather(recent)), desk.catalogue, terms)
    workings = so_far_workings(found, made)
    return SoFarOut(so_far=found, workings={w.key: working_out(w, document) for w in workings})


@router.post("/water/{name}", response_class=Response)
def water_file(store: TheStore, desk: TheDesk, plan: uuid.UUID, name: FileName, terms: Terms, days: Days) -> Response:
    """The programme as a page, a sheet for the controller's door, a table or a calendar.

    A calendar also cancels what the one given out before held and this one does not.
    """
    yard = store.plans.get(plan).yard
    made = make_water_plan(desk.plan(plan), days, desk.catalogue, terms)
    before = store.files.get(yard, "calendar")
    files = water_files(made, today=date.today(), earlier=None if before is None else before.data)
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
