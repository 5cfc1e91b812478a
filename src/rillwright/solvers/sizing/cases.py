"""What pipe sizes are chosen from: the tree of runs, and for a pair of materials the sizes with costs and losses."""

from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from rillwright.errors import InputError, SolverError, TableError
from rillwright.model.parts import Catalogue, PipeSize
from rillwright.model.site import PipeMaterial
from rillwright.physics import losses, units, water
from rillwright.physics.pipes import velocity

__all__ = [
    "JOINT",
    "Case",
    "HeadDemand",
    "Run",
    "Tree",
    "able",
    "grow",
    "ladder_of",
    "make_case",
    "price_of",
    "step_for",
]

Floats = NDArray[np.float64]

JOINT = 0.05  # [m] of pipe that a run costs at least: a main of no length is not free to be large


@dataclass(frozen=True, slots=True)
class Run:
    """A run of pipe that is laid in one size."""

    id: str
    role: Literal["main", "lateral"]
    length: float  # [m]
    minor: float  # [-] sum of K of the fittings, on this run's own velocity head
    flow: Mapping[str, float]  # [m³/s] by each zone that uses the run
    laid: PipeSize | None = None  # what it is when it is in the ground already: no choice, and no cost
    size: str | None = None  # trade size, when it must be that
    least_size: str | None = None  # trade size, when it must not be narrower

    def offered(self, ladder: Sequence[PipeSize]) -> tuple[PipeSize, ...]:
        """Sizes of a ladder that it may have; none when the material does not come in them."""
        if self.size is not None:
            return tuple(pipe for pipe in ladder if pipe.trade_size == self.size)
        least = 0.0 if self.least_size is None else units.parse(self.least_size, "bore")
        return tuple(pipe for pipe in ladder if _nominal(pipe) >= least)


@dataclass(frozen=True, slots=True)
class HeadDemand:
    """What a head needs, and what would stand there if the pipes took nothing."""

    id: str
    zone: str
    path: tuple[str, ...]  # run ids from the entry to the head
    available: float  # [Pa] without pipe loss: entry at the zone's flow, less devices, less height
    least: float  # [Pa] lowest pressure allowed
    most: float  # [Pa] highest of the chart band
    like: str  # heads with equal `like` in a zone must agree in flow
    exponent: float  # [-] of the nozzle's flow on pressure


@dataclass(frozen=True, slots=True)
class Tree:
    """The runs by id, what feeds each, and the heads."""

    runs: dict[str, Run]
    parent: dict[str, str | None]
    demands: tuple[HeadDemand, ...]

    def like_groups(self) -> list[list[HeadDemand]]:
        """Heads that must agree in flow, two or more in each group."""
        groups: dict[tuple[str, str], list[HeadDemand]] = {}
        for head in self.demands:
            groups.setdefault((head.zone, head.like), []).append(head)
        return [group for group in groups.values() if len(group) > 1]


def grow(runs: Sequence[Run], demands: Sequence[HeadDemand]) -> Tree:
    """Find what feeds each run from the paths of the heads.

    Errors: SolverError when a path names an unknown run or one that does not carry its zone, or when two paths reach
    the same run from different sides.
    """
    by_id = {run.id: run for run in runs}
    parent: dict[str, str | None] = {}
    for head in demands:
        for before, run in pairwise((None, *head.path)):
            if run is None or run not in by_id or head.zone not in by_id[run].flow:
                raise SolverError(f"head '{head.id}': no run '{run}' that carries zone '{head.zone}'")
            if parent.setdefault(run, before) != before:
                raise SolverError(f"run '{run}' is fed from two sides, '{parent[run]}' and '{before}'")
    return Tree(by_id, {run: parent.get(run) for run in by_id}, tuple(demands))


