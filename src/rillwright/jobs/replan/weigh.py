"""What a change costs against finishing the plan as drawn: to buy, to dig, to dig up again, to throw away, and hours.

Let need(S) be the parts list of a system S, have what was bought, wasted what lies in the ground and is given up. For
each part, with d = need(plan) - have and x = need(S) - need(plan) + wasted,

    to buy       = price · (max(0, d + x) - max(0, d))
    thrown away  = lost · (wasted + max(0, -(d + x)) - max(0, -d)), the last two never less than 0 together

Trenches: fresh ones cost what the price list says, those of the plan that nothing needs any more and nobody dug are
saved, closed ones over new pipe are dug up again at the price of their surface. Hours: tasks by a table of three
points. What stays in the ground is neither bought again nor laid again.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import get_args

from rillwright.jobs.replan.amounts import Amounts
from rillwright.jobs.replan.before import moving_cost
from rillwright.jobs.replan.job import Job, tally
from rillwright.jobs.replan.system import Patch, System
from rillwright.model.plan import PartLine, Pipe
from rillwright.model.undoing import Hours, hours_of
from rillwright.model.wire import Gauge
from rillwright.solvers.takeoff import WASTE
from rillwright.solvers.wire import wire_part

__all__ = [
    "BODIES",
    "Extra",
    "Pipes",
    "Weight",
    "changed_pipes",
    "lost_of",
    "own_tasks",
    "price_of",
    "short_of",
    "wasted_pipe",
    "weigh",
]

BODIES = "head "  # no change adds or removes a head: a nozzle of another class goes on the same body


@dataclass(frozen=True, slots=True)
class Extra:
    """What a change costs that no parts list holds: a pump, a second supply."""

    what: str
    price: float  # [currency]
    tasks: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Weight:
    """A change in the scales; money [currency]."""

    parts_list: Mapping[str, PartLine]
    bought: Mapping[str, tuple[float, float]]  # by part: quantity more than to finish as drawn, and its cost
    thrown: Mapping[str, tuple[float, float]]  # by part: quantity, and what is lost with it
    dug_up: tuple[str, ...]  # trenches of the plan
    fresh: tuple[str, ...]  # trenches dug for it
    saved: tuple[str, ...]  # trenches of the plan that need not be dug
    extras: tuple[Extra, ...]
    trenches: float  # fresh less saved
    again: float  # of digging up
    tasks: Mapping[str, float]
    hours: Hours
    worth: float  # of the mean hours

    @property
    def parts(self) -> float:
        """Parts and extras."""
        return sum(cost for _, cost in self.bought.values()) + sum(extra.price for extra in self.extras)

    @property
    def lost(self) -> float:
        """What is thrown away."""
        return sum(cost for _, cost in self.thrown.values())

    @property
    def money(self) -> float:
        """What has still to be paid: parts, extras, trenches, digging up."""
        return self.parts + self.trenches + self.again

    @property
    def total(self) -> float:
        """The cost that is minimised: money, hours at their worth, what is thrown away."""
        return self.money + self.worth + self.lost


@dataclass(frozen=True, slots=True)
class Pipes:
    """Pipes that a change adds and gives up."""

    added: tuple[Pipe, ...]
    dropped: tuple[Pipe, ...]


def weigh(job: Job, system: System, patches: Sequence[Patch], extras: Sequence[Extra] = ()) -> Weight:
    """Weigh a system against the one being built; patches, what it was made by."""
    pipes = changed_pipes(job, system)
    lines = job.parts_of(system)
    more = tally(lines, job.parts)
    bought, thrown = _parts(job, lines, more, pipes)
    dug_up = _dug_up(job, system, pipes)
    fresh = tuple(name for name in system.trenches if name not in job.base.trenches)
    saved = tuple(name for name in job.base.trenches if name not in system.trenches and job.undug(name))
    stations = max(0, len(system.lines) - max(len(job.base.lines), job.case.yard.controller.stations))
    if stations:
        price = job.case.catalogue.prices["controller station"].price
        words = f"{stations} more station{'' if stations == 1 else 's'} on the controller"
        extras = (*extras, Extra(words, stations * price, {"station added": stations}))
    moving = moving_cost(system, job.case) - moving_cost(job.base, job.case)
    if moving > 0:
        extras = (*extras, Extra("what lay there before, given up", moving))
    tasks = own_tasks(
        job, system, patches, pipes, wire=max(0.0, sum(more[wire_part(gauge)] for gauge in get_args(Gauge)))
    )
    for _ in _spots(job, system, dug_up):
        tasks.add({"hole at a pipe": 1.0, "joint made or cut": 1.0})
    for name in (*dug_up, *fresh):
        trench = system.trenches[name]
        tasks[f"trench in {trench.surface}"] += trench.length
    for name in saved:
        trench = job.base.trenches[name]
        tasks[f"trench in {trench.surface}"] -= trench.length
    for extra in extras:
        tasks.add(extra.tasks)
    hours = hours_of(tasks, job.labour)
    return Weight(
        parts_list=lines,
        bought=bought,
        thrown=thrown,
        dug_up=dug_up,
        fresh=fresh,
        saved=saved,
        extras=tuple(extras),
        trenches=sum(system.trenches[n].cost for n in fresh) - sum(job.base.trenches[n].cost for n in saved),
        again=sum(job.base.trenches[name].cost for name in dug_up),
        tasks={task: amount for task, amount in tasks.items() if abs(amount) > 1e-9},
        hours=hours,
        worth=job.hour * hours.mean,
    )


def changed_pipes(job: Job, system: System) -> Pipes:
    """Pipes that a system has and the plan has not, and the other way round."""
    now = {pipe.id: pipe for pipe in system.pipes}
    added = tuple(pipe for name, pipe in now.items() if name not in job.pipes)
    return Pipes(added, tuple(pipe for name, pipe in job.pipes.items() if name not in now))


def _part(pipe: Pipe) -> str:
    return f"pipe {pipe.material} {pipe.size}"


def wasted_pipe(pipes: Pipes, length: Callable[[Pipe], float]) -> Amounts:
    """Pipe [m] in the ground that is given up, its share of offcuts counted; length [m] of a pipe that lies there."""
    wasted = Amounts()
    for pipe in pipes.dropped:
        if (there := length(pipe)) > 0:
            wasted[_part(pipe)] += there * (1 + WASTE)
    return wasted


def _parts(
    job: Job, lines: Mapping[str, PartLine], more: Mapping[str, float], pipes: Pipes
) -> tuple[dict[str, tuple[float, float]], dict[str, tuple[float, float]]]:
    """What is to buy and what is thrown away, by part; more, what the change needs more than the plan."""
    wasted, paid = wasted_pipe(pipes, job.in_ground), wasted_pipe(pipes, job.laid_here)
    bought: dict[str, tuple[float, float]] = {}
    thrown: dict[str, tuple[float, float]] = {}
    for part in dict.fromkeys((*more, *wasted)):
        if part.startswith(BODIES):
            continue
        short = short_of(job, part)
        gone = wasted.get(part, 0.0)
        then = short + more.get(part, 0.0) + gone
        buy = max(0.0, then) - max(0.0, short)
        if abs(buy) > 1e-9:
            bought[part] = (buy, buy * price_of(job, lines, part))
        spare = paid[part] + max(0.0, max(0.0, -then) - max(0.0, -short))
        if spare > 1e-9:
            thrown[part] = (spare, spare * lost_of(job, part))
    return bought, thrown


def short_of(job: Job, part: str) -> float:
    """Pieces or metres of a part still to be bought to finish as drawn; less than 0: spare ones."""
    line = job.parts.get(part)
    return (line.quantity - line.owned if line else 0.0) - job.state.bought(part)


def price_of(job: Job, lines: Mapping[str, PartLine], part: str) -> float:
    """Price [currency] of one piece or metre; lines, the parts list of the change."""
    return (job.parts.get(part) or lines[part]).price


def lost_of(job: Job, part: str) -> float:
    """What is lost with one piece or metre of a part that was paid for, or lies in the ground."""
    stock = job.state.stock.get(part)
    return stock.lost if stock else job.parts[part].price


def _dug_up(job: Job, system: System, pipes: Pipes) -> tuple[str, ...]:
    """Closed trenches of the plan in which new pipe is laid, or a strand of wire that no spare one serves."""
    names = [name for pipe in pipes.added for name in system.within[pipe.id]]
    for name, place in system.places.items():
        if name in job.base.places and len(place.zones) > len(job.base.places[name].zones) + 1:
            names += [trench for pipe in job.base.main for trench in job.base.within[pipe.id]]
    return tuple(name for name in dict.fromkeys(names) if job.closed(name))


def _spots(job: Job, system: System, dug_up: Iterable[str]) -> list[str]:
    """Nodes whose joints are made anew under closed trenches: a hole each, where nothing else opens the ground."""
    opened = set(dug_up)
    before, after = _meeting(job.base), _meeting(system)
    found: dict[tuple[float, float], str] = {}
    for key in before.keys() & after.keys():
        node = key[1]
        trenches = job.at_spot.get(node, ())
        if before[key] == after[key] or not trenches or not any(job.closed(name) for name in trenches):
            continue
        if not any(name in opened or not job.closed(name) for name in trenches):
            found.setdefault(job.base.nodes[node].at, node)
    return list(found.values())


def _meeting(system: System) -> dict[tuple[str | None, str], frozenset[str]]:
    """Pipes that meet, by net and node."""
    found: dict[tuple[str | None, str], set[str]] = {}
    for pipe in system.pipes:
        for node in (pipe.start, pipe.end):
            found.setdefault((pipe.zone, node), set()).add(pipe.id)
    return {key: frozenset(ids) for key, ids in found.items()}


def own_tasks(
    job: Job,
    system: System,
    patches: Sequence[Patch],
    pipes: Pipes,
    *,
    wire: float,
) -> Amounts:
    """Work besides digging; wire, the length [m] of strand more than planned, offcuts included."""
    tasks = Amounts()
    loose = [pipe for pipe in pipes.dropped if job.in_ground(pipe) == 0]
    tasks["pipe laid"] = sum(p.length for p in pipes.added) - sum(p.length for p in loose)
    tasks["joint made or cut"] = 2 * len(pipes.added) - 2 * len(loose)
    before = {head.id: head for head in job.base.heads}
    tasks["nozzle changed"] = sum(head.nozzle != before[head.id].nozzle for head in system.heads)
    tasks["throw set by its screw"] = sum(len(patch.screws) for patch in patches)
    lines = job.base.lines
    moved = sum(line.place != lines[name].place for name, line in system.lines.items() if name in lines)
    tasks["valve set"] = len(system.lines) - len(lines) + moved
    tasks["valve box set"] = len(system.places.keys() - job.base.places.keys())
    tasks["wire pulled"] = wire / (1 + WASTE)
    tasks["run times set anew"] = sum(lines.get(name) != line for name, line in system.lines.items())
    return tasks
