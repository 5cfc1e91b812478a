"""What a worker process is sent to do: make a plan, conclude from a log, look for changes of a job under way."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from rillwright.jobs.answers import Answer, answer_log
from rillwright.jobs.plan import make_plan
from rillwright.jobs.progress import Progress
from rillwright.jobs.replan import Outcome, replan_job
from rillwright.jobs.stop import Stop
from rillwright.model.field_log import Entry
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Plan, Start
from rillwright.model.site import Yard

__all__ = ["AnswerErrand", "Errand", "PlanErrand", "ReplanErrand"]


class Errand(Protocol):
    """Work that is sent to another process and back."""

    def run(self, catalogue: Catalogue, progress: Progress, stop: Stop) -> object:
        """Do it. Parameters: progress, told as it goes; stop, how it may be ended early."""


@dataclass(frozen=True)
class PlanErrand:
    """A plan of a yard."""

    yard: Yard
    seed: int
    start: Start | None = None

    def run(self, catalogue: Catalogue, progress: Progress, stop: Stop) -> Plan:
        """Make it."""
        return make_plan(self.yard, catalogue, seed=self.seed, progress=progress, stop=stop, start=self.start)


@dataclass(frozen=True)
class AnswerErrand:
    """What a log concludes about a plan."""

    plan: Plan
    entries: Sequence[Entry]  # that count
    seed: int

    def run(self, catalogue: Catalogue, progress: Progress, stop: Stop) -> tuple[Answer, ...]:  # noqa: ARG002
        """Conclude it."""
        progress("the readings weighed", 0.0)
        return answer_log(self.plan, self.entries, catalogue, seed=self.seed)


@dataclass(frozen=True)
class ReplanErrand:
    """The changes that make a job under way sound again."""

    plan: Plan
    entries: Sequence[Entry]  # that count
    hour: float  # [currency/s] that the owner's labour is worth
    second_supply: float | None  # [currency] price of a second service
    sure: float | None  # [0..1] chance with which a change must hold
    seed: int

    def run(self, catalogue: Catalogue, progress: Progress, stop: Stop) -> Outcome:
        """Look for them."""
        return replan_job(
            self.plan,
            self.entries,
            catalogue,
            hour=self.hour,
            second_supply=self.second_supply,
            sure=self.sure,
            seed=self.seed,
            progress=progress,
            stop=stop,
        )
