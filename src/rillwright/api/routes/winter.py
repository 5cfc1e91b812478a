"""Winter of a stored plan, and its yearly record."""

import uuid
from dataclasses import dataclass
from datetime import date
from typing import Annotated

from fastapi import APIRouter, Depends, File, Form, Response, UploadFile
from pydantic import BaseModel

from rillwright.api.desk_access import TheDesk, TheSite, TheStore
from rillwright.api.files import file_response
from rillwright.api.uploads import winter_record
from rillwright.api.workings import WorkingOut, working_out
from rillwright.jobs.desk import Desk
from rillwright.jobs.site_desk import SiteDesk
from rillwright.jobs.winter import Courses
from rillwright.jobs.winter_terms import WinterWords, read_terms
from rillwright.model.winter import Winter
from rillwright.model.winter_card import WinterCard
from rillwright.model.yearly import YearlyRecord
from rillwright.report.winter_card import card_pdf, winter_card
from rillwright.report.workings.winter import winter_workings
from rillwright.report.workings.yearly import record_workings
from rillwright.report.yearly_words import season_rows, series_rows
from rillwright.solvers.blowout import BlowLine, Blown
from rillwright.store import Store

__all__ = ["router"]

router = APIRouter(prefix="/api/plans/{plan}", tags=["winter"])

MOST_SAMPLES = 200  # of a blow-out's course
Text = Annotated[str, Form(max_length=120)]
WeatherFile = Annotated[
    UploadFile | None, File(description="Daily weather of several whole winters, .csv; what is kept with the yard else")
]


class BlowCourse(BaseModel):
    """A zone's blow-out in time."""

    zone: str
    time: list[float]  # [s] of air
    line: list[float]  # [Pa] gauge, of the air in the line
    tank: list[float]  # [Pa] gauge
    left: list[float]  # [m³] of water


class WinterOut(BaseModel):
    """The card, what it rests on, and the working of every number."""

    card: WinterCard
    winter: Winter
    courses: list[BlowCourse]
    workings: dict[str, WorkingOut]


class RecordOut(BaseModel):
    """The yearly record: its rows in words, and the working of every number."""

    record: YearlyRecord
    season_columns: list[str]
    seasons: list[list[str]]
    reading_columns: list[str]
    readings: list[list[str]]
    workings: dict[str, WorkingOut]


@dataclass(frozen=True, slots=True)
class WordsForm(WinterWords):
    """The same terms as fields of a form."""

    compressor: Text = "workshop"
    freezing_index: Text = ""
    mean_temperature: Text = ""
    snow: Text = ""
    tonight: Text = ""
    today: Text = ""
    lagged: Annotated[bool, Form()] = False
    southern: Annotated[bool, Form()] = False
    season: Annotated[int | None, Form(ge=1900, le=2200)] = None


Words = Annotated[WinterWords, Depends(WordsForm)]


@router.post("/winter")
def plan_winter(
    store: TheStore, site: TheSite, desk: TheDesk, plan: uuid.UUID, words: Words, weather: WeatherFile = None
) -> WinterOut:
    """What freezes, when to drain, how to blow out zone by zone, what to do tonight, how spring begins."""
    document = desk.plan(plan)
    found, courses = _reckoned(store, site, desk, plan, words, weather)
    return WinterOut(
        card=winter_card(found, document),
        winter=found,
        courses=[_course(zone.zone, course) for zone, course in zip(found.blow_out.zones, courses, strict=True)],
        workings={w.key: working_out(w, document) for w in winter_workings(found, document)},
    )


@router.post("/winter/card", response_class=Response)
def winter_paper(
    store: TheStore, site: TheSite, desk: TheDesk, plan: uuid.UUID, words: Words, weather: WeatherFile = None
) -> Response:
    """The winter card on paper, a PDF."""
    document = desk.plan(plan)
    found, _ = _reckoned(store, site, desk, plan, words, weather)
    return file_response("winter.pdf", card_pdf(winter_card(found, document), document), download=False)


@router.get("/record")
def plan_record(site: TheSite, desk: TheDesk, plan: uuid.UUID) -> RecordOut:
    """Each season's readings out of the field log, what drifts, and what to replace."""
    document, found = desk.plan(plan), site.record(plan)
    (season_columns, seasons), (reading_columns, readings) = season_rows(found, document), series_rows(found, document)
    return RecordOut(
        record=found,
        season_columns=list(season_columns),
        seasons=[list(row) for row in seasons],
        reading_columns=list(reading_columns),
        readings=[list(row) for row in readings],
        workings={w.key: working_out(w, document) for w in record_workings(found, document)},
    )


def _reckoned(
    store: Store, site: SiteDesk, desk: Desk, plan: uuid.UUID, words: WinterWords, weather: UploadFile | None
) -> tuple[Winter, Courses]:
    with winter_record(store, store.plans.get(plan).yard, weather) as record:
        terms = read_terms(words, yard=desk.plan(plan).yard, weather=record, today=date.today())
    return site.winter(plan, terms)


def _course(zone: str, course: tuple[BlowLine, Blown]) -> BlowCourse:
    samples = course[1].samples
    step = max(1, -(-len(samples) // MOST_SAMPLES))
    shown = [*samples[::step], samples[-1]]
    return BlowCourse(
        zone=zone,
        time=[one.time for one in shown],
        line=[one.line for one in shown],
        tank=[one.tank for one in shown],
        left=[one.left for one in shown],
    )
