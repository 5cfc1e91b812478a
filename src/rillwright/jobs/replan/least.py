"""The least that an option adds to any change that it is part of: what branches are cut by.

The weight of a composed change is not the sum of its options' weights: they may share trenches and spare parts, free
parts for one another, and round up together. So of what some options hold together counts at the least, with F and B
the most of a part that the options of the zones left can free and need,

    a part needed more       price · max(0, x - spare - F); what is still to be bought, in full; nothing where it is
                             counted to the full piece (boxes, glue)
    a part freed             lost · max(0, x - B) where it was bought; less its price where it was not
    trenches dug             less a share for each zone left that some option would dig there for
    trenches not dug yet     saved, where an option gives a pipe up and lays or keeps none of its own
    pipe in the ground       what is lost with it, and all work of their own, holes aside

Proof: docs/theory/replan.md.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from rillwright.jobs.replan.amounts import Amounts
from rillwright.jobs.replan.job import Job, tally
from rillwright.jobs.replan.system import Line, Patch, System
from rillwright.jobs.replan.weigh import (
    BODIES,
    Weight,
    changed_pipes,
    lost_of,
    own_tasks,
    short_of,
    wasted_pipe,
)

__all__ = ["Alone", "Leasts", "Ledger", "Swap"]

_NOBODY: frozenset[str] = frozenset()
_MAIN = ""  # stands for what all zones share
LUMPS = ("valve box", "glue", "primer", "solder and flux", "thread tape")  # counted to the full piece


@dataclass(frozen=True)
class Alone:
    """A patch by itself."""

    patch: Patch
    system: System
    weight: Weight


@dataclass(frozen=True)
class Swap:
    """Other nozzles in a zone."""

    before: Line
    after: Line
    screws: tuple[str, ...]  # heads whose throw is set anew
    words: str

    @property
    def more(self) -> Amounts:
        """Nozzles needed more, and fewer, by part."""
        pairs = [(a, b) for a, b in zip(self.before.heads, self.after.heads, strict=True) if a.nozzle != b.nozzle]
        found = Amounts()
        for old, new in pairs:
            found.add({f"nozzle {new.nozzle}": 1.0})
            found.add({f"nozzle {old.nozzle}": -1.0})
        return found


@dataclass(frozen=True)
class Ledger:
    """What an option adds to a change; [currency] where it is no quantity."""

    more: Mapping[str, float] = field(default_factory=dict)  # of each part, pipe wasted in the ground counted
    lost: float = 0.0  # with pipe wasted in the ground
    dug: Mapping[str, float] = field(default_factory=dict)  # cost of each trench dug or dug up
    saved: float = 0.0  # at the most, with trenches not dug yet
    labour: float = 0.0  # its own, digging aside

    def plus(self, other: "Ledger") -> "Ledger":
        """Both together."""
        more = Amounts(self.more)
        more.add(other.more)
        dug = {**self.dug, **other.dug}
        return Ledger(more, self.lost + other.lost, dug, self.saved + other.saved, self.labour + other.labour)


@dataclass(frozen=True)
class Leasts:
    """Reckons with all options of a job."""

    job: Job
    alone: Sequence[Alone]
    swaps: Mapping[str, Sequence[Swap]]  # by zone of the plan

    def ledger(self, one: Alone) -> Ledger:
        """What a patch adds, item by item."""
        job, weight = self.job, one.weight
        pipes = changed_pipes(job, one.system)
        wasted = wasted_pipe(pipes, job.laid_here)
        own = {name for line in one.patch.lines.values() for pipe in line.pipes for name in one.system.within[pipe.id]}
        undug = {name for pipe in pipes.dropped for name in job.base.within[pipe.id]} - own
        return Ledger(
            more=_more(job, one),
            lost=sum(length * lost_of(job, part) for part, length in wasted.items()),
            dug={name: job.digging(one.system.trenches[name]) for name in (*weight.dug_up, *weight.fresh)},
            saved=sum(job.digging(job.base.trenches[name]) for name in undug if job.undug(name)),
            labour=job.worth(own_tasks(job, one.system, (one.patch,), pipes, wire=0.0)),
        )

    def swap_ledger(self, swap: Swap) -> Ledger:
        """What other nozzles add, the setting of the zone's run times aside."""
        changed = sum(a.nozzle != b.nozzle for a, b in zip(swap.before.heads, swap.after.heads, strict=True))
        labour = self.job.worth({"nozzle changed": changed, "throw set by its screw": len(swap.screws)})
        return Ledger(more=swap.more, labour=labour)

    def least(self, ledger: Ledger, left: frozenset[str]) -> float:
        """Least [currency] that what a ledger holds adds to any change.

        Parameters: left, the zones that it does not deal with, whose options may yet share with it. With none left it
        is the weight of the change but for what is counted to the full piece, wire, and holes.
        """
        freed, needed = self._others(left)
        total = ledger.lost + ledger.labour - ledger.saved
        for part, extra in ledger.more.items():
            total += self._part(part, extra, freed[part], needed[part])
        for name, cost in ledger.dug.items():
            diggers = self._diggers.get(name, _NOBODY)
            total += cost * (1 - len(diggers & left) / max(1, len(diggers)))
        return total

    def _part(self, part: str, extra: float, freed: float, needed: float) -> float:
        """The same of one part; freed and needed, the most that options of the zones left free and need of it."""
        price, short = self.price[part], self._short(part)
        if part in LUMPS:
            return -price * min(1 - extra, max(0.0, short)) if extra < 0 else 0.0
        if short > 0:
            return price * max(extra, -short)
        if extra < 0:
            gone = -extra - needed
            return gone * lost_of(self.job, part) if gone > 0 else 0.0
        return price * max(0.0, extra + short - freed)

    def _short(self, part: str) -> float:
        if part not in self._shorts:
            self._shorts[part] = short_of(self.job, part)
        return self._shorts[part]

    @cached_property
    def _shorts(self) -> dict[str, float]:
        return {}

    @cached_property
    def price(self) -> dict[str, float]:
        """Price [currency] of every part that some option touches."""
        found = {part: line.price for one in self.alone for part, line in one.weight.parts_list.items()}
        prices = self.job.case.catalogue.prices
        for swap in (swap for swaps in self.swaps.values() for swap in swaps):
            for head in (*swap.before.heads, *swap.after.heads):
                part = f"nozzle {head.nozzle}"
                found.setdefault(part, prices[part if part in prices else f"nozzle {head.head_class}"].price)
        return found

    @cached_property
    def _diggers(self) -> dict[str, frozenset[str]]:
        """Zones that some option would dig a trench for."""
        found: dict[str, set[str]] = {}
        for one in self.alone:
            for name in (*one.weight.dug_up, *one.weight.fresh):
                found.setdefault(name, set()).update(one.patch.zones or {_MAIN})
        return {name: frozenset(zones) for name, zones in found.items()}

    def _others(self, left: frozenset[str]) -> tuple[Amounts, Amounts]:
        """Most of each part that options of some zones, and of the main, can together free, and need."""
        if left not in self._known:
            freed, needed = Amounts(), Amounts()
            for zone in (*left, _MAIN):
                most = self._most.get(zone, (Amounts(), Amounts()))
                freed.add(most[0])
                needed.add(most[1])
            self._known[left] = freed, needed
        return self._known[left]

    @cached_property
    def _known(self) -> dict[frozenset[str], tuple[Amounts, Amounts]]:
        return {}

    @cached_property
    def _most(self) -> dict[str, tuple[Amounts, Amounts]]:
        """Most of each part that one option of a zone frees, and needs, its nozzles changed besides."""
        found: dict[str, tuple[Amounts, Amounts]] = {}
        for one in self.alone:
            for zone in one.patch.zones or {_MAIN}:
                _note(found.setdefault(zone, (Amounts(), Amounts())), _more(self.job, one))
        for zone, swaps in self.swaps.items():
            for swap in swaps:
                _note(found[zone], swap.more)
        return found


def _note(most: tuple[Amounts, Amounts], more: Mapping[str, float]) -> None:
    for part, extra in more.items():
        side = most[0] if extra < 0 else most[1]
        side[part] = max(side[part], abs(extra))


def _more(job: Job, one: Alone) -> Amounts:
    """What a patch alone needs more of each part, pipe that it wastes counted."""
    more = tally(one.weight.parts_list, job.parts)
    more.add(wasted_pipe(changed_pipes(job, one.system), job.in_ground))
    return Amounts({part: extra for part, extra in more.items() if not part.startswith(BODIES)})
