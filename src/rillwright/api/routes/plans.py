"""Plans: made in the background, shown, tried otherwise, compared, explained."""

import asyncio
import uuid
from collections.abc import AsyncIterator
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Request, Response
from pydantic import BaseModel, ConfigDict, Field, TypeAdapter
from shapely.geometry import mapping
from starlette.concurrency import run_in_threadpool
from starlette.responses import StreamingResponse

from rillwright.api.desk_access import TheDesk, TheStore
from rillwright.api.files import file_response
from rillwright.api.routes.money import TheMoney
from rillwright.api.workings import WorkingNote, WorkingOut, working_out
from rillwright.errors import NotFoundError
from rillwright.jobs.adjust import HeadSetting
from rillwright.jobs.compare import Comparison, compare
from rillwright.jobs.desk import Desk, PlanState
from rillwright.model.findings import Finding
from rillwright.model.ground import resolve_ground
from rillwright.model.plan import Head, Lawn, Plan, Zone
from rillwright.model.section import Section
from rillwright.report.depth_picture import LawnDepth
from rillwright.report.workings import find_working
from rillwright.store.plans import PlanNote

__all__ = ["router"]

router = APIRouter(prefix="/api", tags=["plans"])

_EVERY = 0.25  # [s] between looks at a job
_ALIVE = 15.0  # [s] between signs of life on a quiet stream
_STATE = TypeAdapter(PlanState)

FileName = Literal[
    "plan.json",
    "report.html",
    "plan.svg",
    "depth.svg",
    "plan.pdf",
    "plan.dxf",
    "plan.geojson",
    "parts.csv",
    "parts.xlsx",
]
ThingId = Annotated[str, Field(min_length=1, max_length=60)]
Finite = Annotated[float, Field(ge=-1e5, le=1e5, allow_inf_nan=False)]


class PlanRequest(BaseModel):
    """What to plan."""

    revision: Annotated[int, Field(ge=1, le=2**31 - 1)] | None = None  # the one that the yard is at when left out
    seed: Annotated[int, Field(ge=0, le=2**31 - 1)] = 0
    start: uuid.UUID | None = None  # plan to go on from: what can stay as it is does
    heads: Annotated[list["SettingIn"], Field(max_length=500)] = []  # of that plan, set otherwise than planned


class SettingIn(BaseModel):
    """How one head is to be set; what is left out stays as planned. SI and degrees, as in the plan."""

    model_config = ConfigDict(extra="forbid")

    head: ThingId
    at: tuple[Finite, Finite] | None = None  # [m]
    arc_start: Finite | None = None  # [°]
    arc: Annotated[float, Field(ge=0, le=360)] | None = None  # [°]
    radius_share: Annotated[float, Field(gt=0, le=1)] | None = None  # of the full radius


class AdjustRequest(BaseModel):
    """Every head that is set otherwise than planned; none shows the plan as it is."""

    heads: Annotated[list[SettingIn], Field(max_length=500)]


class SectionRequest(AdjustRequest):
    """Where a section leads, and every head that is set otherwise than planned."""

    to: ThingId  # head, valve place or pipe; a pipe leads on to the farthest head beyond it
    start: ThingId | None = None  # head, valve place or pipe where it begins; the water entry when left out


class AdjustedOut(BaseModel):
    """What becomes of the plan; parts, cost, trenches and certainty are not counted anew."""

    heads: list[Head]  # of the zones that were touched
    zones: list[Zone]  # that were touched
    lawns: list[Lawn]  # whose water changed
    depths: list[LawnDepth]  # of these
    new: list[Finding]  # against the plan as it was made
    gone: list[Finding]


class GroundOut(BaseModel):
    """Ground of a plan, resolved: GeoJSON geometries in local metres, what lies on top cut out of what lies under."""

    extent: tuple[float, float, float, float]  # least x, least y, greatest x, greatest y [m]
    lawns: dict[str, dict[str, Any]]  # by id
    kinds: dict[str, dict[str, Any]]  # union of each kind
    roots: dict[str, Any]
    trunks: dict[str, Any]


@router.get("/yards/{yard}/plans")
def list_plans(store: TheStore, yard: uuid.UUID) -> list[PlanNote]:
    """Plans of a yard, newest first."""
    store.yards.get(yard)
    return store.plans.of_yard(yard)


@router.post("/yards/{yard}/plans", status_code=202)
def start_plan(desk: TheDesk, yard: uuid.UUID, body: PlanRequest) -> PlanState:
    """Plan a revision in the background. One that was planned to its end already serves again, at once."""
    settings = _settings(body.heads)
    return desk.start(yard, revision=body.revision, seed=body.seed, start=body.start, settings=settings)


@router.get("/plans/{plan}")
def get_plan(desk: TheDesk, plan: uuid.UUID) -> PlanState:
    """A plan, and how far the work on it is."""
    return desk.state(plan)


@router.get("/plans/{plan}/events", response_class=StreamingResponse)
async def plan_events(request: Request, desk: TheDesk, plan: uuid.UUID) -> StreamingResponse:
    """Server-sent events named 'state', each with a plan state, whenever it changes; the stream ends with the work."""
    await run_in_threadpool(desk.state, plan)
    return StreamingResponse(
        _events(request, desk, plan), media_type="text/event-stream", headers={"X-Accel-Buffering": "no"}
    )


