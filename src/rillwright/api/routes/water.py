"""The watering programme of a stored plan."""

import uuid
from datetime import date
from typing import Annotated, Literal

from fastapi import APIRouter, Depends, File, Form, Response, UploadFile
from pydantic import BaseModel

from rillwright.api.desk_access import TheDesk
from rillwright.api.files import file_response
from rillwright.api.uploads import uploaded_table
from rillwright.api.workings import WorkingOut, working_out
from rillwright.exchange.weather import load_weather
from rillwright.jobs.desk import Desk
from rillwright.jobs.watering import WaterTerms, make_water_plan, weather_of_yard
from rillwright.jobs.watering.files import water_files
from rillwright.model.watering import WaterPlan
from rillwright.report.workings.watering import water_workings

__all__ = ["router"]

router = APIRouter(prefix="/api/plans/{plan}", tags=["water"])

FileName = Literal["water.html", "door.pdf", "water.csv", "water.ics"]
Degrees = Annotated[float | None, Form(ge=-66, le=66, allow_inf_nan=False)]
Year = Annotated[int | None, Form(ge=2000, le=2200, description="Of the calendar; this year when left out")]
WeatherFile = Annotated[UploadFile | None, File(description="Weather: .csv of days or months, or .epw")]


class WaterOut(BaseModel):
    """The programme, and the working of every number."""

    programme: WaterPlan
    workings: dict[str, WorkingOut]


def _terms(*, year: Year = None, latitude: Degrees = None) -> WaterTerms:
    return WaterTerms(year=year or date.today().year, latitude=latitude)


Terms = Annotated[WaterTerms, Depends(_terms)]


@router.post("/water")
def plan_water(desk: TheDesk, plan: uuid.UUID, terms: Terms, weather: WeatherFile = None) -> WaterOut:
    """What to set on the controller by month, nights and starts, water and cost; with the yard's climate else."""
    made = _made(desk, plan, terms, weather)
    document = desk.plan(plan)
    return WaterOut(programme=made, workings={w.key: working_out(w, document) for w in water_workings(made)})


@router.post("/water/{name}", response_class=Response)
def water_file(desk: TheDesk, plan: uuid.UUID, name: FileName, terms: Terms, weather: WeatherFile = None) -> Response:
    """The programme as a page, a sheet for the controller's door, a table or a calendar."""
    files = water_files(_made(desk, plan, terms, weather), today=date.today())
    return file_response(name, files[name], download=name in ("water.csv", "water.ics"))


def _made(desk: Desk, plan: uuid.UUID, terms: WaterTerms, weather: UploadFile | None) -> WaterPlan:
    document = desk.plan(plan)
    if weather is None:
        return make_water_plan(document, weather_of_yard(document.yard), desk.catalogue, terms)
    with uploaded_table(weather) as path:
        days = load_weather(path)
    return make_water_plan(document, days, desk.catalogue, terms)
