"""The least-cost change of a job, by branch and bound over composed moves.

Every zone of the plan is covered by just one option: it stays as it is, is changed by itself, or with another zone.
Beside them stands one option for what all zones share: nothing, a pump, a second supply, one wider pipe of the main.
Zones are covered one after another. A branch is cut when what it has so far, at the least that each option adds to any
change, and for each zone left the least share of any sound option, is no less than the best complete change known.
"""

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from rillwright.jobs.case import Case
from rillwright.jobs.progress import Progress
from rillwright.jobs.replan.chance import chances_of
from rillwright.jobs.replan.job import Job
from rillwright.jobs.replan.least import Leasts, Ledger
from rillwright.jobs.replan.sound import Judge, Verdict
from rillwright.jobs.replan.system import Line, Patch, System, patched
from rillwright.jobs.replan.weigh import Extra, Weight, weigh
from rillwright.jobs.stop import Stop

__all__ = ["LONGER", "MOST", "SOLVED", "STATION", "Found", "Option", "Search", "Shared"]

LONGER, STATION = "run longer", "add a station"
MOST = 1_500_000  # changes, complete or not, looked at for each answer
SOLVED = 2_000  # options laid out and whole changes judged for a wish for certainty, where draws take long
MOST_WISHED = 20_000  # changes, complete or not, looked at for a wish for certainty
_LEAST_GAIN = 0.01  # [currency]


@dataclass(frozen=True)
class Option:
    """One way to deal with a zone, or with two; without lines it stays as it is."""

    patch: Patch
    ledger: Ledger
    least: float  # [currency] that it adds to any change


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

    @property
    def bar(self) -> frozenset[str]:
        """The kinds that make it what it is to its owner: another change with all of them is a variant of it.

        A pump or a second supply by itself; else what is done, and not what comes of it, where more is.
        """
        return self.shared.kinds if self.shared.extras else self.kinds - {LONGER, STATION} or self.kinds


@dataclass(frozen=True)
class _Sound:
    """An option that is sound, as it then is."""

    option: Option
    patch: Patch  # its zones laid out anew where they run longer
    lines: tuple[Line, ...]  # its zones as they then are
    kinds: frozenset[str]
    anew: float  # [currency] that it costs more than the option, with run times set anew


@dataclass(frozen=True)
class Judged:
    """What was judged, whatever the wish for certainty."""

    judges: dict[int, Judge] = field(default_factory=dict)  # by what is shared, as the object that it is
    options: dict[tuple[int, int], _Sound | None] = field(default_factory=dict)  # and by the number of the option


@dataclass
class _Best:
    """The best complete change so far, and the work done for it."""

    forbidden: tuple[frozenset[str], ...]
    found: Found | None = None
    total: float = math.inf  # [currency] of it
    looked_at: int = 0  # changes, complete or not
    cut_short: bool = False
    apart: bool = False  # whether only zones are taken that fail in their share of the draws that may fail, or fewer


