"""A job under way: the system being built, what is known of it, and what changing it costs by the metre and hour."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import shapely
from shapely.geometry import LineString, Point

from rillwright.jobs.bill import BilledZone
from rillwright.jobs.case import Case
from rillwright.jobs.replan.amounts import Amounts
from rillwright.jobs.replan.state import JobState
from rillwright.jobs.replan.system import System, work_of
from rillwright.model.plan import PartLine, Pipe, Plan, Trench
from rillwright.model.undoing import Task, hours_of
from rillwright.solvers.drainage import zone_drainage
from rillwright.solvers.takeoff import find_reuse, take_off

__all__ = ["Job"]

_AT = 0.05  # [m] from a trench within which a joint lies in it


@dataclass(frozen=True)
class Job:
    """What every change is weighed against."""

    plan: Plan  # being built
    base: System  # its system
    case: Case  # the yard with its supply fitted anew
    state: JobState
    labour: Mapping[str, Task]
    hour: float  # [currency/s] that the owner's labour is worth

    @cached_property
    def parts(self) -> dict[str, PartLine]:
        """The parts list of the plan being built, by part."""
        return self.parts_of(self.base)

    def parts_of(self, system: System) -> dict[str, PartLine]:
        """Parts that a system asks for. A valve that is there stays where less water flows than it was chosen for."""
        lines, before = system.lines, self.base.lines
        zones = [
            BilledZone(
                name,
                tuple(head.id for head in line.heads),
                line.place,
                max(line.flow, before[name].flow if name in before else 0.0),
            )
            for name, line in lines.items()
        ]
        work, places = work_of(system), tuple(system.places.values())
        checked = [head for zone in zones for head in self._checked(zone, system)]
        parts = take_off(
            yard=self.case.yard,
            catalogue=self.case.catalogue,
            heads=system.heads,
            zones=zones,
            places=places,
            pipes=work.pipes,
            trenches=work.trenches,
            nodes=work.nodes,
            backflow=system.kind,
            existing=find_reuse(self.case.yard, heads=system.heads, places=places, pipes=work.pipes),
            check_valves=checked,
        ).needs(self.case.catalogue.prices)
        return {line.part: line for line in parts}

    def _checked(self, zone: BilledZone, system: System) -> tuple[str, ...]:
        """Heads of a zone that need a check valve; zones of the same pipes and heads are drained once."""
        pipes = system.lines[zone.id].pipes
        key = (zone.id, zone.heads, tuple((pipe.id, pipe.start, pipe.size) for pipe in pipes))
        if key not in self._drained:
            drained = zone_drainage(zone, system.heads, pipes, terrain=self.case.ground.terrain, yard=self.case.yard)
            self._drained[key] = tuple(checked.head for checked in drained.checked)
        return self._drained[key]

    @cached_property
    def _drained(self) -> dict[tuple[object, ...], tuple[str, ...]]:
        return {}

    @cached_property
    def pipes(self) -> dict[str, Pipe]:
        """The pipes of the plan being built."""
        return {pipe.id: pipe for pipe in self.base.pipes}

    def closed(self, trench: str) -> bool:
        """Whether a trench is closed over its pipes, or the ground over pipe from before the plan."""
        return trench in self.base.old or self.state.trench.get(trench) == "closed"

    def undug(self, trench: str) -> bool:
        """Whether a trench of the plan is still to be dug."""
        return self.state.trench.get(trench) == "not dug"

    def in_ground(self, pipe: Pipe) -> float:
        """Length [m] of a pipe of the plan under closed ground."""
        return sum(self.base.trenches[name].length for name in self.base.within[pipe.id] if self.closed(name))

    def laid_here(self, pipe: Pipe) -> float:
        """The same of what was bought for this plan: not what lay there before."""
        names = (name for name in self.base.within[pipe.id] if name not in self.base.old)
        return sum(self.base.trenches[name].length for name in names if self.closed(name))

    def digging(self, trench: Trench) -> float:
        """What digging a trench is taken to cost, labour included [currency]; again what it cost at first."""
        return trench.cost + self.worth({f"trench in {trench.surface}": trench.length})

    def worth(self, tasks: Mapping[str, float]) -> float:
        """What the mean working time of tasks is worth [currency]."""
        return self.hour * hours_of(tasks, self.labour).mean

    @cached_property
    def at_spot(self) -> dict[str, tuple[str, ...]]:
        """The trenches of the plan that each node lies in."""
        lines = [(name, LineString(trench.path)) for name, trench in self.base.trenches.items()]
        tree = shapely.STRtree([line for _, line in lines])
        found: dict[str, tuple[str, ...]] = {}
        for name, node in self.base.nodes.items():
            near = tree.query(Point(node.at), "dwithin", _AT)
            found[name] = tuple(lines[k][0] for k in sorted(near.tolist()))
        return found


def tally(lines: Mapping[str, PartLine], first: Mapping[str, PartLine]) -> Amounts:
    """Pieces or metres of each part more than in another list."""
    more = Amounts()
    for part in dict.fromkeys((*first, *lines)):
        change = (lines[part].quantity if part in lines else 0.0) - (first[part].quantity if part in first else 0.0)
        if abs(change) > 1e-9:
            more[part] = change
    return more


def names(items: Sequence[str], most: int = 6) -> str:
    """Some names in a row."""
    more = f" and {len(items) - most} more" if len(items) > most else ""
    return ", ".join(items[:most]) + more
