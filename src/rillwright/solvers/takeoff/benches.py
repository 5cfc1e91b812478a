"""The manifold of every valve place in the parts list: what the bench puts together, and where it opens to pipes.

The bench (docs/theory/manifold.md) composes each manifold piece by piece; here its pieces are counted, its joints, and
the mouths that stand open for the main that comes in, the mains that go on, and the laterals.
"""

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache

from rillwright.model.bench_parts import BenchBodies, load_bodies
from rillwright.model.fittings import FittingTable, Mouth, pipe_ends
from rillwright.model.manifold import COUNTED_APART, BenchTerms, Run
from rillwright.model.parts import Catalogue, Valve
from rillwright.model.placed import AT_DEVICES, IN_MANIFOLD
from rillwright.model.plan import Node, Pipe, Plan, ValvePlace
from rillwright.model.site import BackflowKind, PipeMaterial, Yard
from rillwright.physics.grid import GRIDS
from rillwright.physics.units import System
from rillwright.solvers.devices import valve_for
from rillwright.solvers.joining import Arm
from rillwright.solvers.manifold import Bench, Branch, Shelf, box_over, compose
from rillwright.solvers.manifold.shelf import Pipe as Piped
from rillwright.solvers.takeoff.facing import face, mains_at
from rillwright.solvers.takeoff.fed import FedZone, size_at

__all__ = [
    "STIFF",
    "BenchParts",
    "bench_at",
    "bench_parts",
    "benches_of",
    "main_drain",
    "shelf_of",
]

STIFF: PipeMaterial = "PVC schedule 40"  # for what stands over the ground on a main of soft pipe
_SOFT: tuple[PipeMaterial, ...] = ("PE", "PEX")


@dataclass(frozen=True, slots=True)
class BenchParts:
    """A manifold as the parts list counts it."""

    pieces: tuple[tuple[str, str, str, int], ...]  # part, why, where, number: fittings and the isolating valve
    cuts: tuple[tuple[str, str, str, tuple[float, ...]], ...]  # part, why, where, lengths [m]
    joints: tuple[tuple[tuple[str, str], int], ...]  # made within it, by kind and size
    box: str  # over its valves and splices
    inlet: Arm
    onward: tuple[tuple[Arm, float], ...]  # and the way [rad] out of it, from the header's own
    outlets: tuple[tuple[str, Arm, float], ...]  # zone, and the same


def shelf_of(catalogue: Catalogue, units: System, bodies: BenchBodies | None = None) -> Shelf:
    """The catalogue's fittings and pipes as the bench takes them; bodies, when not the packaged ones."""
    outside = tuple(((pipe.material, pipe.trade_size), pipe.outside_diameter) for pipe in catalogue.pipes)
    return _shelf(catalogue.fittings, units, bodies or _bodies(), outside)


@lru_cache(maxsize=8)
def _shelf(table: FittingTable, units: System, bodies: BenchBodies, outside: tuple[tuple[Piped, float], ...]) -> Shelf:
    return Shelf(GRIDS[units], table, bodies, dict(outside))


@cache
def _bodies() -> BenchBodies:
    return load_bodies()


def main_drain(pipes: Sequence[Pipe], nodes: Sequence[Node], places: Sequence[ValvePlace]) -> str | None:
    """Where the main's drain valve stands: its lowest node; the first valve place of a plan without a main."""
    ground = {node.id: node.ground for node in nodes}
    reached = [node for pipe in pipes if pipe.role == "main" for node in (pipe.start, pipe.end)]
    return min(reached, key=lambda node: ground[node], default=places[0].id if places else None)


def benches_of(
    plan: Plan,
    catalogue: Catalogue,
    places: Sequence[ValvePlace],
    *,
    terms: BenchTerms | None = None,
    bodies: BenchBodies | None = None,
) -> tuple[Bench, ...]:
    """What is to be put together at some valve places of a finished plan; terms, the yard's own when None."""
    if not places:
        return ()
    yard, kind = plan.yard, plan.backflow or places[0].backflow
    valves = {zone.id: valve_for(kind, yard=yard, catalogue=catalogue, flow=zone.flow) for zone in plan.zones}
    by_station = sorted(plan.zones, key=lambda zone: zone.station)
    return tuple(
        bench_at(
            place,
            by_station,
            plan.pipes,
            yard=yard,
            catalogue=catalogue,
            kind=kind,
            valves=valves,
            drained=main_drain(plan.pipes, plan.nodes, plan.places),
            terms=terms or BenchTerms.of(yard),
            shelf=shelf_of(catalogue, yard.units, bodies),
        )
        for place in places
    )


