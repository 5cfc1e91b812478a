"""The weather and this season's days kept with a yard: read once, then every programme and the winter take them."""

import uuid
from datetime import date
from typing import Annotated

from fastapi import APIRouter, File, UploadFile
from pydantic import BaseModel

from rillwright.api.desk_access import TheStore
from rillwright.api.uploads import days_in, uploaded_weather, with_days_of
from rillwright.model.findings import Finding
from rillwright.store.kept_files import KeptFile

__all__ = ["router"]

router = APIRouter(prefix="/api/yards/{yard}/weather", tags=["water"])

WeatherFile = Annotated[UploadFile, File(description="Weather: .csv of days or months, TMY3, or .epw, at most 10 MB")]

RecentFile = Annotated[
    UploadFile, File(description="This season's days, .csv, from its first on or on from those kept")
]


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


@router.get("/recent")
def kept_recent(store: TheStore, yard: uuid.UUID) -> WeatherOut | None:
    """Days of this season that are kept; null when there are none."""
    kept = store.files.get(yard, "recent")
    return None if kept is None else _told(kept)


@router.put("/recent")
def keep_recent(store: TheStore, yard: uuid.UUID, file: RecentFile) -> WeatherOut:
    """Add days to those of this season that are kept; what does not go on from them is refused, and they stay."""
    given, kept = uploaded_weather(file), store.files.get(yard, "recent")
    joined = with_days_of(kept, given)
    told = _told(joined)
    store.files.put(yard, "recent", joined)
    return told


@router.delete("/recent", status_code=204)
def drop_recent(store: TheStore, yard: uuid.UUID) -> None:
    """Keep no days of this season."""
    store.files.drop(yard, "recent")


def _told(file: KeptFile) -> WeatherOut:
    days = days_in(file)
    return WeatherOut(
        name=file.name,
        first=days.days[0].astype(object),
        last=days.days[-1].astype(object),
        usual_year=days.comes_round,
        findings=list(days.findings),
    )
