"""Zones, valve places, routes and sizes as one problem: descend by what the whole system costs.

Minimise, over all zonings with their valve places, all routes and all pipe sizes that keep every limit, the total of
parts, trenches and moving. The first draft is the single pass: fewest zones, an estimate of their cost, then routes,
then sizes. Then:

1. the few cheapest zonings by the estimate, under every backflow kind, each routed, sized and solved in full;
2. from the best, lawful changes of one or two zones or of a valve place are ranked by a quick price on one common
   routing graph, and the most promising are built in full; the cheapest that costs less is taken, until none does;
3. the routes of the result are made anew for other weights of pipe against trench, on the graph of its own.

Each step is counted, so the result is the same on any machine, with a process pool or without. See
docs/theory/joint.md.
"""

from collections.abc import Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from functools import partial

from rillwright.jobs.bill import total_of
from rillwright.jobs.build import with_pipes
from rillwright.jobs.case import Case
from rillwright.jobs.pipework import MetrePrice, paid_price, usual_price
from rillwright.jobs.progress import Progress
from rillwright.jobs.search.bound import least_costs
from rillwright.jobs.search.moves import Groups, Neighbourhood
from rillwright.jobs.search.trial import Arena, Trial, build_in_full, enter, screen
from rillwright.jobs.stop import Stop
from rillwright.jobs.workers import run_all
from rillwright.jobs.zoned import Draft, drafted, places_offered
from rillwright.model.findings import Proof
from rillwright.model.plan import SearchStep

__all__ = ["Budget", "improve_system"]

BATCH = 4  # drafts built in full before one is chosen
CHUNK = 12  # zonings priced quickly in one piece of work
LEAST_GAIN = 0.01  # [currency]