def bench_at(
    place: ValvePlace,
    zones: Sequence[FedZone],
    pipes: Sequence[Pipe],
    *,
    yard: Yard,
    catalogue: Catalogue,
    kind: BackflowKind,
    valves: Mapping[str, Valve],
    drained: str | None,
    terms: BenchTerms,
    shelf: Shelf,
) -> Bench:
    """What is to be put together at a valve place.

    Parameters: zones, of the plan by station; kind, of its backflow devices; valves, by zone; drained, the node of the
    main that its drain valve stands at.
    """
    device, main = catalogue.backflow[kind], _main_at(place, pipes, yard)
    clear, breaker = device.above_outlets, device.for_line(place.backflow_size or yard.backflow_line)
    branches = tuple(_branch(zone, pipes, catalogue, kind, valves[zone.id]) for zone in zones if zone.place == place.id)
    upright = kind == "pressure vacuum breaker" or any(not b.lies or b.breaker for b in branches)
    header = (terms.material or (STIFF if upright and main[0] in _SOFT else main[0]), main[1])
    planned = None if clear is None else place.device_height or 0.0
    return Bench(
        place=place.id,
        shelf=shelf,
        main=main,
        header=header,
        branches=branches,
        onward=len(mains_at(place.id, pipes)[1]),
        breaker=breaker.trade_size if kind == "pressure vacuum breaker" else None,
        drain=drained == place.id if terms.drain is None else terms.drain,
        blow_out=kind == "pressure vacuum breaker" if terms.blow_out is None else terms.blow_out,
        cover=yard.rules.trench_depth,
        device_height=terms.height if terms.height is not None and upright else planned,
        outlet_height=None if clear is None else place.highest_outlet - place.ground,
        needed_height=None if clear is None else max(place.highest_outlet - place.ground + clear, device.above_ground),
        terms=terms,
        side=face(place.id, zones, pipes).side,
    )


def _main_at(place: ValvePlace, pipes: Sequence[Pipe], yard: Yard) -> Piped:
    """The main that comes in at a valve place, or, where it stands at the water entry itself, the service pipe."""
    pipe = mains_at(place.id, pipes)[0] or size_at(pipes, place.id, None)
    service = yard.water_entry.pipe
    return (pipe.material, pipe.size) if pipe is not None else (service.material, service.size)


def _branch(zone: FedZone, pipes: Sequence[Pipe], catalogue: Catalogue, kind: BackflowKind, valve: Valve) -> Branch:
    lateral = size_at(pipes, zone.place, zone.id)
    pipe: Piped = (lateral.material, lateral.size) if lateral else (STIFF, valve.trade_size)
    device = catalogue.backflow[kind]
    apart = device.scope == "zone" and valve.kind == "in-line valve"
    breaker = device.for_line(valve.trade_size).trade_size if apart else None
    return Branch(zone.id, valve.kind, valve.trade_size, pipe, breaker)


@lru_cache(maxsize=4096)
def bench_parts(bench: Bench) -> BenchParts:
    """Count a manifold. Errors: InputError for sizes that no fitting is known of."""
    pieces: Counter[tuple[str, str, str]] = Counter()
    cuts: dict[tuple[str, str, str], list[float]] = {}
    mouths: Counter[tuple[str, str]] = Counter()
    made = compose(bench)
    for run in made.runs:
        why, where = _why(bench, run), _where(bench, run)
        for piece in run.pieces:
            if piece.kind == "pipe":
                cuts.setdefault((piece.what, why, where), []).append(bench.shelf.grid.metres(piece.lay))
            elif piece.kind not in COUNTED_APART:
                pieces[piece.what, why, where] += 1
            if piece.kind != "arm":
                mouths.update((mouth.join, mouth.size) for mouth in mouths_of(bench, piece.kind, piece.what))
    sides = {spot.zone: spot.side * math.pi / 2 for spot in made.valves}
    inlet = _open(bench, bench.main)
    outlets = tuple((branch.zone, _open(bench, branch.lateral), sides[branch.zone]) for branch in bench.branches)
    onward = tuple((inlet, 0.0 if number == 0 else -bench.side * math.pi / 2) for number in range(bench.onward))
    opened = [inlet, *(arm for arm, _ in onward), *(arm for _, arm, _ in outlets)]
    mouths.subtract((arm.ends[0].join, arm.ends[0].size) for arm in opened)
    return BenchParts(
        pieces=tuple((*key, number) for key, number in pieces.items()),
        cuts=tuple((*key, tuple(lengths)) for key, lengths in cuts.items()),
        joints=tuple((joint, number // 2) for joint, number in mouths.items() if number),
        box=box_over(bench),
        inlet=inlet,
        onward=onward,
        outlets=outlets,
    )


def mouths_of(bench: Bench, kind: str, part: str) -> tuple[Mouth, ...]:
    """The mouths of one piece of a manifold."""
    if kind == "pipe":
        material, size = next(pipe for pipe in bench.shelf.pipes if part == f"pipe {pipe[0]} {pipe[1]}")
        return (pipe_ends(material, size)[0],) * 2
    if kind == "device":
        return (Mouth("thread", " ".join(part.split()[-2:]), "female"),) * 2
    return bench.shelf.fitting(part).mouths


def _open(bench: Bench, pipe: Piped) -> Arm:
    """The mouth that a manifold holds open for a pipe; short pieces of that pipe may follow it."""
    return Arm((pipe_ends(*pipe)[0].mate,), pipe, (), f"the manifold of {bench.place}")


def _where(bench: Bench, run: Run) -> str:
    """The zone that a run belongs to, else the place."""
    first = run.name.split()[0]
    return first if any(first == branch.zone for branch in bench.branches) else bench.place


def _why(bench: Bench, run: Run) -> str:
    """Whether a run is a riser of a backflow device that stands apart from its valve."""
    whose, _, leg = run.name.rpartition(" ")
    if leg not in ("up", "over", "down"):
        return IN_MANIFOLD
    apart = [bench.breaker] if not whose else [b.breaker for b in bench.branches if b.zone == whose]
    return AT_DEVICES if any(apart) else IN_MANIFOLD