@dataclass(frozen=True, slots=True)
class Case:
    """One pair of materials. Sizes of a run are numbered by its ladder, from the smallest trade size up."""

    tree: Tree
    ladders: dict[str, tuple[PipeSize, ...]]  # by run
    costs: dict[str, Floats]  # [currency] by run, for each size
    losses: dict[tuple[str, str], Floats]  # [Pa] by run and zone, for each size
    lowest: dict[str, int]  # by run: the smallest size that velocity allows, here and downstream
    widths: dict[str, tuple[float, ...]]  # [m] nominal, by run, for each size

    def largest(self) -> dict[str, int]:
        """The largest size everywhere."""
        return {run: len(ladder) - 1 for run, ladder in self.ladders.items()}

    def forgiving(self) -> "Case":
        """Lower what each head asks to what the largest pipe can give it, so that nearest sizes exist."""
        best = self.pressures(self.largest())
        heads = tuple(replace(head, least=min(head.least, best[head.id])) for head in self.tree.demands)
        return replace(self, tree=replace(self.tree, demands=heads))

    def sizes(self, steps: Mapping[str, int]) -> dict[str, PipeSize]:
        """Name the sizes."""
        return {run: self.ladders[run][step] for run, step in steps.items()}

    def cost(self, steps: Mapping[str, int]) -> float:
        """Cost of the pipe [currency]."""
        return float(sum(self.costs[run][step] for run, step in steps.items()))

    def pressures(self, steps: Mapping[str, int]) -> dict[str, float]:
        """Pressure at each head [Pa]."""
        return {
            head.id: head.available - sum(float(self.losses[run, head.zone][steps[run]]) for run in head.path)
            for head in self.tree.demands
        }

    def fastest_in_largest(self) -> dict[str, tuple[str, float]]:
        """For each run, the zone in which it flows fastest and that velocity [m/s] in the largest size."""
        found = {}
        for run in (run for run in self.tree.runs.values() if run.flow):
            zone, flow = max(run.flow.items(), key=lambda item: item[1])
            found[run.id] = (zone, velocity(flow, inside_diameter=self.ladders[run.id][-1].inside_diameter))
        return found


def make_case(
    tree: Tree,
    catalogue: Catalogue,
    main: PipeMaterial,
    lateral: PipeMaterial,
    price: Mapping[tuple[str, str], float],
    *,
    highest_velocity: float,
    temperature: float,
) -> Case:
    """Lay out sizes, costs and losses for a main and laterals of given materials.

    Laterals are offered no trade size above the main's largest, since sizes never grow downstream.
    """
    mains = ladder_of(catalogue, main)
    laterals = ladder_of(catalogue, lateral)
    if any(run.role == "main" for run in tree.runs.values()):
        laterals = tuple(pipe for pipe in laterals if _nominal(pipe) <= _nominal(mains[-1])) or laterals[:1]
    ladders: dict[str, tuple[PipeSize, ...]] = {}
    lost: dict[tuple[str, str], Floats] = {}
    for role, ladder in (("main", mains), ("lateral", laterals)):
        runs = [run for run in tree.runs.values() if run.role == role]
        new = [run for run in runs if run.laid is None]
        held = [run for run in new if run.size is not None or run.least_size is not None]
        ladders |= {run.id: ladder for run in new}
        lost |= _losses([run for run in new if run not in held], ladder, temperature)
        for run in held:
            ladders[run.id] = run.offered(ladder_of(catalogue, ladder[0].material))
            lost |= _losses([run], ladders[run.id], temperature)
    for run in tree.runs.values():
        if run.laid is not None:
            ladders[run.id] = (run.laid,)
            lost |= _losses([run], ladders[run.id], temperature)
    ladders = {run: ladders[run] for run in tree.runs}
    costs = {
        run: np.zeros(1)
        if tree.runs[run].laid is not None
        else np.array([price_of(price, p) for p in ladder]) * max(tree.runs[run].length, JOINT)
        for run, ladder in ladders.items()
    }
    widths = {run: tuple(_nominal(pipe) for pipe in ladder) for run, ladder in ladders.items()}
    return Case(tree, ladders, costs, lost, _smallest(tree, ladders, widths, highest_velocity), widths)


