"""The money of stored plans: by the log of their yard, and by what its owner says of money now."""

import uuid
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from rillwright.jobs.desk import Desk
from rillwright.jobs.money.dated import coming_money
from rillwright.jobs.money.ledger import make_ledger
from rillwright.jobs.money.phased import Phased, make_phases
from rillwright.model.field_log import Entry, standing
from rillwright.model.ledger import Ledger
from rillwright.model.money import MoneyFacts
from rillwright.model.plan import Plan
from rillwright.model.quantities import Money
from rillwright.model.site import MOST_PHASES, GroundArea
from rillwright.report.workings import Working
from rillwright.report.workings.money import ledger_workings
from rillwright.store import Store

__all__ = ["MoneyDesk"]

MOST_ENTRIES = 2**31 - 1
BROKEN = "The yard's money facts break a rule as they stand now: those that the plan was made with are counted."


class _Said(BaseModel):
    """What a yard document says of money, whatever else of it is still a draft."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    money: MoneyFacts = MoneyFacts()
    budget: Money | None = None
    currency: str = Field(default="USD", pattern=r"^[A-Z]{3}$")


def _phased(areas: Sequence[GroundArea], said: Any) -> list[GroundArea]:
    """Areas of a plan's yard with the phases that its document, which may be a draft, gives them now."""
    listed = [one for one in said if isinstance(one, Mapping)] if isinstance(said, list) else []
    now = {one.get("id"): one.get("phase") for one in listed}
    phases = (now.get(area.id, area.phase) for area in areas)
    return [
        area.model_copy(update={"phase": phase if phase in range(1, MOST_PHASES + 1) else None})
        for area, phase in zip(areas, phases, strict=True)
    ]


class MoneyDesk:
    """What is asked of the money of plans."""

    def __init__(self, store: Store, desk: Desk) -> None:
        self._store = store
        self._desk = desk

    def ledger(self, plan: uuid.UUID, *, start: date | None = None) -> Ledger:
        """The ledger as it stands; start, the first day of work, when what is to come is to be dated.

        Errors: NotFoundError; InputError as `make_ledger`.
        """
        document, sound = self._now(plan)
        ledger = make_ledger(document, entries=self._entries(plan))
        if start is not None:
            coming = coming_money(document, ledger, self._desk.catalogue, start=start)
            ledger = ledger.model_copy(update={"coming": coming})
        return ledger if sound else ledger.model_copy(update={"doubts": (BROKEN, *ledger.doubts)})

    def workings(self, plan: uuid.UUID) -> Mapping[str, Working]:
        """Workings of the ledger by key. Errors: as `ledger`."""
        return {working.key: working for working in ledger_workings(self.ledger(plan), self._now(plan)[0])}

    def phases(self, plan: uuid.UUID, *, phases: int, yearly: float | None, whole_lawns: bool) -> Phased:
        """The plan in phases. Errors: as `ledger`."""
        document, _ = self._now(plan)
        return make_phases(
            document, self._desk.catalogue, self.ledger(plan), phases=phases, yearly=yearly, whole_lawns=whole_lawns
        )

    def _now(self, plan: uuid.UUID) -> tuple[Plan, bool]:
        """The plan with the money facts of its yard as it is now, and whether they could be read."""
        planned = self._desk.plan(plan)
        document = self._store.yards.revision(self._store.plans.get(plan).yard, None).document
        units = document.get("units", planned.yard.units)
        facts = {key: document[key] for key in _Said.model_fields if key in document}
        try:
            said = _Said.model_validate(facts, context={"units": units})
        except ValidationError:
            return planned, False
        areas = _phased(planned.yard.areas, document.get("areas"))
        update = {"areas": areas, "money": said.money, "budget": said.budget, "currency": said.currency, "units": units}
        return planned.model_copy(update={"yard": planned.yard.model_copy(update=update)}), True

    def _entries(self, plan: uuid.UUID) -> list[Entry]:
        yard = self._store.plans.get(plan).yard
        return standing(stored.entry for stored in self._store.log.entries(yard, most=MOST_ENTRIES))
