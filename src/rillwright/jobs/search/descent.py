"""Zones, valve places, routes and sizes as one problem: descend by what the whole system costs.

Minimise, over all zonings with their valve places, all routes and all pipe sizes that keep every limit, the total of
parts, trenches and moving, with a small price on every zone, so that none is added to save a fitting. The first draft
is the single pass: fewest zones, an estimate of their cost, then routes, then sizes. Then:

1. the draft is routed anew on a graph that holds further valve places, the board; the cheapest zonings by the estimate,
   under every backflow kind, are routed on it, sized and solved in full;
2. from the two cheapest, lawful changes of one or two zones or of valve places are ranked by a quick price on the
   board, and the most promising are built in full, those together first that touch different zones; the cheapest that
   costs less is taken, until none does;
3. the routes of the result are made anew for other weights of pipe against trench, on the graph of its own.

Each step is counted, so the result is the same on any machine, with a process pool or without. See
docs/theory/joint.md.
"""

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from functools import partial
from itertools import zip_longest

from rillwright.jobs.build import with_pipes
from rillwright.jobs.case import Case
from rillwright.jobs.pipework import MetrePrice, paid_price, usual_price
from rillwright.jobs.progress import Progress
from rillwright.jobs.search.bound import least_costs
from rillwright.jobs.search.device_sizes import fit_devices
from rillwright.jobs.search.moves import Change, Groups, Neighbourhood, in_order
from rillwright.jobs.search.trial import Arena, Trial, as_draft, besides, build_in_full, enter, screen, worth
from rillwright.jobs.stop import Stop
from rillwright.jobs.workers import run_all
from rillwright.jobs.zoned import Draft, drafted, places_offered
from rillwright.model.findings import Proof
from rillwright.model.plan import Point, SearchStep
from rillwright.model.site import BackflowKind
from rillwright.solvers.zoning import ZoneGroup, Zoning

__all__ = ["Budget", "cheapest_routes", "improve_system"]

BATCH = 4  # drafts built in full before one is chosen
LARGE = 150  # heads over which drafts are not routed on graphs of their own
CHUNK = 12  # zonings priced quickly in one piece of work, at the most
PIECES = 4  # of work into which zonings are parted at the least, so that as many processes have some
STARTS = 2  # cheapest zonings by the estimate that are gone on from
BUILT = 4  # zonings built in full before the descent: those of least quick price
SMALL = 40  # over the number of heads: next cheapest zonings that are routed on graphs of their own too
MOST_NEXT = 8  # of them
STANDS = 8  # zonings that are gone on from in all, with the cheapest of those that were built and not taken
LEAST_GAIN = 0.01  # [currency]
TOGETHER = "zones, places, routes and sizes together"
SCREENED = 0.4  # share of the work that is done when the first changes are ranked, about


