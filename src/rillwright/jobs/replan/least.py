"""The least that an option adds to any change that it is part of: what branches are cut by.

The weight of a composed change is not the sum of its options' weights: they may share trenches and spare parts, free
parts for one another, and round up together. So of what some options hold together counts at the least, with F and B
the most of a part that the options of the zones left can free and need,

    a part needed more       price · max(0, x - spare - F); what is still to be bought, in full; nothing where it is
                             counted to the full piece (boxes, glue)
    a part freed             lost · max(0, -x - B) where it was bought; less its price where it was not
    trenches dug             less a share for each zone left that some option would dig there for
    trenches not dug yet     saved, where an option gives a pipe up and lays or keeps none of its own
    pipe in the ground       what is lost with it, and all work of their own, holes aside

Ledgers of many options are reckoned with at once, as rows. Proof: docs/theory/replan.md.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

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
from rillwright.model.placed import BOX

__all__ = ["Alone", "Leasts", "Ledger", "Swap"]

Floats = NDArray[np.float64]

_MAIN = ""  # stands for what all zones share
LUMPS = (BOX, "glue", "primer", "solder and flux", "thread tape")  # counted to the full piece


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

    @cached_property
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
    """What an option adds to a change, or what many add, as rows; parts and trenches as Leasts orders them."""

    more: Floats  # (..., parts) [piece or m], pipe wasted in the ground counted
    dug: NDArray[np.bool_]  # (..., trenches) dug or dug up
    rest: Floats | float  # (...) [currency] lost with pipe in the ground, and labour, less what trenches may save

    def plus(self, other: "Ledger") -> "Ledger":
        """Both together."""
        return Ledger(self.more + other.more, self.dug | other.dug, self.rest + other.rest)

    def dearer(self, by: float) -> "Ledger":
        """The same for so much more [currency]."""
        return Ledger(self.more, self.dug, self.rest + by)

    def rows(self, numbers: slice) -> "Ledger":
        """Some of many."""
        rest = self.rest[numbers] if isinstance(self.rest, np.ndarray) else self.rest
        return Ledger(self.more[numbers], self.dug[numbers], rest)

    @classmethod
    def of_all(cls, ledgers: Sequence["Ledger"]) -> "Ledger":
        """Many as rows."""
        return cls(
            np.array([one.more for one in ledgers]),
            np.array([one.dug for one in ledgers]),
            np.array([one.rest for one in ledgers], dtype=float),
        )


@dataclass(frozen=True)
class _Left:
    """What the options of some zones can do for those taken."""

    freed: Floats  # (parts,) most that they free
    needed: Floats  # (parts,) most that they need
    digging: Floats  # (trenches,) [currency] of each trench at the least


@dataclass(frozen=True)
class Leasts:
    """Reckons with all options of a job."""

    job: Job
    alone: Sequence[Alone]
    swaps: Sequence[tuple[frozenset[str], Swap]]  # with the zones of the plan that the change touches it is part of

    def ledger(self, one: Alone) -> Ledger:
        """What a patch adds, item by item."""
        job, weight = self.job, one.weight
        pipes = changed_pipes(job, one.system)
        wasted = wasted_pipe(pipes, job.laid_here)
        own = {name for line in one.patch.lines.values() for pipe in line.pipes for name in one.system.within[pipe.id]}
        undug = {name for pipe in pipes.dropped for name in job.base.within[pipe.id]} - own
        lost = sum(length * lost_of(job, part) for part, length in wasted.items())
        saved = sum(job.digging(job.base.trenches[name]) for name in undug if job.undug(name))
        labour = job.worth(own_tasks(job, one.system, (one.patch,), pipes, wire=0.0))
        dug = np.zeros(len(self._trenches), dtype=bool)
        dug[[self._trenches[name] for name in (*weight.dug_up, *weight.fresh)]] = True
        return Ledger(self._column(_more(job, one)), dug, lost + labour - saved)

    def swap_ledger(self, swap: Swap) -> Ledger:
        """What other nozzles add, the setting of the zone's run times aside."""
        changed = sum(a.nozzle != b.nozzle for a, b in zip(swap.before.heads, swap.after.heads, strict=True))
        labour = self.job.worth({"nozzle changed": changed, "throw set by its screw": len(swap.screws)})
        return Ledger(self._column(swap.more), np.zeros(len(self._trenches), dtype=bool), labour)

    def least(self, ledger: Ledger, left: frozenset[str]) -> Floats:
        """Least [currency] (...) that what a ledger holds adds to any change.

        Parameters: left, the zones that it does not deal with, whose options may yet share with it. With none left it
        is the weight of the change but for what is counted to the full piece, wire, and holes.
        """
        known, x = self._known(left), ledger.more
        total = ledger.rest + ledger.dug @ known.digging
        total += np.maximum(x + self._short - known.freed, 0.0) @ self._had[0]
        total += np.maximum(-x - known.needed, 0.0) @ self._had[1]
        total += np.maximum(x, -self._short) @ self._to_buy
        return np.asarray(total - np.where(x < 0, np.minimum(1 - x, np.maximum(self._short, 0.0)), 0.0) @ self._lumps)

    def _column(self, more: Mapping[str, float]) -> Floats:
        found = np.zeros(len(self._parts))
        for part, extra in more.items():
            found[self._parts[part]] = extra
        return found

    @cached_property
    def _parts(self) -> dict[str, int]:
        """Every part that some option touches, by column."""
        return {part: column for column, part in enumerate(self.price)}

    @cached_property
    def _trenches(self) -> dict[str, int]:
        """Every trench that some option digs, by column."""
        return {name: column for column, name in enumerate(self._cost)}

    @cached_property
    def _cost(self) -> dict[str, float]:
        """What digging costs [currency] by trench."""
        return {
            name: self.job.digging(one.system.trenches[name])
            for one in self.alone
            for name in (*one.weight.dug_up, *one.weight.fresh)
        }

    @cached_property
    def _short(self) -> Floats:
        """Of each part, what is still to be bought to finish as drawn; under 0: spare."""
        return np.array([short_of(self.job, part) for part in self.price])

    @cached_property
    def _had(self) -> tuple[Floats, Floats]:
        """Price, and what is lost with one [currency], of each part of which all is bought; 0 for the others."""
        had = self._pieces & (self._short <= 0)
        known = self.job.parts  # what it does not hold can only be needed more
        lost = [lost_of(self.job, part) if part in known else 0.0 for part in self.price]
        return np.where(had, self._prices, 0.0), np.where(had, lost, 0.0)

    @cached_property
    def _to_buy(self) -> Floats:
        """Price [currency] of each part of which some is still to be bought; 0 for the others."""
        return np.where(self._pieces & (self._short > 0), self._prices, 0.0)

    @cached_property
    def _lumps(self) -> Floats:
        """Price [currency] of each part that is counted to the full piece; 0 for the others."""
        return np.where(self._pieces, 0.0, self._prices)

    @cached_property
    def _pieces(self) -> NDArray[np.bool_]:
        return np.array([not part.startswith(LUMPS) for part in self.price])

    @cached_property
    def _prices(self) -> Floats:
        return np.array([*self.price.values()])

    @cached_property
    def price(self) -> dict[str, float]:
        """Price [currency] of every part that some option touches."""
        found = {part: line.price for one in self.alone for part, line in one.weight.parts_list.items()}
        prices = self.job.case.catalogue.prices
        for head in (head for _, swap in self.swaps for head in (*swap.before.heads, *swap.after.heads)):
            if (part := f"nozzle {head.nozzle}") not in found:
                found[part] = prices[part if part in prices else f"nozzle {head.head_class}"].price
        return found

    @cached_property
    def _diggers(self) -> dict[str, frozenset[str]]:
        """Zones that some option would dig a trench for."""
        found: dict[str, set[str]] = {}
        for one in self.alone:
            for name in (*one.weight.dug_up, *one.weight.fresh):
                found.setdefault(name, set()).update(one.patch.zones or {_MAIN})
        return {name: frozenset(zones) for name, zones in found.items()}

    def _known(self, left: frozenset[str]) -> _Left:
        """What options of some zones, and of the main, can together free, need and share of trenches."""
        if left not in self._lefts:
            zones = [zone for zone in (*left, _MAIN) if zone in self._most]
            none = np.zeros(len(self._parts))
            digging = [
                cost * (1 - len(self._diggers[name] & left) / max(1, len(self._diggers[name])))
                for name, cost in self._cost.items()
            ]
            self._lefts[left] = _Left(
                sum((self._most[zone][0] for zone in zones), none),
                sum((self._most[zone][1] for zone in zones), none),
                np.array(digging),
            )
        return self._lefts[left]

    @cached_property
    def _lefts(self) -> dict[frozenset[str], _Left]:
        return {}

    @cached_property
    def _most(self) -> dict[str, tuple[Floats, Floats]]:
        """Most of each part that one option of a zone frees, and needs, its nozzles changed besides."""
        found: dict[str, list[Floats]] = {}
        for one in self.alone:
            for zone in one.patch.zones or {_MAIN}:
                found.setdefault(zone, []).append(self._column(_more(self.job, one)))
        for zones, swap in self.swaps:
            for zone in zones:
                found[zone].append(self._column(swap.more))
        return {
            zone: (np.maximum(-np.array(rows), 0.0).max(axis=0), np.maximum(np.array(rows), 0.0).max(axis=0))
            for zone, rows in found.items()
        }


def _more(job: Job, one: Alone) -> Amounts:
    """What a patch alone needs more of each part, pipe that it wastes counted."""
    more = tally(one.weight.parts_list, job.parts)
    more.add(wasted_pipe(changed_pipes(job, one.system), job.in_ground))
    return Amounts({part: extra for part, extra in more.items() if not part.startswith(BODIES)})
