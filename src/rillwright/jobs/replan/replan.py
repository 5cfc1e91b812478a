"""From a plan, its log and its pins to the best changes that differ in kind, each planned through."""

from collections.abc import Iterable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace

from rillwright.errors import InputError
from rillwright.jobs.case import make_case
from rillwright.jobs.progress import Progress, silent
from rillwright.jobs.refit import refit
from rillwright.jobs.replan.before import with_old_ground
from rillwright.jobs.replan.finish import finished
from rillwright.jobs.replan.job import Job
from rillwright.jobs.replan.options import options_of
from rillwright.jobs.replan.search import Found, Search
from rillwright.jobs.replan.state import JobState, state_of
from rillwright.jobs.replan.system import system_of
from rillwright.jobs.stop import Stop
from rillwright.model.field_log import Entry
from rillwright.model.own_prices import with_own_prices
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Plan
from rillwright.model.undoing import load_tasks
from rillwright.physics.units import show
from rillwright.solvers.guide.nets import SOILS

__all__ = ["BEST", "Outcome", "job_of", "replan_job"]

BEST = 3  # changes that are handed over
SURE_ENOUGH = 0.99  # no more is asked of a change where nothing is said: draws hardly tell 99.8 from 99.9 %


@dataclass(frozen=True)
class Outcome:
    """What may be done, the least cost first."""

    before: Plan  # as it was being built
    state: JobState
    supply: str  # what the supply is fitted to, in words
    as_drawn: Plan  # the plan finished as drawn, on the supply as it is now
    changes: tuple[Plan, ...]  # each with its `change`; empty when no change tried makes every zone sound
    sure: float  # [0..1] chance with which they were to hold
    sure_ones: int  # how many of the changes, the first, do: the others are sound on the cautious supply, and no more
    tried: int  # options, of zones and of what they share
    cut_short: bool

    @property
    def how_sure(self) -> str:
        """How surely the changes hold, in words."""
        wish, more = show(self.sure, "share", self.before.yard.units), len(self.changes) - self.sure_ones
        if not self.changes or self.sure <= 0:
            return ""
        if not self.sure_ones:
            return f"None of the changes tried holds with a chance of {wish}; these are sound on the cautious supply."
        if not more:
            return f"Each holds with a chance of {wish} or more, within the error of the draws."
        return (
            f"The first {'holds' if self.sure_ones == 1 else 'two hold'} with a chance of {wish} or more, within "
            "the error of the draws. No other "
            f"that differs in kind was found to; the last {'is' if more == 1 else 'two are'} sound on the cautious "
            "supply, and no more: weigh what is saved against the chance."
        )


def replan_job(
    plan: Plan,
    entries: Iterable[Entry],
    catalogue: Catalogue,
    *,
    hour: float,
    second_supply: float | None = None,
    sure: float | None = None,
    seed: int = 0,
    progress: Progress = silent,
    pool: Executor | None = None,
    stop: Stop | None = None,
) -> Outcome:
    """Look for the three least-cost changes that make every zone sound, hold surely enough, and differ in kind.

    Where fewer hold surely enough, others that are sound come after them, and the outcome says so.
    Parameters: plan, being built; entries of its log; hour [currency/s], what the owner's labour is worth;
    second_supply [currency], price of a second service, when it may be had; sure [0..1], chance with which a change
    must hold, as sure as the plan was, within its sampling error, up to 0.99, when None; seed; pool, processes to
    share the last part of the work; stop, how the search may be ended early with the best so far.
    Errors: InputError for a plan without zones, nozzles that no chart here holds, or a log of another plan.
    """
    job = job_of(plan, entries, catalogue, hour=hour, seed=seed, progress=progress)
    progress("what may be changed", 0.05)
    stop = stop or Stop()
    least = _own_certainty(plan) if sure is None else sure
    search = Search(*options_of(job, second_supply=second_supply), stop, sure=least)
    sure_ones = _best(search, (), progress)
    found = _best(replace(search, sure=0.0), sure_ones, progress) if least > 0 else sure_ones
    progress("the changes planned through", 0.9)
    as_drawn, changes = finished(job, found, pool=pool)
    tried = len(search.options) + len(search.shared)
    words = refit(plan.yard, job.state.tests, catalogue, seed=seed).words
    return Outcome(plan, job.state, words, as_drawn, changes, least, len(sure_ones), tried, stop.asked)


def _own_certainty(plan: Plan) -> float:
    """Chance with which the plan was to hold, less twice the error of its sampling, or 0.99; 0 when nobody drew it."""
    own = plan.certainty.sound if plan.certainty else None
    return min(max(0.0, own.value - 2 * own.error), SURE_ENOUGH) if own else 0.0


def job_of(
    plan: Plan, entries: Iterable[Entry], catalogue: Catalogue, *, hour: float, seed: int, progress: Progress
) -> Job:
    """The job as its log leaves it. Parameters and errors as for replan_job."""
    if not plan.zones:
        raise InputError("This plan has no zones: there is nothing to build yet. Make a plan that fits first.")
    unknown = sorted({head.nozzle for head in plan.heads} - set(catalogue.nozzles))
    if unknown:
        raise InputError(f"No chart here holds {', '.join(unknown)}: give the --charts that the plan was made with.")
    catalogue = with_own_prices(catalogue, plan.yard)
    state = state_of(plan, entries)
    progress("the supply fitted anew", 0.0)
    now = refit(plan.yard, state.tests, catalogue, seed=seed)
    case = make_case(now.yard, catalogue, fit=now.fit, seed=seed)
    return Job(
        plan, with_old_ground(system_of(plan), plan, case), case, state, load_tasks(SOILS[now.yard.soil.texture]), hour
    )


def _best(search: Search, before: Sequence[Found], progress: Progress) -> list[Found]:
    """Those before, then the least-cost change that is no variant of one of them, and the next."""
    found = [*before]
    while len(found) < BEST and not (search.stop.asked and found):
        one = search.best([each.bar for each in found], progress)
        if one is None:
            break
        found.append(one)
    return found
