"""Fittings that planned pipes need, as loss coefficients: tees and elbows of its runs, and the heads' risers.

Coefficients are Crane's n · fT of the run's own bore. Common practice, no source, decides which fitting stands where.
"""

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from itertools import pairwise

from rillwright.model.network import Link
from rillwright.model.plan import Head, Pipe
from rillwright.model.site import HeadClass
from rillwright.physics.losses import (
    FittingKind,
    darcy_pressure_loss,
    fitting_coefficient,
    fitting_pressure_loss,
)
from rillwright.physics.units import INCH
from rillwright.physics.water import STANDARD_TEMPERATURE, density, viscosity

__all__ = ["minor_losses", "riser", "riser_loss"]

Point = tuple[float, float]

BEND = 30.0  # [°] a smaller bend is left to the pipe's own flex
SHARP_BEND = 60.0  # [°] from here an elbow of 90°, below it one of 45°
_RISER_BORE = 0.622 * INCH  # [m] 1/2 in
_WIDE_RISER_BORE = 0.824 * INCH  # [m] 3/4 in
_WIDE_CLASSES: tuple[HeadClass, ...] = ("mid rotor",)
_RISER_ROUGHNESS = 1.5e-6  # [m] drawn plastic
_RISER_LENGTH = 0.45  # [m] swing joint and riser
_RISER_FITTINGS: tuple[FittingKind, ...] = ("tee branch", "elbow 90", "elbow 90", "elbow 90")


def minor_losses(pipes: Sequence[Pipe]) -> dict[str, float]:
    """Loss coefficient K of the fittings of each run: those at its start and the bends along it.

    At a junction the straightest way on runs through the tee (20 fT) and the others leave by its branch (60 fT); when
    no way on is within 45° all of them are branches. A run that goes on alone from a head passes the tee of that
    head's riser, or an elbow where it turns. The first run of a net starts with an elbow: off the entry's riser, or
    out of the valve. Where a loop brings water from two sides, the straighter of the two counts. Bends of 60° and more
    along a path are elbows of 90° (30 fT), from 30° of 45° (16 fT).

    Parameters: pipes, of any number of nets, each with its present bore. Returns: K [-] by pipe id.
    Source: Crane TP-410 for the coefficients (from memory); common practice, no source, for which fitting it is.
    """
    into: Mapping[tuple[str | None, str], list[Pipe]] = defaultdict(list)
    leaving: Mapping[tuple[str | None, str], list[Pipe]] = defaultdict(list)
    for pipe in pipes:
        leaving[pipe.zone, pipe.start].append(pipe)
        into[pipe.zone, pipe.end].append(pipe)
    found: dict[str, float] = {}
    for node, runs in leaving.items():
        for pipe, fitting in _at_start(into[node], runs):
            fittings = [fitting, *_bends(pipe)]
            found[pipe.id] = sum(fitting_coefficient(kind, inside_diameter=pipe.bore) for kind in fittings)
    return found


def riser_loss(flow: float, *, head_class: HeadClass, temperature: float = STANDARD_TEMPERATURE) -> float:
    """Pressure lost between a lateral and a nozzle: out of a tee, through a swing joint, up the riser; no height.

    Parameters: flow [m³/s] of the head; head_class, for the riser's bore; temperature [K] of the water.
    Returns: loss [Pa].
    Source: a tee branch, three elbows and 0.45 m of riser, common practice, no source; losses as elsewhere.

    >>> round(riser_loss(1.9e-4, head_class="small rotor"))  # 3 gpm
    2208
    """
    bore = _riser_bore(head_class)
    rho = density(temperature)
    friction = darcy_pressure_loss(
        flow,
        inside_diameter=bore,
        length=_RISER_LENGTH,
        roughness=_RISER_ROUGHNESS,
        density=rho,
        viscosity=viscosity(temperature),
    )
    return friction + fitting_pressure_loss(
        flow, inside_diameter=bore, coefficient=_riser_coefficient(bore), density=rho
    )


def riser(head: Head, *, start: str, end: str) -> Link:
    """Make the link from a lateral's node to a head's nozzle, with the losses of riser_loss."""
    bore = _riser_bore(head.head_class)
    minor = _riser_coefficient(bore)
    return Link(f"riser {head.id}", start, end, _RISER_LENGTH, bore, _RISER_ROUGHNESS, minor)


def _riser_bore(head_class: HeadClass) -> float:
    return _WIDE_RISER_BORE if head_class in _WIDE_CLASSES else _RISER_BORE


def _riser_coefficient(bore: float) -> float:
    return sum(fitting_coefficient(kind, inside_diameter=bore) for kind in _RISER_FITTINGS)


def _at_start(upstream: Sequence[Pipe], runs: Sequence[Pipe]) -> list[tuple[Pipe, FittingKind]]:
    """Say which fitting each run leaves its start node by."""
    if not upstream:
        kind: FittingKind = "elbow 90" if len(runs) == 1 else "tee branch"
        return [(pipe, kind) for pipe in runs]
    turns = [min(_turn(*_corners(one)[-2:], *_corners(pipe)[:2]) for one in upstream) for pipe in runs]
    if len(runs) == len(upstream) == 1:
        return [(runs[0], "elbow 90" if turns[0] >= SHARP_BEND else "tee run")]
    straightest = min(range(len(runs)), key=turns.__getitem__)
    through = straightest if turns[straightest] <= 45.0 else None
    return [(pipe, "tee run" if k == through else "tee branch") for k, pipe in enumerate(runs)]


def _bends(pipe: Pipe) -> list[FittingKind]:
    corners = _corners(pipe)
    ways = list(pairwise(corners))
    turns = [_turn(*before, *after) for before, after in pairwise(ways)]
    return ["elbow 90" if turn >= SHARP_BEND else "elbow 45" for turn in turns if turn >= BEND]


def _corners(pipe: Pipe) -> list[Point]:
    """Give the path without points that repeat the one before; at least its first and last."""
    corners = [at for k, at in enumerate(pipe.path) if k == 0 or math.dist(at, pipe.path[k - 1]) > 1e-6]
    return corners if len(corners) > 1 else [pipe.path[0], pipe.path[-1]]


def _turn(a: Point, b: Point, c: Point, d: Point) -> float:
    """Give the angle [°] between the ways a-b and c-d."""
    before, after = math.atan2(b[1] - a[1], b[0] - a[0]), math.atan2(d[1] - c[1], d[0] - c[0])
    return abs(math.degrees(math.remainder(after - before, 2 * math.pi)))
