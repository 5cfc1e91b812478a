"""What was worked out of a plan and its field log: the last result of each kind, kept over restarts."""

import uuid
from dataclasses import dataclass
from typing import Literal

from rillwright.store.database import Database
from rillwright.store.schema import PlanRow, ResultRow

__all__ = ["Result", "ResultKind", "Results"]

ResultKind = Literal["answers", "changes"]


@dataclass(frozen=True, slots=True)
class Result:
    """One result."""

    digest: str  # of what counted of the log
    terms: str  # that it was asked on, as JSON
    early: bool  # stopped early
    document: str


class Results:
    """The results of a store."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def keep(self, plan: uuid.UUID, kind: ResultKind, result: Result) -> None:
        """Keep a result in the place of the last; of a plan that was deleted meanwhile nothing is kept."""
        with self._database.session() as session:
            if session.get(PlanRow, plan) is not None:
                row = ResultRow(
                    plan=plan,
                    kind=kind,
                    digest=result.digest,
                    terms=result.terms,
                    early=result.early,
                    document=result.document,
                )
                session.merge(row)

    def get(self, plan: uuid.UUID, kind: ResultKind) -> Result | None:
        """The last result; None when there is none."""
        with self._database.session() as session:
            row = session.get(ResultRow, (plan, kind))
            return None if row is None else Result(row.digest, row.terms, row.early, row.document)
