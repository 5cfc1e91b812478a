"""The manifold of every valve place of a plan, and its files."""

from functools import cache

from rillwright.errors import InputError
from rillwright.model.bench_parts import BenchBodies, load_bodies
from rillwright.model.fittings import FittingTable, load_fittings, nominal
from rillwright.model.manifold import BenchTerms, Manifold
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Plan, ValvePlace, Zone
from rillwright.model.site import BackflowKind, PipeMaterial
from rillwright.physics.grid import GRIDS
from rillwright.report.manifold_drawing import draw_manifold
from rillwright.report.manifold_dxf import manifold_dxf
from rillwright.report.manifold_list import cut_list_csv
from rillwright.report.sheet import pdf_of
from rillwright.solvers.devices import valve_for
from rillwright.solvers.manifold import Bench, Branch, Shelf, assemble
from rillwright.solvers.manifold.room import outlet_of
from rillwright.solvers.manifold.shelf import Pipe
from rillwright.solvers.takeoff.fed import size_at

__all__ = ["MANIFOLD_FILES", "make_manifolds", "manifold_files", "place_of"]

MANIFOLD_FILES = ("manifold.svg", "manifold.pdf", "manifold.dxf", "cut-list.csv")
STIFF: PipeMaterial = "PVC schedule 40"  # for what stands over the ground on a main of soft pipe
_SOFT: tuple[PipeMaterial, ...] = ("PE", "PEX")


def make_manifolds(
    plan: Plan,
    catalogue: Catalogue,
    terms: BenchTerms,
    *,
    place: str | None = None,
    bodies: BenchBodies | None = None,
) -> tuple[Manifold, ...]:
    """Put together the manifold of one valve place, or of all; bodies, when not the packaged ones.

    Errors: InputError for a plan without valve places, a place it does not have, a material that no dimension is
    known of, or a spacing less than the fittings alone take up.
    """
    if not plan.places:
        raise InputError("this plan has no valve places: mend what its findings say and plan again")
    wanted = plan.places if place is None else (place_of(plan, place),)
    outside = {(pipe.material, pipe.trade_size): pipe.outside_diameter for pipe in catalogue.pipes}
    shelf = Shelf(GRIDS[plan.yard.units], _fittings(), bodies or load_bodies(), outside)
    return tuple(assemble(_bench(plan, catalogue, terms, one, shelf)) for one in wanted)


def place_of(plan: Plan, name: str) -> ValvePlace:
    """A valve place by its name, capitals aside. Errors: InputError."""
    for place in plan.places:
        if place.id.lower() == name.strip().lower():
            return place
    raise InputError(f"the plan has no valve place '{name}': name one of {', '.join(p.id for p in plan.places)}")


def manifold_files(made: Manifold, plan: Plan) -> dict[str, bytes]:
    """Every file of a manifold, by name."""
    drawing = draw_manifold(made, plan)
    texts = (drawing.encode(), pdf_of([drawing]), manifold_dxf(made), cut_list_csv(made, plan).encode())
    return dict(zip(MANIFOLD_FILES, texts, strict=True))


def _bench(plan: Plan, catalogue: Catalogue, terms: BenchTerms, place: ValvePlace, shelf: Shelf) -> Bench:
    kind = plan.backflow or place.backflow
    device, yard = catalogue.backflow[kind], plan.yard
    clear = device.above_outlets
    main = _main(plan, place)
    zones = sorted((z for z in plan.zones if z.place == place.id), key=lambda zone: zone.station)
    branches = tuple(_branch(plan, catalogue, kind, zone, shelf) for zone in zones)
    upright = kind == "pressure vacuum breaker" or any(b.valve != "in-line valve" or b.breaker for b in branches)
    header = (terms.material or (STIFF if upright and main[0] in _SOFT else main[0]), main[1])
    bench = Bench(
        place=place.id,
        shelf=shelf,
        main=main,
        header=header,
        branches=branches,
        onward=max(sum(place.id in (p.start, p.end) for p in plan.pipes if p.role == "main") - 1, 0),
        breaker=_size_of(shelf, kind, device.for_line(yard.backflow_line).trade_size)
        if kind == "pressure vacuum breaker"
        else None,
        drain=_lowest_of_main(plan) == place.id if terms.drain is None else terms.drain,
        blow_out=kind == "pressure vacuum breaker" if terms.blow_out is None else terms.blow_out,
        cover=yard.rules.trench_depth,
        device_height=terms.height if terms.height is not None and upright else place.device_height,
        outlet_height=None if clear is None else place.highest_outlet - place.ground,
        needed_height=None if clear is None else max(place.highest_outlet - place.ground + clear, device.above_ground),
        terms=terms,
    )
    _check_spacing(bench)
    return bench


@cache
def _fittings() -> FittingTable:
    return load_fittings()


def _main(plan: Plan, place: ValvePlace) -> Pipe:
    """The main at a valve place, or, where it stands at the water entry itself, the service pipe."""
    pipe = size_at(plan.pipes, place.id, None)
    if pipe is not None:
        return pipe.material, pipe.size
    service = plan.yard.water_entry.pipe
    return service.material, service.size


def _branch(plan: Plan, catalogue: Catalogue, kind: BackflowKind, zone: Zone, shelf: Shelf) -> Branch:
    valve = valve_for(kind, yard=plan.yard, catalogue=catalogue, flow=zone.flow)
    lateral = size_at(plan.pipes, zone.place, zone.id)
    pipe: Pipe = (lateral.material, lateral.size) if lateral else (STIFF, valve.trade_size)
    apart = catalogue.backflow[kind].scope == "zone" and valve.kind == "in-line valve"
    breaker = _size_of(shelf, kind, valve.trade_size) if apart else None
    return Branch(zone.id, valve.kind, valve.trade_size, pipe, breaker)


def _size_of(shelf: Shelf, kind: BackflowKind, size: str) -> str:
    """The size of a device for a pipe: the least that is no narrower, else the widest known."""
    known = shelf.bodies.sizes(kind)
    return next((trade for trade in known if nominal(trade) >= nominal(size)), known[-1])


def _lowest_of_main(plan: Plan) -> str | None:
    """The node of the main where its drain valve stands."""
    ground = {node.id: node.ground for node in plan.nodes}
    reached = [node for pipe in plan.pipes if pipe.role == "main" for node in (pipe.start, pipe.end)]
    return min(reached, key=lambda node: ground[node], default=None)


def _check_spacing(bench: Bench) -> None:
    """Refuse a spacing at which the fittings themselves would overlap."""
    spacing, shelf = bench.terms.spacing, bench.shelf
    if spacing is None or len(bench.branches) < 2:
        return
    fittings = 2 * max(shelf.arm(outlet_of(bench, branch, last=False).part, 0) for branch in bench.branches)
    if shelf.grid.near(spacing) <= fittings:
        given, least = shelf.grid.show(shelf.grid.near(spacing)), shelf.grid.show(fittings)
        raise InputError(f"a spacing of {given} leaves no room for pipe: the two fittings alone take {least}")