@dataclass(frozen=True)
class Search:
    """The options of a job."""

    leasts: Leasts
    shared: tuple[Shared, ...]  # least cost first
    options: tuple[Option, ...]
    stop: Stop = field(default_factory=Stop)
    most: int = MOST  # changes, complete or not, looked at for each answer
    sure: float = 0.0  # [0..1] chance with which a change must hold
    judged: Judged = field(default_factory=Judged)  # kept by a search with another wish

    def best(self, forbidden: Sequence[frozenset[str]], progress: Progress) -> Found | None:
        """The least-cost sound change whose kinds hold none of the forbidden sets; None when there is none."""
        best, bounds = _Best(tuple(forbidden)), [math.inf]
        self._work[0] = 0
        able = [branch for branch in self._branches if not self._barred(branch.shared.kinds, best)]
        standing = {id(branch): self._stay(branch, best) for branch in able}
        able.sort(key=lambda branch: -standing[id(branch)])
        for best.apart in (True, False) if self.sure > 0 else (False,):
            best.cut_short = False
            self._work[1] = 3 * SOLVED // 4 if best.apart else SOLVED
            bounds = self._through(able, best, progress)
        if best.found is None:
            return None
        open_end = best.cut_short or self.stop.asked
        bound = min([best.total, *bounds]) if open_end else best.total
        status: Literal["optimal", "feasible"] = "feasible" if open_end else "optimal"
        return replace(best.found, status=status, bound=bound)

    def _through(self, able: "Sequence[_Branch]", best: _Best, progress: Progress) -> list[float]:
        """Go through all that may be shared; returns the least [currency] that each comes to."""
        bounds: list[float] = []
        for number, branch in enumerate(able):
            shared = branch.shared
            progress(f"changes with {shared.words or 'the supply as it is'}", number / len(able))
            bounds.append(shared.least + sum(map(branch.rough_share, self.job.base.lines)))
            if bounds[-1] >= best.total - _LEAST_GAIN:
                continue
            bounds[-1] = shared.least + self._shares(branch, self.job.base.lines, best)
            self._cover(branch, [], best, frozenset(self.job.base.lines), shared.ledger)
        return bounds

    @property
    def job(self) -> Job:
        """What is changed."""
        return self.leasts.job

    @cached_property
    def _branches(self) -> "list[_Branch]":
        return [_Branch(self, shared) for shared in self.shared]

    @cached_property
    def _work(self) -> list[int]:
        """How many options were laid out and solved and whole changes judged, and how many may be."""
        return [0, SOLVED]

    @property
    def spent(self) -> bool:
        """Whether as much was solved and judged as a wish for certainty is worth."""
        return self.sure > 0 and self._work[0] >= self._work[1]

    def count(self) -> None:
        """Note that one more was solved or judged."""
        self._work[0] += 1

    def _stay(self, branch: "_Branch", best: _Best) -> int:
        """Try what is shared with all zones as they stand, to cut branches by; how many are then sound."""
        stay = [branch.sound(number) for number, option in enumerate(self.options) if not option.patch.kinds]
        taken = [option for option in stay if option is not None]
        kinds = branch.shared.kinds.union(*(option.kinds for option in taken))
        if len(taken) == len(stay) and not self._barred(kinds, best) and branch.surely(taken):
            self._complete(branch, taken, best)
        return len(taken)

    @staticmethod
    def _shares(branch: "_Branch", zones: Iterable[str], best: _Best) -> float:
        """Least [currency] that zones add to a change that costs less than the best."""
        return sum(branch.share(zone, below=best.total) for zone in zones)

    @staticmethod
    def _barred(kinds: frozenset[str], best: _Best) -> bool:
        """Whether kinds are a forbidden set with more besides: a variant of what was found before."""
        return any(bar <= kinds for bar in best.forbidden)

    def _cover(self, branch: "_Branch", taken: list[_Sound], best: _Best, left: frozenset[str], ledger: Ledger) -> None:
        """Cover the zones that are left, in every way that may yet be the best."""
        zone = max(left, key=lambda name: (branch.share(name, below=best.total), name))
        kinds = branch.shared.kinds.union(*(one.kinds for one in taken))
        for number, least in self._ranked(branch, zone, best, left, ledger):
            most = min(self.most, MOST_WISHED) if self.sure > 0 else self.most
            best.cut_short |= best.looked_at >= most or self.spent or (self.stop.asked and best.found is not None)
            if best.cut_short or least >= best.total - _LEAST_GAIN:
                return
            if self._barred(kinds | self.options[number].patch.kinds, best):
                continue
            option = branch.sound(number)
            if option is None or self._barred(kinds | option.kinds, best):
                continue
            best.looked_at += 1
            if least + option.anew >= best.total - _LEAST_GAIN:
                continue
            if best.apart and not branch.apart(option):
                continue
            if not branch.surely([*taken, option]) or not branch.even([*taken, option]):
                continue
            rest = left - option.patch.zones
            if rest:
                both = ledger.plus(option.option.ledger).dearer(option.anew)
                self._cover(branch, [*taken, option], best, rest, both)
            else:
                self._complete(branch, [*taken, option], best)

    def _ranked(
        self, branch: "_Branch", zone: str, best: _Best, left: frozenset[str], ledger: Ledger
    ) -> list[tuple[int, float]]:
        """The options for a zone that may yet be part of the best, sound or not, those of the least bound first.

        With each the least [currency] of any change that holds it and what a ledger does, and covers the zones left.
        """
        found: list[tuple[int, float]] = []
        for zones, (numbers, rows) in self._together[zone].items():
            if zones <= left:
                rest = left - zones
                least = self.leasts.least(rows.plus(ledger), rest) + self._shares(branch, rest, best)
                able = np.flatnonzero(least < best.total - _LEAST_GAIN)
                found += zip(numbers[able].tolist(), least[able].tolist(), strict=True)
        return sorted(found, key=lambda one: (one[1], one[0]))

    @cached_property
    def _together(self) -> dict[str, dict[frozenset[str], tuple[NDArray[np.intp], Ledger]]]:
        """Of each zone, the options that touch it and the same others, with their ledgers as rows."""
        found: dict[str, dict[frozenset[str], list[int]]] = {zone: {} for zone in self.job.base.lines}
        for number, option in enumerate(self.options):
            for zone in option.patch.zones:
                found[zone].setdefault(option.patch.zones, []).append(number)
        return {
            zone: {
                zones: (np.array(numbers), Ledger.of_all([self.options[k].ledger for k in numbers]))
                for zones, numbers in groups.items()
            }
            for zone, groups in found.items()
        }

    def _complete(self, branch: "_Branch", taken: Sequence[_Sound], best: _Best) -> None:
        """Weigh a complete change, and keep it when it is sound and costs less than the best."""
        found = branch.complete(taken, below=best.total, barred=lambda kinds: self._barred(kinds, best))
        if found is not None:
            best.found, best.total = found, found.weight.total
            self.stop.worth_keeping = True


