"""The least-cost change of a job, by branch and bound over composed moves.

Every zone of the plan is covered by just one option: it stays as it is, is changed by itself, or with another zone.
Beside them stands one option for what all zones share: nothing, a pump, a second supply, one wider pipe of the main.
Zones are covered one after another. A branch is cut when what it has so far, at the least that each option adds to any
change, and for each zone left the least share of any sound option, is no less than the best complete change known.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Literal

from rillwright.jobs.case import Case
from rillwright.jobs.progress import Progress
from rillwright.jobs.replan.job import Job
from rillwright.jobs.replan.least import Leasts, Ledger
from rillwright.jobs.replan.sound import Judge, Verdict
from rillwright.jobs.replan.system import Patch, System, patched
from rillwright.jobs.replan.weigh import Extra, Weight, weigh
from rillwright.jobs.stop import Stop

__all__ = ["LONGER", "MOST", "STATION", "Found", "Option", "Search", "Shared"]

LONGER, STATION = "run longer", "add a station"
MOST = 1_500_000  # changes, complete or not, looked at for each answer
_LEAST_GAIN = 0.01  # [currency]


@dataclass(frozen=True)
class Option:
    """One way to deal with a zone, or with two; without lines it stays as it is."""

    patch: Patch
    ledger: Ledger
    least: float  # [currency] that it adds to any change
    alone: float  # [currency] that it costs alone, about: what is tried first


@dataclass(frozen=True)
class Shared:
    """One way to deal with what all zones share."""

    kinds: frozenset[str]
    words: str
    case: Case  # with the supply as it then is
    base: System  # with the main as it then is
    ledger: Ledger
    least: float  # [currency]
    extras: tuple[Extra, ...] = ()
    note: str = ""


@dataclass(frozen=True)
class Found:
    """A complete change that is sound."""

    kinds: frozenset[str]
    words: tuple[str, ...]
    shared: Shared
    system: System
    weight: Weight
    verdict: Verdict
    status: Literal["optimal", "feasible"]
    bound: float  # [currency] that no change of its kind and move space costs less than


@dataclass(frozen=True)
class _Sound:
    """An option that is sound, as it then is."""

    option: Option
    patch: Patch  # its zones laid out anew where they run longer
    kinds: frozenset[str]
    ledger: Ledger
    least: float


@dataclass
class _Best:
    """The best complete change so far, and the work done for it."""

    forbidden: tuple[frozenset[str], ...]
    found: Found | None = None
    looked_at: int = 0  # changes, complete or not
    cut_short: bool = False

    @property
    def total(self) -> float:
        return math.inf if self.found is None else self.found.weight.total


@dataclass(frozen=True)
class Search:
    """The options of a job."""

    leasts: Leasts
    shared: tuple[Shared, ...]  # least cost first
    options: tuple[Option, ...]
    stop: Stop = field(default_factory=Stop)
    most: int = MOST  # changes, complete or not, looked at for each answer

    def best(self, forbidden: Sequence[frozenset[str]], progress: Progress) -> Found | None:
        """The least-cost sound change whose kinds hold none of the forbidden sets; None when there is none."""
        best, bounds = _Best(tuple(forbidden)), []
        for number, shared in enumerate(self.shared):
            progress(f"changes with {shared.words or 'the supply as it is'}", number / len(self.shared))
            if self._barred(shared.kinds, best):
                continue
            branch = self._branches[number]
            bounds.append(shared.least + sum(map(branch.rough_share, self.job.base.lines)))
            if bounds[-1] >= best.total - _LEAST_GAIN:
                continue
            bounds[-1] = shared.least + sum(map(branch.share, self.job.base.lines))
            self._cover(branch, [], best, frozenset(self.job.base.lines), shared.ledger)
        if best.found is None:
            return None
        open_end = best.cut_short or self.stop.asked
        bound = min([best.total, *bounds]) if open_end else best.total
        status: Literal["optimal", "feasible"] = "feasible" if open_end else "optimal"
        return replace(best.found, status=status, bound=bound)

    @property
    def job(self) -> Job:
        """What is changed."""
        return self.leasts.job

    @cached_property
    def _branches(self) -> "list[_Branch]":
        return [_Branch(self, shared) for shared in self.shared]

    @staticmethod
    def _barred(kinds: frozenset[str], best: _Best) -> bool:
        """Whether kinds are a forbidden set with more besides: a variant of what was found before."""
        return any(bar <= kinds for bar in best.forbidden)

    def _cover(self, branch: "_Branch", taken: list[_Sound], best: _Best, left: frozenset[str], ledger: Ledger) -> None:
        """Cover the zones that are left, in every way that may yet be the best."""
        zone = max(left, key=lambda name: (branch.share(name), name))
        kinds = branch.shared.kinds.union(*(one.kinds for one in taken))
        for option in branch.covering(zone):
            best.cut_short |= best.looked_at >= self.most or (self.stop.asked and best.found is not None)
            if best.cut_short:
                return
            if not option.patch.zones <= left or self._barred(kinds | option.kinds, best):
                continue
            best.looked_at += 1
            rest = left - option.patch.zones
            both = ledger.plus(option.ledger)
            least = self.leasts.least(both, rest) + sum(map(branch.share, rest))
            if least >= best.total - _LEAST_GAIN or not branch.even([*taken, option]):
                continue
            if rest:
                self._cover(branch, [*taken, option], best, rest, both)
            else:
                self._complete(branch, [*taken, option], best)

    def _complete(self, branch: "_Branch", taken: Sequence[_Sound], best: _Best) -> None:
        """Weigh a complete change, and keep it when it is sound and costs less than the best."""
        found = branch.complete(taken, below=best.total, barred=lambda kinds: self._barred(kinds, best))
        if found is not None:
            best.found = found
            self.stop.worth_keeping = True


class _Branch:
    """All changes with one way to deal with what zones share."""

    def __init__(self, search: Search, shared: Shared) -> None:
        self.search, self.shared = search, shared
        self._judge = Judge(search.job, shared.case)
        self._tried: dict[int, _Sound | None] = {}
        self._shares: dict[str, float] = {}
        self._is_even: dict[tuple[int, ...], bool] = {}

    def covering(self, zone: str) -> Iterator[_Sound]:
        """The sound options that touch a zone, those that cost the least alone first."""
        for number in self._touching[zone]:
            option = self._sound(number)
            if option is not None:
                yield option

    def rough_share(self, zone: str) -> float:
        """Least [currency] that a zone's part of any option adds, sound or not."""
        options = (self.search.options[k] for k in self._touching[zone])
        return min(option.least / len(option.patch.zones) for option in options)

    def share(self, zone: str) -> float:
        """Least [currency] that a zone's part of any sound option adds; infinite without one."""
        if zone not in self._shares:
            options = self.search.options
            ranked = sorted(self._touching[zone], key=lambda k: options[k].least / len(options[k].patch.zones))
            sound = (k for k in ranked if self._sound(k) is not None)
            first = next(sound, None)
            share = math.inf if first is None else options[first].least / len(options[first].patch.zones)
            self._shares[zone] = share
        return self._shares[zone]

    @cached_property
    def _touching(self) -> dict[str, list[int]]:
        options = self.search.options
        order = sorted(range(len(options)), key=lambda k: (options[k].alone, k))
        return {zone: [k for k in order if zone in options[k].patch.zones] for zone in self.search.job.base.lines}

    def _sound(self, number: int) -> _Sound | None:
        """An option laid out for this supply; None when it is not sound."""
        if number not in self._tried:
            self._tried[number] = self._laid_out(self.search.options[number])
        return self._tried[number]

    def _laid_out(self, option: Option) -> _Sound | None:
        patch = option.patch
        system = patched(self.shared.base, [patch], self.shared.case)
        names = list(patch.lines) or list(patch.zones)
        lines = self._judge.lines(system, names)
        if lines is None:
            return None
        longer = any(line is not system.lines[name] for name, line in lines.items())
        changed = {name: line for name, line in lines.items() if patch.lines or line is not system.lines[name]}
        kinds = patch.kinds | ({LONGER} if longer else set())
        words = patch.words or (f"run {', '.join(changed)} longer, at less pressure" if longer else "")
        laid = replace(patch, kinds=kinds, words=words, lines=changed)
        again = 0 if patch.lines else len(changed)  # zones that only their run times are set anew of
        anew = self.search.job.worth({"run times set anew": again})
        return _Sound(option, laid, kinds, option.ledger.plus(Ledger(labour=anew)), option.least + anew)

    def even(self, taken: Sequence[_Sound]) -> bool:
        """Whether no lawn that the zones dealt with water alone is too uneven."""
        key = tuple(sorted(id(option) for option in taken))
        if key not in self._is_even:
            self._is_even[key] = self._even(taken)
        return self._is_even[key]

    def _even(self, taken: Sequence[_Sound]) -> bool:
        zones = {zone for option in taken for zone in option.patch.zones}
        system = patched(self.shared.base, [option.patch for option in taken], self.shared.case)
        known = [name for name in system.lines if name in zones or name not in self.search.job.base.lines]
        return not self._judge.too_uneven(system, known)

    def complete(
        self, taken: Sequence[_Sound], *, below: float, barred: Callable[[frozenset[str]], bool]
    ) -> Found | None:
        """A complete change, when it costs less than a sum, is sound and is not barred."""
        job, shared = self.search.job, self.shared
        patches = [option.patch for option in taken]
        system = patched(shared.base, patches, shared.case)
        kinds = shared.kinds.union(*(option.kinds for option in taken))
        if len(system.lines) > max(len(job.base.lines), shared.case.yard.controller.stations):
            kinds |= {STATION}
        if barred(kinds):
            return None
        weight = weigh(job, system, patches, shared.extras)
        if weight.total >= below - _LEAST_GAIN:
            return None
        verdict = self._judge.verdict(system)
        if verdict.fault:
            return None
        words = tuple(words for words in (shared.words, *(patch.words for patch in patches)) if words)
        return Found(kinds, words, shared, system, weight, verdict, "feasible", -math.inf)
