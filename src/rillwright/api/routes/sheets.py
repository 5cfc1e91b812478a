"""The drawing set of a plan, for the paper that is asked for."""

import uuid
from datetime import date
from typing import Annotated

from fastapi import APIRouter, Query, Request, Response

from rillwright.api.desk_access import TheDesk, TheStore
from rillwright.api.files import file_response
from rillwright.api.guard import Sharing
from rillwright.api.uploads import winter_record
from rillwright.jobs.sheets import PDF, SetTerms, set_files
from rillwright.jobs.winter_terms import WinterWords, read_terms
from rillwright.report.sheets import Kind, PaperName, kinds_named, paper_named, scale_named

__all__ = ["router"]

router = APIRouter(prefix="/api/plans/{plan}", tags=["plans"])


@router.get("/sheets", response_class=Response)
def plan_sheets(
    request: Request,
    desk: TheDesk,
    store: TheStore,
    plan: uuid.UUID,
    *,
    paper: Annotated[PaperName | None, Query(description="a4 or letter, by the yard's units, when left out")] = None,
    scale: Annotated[str | None, Query(max_length=20, description="1:100, or 1 in = 10 ft")] = None,
    only: Annotated[list[Kind] | None, Query(max_length=20, description="Some sheets alone")] = None,
    day: Annotated[date | None, Query(description="For the title blocks; a line to write on when left out")] = None,
    download: bool = False,
) -> Response:
    """The set as a PDF, true to scale; its code opens the yard's plan here, where a phone can."""
    document, yard = desk.plan(plan), store.plans.get(plan).yard
    with winter_record(store, yard) as record:
        today = day or date.today()
        winter = None if record is None else read_terms(WinterWords(), yard=document.yard, weather=record, today=today)
    terms = SetTerms(
        paper=paper_named(paper) if paper else None,
        scale=scale_named(scale) if scale else None,
        kinds=kinds_named(only or ()),
        day=day,
        address=f"{_home(request)}/#/{yard}/plan",
        winter=winter,
    )
    return file_response(PDF, set_files(document, desk.catalogue, terms)[PDF], download=download)


def _home(request: Request) -> str:
    """Address by which other devices reach the page; this machine's own when it is not shared."""
    sharing: Sharing | None = request.app.state.sharing
    return str(request.base_url).rstrip("/") if sharing is None else sharing.address