@dataclass(frozen=True, slots=True)
class Budget:
    """Most work of a search, counted."""

    screened: int
    built: int

    @staticmethod
    def of(heads: int) -> "Budget":
        """Less for a large yard, where each trial takes longer."""
        return Budget(screened=max(8, 1000 // max(heads, 20)), built=max(4, 320 // max(heads, 20)))


def improve_system(
    first: Draft, others: Sequence[Draft], *, case: Case, stop: Stop, progress: Progress, pool: Executor | None
) -> Draft:
    """Look for a cheaper system than a first draft that fits; never returns a dearer one.

    Parameters: first, the single pass; others, zoned drafts of other backflow kinds that may be used.
    Returns: the draft with the steps of the search and a bound under its cost. A stop that is asked for ends the
    search with the best so far.
    """
    progress("zones, places, routes and sizes together", 0.0)
    search = _Search(first, case, stop, progress, pool)
    search.try_zonings(others)
    search.descend()
    search.route_again()
    least = least_costs([first.room, *(draft.room for draft in others)], case)
    ended = "no change of a head, zone, valve or place helps" if search.settled else "ended by its counted budget"
    proof = Proof(
        stage="whole system: cost",
        status="heuristic",
        value=search.total,
        bound=min(search.total, sum(part.amount for part in least)),
        method=f"descent by the parts list over zones, places, routes and sizes; {ended}; bound: docs/theory/joint.md",
    )
    draft = search.draft
    return replace(draft, proofs=(*draft.proofs, proof), search=tuple(search.steps), least=least, cut_short=stop.asked)


class _Search:
    """The best draft so far and the steps that led to it."""

    def __init__(self, first: Draft, case: Case, stop: Stop, progress: Progress, pool: Executor | None) -> None:
        self.case, self.stop, self.progress, self.pool = case, stop, progress, pool
        self.draft, self.total = first, total_of(first, case)
        self.steps = [SearchStep(what="one pass, stage by stage", total=self.total, tried=1)]
        self.settled = False
        self._budget = Budget.of(len(first.room.heads))

    def try_zonings(self, drafts: Sequence[Draft]) -> None:
        """Build the cheapest zonings by the estimate, with pipe weighed at its real cost; go on from the best."""
        weight = self._weights()[1]
        first = drafted(self.draft.room, self.draft.zoning, self.case)
        spare = [drafted(self.draft.room, zoning, self.case) for zoning in self.draft.spare]
        tasks = [
            _Task(first, weight, open_board=False),
            *(_Task(d, weight, open_board=True) for d in (*spare, *drafts)),
        ]
        for built in run_all(self.pool, partial(_build, case=self.case), tasks):
            self._take(total_of(built, self.case), built)
        self._step("the cheapest zonings by the estimate, under each backflow kind, built in full", len(tasks))

    def descend(self) -> None:
        """Change zones and places while that saves money."""
        if self.draft.pipework is None or self.draft.pipework.board is None:
            return
        arena, at = enter(self.draft, self.case)
        hood = Neighbourhood(arena.room, arena.offered)
        known: set[Groups] = {at.groups}
        screened, built = 0, 0
        while not self.stop.asked:
            fresh = [groups for groups in hood.around(at.groups) if groups not in known]
            fresh = sorted(fresh, key=hood.rough)[: self._budget.screened - screened]
            known.update(fresh)
            screened += len(fresh)
            ranked = sorted(
                self._screened(fresh, arena, at), key=lambda trial: (trial.price, [g.heads for g in trial.groups])
            )
            better: tuple[float, Draft, Trial] | None = None
            while ranked and better is None and built < self._budget.built and not self.stop.asked:
                batch, ranked = ranked[:BATCH], ranked[BATCH:]
                built += len(batch)
                made = list(run_all(self.pool, partial(build_in_full, arena=arena), batch))
                total, draft, trial = min(
                    ((*pair, trial) for pair, trial in zip(made, batch, strict=True)), key=lambda item: item[0]
                )
                self.progress("zones, places, routes and sizes together", min(0.9, built / self._budget.built))
                if total < self.total - LEAST_GAIN:
                    better = total, draft, trial
            if better is None:
                self.settled = not ranked and built < self._budget.built and screened < self._budget.screened
                break
            self._take(better[0], better[1])
            at = better[2]
        self._step("heads, zones and valves moved", screened)

    def route_again(self) -> None:
        """Make the routes anew, with junctions of their own, for other weights of pipe against trench."""
        if self.stop.asked:
            return
        bare, weights = drafted(self.draft.room, self.draft.zoning, self.case), self._weights()
        tasks = [_Task(bare, weight, open_board=False) for weight in weights]
        for draft in run_all(self.pool, partial(_build, case=self.case), tasks):
            self._take(total_of(draft, self.case), draft)
        self._step("routes made anew", len(weights))

    def _weights(self) -> tuple[MetrePrice, MetrePrice]:
        """What a metre of pipe may be weighed at: its mean price, and halfway from that to the usual guess."""
        assert self.draft.pipework is not None
        paid, usual = paid_price(self.draft.pipework.pipes, self.case), usual_price(self.case)
        return paid, MetrePrice((paid.main + usual.main) / 2, (paid.lateral + usual.lateral) / 2)

    def _screened(self, fresh: Sequence[Groups], arena: Arena, at: Trial) -> Iterator[Trial]:
        work = partial(_screen_some, arena=arena, start=at)
        chunks = [fresh[i : i + CHUNK] for i in range(0, len(fresh), CHUNK)]
        for some in run_all(self.pool, work, chunks):
            yield from some

    def _take(self, total: float, draft: Draft) -> None:
        if total < self.total - LEAST_GAIN:
            self.total, self.draft = total, draft

    def _step(self, what: str, tried: int) -> None:
        self.steps.append(SearchStep(what=what, total=self.total, tried=tried))


def _screen_some(some: Sequence[Groups], *, arena: Arena, start: Trial) -> list[Trial]:
    trials = (screen(groups, arena=arena, start=start.trees) for groups in some)
    return [trial for trial in trials if trial is not None]


@dataclass(frozen=True, slots=True)
class _Task:
    """A zoned draft to be built with pipe weighed at a price; an open board holds other places too."""

    draft: Draft
    metre: MetrePrice
    open_board: bool


def _build(task: _Task, *, case: Case) -> Draft:
    offered = places_offered(task.draft, case) if task.open_board else None
    return with_pipes(task.draft, case, metre=task.metre, offered=offered)