@dataclass(frozen=True, slots=True)
class Budget:
    """Most work of a search, counted."""

    routed: int  # drafts routed on a graph of their own
    screened: int
    built: int

    @staticmethod
    def of(heads: int) -> "Budget":
        """Less for a large yard, where each trial takes longer; on the largest the changes are built all together."""
        routed = 3 if heads <= LARGE else 0
        few = max(heads, 10)
        return Budget(routed, screened=max(40, 1600 // max(heads, 13)), built=max(1, 320 // few, 8000 // few**2))


def improve_system(
    first: Draft, others: Sequence[Draft], *, case: Case, stop: Stop, progress: Progress, pool: Executor | None
) -> Draft:
    """Look for a cheaper system than a first draft that fits; never returns a dearer one.

    Parameters: first, the single pass; others, zoned drafts of other backflow kinds that may be used.
    Returns: the draft with the steps of the search and a bound under its cost. A stop that is asked for ends the
    search with the best so far.
    """
    progress(TOGETHER, 0.0)
    search = _Search(first, case, stop, progress, pool)
    search.try_zonings(others)
    search.descend()
    search.route_again()
    search.fit_devices()
    least = least_costs([first.room, *(draft.room for draft in others)], case, search.board)
    ended = "no change of a head, zone, valve or place helps" if search.settled else "ended by its counted budget"
    bound = sum(part.amount for part in least)
    if bound > search.cost + LEAST_GAIN:
        least = ()  # routes found on a graph of their own went round the board: its bound proves nothing here
    proof = Proof(
        stage="whole system: cost",
        status="heuristic",
        value=search.cost,
        bound=bound if least else None,
        method=f"descent by the parts list over zones, places, routes and sizes; {ended}; bound: docs/theory/joint.md",
    )
    draft = search.draft
    return replace(draft, proofs=(*draft.proofs, proof), search=tuple(search.steps), least=least, cut_short=stop.asked)


def cheapest_routes(first: Draft, case: Case) -> Draft:
    """A draft that fits, its zones at their places, with the cheapest routes, sizes and devices found for it."""
    bare, offered = drafted(first.room, first.zoning, case), places_offered(first, (), case)
    weights = _weights(first, case)
    built = [_build(_Task(bare, weight, places), case=case) for weight in weights for places in ({}, offered)]
    return min((fit_devices(draft, case) for draft in (first, *built)), key=lambda draft: worth(draft, case))


class _Search:
    """The best draft so far and the steps that led to it."""

    def __init__(self, first: Draft, case: Case, stop: Stop, progress: Progress, pool: Executor | None) -> None:
        self.case, self.stop, self.progress, self.pool = case, stop, progress, pool
        self.draft, self.total = first, worth(first, case)
        assert first.pipework is not None
        self.board = first.pipework.board  # of the last routes taken that were found on a graph of their own
        self.steps = [SearchStep(what="one pass, stage by stage", total=self.cost, tried=1)]
        self.settled = False
        self._share = 0.0
        self._stands: list[_Stand] = []  # where to descend from
        self._built: dict[Groups, _Stand] = {}  # everything built on the board that fits
        self._known: dict[BackflowKind, set[Groups]] = {}
        self._budget = Budget.of(len(first.room.heads))

    def try_zonings(self, others: Sequence[Draft]) -> None:
        """Build the cheapest zonings by the estimate, under each backflow kind; stand where the cheapest was found."""
        weight, rooms = _weights(self.draft, self.case)[1], [self.draft, *others]
        spare = [(draft, zoning) for draft in rooms for zoning in draft.spare]
        spare += [(draft, draft.zoning) for draft in others]
        base = self.draft
        if self._budget.routed:
            bare = drafted(self.draft.room, self.draft.zoning, self.case)
            base = _build(_Task(bare, weight, places_offered(self.draft, others, self.case)), case=self.case)
            self._take(worth(base, self.case), base)
        else:
            spare = []
        work = base.pipework
        assert work is not None
        if work.board is None:
            spare = sorted(spare, key=lambda pair: pair[1].cost)[:BUILT]
            tasks = [_Task(drafted(draft.room, zoning, self.case), weight, {}) for draft, zoning in spare]
            for built in run_all(self.pool, partial(_build, case=self.case), tasks):
                self._take(worth(built, self.case), built)
        else:
            arenas = {draft.kind: enter(work.board, draft, self.case, weight) for draft in rooms}
            self._stand_on(arenas, base, spare)
        self._step("the cheapest zonings by the estimate, under each backflow kind, by their routes", len(spare) + 1)

    def _stand_on(
        self, arenas: Mapping[BackflowKind, Arena], base: Draft, spare: Sequence[tuple[Draft, Zoning]]
    ) -> None:
        """Build other zonings on the board of a draft, and go on from the cheapest or from that draft."""
        assert base.pipework is not None
        start = base.pipework.laid
        home = screen(in_order(base.zoning.groups), arena=arenas[base.kind], start=start)
        stands = [] if home is None else [_Stand(worth(base, self.case), arenas[base.kind], home)]
        found = [(arenas[draft.kind], in_order(zoning.groups)) for draft, zoning in spare]
        found = [(arena, groups) for arena, groups in found if {g.place for g in groups} <= set(arena.offered)]
        trials = [(arena, screen(groups, arena=arena, start=start)) for arena, groups in found]
        others = [_Stand(math.inf, arena, trial) for arena, trial in trials if trial is not None]
        others = sorted(others, key=lambda stand: stand.trial.price)[:BUILT]
        made = run_all(self.pool, _build_at, others)
        for stand, (total, draft) in zip(others, made, strict=True):
            self._take(total, draft)
            stands.append(replace(stand, total=total))
        self._built |= {stand.trial.groups: stand for stand in stands if math.isfinite(stand.total)}
        self._stands = sorted(stands, key=lambda stand: stand.total)[:STARTS]

    def descend(self) -> None:
        """Change zones and places while that saves money, from each start with its share of what budget is left.

        With what is left after that, go on from the cheapest zonings met: over a dearer one a cheaper may lie.
        """
        if not self._stands:
            return
        left, self.settled = self._budget, True
        for number in range(STANDS):
            if not self._stands or min(left.screened, left.built) <= 0:
                break
            starts = min(STARTS - number, len(self._stands))
            if starts <= 0:
                self._stands.sort(key=lambda stand: stand.total)
            share = max(1, starts)
            stand = self._stands.pop(0)
            used, ended = self._descend_from(stand, Budget(0, left.screened // share, left.built // share))
            left = Budget(0, left.screened - used.screened, left.built - used.built)
            self.settled = self.settled and ended
        self._step("heads, zones and valves moved", self._budget.screened - left.screened)

    def _descend_from(self, stand: "_Stand", budget: Budget) -> tuple[Budget, bool]:
        """Descend from one stand; what of the budget that took, and whether it ended where no change helps."""
        hood = Neighbourhood(stand.arena.room, stand.arena.offered)
        known = self._known.setdefault(stand.arena.room.kind, set())
        known.add(stand.trial.groups)
        screened, built = 0, 0
        while not self.stop.asked:
            most = min(budget.screened - screened, max(1, budget.screened // 2))
            fresh = _fresh(hood, stand.trial, known, most)
            screened += len(fresh)
            ranked = self._ranked(fresh, stand.arena, stand.trial)
            better: tuple[float, Draft, Trial] | None = None
            while ranked and better is None and built < budget.built and not self.stop.asked:
                number = min(BATCH, budget.built - built)
                batch, ranked = ranked[:number], ranked[number:]
                built += len(batch)
                tasks = [replace(stand, trial=trial) for trial in batch]
                made = list(run_all(self.pool, _build_at, tasks))
                total, draft, trial = min(
                    ((*pair, trial) for pair, trial in zip(made, batch, strict=True)), key=lambda item: item[0]
                )
                self._tell(min(0.9, built / budget.built))
                if total < stand.total - LEAST_GAIN:
                    better = total, draft, trial
                met = [_Stand(pair[0], stand.arena, other) for pair, other in zip(made, batch, strict=True)]
                met = [one for one in met if math.isfinite(one.total)]
                self._built |= {one.trial.groups: one for one in met}
                self._stands += [one for one in met if better is None or one.trial is not trial]
            if better is None:
                return Budget(0, screened, built), not ranked and len(fresh) < most
            self._take(better[0], better[1])
            stand = replace(stand, total=better[0], trial=better[2])
        return Budget(0, screened, built), False

    def route_again(self) -> None:
        """Make the routes anew, with junctions of their own, for other weights of pipe against trench.

        On small yards those of the next cheapest zonings too: they may part ways by less than the board strays.
        """
        if self.stop.asked or not self._budget.routed:
            return
        bare, weights = drafted(self.draft.room, self.draft.zoning, self.case), _weights(self.draft, self.case)
        tasks = [_Task(bare, weight, {}) for weight in weights]
        here = in_order(self.draft.zoning.groups)
        met = sorted((stand for groups, stand in self._built.items() if groups != here), key=lambda stand: stand.total)
        number = min(MOST_NEXT, SMALL // max(1, len(self.draft.room.heads)))
        tasks += [_Task(as_draft(one.trial.groups, one.arena), weights[0], {}) for one in met[:number]]
        for draft in run_all(self.pool, partial(_build, case=self.case), tasks):
            self._take(worth(draft, self.case), draft)
        self._step("routes made anew", len(tasks))

    def fit_devices(self) -> None:
        """Buy no wider backflow device than the zones need."""
        fitted = fit_devices(self.draft, self.case, self.pool)
        if fitted is not self.draft:
            self._take(worth(fitted, self.case), fitted)
            self._step("backflow devices no wider than their zones need", 1)

    def _ranked(self, fresh: Sequence[Change], arena: Arena, at: Trial) -> list[Trial]:
        """Changes by quick price, the least first; before them all together that save and touch different zones."""
        work = partial(_screen_some, arena=arena, start=at)
        some = min(CHUNK, len(fresh) // PIECES + 1)
        chunks = [fresh[i : i + some] for i in range(0, len(fresh), some)]
        trials: list[Trial] = []
        for number, made in enumerate(run_all(self.pool, work, chunks), start=1):
            trials += made
            self._tell(SCREENED * number / len(chunks))
            if self.stop.asked:
                break
        trials.sort(key=lambda trial: (trial.price, [(g.heads, g.place) for g in trial.groups]))
        together = _together(trials, arena, at)
        return trials if together is None else [together, *trials]

    def _take(self, total: float, draft: Draft) -> None:
        if total < self.total - LEAST_GAIN:
            self.total, self.draft = total, draft
            self.board = (draft.pipework and draft.pipework.board) or self.board

    def _tell(self, share: float) -> None:
        """Tell how far the search is; what is told never falls."""
        self._share = max(self._share, share)
        self.progress(TOGETHER, self._share)

    def _step(self, what: str, tried: int) -> None:
        self.steps.append(SearchStep(what=what, total=self.cost, tried=tried))

    @property
    def cost(self) -> float:
        """Whole cost [currency] of the best draft; `total` adds what weighs beside it."""
        return self.total - besides(self.draft, self.case)


def _weights(draft: Draft, case: Case) -> tuple[MetrePrice, MetrePrice]:
    """What a metre of pipe may be weighed at: its mean price, and halfway from that to the usual guess."""
    assert draft.pipework is not None
    paid, usual = paid_price(draft.pipework.pipes, case), usual_price(case)
    return paid, MetrePrice((paid.main + usual.main) / 2, (paid.lateral + usual.lateral) / 2)


def _fresh(hood: Neighbourhood, at: Trial, known: set[Groups], most: int) -> list[Change]:
    """The most promising changes not known yet: in turn one of places alone and one of heads."""
    uses = Counter(group.place for group in at.groups)
    changes = [(hood.rough(change, uses), change.new, change) for change in hood.around(at.groups)]
    changes.sort(key=lambda item: (item[0], [(group.heads, group.place) for group in item[1]]))
    places = [change for *_, change in changes if change.moves_no_head]
    heads = [change for *_, change in changes if not change.moves_no_head]
    fresh: list[Change] = []
    for change in (change for pair in zip_longest(places, heads) for change in pair if change is not None):
        if len(fresh) == most:
            break
        groups = change.on(at.groups)
        if groups not in known:
            known.add(groups)
            fresh.append(change)
    return fresh


def _together(trials: Sequence[Trial], arena: Arena, at: Trial) -> Trial | None:
    """All changes at once that save by the quick price and replace different zones; None for fewer than two."""
    groups, replaced, number = at.groups, set[ZoneGroup](), 0
    for trial in trials:
        change = trial.change
        if change is None or trial.price > at.price - LEAST_GAIN or replaced.intersection(change.old):
            continue
        changed = change.on(groups)
        if len(changed) <= max(arena.room.problem.stations, len(at.groups)):
            groups, number = changed, number + 1
            replaced.update(change.old)
    return screen(groups, arena=arena, start=at.trees) if number > 1 else None


def _screen_some(some: Sequence[Change], *, arena: Arena, start: Trial) -> list[Trial]:
    trials = (screen(change.on(start.groups), arena=arena, start=start.trees, change=change) for change in some)
    return [trial for trial in trials if trial is not None]


@dataclass(frozen=True, slots=True)
class _Stand:
    """A zoning on a board, to descend from."""

    total: float  # [currency] what it is worth
    arena: Arena
    trial: Trial


def _build_at(stand: _Stand) -> tuple[float, Draft]:
    return build_in_full(stand.trial, arena=stand.arena)


@dataclass(frozen=True, slots=True)
class _Task:
    """A zoned draft to be built with pipe weighed at a price, on a graph that holds further places [m]."""

    draft: Draft
    metre: MetrePrice
    offered: Mapping[str, Point]


def _build(task: _Task, *, case: Case) -> Draft:
    return with_pipes(task.draft, case, metre=task.metre, offered=task.offered)
