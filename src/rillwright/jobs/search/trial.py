"""One zoning tried: quickly on the board, to rank it, or in full, with sizes, hydraulics and the parts list."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from rillwright.jobs.bill import total_of
from rillwright.jobs.build import on_pipes
from rillwright.jobs.case import Case
from rillwright.jobs.held_pipes import UNLAID, unlaid
from rillwright.jobs.pipework import ENTRY, MetrePrice, nets_of, size_routes
from rillwright.jobs.search.bound import least_price
from rillwright.jobs.search.moves import Change, Groups
from rillwright.jobs.workers import SentOnce
from rillwright.jobs.zoned import Draft, ZoneRoom, drafted
from rillwright.model.placed import BOX
from rillwright.model.plan import Head, Point
from rillwright.solvers.devices import valve_for
from rillwright.solvers.routing import Board, Laid, Net
from rillwright.solvers.takeoff import WASTE, WIRE_LOOP
from rillwright.solvers.zoning import Zoning

__all__ = ["Arena", "Trees", "Trial", "as_draft", "besides", "build_in_full", "enter", "screen", "worth"]

STATION = 25.0  # [currency] of each zone: a station and hours of every week; judgement, ranks only

Trees = Mapping[tuple[int, ...], frozenset[int]]  # by the ends of a net on the board


@dataclass(frozen=True)
class Arena(SentOnce):
    """What every trial under one backflow kind works from."""

    case: Case
    room: ZoneRoom
    zoning: Zoning  # where it began: proof of the count, and status
    board: Board
    metre: MetrePrice  # what pipe is taken to cost

    @cached_property
    def offered(self) -> tuple[str, ...]:
        """Places on the board."""
        return tuple(sorted(option.id for option in self.room.problem.options if option.id in self.board.number))

    def nets(self, groups: Groups) -> list[Net]:
        """The nets of a zoning, places by their id on the board."""
        zones = {f"Z{i}": group for i, group in enumerate(self.by_place(groups), 1)}
        members = {zone: [self._heads[head] for head in group.heads] for zone, group in zones.items()}
        home = {zone: group.place for zone, group in zones.items()}
        return nets_of(members, home, {p: self._at[p] for p in self.places(groups)}, self.metre, self.case)

    def places(self, groups: Groups) -> tuple[str, ...]:
        """Places that a zoning uses, nearest to the entry first."""
        return tuple(sorted({group.place for group in groups}, key=lambda p: (self._far[p], p)))

    def by_place(self, groups: Groups) -> Groups:
        """The zones in the order in which a draft names them."""
        return tuple(sorted(groups, key=lambda group: (self._far[group.place], group.place)))

    def valve_price(self, heads: Sequence[str]) -> float:
        """Price [currency] of the valve of a zone."""
        yard, catalogue = self.case.yard, self.case.catalogue
        flow = sum(self._flows[head] for head in heads)
        valve = valve_for(self.room.kind, yard=yard, catalogue=catalogue, flow=flow)
        return catalogue.prices[f"{valve.kind} {valve.trade_size}"].price

    @cached_property
    def _heads(self) -> dict[str, Head]:
        return {head.id: head for head in self.room.heads}

    @cached_property
    def _at(self) -> dict[str, Point]:
        return {option.id: option.at for option in self.room.problem.options}

    @cached_property
    def _far(self) -> dict[str, float]:
        return {option.id: option.entry_distance for option in self.room.problem.options}

    @cached_property
    def _flows(self) -> dict[str, float]:
        return {load.id: load.flow for load in self.room.problem.loads}


@dataclass(frozen=True, slots=True)
class Trial:
    """A zoning with its quick price and the trees that gave it."""

    groups: Groups
    price: float  # [currency] of what differs between zonings; ranks only
    trees: Trees
    change: Change | None = None  # from the zoning that it was tried from


def enter(board: Board, draft: Draft, case: Case, metre: MetrePrice) -> Arena:
    """Stand on a board with the zones and places that a draft's backflow kind allows."""
    fixed = {ENTRY, *(head.id for head in draft.room.heads)}
    number = {name: node for name, node in board.number.items() if name in fixed}
    spots = {tuple(board.graph.points[node].tolist()): node for name, node in board.number.items() if name not in fixed}
    number |= {option.id: spots[option.at] for option in draft.room.problem.options if option.at in spots}
    zoning = replace(draft.zoning, proofs=draft.zoning.proofs[:1])  # the others are of the estimate
    return Arena(case, draft.room, zoning, replace(board, number=number), metre)


def screen(groups: Groups, *, arena: Arena, start: Trees, change: Change | None = None) -> Trial | None:
    """Price a zoning on the board, keeping the trees of nets that are known; None when something is out of reach."""
    laid = arena.board.lay(arena.nets(groups), start=start)
    return None if laid is None else Trial(groups, _quick_price(groups, laid, arena), laid.trees, change)


def build_in_full(trial: Trial, *, arena: Arena) -> tuple[float, Draft]:
    """Worth [currency] and draft of a zoning, every net routed again with the others' trenches open.

    Where no sizes keep the limits it is worth nothing, and its water is not solved.
    """
    nets = arena.nets(trial.groups)
    laid = arena.board.lay(nets, start=trial.trees, improve=True)
    assert laid is not None
    draft = as_draft(trial.groups, arena)
    names = {place: f"V{i}" for i, place in enumerate(arena.places(trial.groups), start=1)}
    members = {zone.id: zone.heads for zone in draft.zones}
    written = arena.board.write(nets, laid, names=names)
    work = size_routes(written, members, draft.places, draft.kind, arena.case)
    if work.trouble:
        return math.inf, replace(draft, pipework=work)
    draft = on_pipes(draft, work, arena.case)
    return worth(draft, arena.case), draft


def as_draft(groups: Groups, arena: Arena) -> Draft:
    """A zoning written as zones and places, without pipes."""
    zoning = replace(arena.zoning, groups=arena.by_place(groups), places_used=arena.places(groups))
    return drafted(arena.room, zoning, arena.case)


def worth(draft: Draft, case: Case) -> float:
    """Whole cost [currency] of a draft, and what weighs against it besides; infinite when it does not fit."""
    return total_of(draft, case) + besides(draft, case)


def besides(draft: Draft, case: Case) -> float:
    """What weighs against a draft beside its parts [currency]: its zones, and held pipe that it leaves out."""
    pipes = () if draft.pipework is None else draft.pipework.pipes
    return STATION * len(draft.zones) + UNLAID * unlaid(pipes, case.yard, case.ground)


def _quick_price(groups: Groups, laid: Laid, arena: Arena) -> float:
    """Trenches, pipe at the mean price of its role, wire, valves, boxes and devices at places."""
    prices, kind = arena.case.catalogue.prices, arena.room.kind
    device = arena.case.catalogue.backflow[kind]
    places = arena.places(groups)
    pipe = sum(
        length * (arena.metre.main if net == "main" else arena.metre.lateral) for net, length in laid.lengths.items()
    )
    strands = sum(laid.to_root[group.place] for group in groups) + 2 * laid.lengths["main"]
    wire = (1 + WASTE) * (strands + WIRE_LOOP * (len(groups) + 2 * len(places))) * prices["wire"].price
    at_place = least_price(BOX, arena.case)
    if device.scope == "system" and device.above_outlets is not None:
        at_place += prices[device.for_line(arena.case.yard.backflow_line).part].price
    valves = sum(arena.valve_price(group.heads) for group in groups)
    further = STATION * len(groups) + UNLAID * laid.left_out
    return laid.trenches + pipe + wire + at_place * len(places) + valves + further
