"""The weather kept with a yard: read once, then every programme and the winter take it."""

import uuid
from datetime import date
from typing import Annotated

from fastapi import APIRouter, File, UploadFile
from pydantic import BaseModel

from rillwright.api.desk_access import TheStore
from rillwright.api.uploads import days_in, uploaded_weather
from rillwright.model.findings import Finding
from rillwright.store.kept_files import KeptFile

__all__ = ["router"]

router = APIRouter(prefix="/api/yards/{yard}/weather", tags=["water"])

WeatherFile = Annotated[UploadFile, File(description="Weather: .csv of days or months, TMY3, or .epw, at most 10 MB")]


class WeatherOut(BaseModel):
    """What a weather file holds."""

    name: str
    first: date
    last: date
    usual_year: bool  # one year that stands for every: monthly normals, EPW, TMY3
    findings: list[Finding]  # what was missing or nonsense in it


@router.get("")
def kept_weather(store: TheStore, yard: uuid.UUID) -> WeatherOut | None:
    """The weather that is kept; null when there is none."""
    kept = store.files.get(yard, "weather")
    return None if kept is None else _told(kept)


@router.put("")
def keep_weather(store: TheStore, yard: uuid.UUID, file: WeatherFile) -> WeatherOut:
    """Keep weather in place of the last; what is no weather is refused, and the last stays."""
    given = uploaded_weather(file)
    told = _told(given)
    store.files.put(yard, "weather", given)
    return told


@router.delete("", status_code=204)
def drop_weather(store: TheStore, yard: uuid.UUID) -> None:
    """Keep no weather: the yard's own climate counts again."""
    store.files.drop(yard, "weather")


def _told(file: KeptFile) -> WeatherOut:
    days = days_in(file)
    return WeatherOut(
        name=file.name,
        first=days.days[0].astype(object),
        last=days.days[-1].astype(object),
        usual_year=days.comes_round,
        findings=list(days.findings),
    )