class _Branch:
    """All changes with one way to deal with what zones share."""

    def __init__(self, search: Search, shared: Shared) -> None:
        self.search, self.shared = search, shared
        self._judge = search.judged.judges.setdefault(id(shared), Judge(search.job, shared.case))
        self.chances, self.fresh = chances_of(search.job, shared.case, sure=search.sure)
        self._tried: dict[int, _Sound | None] = {}
        self._first: dict[str, int] = {}  # of each zone's options by their least, those before are not sound
        self._is_even: dict[tuple[int, ...], bool] = {}

    def rough_share(self, zone: str) -> float:
        """Least [currency] that a zone's part of any option adds, sound or not."""
        return self._ranked[zone][0][0]

    def share(self, zone: str, *, below: float) -> float:
        """Least [currency] that a zone's part of any sound option adds; infinite without one.

        No more is solved than says whether it is less than a sum.
        """
        ranked, first = self._ranked[zone], self._first.get(zone, 0)
        while first < len(ranked) and ranked[first][0] < below and not self.search.spent:
            if self.sound(ranked[first][1]) is not None:
                break
            first += 1
        self._first[zone] = first
        return ranked[first][0] if first < len(ranked) else math.inf

    @cached_property
    def _ranked(self) -> dict[str, list[tuple[float, int]]]:
        """The options that touch each zone by the least [currency] that a zone's part of them adds."""
        options = self.search.options
        return {
            zone: sorted((options[k].least / len(options[k].patch.zones), k) for k in numbers)
            for zone, numbers in self.touching.items()
        }

    @cached_property
    def touching(self) -> dict[str, list[int]]:
        """The options that touch each zone."""
        found: dict[str, list[int]] = {zone: [] for zone in self.search.job.base.lines}
        for number, option in enumerate(self.search.options):
            for zone in option.patch.zones:
                found[zone].append(number)
        return found

    def sound(self, number: int) -> _Sound | None:
        """An option laid out for this supply; None when it is not sound."""
        if number not in self._tried:
            laid = self._laid_out(number)
            self._tried[number] = laid if laid is not None and self._alone(laid) else None
            self.search.count()
        return self._tried[number]

    def _laid_out(self, number: int) -> _Sound | None:
        """The same whatever the wish for certainty."""
        known, key = self.search.judged.options, (id(self.shared), number)
        if key not in known:
            known[key] = self._judged(self.search.options[number])
        return known[key]

    def _judged(self, option: Option) -> _Sound | None:
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
        return _Sound(option, laid, tuple(lines.values()), kinds, anew)

    def _alone(self, laid: _Sound) -> bool:
        """Whether the zones of an option may hold as surely as they must, by the draws that are the hardest."""
        if self.search.sure == 0:
            return True
        system = patched(self.shared.base, [laid.patch], self.shared.case)
        return self.chances.enough(self.chances.at_most({line.zone: line for line in laid.lines}, system))

    def surely(self, taken: Sequence[_Sound]) -> bool:
        """Whether the zones dealt with may hold together as surely as they must: others can only lessen that."""
        lines = [line for one in taken for line in one.lines]
        return all(chances.enough(chances.known(lines)) for chances in (self.chances, self.fresh))

    def apart(self, option: _Sound) -> bool:
        """Whether an option fails in no more than its zones' share of the draws that may fail: such hold together."""
        share = len(option.option.patch.zones) / len(self.search.job.base.lines)
        return bool(1 - self.chances.known(option.lines).mean() <= share * (1 - self.chances.least))

    def _holds(self, system: System) -> bool:
        """Whether a system holds as surely as it must, in the draws that choose and in those that judge."""
        each = (self.chances, self.fresh) if self.search.sure > 0 else ()
        self.search.count()
        return all(chances.enough(chances.holds(system.lines, system)) for chances in each)

    def even(self, taken: Sequence[_Sound]) -> bool:
        """Whether no lawn that the zones dealt with water alone is too uneven."""
        key = tuple(sorted(id(option) for option in taken))
        if key not in self._is_even:
            self._is_even[key] = self._even(taken)
        return self._is_even[key]

    def _even(self, taken: Sequence[_Sound]) -> bool:
        for one in taken:
            if not self._judge.knows(one.lines):
                self._judge.settle(patched(self.shared.base, [one.patch], self.shared.case), one.lines)
        return not self._judge.too_uneven([line for one in taken for line in one.lines])

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
        if barred(kinds) or not self._holds(system):
            return None
        weight = weigh(job, system, patches, shared.extras)
        if weight.total >= below - _LEAST_GAIN:
            return None
        verdict = self._judge.verdict(system)
        if verdict.fault:
            return None
        words = tuple(words for words in (shared.words, *(patch.words for patch in patches)) if words)
        return Found(kinds, words, shared, system, weight, verdict, "feasible", -math.inf)
