"""Money of a plan: its ledger by the log and the yard as they are now, and building it in phases."""

import uuid
from datetime import date
from operator import attrgetter
from typing import Annotated, Literal

from fastapi import APIRouter, Depends, Query
from pydantic import BaseModel, BeforeValidator

from rillwright.api.desk_access import TheDesk, TheStore
from rillwright.jobs.money.desk import MoneyDesk
from rillwright.model.ledger import Ledger
from rillwright.model.site import MOST_PHASES

__all__ = ["TheMoney", "router"]

router = APIRouter(prefix="/api/plans/{plan}/money", tags=["money"])


def _money(store: TheStore, desk: TheDesk) -> MoneyDesk:
    return MoneyDesk(store, desk)


TheMoney = Annotated[MoneyDesk, Depends(_money)]


Named = Annotated[str, BeforeValidator(attrgetter("what"))]
Unit = Annotated[list[str], BeforeValidator(sorted)]


class PhaseOut(BaseModel):
    """One phase [currency]."""

    zones: list[str]
    parts: float
    trenches: float
    other: float
    caps: float
    rental: float
    days: int  # of rent
    delivery: float
    total: float
    stubs: list[Named]  # ends to cap for later


class SplitOut(BaseModel):
    """A job in phases [currency]."""

    status: Literal["optimal", "feasible", "given"]
    total: float
    bound: float | None  # that no split within the limit can cost less than
    dearest: float  # phase
    phases: list[PhaseOut]


class PhasedOut(BaseModel):
    """All at once against phases."""

    at_once: SplitOut
    given: SplitOut | None  # as the yard puts its lawns in phases
    tied: list[str]  # zones over lawns that it puts in two phases
    best: SplitOut | None  # the cheapest within the limit; null when there is none
    front: list[SplitOut]  # from the least whole cost to the least dearest phase
    units: list[Unit]  # zones that are built together
    yearly: float | None
    least_yearly: float | None  # the least found that the dearest phase may cost
    open_now: list[str]  # trenches of the first phase of `given`, or of `best`


@router.get("")
def plan_money(
    money: TheMoney,
    plan: uuid.UUID,
    *,
    start: Annotated[
        date | None,
        Query(ge=date(2000, 1, 1), le=date(2200, 1, 1), description="First day of work: dates what is to come"),
    ] = None,
) -> Ledger:
    """The ledger: parts, charges, the whole with its band, water, by the log and the yard as they are now."""
    return money.ledger(plan, start=start)


@router.get("/phases")
def plan_phases(
    money: TheMoney,
    plan: uuid.UUID,
    *,
    phases: Annotated[int, Query(ge=2, le=MOST_PHASES)] = 2,
    yearly: Annotated[float | None, Query(ge=0, le=1e9, allow_inf_nan=False)] = None,
    split: Literal["lawns", "zones"] = "lawns",
) -> PhasedOut:
    """The cheapest split into phases, and how cheap the dearest of them can be."""
    found = money.phases(plan, phases=phases, yearly=yearly, whole_lawns=split == "lawns")
    return PhasedOut.model_validate(found, from_attributes=True)
