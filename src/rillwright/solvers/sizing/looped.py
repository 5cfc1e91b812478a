"""Sizes of a whole plan whose main has loops: the main by search, the laterals proven on what it leaves them.

Main and laterals share the pressure. So the main is sized for several rooms between two ends: what laterals of least
cost leave it, and what the largest laterals would; after each the laterals are sized anew on the pressure that this
main gives. The cheapest sum is kept. The bound adds what the laterals cost behind the largest main to what the main
costs before the largest laterals, each the least that it can be.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from rillwright.model.findings import Proof
from rillwright.model.parts import Catalogue
from rillwright.model.site import PipeMaterial
from rillwright.solvers.sizing.cases import HeadDemand, Run, able, grow, ladder_of, make_case
from rillwright.solvers.sizing.ring import Draw, Ring, Span
from rillwright.solvers.sizing.sizes import Clash, Sizing, size_pipes

__all__ = ["LoopedSizing", "size_looped"]

SHARES = (0.0, 0.25, 0.5, 0.75, 1.0)  # of the way from the one room to the other

_METHOD = (
    "looped main by branch and bound, solved as a network for each choice; laterals by mixed-integer programme on the "
    "pressure it leaves; several shares of the pressure between the two"
)


@dataclass(frozen=True, slots=True)
class LoopedSizing:
    """Sizes of all runs, and the most that each run of the main carries [m³/s]."""

    sizing: Sizing
    flows: dict[str, float]


@dataclass(frozen=True, slots=True)
class _Terms:
    """What holds for every choice of materials."""

    laterals: Sequence[Run]
    demands: Sequence[HeadDemand]
    catalogue: Catalogue
    materials: Sequence[PipeMaterial]  # of the laterals
    highest_velocity: float
    flow_spread: float
    price: Mapping[tuple[str, str], float]
    temperature: float

    def behind(self, lost: Mapping[str, float]) -> Sizing:
        """Cheapest laterals behind a main that takes a pressure [Pa] of each zone."""
        demands = [replace(head, available=head.available - lost[head.zone]) for head in self.demands]
        return size_pipes(
            self.laterals,
            demands,
            catalogue=self.catalogue,
            materials_main=self.materials,
            materials_lateral=self.materials,
            highest_velocity=self.highest_velocity,
            flow_spread=self.flow_spread,
            price=self.price,
            temperature=self.temperature,
        )

    def room(self, pressures: Mapping[str, float], lost: Mapping[str, float]) -> dict[str, float]:
        """Most [Pa] the main may take of each zone with laterals that leave these pressures behind such a main."""
        room: dict[str, float] = {}
        for head in self.demands:
            spare = lost[head.zone] + pressures[head.id] - head.least
            room[head.zone] = min(room.get(head.zone, np.inf), spare)
        return room

    def most_room(self, main: PipeMaterial) -> dict[str, float]:
        """The same with the largest laterals there are."""
        tree = grow(self.laterals, self.demands)
        none = {head.zone: 0.0 for head in self.demands}
        rooms = []
        for lateral in self.materials:
            case = make_case(
                tree,
                self.catalogue,
                main,
                lateral,
                self.price,
                highest_velocity=self.highest_velocity,
                temperature=self.temperature,
            )
            rooms.append(self.room(case.pressures(case.largest()), none))
        return {zone: max(room[zone] for room in rooms) for zone in none}


def size_looped(
    main: Sequence[Span],
    laterals: Sequence[Run],
    demands: Sequence[HeadDemand],
    draws: Mapping[str, Draw],
    *,
    root: str,
    catalogue: Catalogue,
    materials_main: Sequence[PipeMaterial],
    materials_lateral: Sequence[PipeMaterial],
    highest_velocity: float,
    flow_spread: float,
    price: Mapping[tuple[str, str], float],
    temperature: float,
) -> LoopedSizing:
    """Choose sizes of a main with loops and of the laterals behind it.

    Parameters: main, its runs between their nodes, root the node of the entry; laterals and demands as for size_pipes,
    each demand's path through the laterals alone and its `available` before any loss in the main; draws, what each zone
    draws and where; the rest as for size_pipes. A lateral may be wider than one of the two runs that feed its place.
    Returns: the sizes; where not all limits can be met, those behind the largest main, with the clashes.
    Errors: as size_pipes.
    """
    lateral = able(materials_lateral, laterals, catalogue)
    terms = _Terms(laterals, demands, catalogue, lateral, highest_velocity, flow_spread, price, temperature)
    found: list[LoopedSizing] = []
    for material in able(materials_main, [span.run for span in main], catalogue):
        ring = Ring(main, root, draws, ladder_of(catalogue, material), price, highest_velocity, temperature)
        found += _choices(ring, terms, material)
    sound = [each for each in found if not each.sizing.clashes]
    if not sound:
        return min(found, key=lambda each: sum(c.by / max(c.limit, 1e-9) for c in each.sizing.clashes))
    best = min(sound, key=lambda each: each.sizing.cost)
    bound = min(each.sizing.proof.bound or 0.0 for each in sound)
    done = best.sizing.cost - bound <= 1e-6 * max(1.0, best.sizing.cost)
    update = {"bound": best.sizing.cost if done else bound, "status": "optimal" if done else "feasible"}
    proof = best.sizing.proof.model_copy(update=update)
    return replace(best, sizing=replace(best.sizing, proof=proof))


def _choices(ring: Ring, terms: _Terms, material: PipeMaterial) -> Iterator[LoopedSizing]:
    """Sizes in one material for each share of the pressure; with clashes, the largest main alone."""
    widest = ring.lost(ring.largest)
    behind = terms.behind(widest)
    clashes = (*_too_fast(ring), *behind.clashes)
    if clashes:
        yield _joined(ring, ring.largest, behind, None, clashes)
        return
    least, most = terms.room(behind.pressures, widest), terms.most_room(material)
    freest = ring.cheapest(most)
    bound = (behind.proof.bound or 0.0) + (freest.bound if freest else 0.0)
    for share in SHARES:
        room = {zone: least[zone] + share * max(most[zone] - least[zone], 0.0) for zone in least}
        main = ring.cheapest(room)
        laterals = None if main is None else terms.behind(ring.lost(main.steps))
        if main is not None and laterals is not None and not laterals.clashes:
            yield _joined(ring, main.steps, laterals, bound, ())


def _too_fast(ring: Ring) -> Iterator[Clash]:
    speeds = ring.speeds(ring.largest)
    zones = list(ring.draws)
    for run, span in enumerate(ring.spans):
        worst = int(speeds[:, run].argmax())
        speed = float(speeds[worst, run])
        if speed > ring.highest_velocity:
            yield Clash("velocity", span.run.id, zones[worst], speed, ring.highest_velocity)


def _joined(
    ring: Ring, steps: tuple[int, ...], laterals: Sizing, bound: float | None, clashes: tuple[Clash, ...]
) -> LoopedSizing:
    cost = ring.cost(steps) + laterals.cost
    proof = Proof(
        stage="sizes", status="infeasible" if clashes else "feasible", value=cost, bound=bound, method=_METHOD
    )
    sizes = laterals.sizes | ring.sizes(steps)
    return LoopedSizing(Sizing(sizes, cost, proof, laterals.pressures, clashes), ring.flows(steps))
