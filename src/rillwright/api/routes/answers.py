"""What the field log says of a plan: conclusions, what one entry changed, and what to change of a job under way."""

import uuid
from dataclasses import asdict, replace
from typing import Annotated, Literal

from fastapi import APIRouter, Path, Response
from pydantic import BaseModel, Field

from rillwright.api.desk_access import TheDesk, TheField
from rillwright.api.documents import JsonObject
from rillwright.api.files import file_response
from rillwright.api.routes.yards import Expected
from rillwright.api.workings import WorkingOut, working_out
from rillwright.errors import NotFoundError
from rillwright.jobs.answers import Answer
from rillwright.jobs.field_desk import ChangeTerms, WorkState
from rillwright.jobs.replan import Outcome
from rillwright.jobs.replan.standing import standing_of
from rillwright.model.change import Change
from rillwright.model.plan import Plan
from rillwright.physics.units import show
from rillwright.report.change_page import Standing
from rillwright.report.workings import all_workings
from rillwright.store.plans import PlanNote

__all__ = ["router"]

router = APIRouter(prefix="/api/plans/{plan}", tags=["answers"])

ChangeFile = Literal["plan.json", "report.html", "plan.svg", "depth.svg", "plan.pdf", "parts.csv"]
Price = Annotated[float, Field(ge=0, le=1e6, allow_inf_nan=False)]


class PutOut(BaseModel):
    """What a conclusion would write into the yard's document, in the yard's units."""

    words: str
    heights: list[JsonObject]  # spot heights that are added
    replaced: list[list[float]]  # places of spot heights that they stand in for
    texture: str  # the soil's from then on; empty: as it is


class AnswerOut(BaseModel):
    """One conclusion."""

    subject: str
    verdict: str
    says: list[str]  # what it rests on and what it means
    do: list[str]  # what to do next
    entries: list[uuid.UUID]  # of the log, that it rests on
    workings: list[WorkingOut]
    put: PutOut | None


class AnswersOut(BaseModel):
    """How far the conclusions are, and what they are."""

    state: WorkState
    answers: list[AnswerOut]


class MoveOut(BaseModel):
    """One number of the plan that an entry moved."""

    key: str
    title: str
    before: str  # as printed
    after: str


class EffectOut(BaseModel):
    """What an entry changed in the plan; nothing when all is empty."""

    moves: list[MoveOut]
    says: list[str]
    ticks: list[str]


class TermsOfChanges(BaseModel):
    """On what terms changes are weighed."""

    hour: Annotated[float, Field(ge=0, le=1000, allow_inf_nan=False)] = 20.0  # [currency/h] of the owner's labour
    second_supply: Price | None = None  # [currency] of a second service, when it may be had
    sure: Annotated[float, Field(ge=0, le=1, allow_inf_nan=False)] | None = None  # chance with which a change must
    # hold; null: as surely as the plan did when it was made


class JobChangeOut(BaseModel):
    """One change of the job, against finishing as drawn."""

    kinds: list[str]
    words: list[str]
    note: str
    total: float  # [currency] money, hours at their price, and what is thrown away
    money: float  # [currency] to be paid
    hours: float  # [h] mean
    hours_spread: float  # [h] standard deviation
    lost: float  # [currency] thrown away
    dug_up: str  # metres or feet, as printed
    holds: float | None  # chance that every head of every zone stays inside its band
    status: Literal["optimal", "feasible"]
    thrown: list[str]
    again: list[str]  # trenches dug up again
    workings: list[WorkingOut]


class ChangesOut(BaseModel):
    """How far the search is, how the job stands, and the changes: what holds as surely as the plan did first."""

    state: WorkState
    currency: str
    as_drawn: str  # verdict of the plan finished as drawn on the supply as it is now; empty when not known
    headline: str
    standing: Standing | None
    tried: int
    terms: TermsOfChanges | None  # that they were looked for on
    how_sure: str  # how surely they hold, in words; empty when nothing was asked
    bound: float | None  # [currency] that none costs less than, by the search
    reading: str  # one more reading that could change which is best
    changes: list[JobChangeOut]


@router.post("/answers", status_code=202)
def ask_answers(field: TheField, plan: uuid.UUID) -> WorkState:
    """Conclude from the log as it is now, in the background. What was concluded from it already serves again."""
    return field.ask_answers(plan)


@router.get("/answers")
def get_answers(field: TheField, desk: TheDesk, plan: uuid.UUID) -> AnswersOut:
    """How far that is, and every conclusion with the working of its numbers."""
    state, answers = field.answers(plan)
    document = desk.plan(plan)
    return AnswersOut(state=state, answers=[_answer(answer, document) for answer in answers])