@router.post("/plans/{plan}/cancel", status_code=202)
def cancel_plan(desk: TheDesk, plan: uuid.UUID) -> PlanState:
    """End the work on a plan soon; when it holds a complete plan by then, that is kept as 'stopped early'."""
    return desk.cancel(plan)


@router.delete("/plans/{plan}", status_code=204)
def delete_plan(store: TheStore, plan: uuid.UUID) -> None:
    """Delete a plan."""
    store.plans.delete(plan)


@router.get("/plans/{plan}/document", response_model=Plan)
def plan_document(store: TheStore, plan: uuid.UUID) -> Response:
    """The whole plan in SI: heads, zones, places, pipes, trenches, findings, cost, certainty, supply."""
    return Response(store.plans.document(plan), media_type="application/json")


@router.get("/plans/{plan}/ground")
def plan_ground(desk: TheDesk, plan: uuid.UUID) -> GroundOut:
    """The ground under the plan, to be drawn as it is."""
    ground = resolve_ground(desk.plan(plan).yard)
    return GroundOut(
        extent=ground.extent,
        lawns={name: dict(mapping(shape)) for name, shape in ground.lawns.items()},
        kinds={kind: dict(mapping(shape)) for kind, shape in ground.kinds.items()},
        roots=dict(mapping(ground.roots)),
        trunks=dict(mapping(ground.trunks)),
    )


@router.get("/plans/{plan}/depth")
def plan_depth(desk: TheDesk, plan: uuid.UUID) -> list[LawnDepth]:
    """The water on every lawn of the plan as it was made, in still air."""
    return list(desk.tray(plan).depths())


@router.post("/plans/{plan}/adjust")
def adjust_plan(desk: TheDesk, plan: uuid.UUID, body: AdjustRequest) -> AdjustedOut:
    """What becomes of water, pressures and findings when heads are set otherwise. The plan stays as it is."""
    done = desk.tray(plan).adjust(_settings(body.heads))
    planned = desk.plan(plan)
    zones = [new for old, new in zip(planned.zones, done.plan.zones, strict=True) if old != new]
    touched = {head for zone in zones for head in zone.heads} | {s.head for s in body.heads}
    return AdjustedOut(
        heads=[head for head in done.plan.heads if head.id in touched],
        zones=zones,
        lawns=[new for old, new in zip(planned.lawns, done.plan.lawns, strict=True) if old != new],
        depths=list(done.depths),
        new=list(done.new),
        gone=list(done.gone),
    )


@router.post("/plans/{plan}/section")
def plan_section(desk: TheDesk, plan: uuid.UUID, body: SectionRequest) -> Section:
    """Long section along pipes, with heads set as stated: ground, pipe, static and working pressure."""
    return desk.tray(plan).section(_settings(body.heads), body.to, start=body.start)


@router.get("/plans/{plan}/workings")
def list_workings(desk: TheDesk, plan: uuid.UUID) -> list[WorkingNote]:
    """Every number that can be explained."""
    document = desk.plan(plan)
    return [
        WorkingNote(key=w.key, title=w.title, value=w.value, dimension=w.dimension, printed=w.printed(document))
        for w in desk.workings(plan).values()
    ]


@router.get("/plans/{plan}/explained")
def all_workings(desk: TheDesk, plan: uuid.UUID) -> dict[str, WorkingOut]:
    """All workings of a plan by key, for a device that is to have them without a connection."""
    document = desk.plan(plan)
    return {key: working_out(working, document) for key, working in desk.workings(plan).items()}


@router.get("/plans/{plan}/workings/{key:path}")
def get_working(desk: TheDesk, money: TheMoney, plan: uuid.UUID, key: str) -> WorkingOut:
    """How one number came about: formula, inputs, source; money by the log and the yard as they are now."""
    document = desk.plan(plan)
    found = desk.workings(plan)
    own = {**found, **money.workings(plan)} if key.startswith("money.") else found
    return working_out(find_working(own, key), document)


@router.get("/plans/{plan}/files/{name}", response_class=Response)
def plan_file(desk: TheDesk, plan: uuid.UUID, name: FileName, *, download: bool = False) -> Response:
    """A file of the plan, as the command line writes it: report, drawings, PDF sheets, DXF, parts list."""
    data = desk.files(plan).get(name)
    if data is None:
        raise NotFoundError("file of this plan", name)
    return file_response(name, data, download=download)


@router.get("/plans/{plan}/compare/{other}")
def compare_plans(desk: TheDesk, plan: uuid.UUID, other: uuid.UUID) -> Comparison:
    """What changes from a plan to another."""
    return compare(desk.plan(plan), desk.plan(other))


def _settings(heads: list[SettingIn]) -> list[HeadSetting]:
    return [HeadSetting(s.head, s.at, s.arc_start, s.arc, s.radius_share) for s in heads]


async def _events(request: Request, desk: Desk, plan: uuid.UUID) -> AsyncIterator[str]:
    last: PlanState | None = None
    quiet = 0.0
    while not await request.is_disconnected():
        try:
            state = await run_in_threadpool(desk.state, plan)
        except NotFoundError:
            return
        if state != last:
            last, quiet = state, 0.0
            yield f"event: state\ndata: {_STATE.dump_json(state).decode()}\n\n"
        if state.note.ended is not None:
            return
        await asyncio.sleep(_EVERY)
        quiet += _EVERY
        if quiet >= _ALIVE:
            quiet = 0.0
            yield ": still at work\n\n"
