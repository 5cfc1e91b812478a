"""Sizes of a main with loops: the cheapest that leave each zone the pressure it needs, one zone running at a time.

Statement. Choose a size for each run so that the pipe costs least and, for each zone, with its flow drawn at its place
and the loops solved as a network, the main loses no more than the zone's room and no run is faster than the limit.
Flows depend on the sizes, so no programme of fixed losses holds. Two facts bound the search: cost is a sum over the
runs, and with one source and one place that draws, a larger bore anywhere never raises the loss between the two
(Rayleigh's monotonicity law, which holds for any resistance that rises with flow). So a choice whose open runs are all
taken at their largest and that still loses too much is dropped with all that it leads to. Velocities obey no such law
and are judged on whole choices alone.
Method: from the largest sizes, the reduction by one step that saves most and holds, again and again; then branch and
bound, the dearest run first, from that cost down. Budget: networks solved. No seed. See docs/theory/sizing.md.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from rillwright.model.network import Link, Network
from rillwright.model.parts import PipeSize
from rillwright.model.plan import SupplyCurve
from rillwright.solvers.network import Draws, Prepared, prepare, solve_batch
from rillwright.solvers.sizing.cases import JOINT, Run, price_of

__all__ = ["Draw", "Found", "Ring", "Span"]

Floats = NDArray[np.float64]

BUDGET = 3000  # sizings tried for one set of rooms
_SLACK = 1.0  # [Pa]
_STANDS = 1e7  # [Pa] at the root; losses alone count


@dataclass(frozen=True, slots=True)
class Span:
    """A run of the main, and where it lies."""

    run: Run
    start: str
    end: str


@dataclass(frozen=True, slots=True)
class Draw:
    """What a zone draws while it runs."""

    place: str
    flow: float  # [m³/s]


@dataclass(frozen=True, slots=True)
class Found:
    """Sizes by run, as steps of their ladders."""

    steps: tuple[int, ...]
    cost: float  # [currency]
    bound: float  # [currency] that no sizes can beat; the cost itself when the search ran to its end


@dataclass(slots=True)
class Ring:
    """A main in one material."""

    spans: Sequence[Span]
    root: str
    draws: Mapping[str, Draw]  # by zone
    ladder: tuple[PipeSize, ...]  # from the smallest up
    price: Mapping[tuple[str, str], float]  # [currency/m]
    highest_velocity: float  # [m/s]
    temperature: float  # [K]
    ladders: list[tuple[PipeSize, ...]] = field(init=False)  # by run: what is in the ground keeps its size
    costs: list[list[float]] = field(init=False)
    _network: Prepared = field(init=False)
    _demand: Floats = field(init=False)
    _known: dict[tuple[int, ...], tuple[Floats, Floats]] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        """Lay out ladders, costs and the network."""
        laid = [span.run.laid for span in self.spans]
        self.ladders = [
            span.run.offered(self.ladder) if size is None else (size,)
            for span, size in zip(self.spans, laid, strict=True)
        ]
        self.costs = [
            [0.0]
            if span.run.laid is not None
            else [price_of(self.price, size) * max(span.run.length, JOINT) for size in ladder]
            for span, ladder in zip(self.spans, self.ladders, strict=True)
        ]
        nodes = dict.fromkeys([self.root, *(node for span in self.spans for node in (span.start, span.end))], 0.0)
        links = [Link(s.run.id, s.start, s.end, max(s.run.length, JOINT), minor=s.run.minor) for s in self.spans]
        supply = SupplyCurve(static=_STANDS, factor=0.0, exponent=1.0)
        self._network = prepare(Network(self.root, supply, nodes, tuple(links), temperature=self.temperature))
        self._demand = np.zeros((len(self.draws), len(nodes)))
        for row, draw in enumerate(self.draws.values()):
            self._demand[row, self._network.nodes.index(draw.place)] = draw.flow

    @property
    def largest(self) -> tuple[int, ...]:
        """The largest size everywhere."""
        return tuple(len(ladder) - 1 for ladder in self.ladders)

    def sizes(self, steps: Sequence[int]) -> dict[str, PipeSize]:
        """Name the sizes."""
        return {s.run.id: ladder[k] for s, ladder, k in zip(self.spans, self.ladders, steps, strict=True)}

    def cost(self, steps: Sequence[int]) -> float:
        """Cost of the pipe [currency]."""
        return float(sum(costs[k] for costs, k in zip(self.costs, steps, strict=True)))

    def lost(self, steps: tuple[int, ...]) -> dict[str, float]:
        """Pressure [Pa] that the main takes from the root to each zone's place."""
        return dict(zip(self.draws, self._solved(steps)[0].tolist(), strict=True))

    def flows(self, steps: tuple[int, ...]) -> dict[str, float]:
        """The most [m³/s] that each run carries in any zone, whichever way it runs."""
        most = self._solved(steps)[1].max(axis=0).tolist()
        return {span.run.id: flow for span, flow in zip(self.spans, most, strict=True)}

    def speeds(self, steps: tuple[int, ...]) -> Floats:
        """Velocity [m/s] of each run in each zone (zones, runs)."""
        bores = np.array([ladder[k].inside_diameter for ladder, k in zip(self.ladders, steps, strict=True)])
        return np.asarray(self._solved(steps)[1] / (np.pi / 4 * bores**2))

    def cheapest(self, room: Mapping[str, float]) -> Found | None:
        """Cheapest sizes found under the most [Pa] that the main may take of each zone; None when none fits."""
        start = self.largest
        if not self._holds(start, room):
            return None
        best, count = self._reduced(start, room), BUDGET
        order = sorted(range(len(self.spans)), key=lambda run: -max(self.costs[run]))
        least = [min(costs) for costs in self.costs]
        ceiling = self.cost(best)
        stack = [(0, start, sum(least))]
        while stack and count > 0:
            depth, steps, low = stack.pop()
            if low >= ceiling - 1e-9:
                continue
            count -= 1
            if not self._loses(steps, room):
                continue
            if depth == len(order):
                if self._slow(steps):
                    best, ceiling = steps, self.cost(steps)
                continue
            run = order[depth]
            for step in reversed(range(len(self.ladders[run]))):  # the cheapest is taken off the stack first
                tried = (*steps[:run], step, *steps[run + 1 :])
                stack.append((depth + 1, tried, low - least[run] + self.costs[run][step]))
        bound = ceiling if not stack else min([ceiling, *(low for *_, low in stack)])
        return Found(best, ceiling, bound)

    def _reduced(self, steps: tuple[int, ...], room: Mapping[str, float]) -> tuple[int, ...]:
        """Reduce the run that saves most by a step, as long as one reduction holds."""
        while True:
            smaller = [
                (self.costs[run][step] - self.costs[run][step - 1], (*steps[:run], step - 1, *steps[run + 1 :]))
                for run, step in enumerate(steps)
                if step > 0
            ]
            trials = (trial for _, trial in sorted(smaller, reverse=True))
            found = next((trial for trial in trials if self._holds(trial, room)), None)
            if found is None:
                return steps
            steps = found

    def _holds(self, steps: tuple[int, ...], room: Mapping[str, float]) -> bool:
        return self._loses(steps, room) and self._slow(steps)

    def _loses(self, steps: tuple[int, ...], room: Mapping[str, float]) -> bool:
        """Whether no zone loses more than its room."""
        return all(lost <= room[zone] + _SLACK for zone, lost in self.lost(steps).items())

    def _slow(self, steps: tuple[int, ...]) -> bool:
        return bool(np.all(self.speeds(steps) <= self.highest_velocity))

    def _solved(self, steps: tuple[int, ...]) -> tuple[Floats, Floats]:
        """Loss to each zone's place (zones,) [Pa], and the flows without sign (zones, runs) [m³/s]."""
        if steps not in self._known:
            chosen = [ladder[k] for ladder, k in zip(self.ladders, steps, strict=True)]
            bore = np.array([size.inside_diameter for size in chosen])
            roughness = np.array([size.roughness for size in chosen])
            network = replace(self._network, roughness=roughness, fixed=self._network.fixed._replace(bore=bore))
            state = solve_batch(network, Draws(count=len(self.draws), demand=self._demand))
            places = [network.nodes.index(draw.place) for draw in self.draws.values()]
            lost = _STANDS - state.pressure[np.arange(len(places)), places]
            self._known[steps] = lost, np.abs(state.flow)
        return self._known[steps]