@router.get("/entries/{entry}/effect")
def entry_effect(field: TheField, desk: TheDesk, plan: uuid.UUID, entry: uuid.UUID) -> EffectOut:
    """What one entry of the log changed in the plan, against the same log without it."""
    found, system = field.effect(plan, entry), desk.plan(plan).yard.units
    moves = [
        MoveOut(
            key=one.key,
            title=one.title,
            before=show(one.before, one.dimension, system),
            after=show(one.after, one.dimension, system),
        )
        for one in found.moves
    ]
    return EffectOut(moves=moves, says=list(found.says), ticks=list(found.ticks))


@router.post("/changes", status_code=202)
def ask_changes(field: TheField, plan: uuid.UUID, body: TermsOfChanges) -> WorkState:
    """Look, in the background, for the least-cost changes of a job under way that make every zone sound."""
    return field.ask_changes(plan, ChangeTerms(body.hour / 3600, body.second_supply, body.sure))


@router.get("/changes")
def get_changes(field: TheField, desk: TheDesk, plan: uuid.UUID) -> ChangesOut:
    """How far that is, and what was found."""
    return _changes(*field.changes(plan), desk.plan(plan))


@router.post("/changes/cancel", status_code=202)
def cancel_changes(field: TheField, plan: uuid.UUID) -> WorkState:
    """End the search soon; the best so far is kept when there is one."""
    return field.cancel_changes(plan)


@router.post("/changes/{number}/take-up", status_code=201)
def take_up(field: TheField, plan: uuid.UUID, number: Annotated[int, Path(ge=1, le=9)], body: Expected) -> PlanNote:
    """Make a change the plan of its yard: a revision that can be undone. What was bought and buried stays a fact."""
    return field.take_up(plan, number, expected=body.expected)


@router.get("/changes/{number}/files/{name}", response_class=Response)
def change_file(
    field: TheField,
    plan: uuid.UUID,
    number: Annotated[int, Path(ge=1, le=9)],
    name: ChangeFile,
    *,
    download: bool = False,
) -> Response:
    """A file of the whole plan that a change makes."""
    data = field.change_files(plan, number).get(name)
    if data is None:
        raise NotFoundError("file of this plan", name)
    return file_response(name, data, download=download)


def _answer(answer: Answer, document: Plan) -> AnswerOut:
    return AnswerOut(
        subject=answer.subject,
        verdict=answer.verdict,
        says=list(answer.says),
        do=list(answer.do),
        entries=list(answer.entries),
        workings=[working_out(working, document) for working in answer.workings],
        put=None if answer.put is None else PutOut.model_validate(asdict(answer.put)),
    )


def _changes(state: WorkState, found: Outcome | None, terms: ChangeTerms | None, document: Plan) -> ChangesOut:
    changes = () if found is None else found.changes
    first = changes[0].change if changes else None
    reading = "" if first is None or first.reading is None else first.reading.what
    return ChangesOut(
        state=state,
        currency=document.yard.currency,
        as_drawn="" if found is None else found.as_drawn.verdict,
        headline="" if found is None else found.as_drawn.headline,
        standing=None if found is None else standing_of(found.before, found.state, supply=found.supply),
        tried=0 if found is None else found.tried,
        terms=None if terms is None else TermsOfChanges(**asdict(replace(terms, hour=terms.hour * 3600))),
        how_sure="" if found is None else found.how_sure,
        bound=None if first is None else first.bound,
        reading=reading,
        changes=[_change(plan.change, plan) for plan in changes if plan.change is not None],
    )


def _change(change: Change, plan: Plan) -> JobChangeOut:
    system = plan.yard.units
    workings = (working for key, working in all_workings(plan).items() if key.startswith("change."))
    return JobChangeOut(
        kinds=list(change.kinds),
        words=list(change.words),
        note=change.note,
        total=change.total,
        money=change.money,
        hours=change.hours / 3600,
        hours_spread=change.hours_spread / 3600,
        lost=change.undoing.lost,
        dug_up=show(change.undoing.length, "length", system),
        holds=None if change.holds is None else change.holds.value,
        status=change.status,
        thrown=[f"{part.part}: {part.quantity:g} {part.unit}" for part in change.undoing.thrown],
        again=[f"{t.trench}, {show(t.length, 'length', system)} in {t.surface}" for t in change.undoing.dug_up],
        workings=[working_out(working, plan) for working in workings],
    )