def ladder_of(catalogue: Catalogue, material: PipeMaterial) -> tuple[PipeSize, ...]:
    """Sizes of a material, the smallest first. Errors: TableError when it has none."""
    found = sorted((pipe for pipe in catalogue.pipes if pipe.material == material), key=_nominal)
    if not found:
        raise TableError(f"the pipe table holds no size of '{material}': add its rows or allow another material")
    return tuple(found)


def able(materials: Sequence[PipeMaterial], runs: Sequence[Run], catalogue: Catalogue) -> list[PipeMaterial]:
    """Materials that come in every size that new runs must have. Errors: InputError when none does."""
    new = [run for run in runs if run.laid is None]
    found = [m for m in materials if all(run.offered(ladder_of(catalogue, m)) for run in new)]
    if not found:
        sizes = sorted({size for run in new for size in (run.size, run.least_size) if size is not None})
        raise InputError(
            f"Pinned pipes are held at {', '.join(sizes)}, in which none of {', '.join(materials)} comes: hold them "
            "at another size, or allow another material."
        )
    return found


def _nominal(pipe: PipeSize) -> float:
    return _bore(pipe.trade_size)


@cache
def _bore(trade_size: str) -> float:
    return units.parse(trade_size, "bore")


def price_of(price: Mapping[tuple[str, str], float], pipe: PipeSize) -> float:
    """Price of a size [currency/m]. Errors: TableError when it has none."""
    try:
        return price[pipe.material, pipe.trade_size]
    except KeyError:
        raise TableError(
            f"pipe '{pipe.material}' {pipe.trade_size} has no price: add it to your price file, per metre"
        ) from None


def _smallest(
    tree: Tree,
    ladders: Mapping[str, tuple[PipeSize, ...]],
    widths: Mapping[str, Sequence[float]],
    highest_velocity: float,
) -> dict[str, int]:
    """Smallest size of each run: by velocity [m/s], and by what its new downstream runs need at least."""
    smallest = dict.fromkeys(ladders, 0)
    for run, ladder in ladders.items():
        greatest = max(tree.runs[run].flow.values(), default=0.0)
        fits = [velocity(greatest, inside_diameter=pipe.inside_diameter) <= highest_velocity for pipe in ladder]
        step = fits.index(True) if True in fits else len(ladder) - 1
        here: str | None = run
        width = 0.0
        while here is not None:
            smallest[here] = step = max(smallest[here], step)
            if tree.runs[here].laid is None:
                width = max(width, widths[here][step])
            here = tree.parent[here]
            step = step_for(widths[here], width) if here is not None else 0
    return smallest


def _losses(runs: Sequence[Run], ladder: tuple[PipeSize, ...], temperature: float) -> dict[tuple[str, str], Floats]:
    """Loss [Pa] of each run in each zone, friction and fittings, for each size of the ladder."""
    keys = [(run.id, zone) for run in runs for zone in run.flow]
    if not keys:
        return {}
    flow = np.array([[value] for run in runs for value in run.flow.values()])
    length = np.array([[run.length] for run in runs for _ in run.flow])
    minor = np.array([[run.minor] for run in runs for _ in run.flow])
    density, viscosity = water.density(temperature), water.viscosity(temperature)
    bore = np.array([pipe.inside_diameter for pipe in ladder])
    roughness = np.array([pipe.roughness for pipe in ladder])
    friction = losses.darcy_pressure_loss(
        flow, inside_diameter=bore, length=1.0, roughness=roughness, density=density, viscosity=viscosity
    )
    heads = [losses.fitting_pressure_loss(flow, inside_diameter=d, coefficient=1.0, density=density) for d in bore]
    table = friction * length + np.hstack(heads) * minor
    return dict(zip(keys, table, strict=True))


def step_for(widths: Sequence[float], width: float) -> int:
    """Least step of a ladder that is not narrower than a nominal width [m]; the last when none is."""
    return min(bisect_left(widths, width * (1 - 1e-9)), len(widths) - 1)
