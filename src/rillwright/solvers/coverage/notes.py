"""What a reader should know about the water on a lawn."""

from shapely.geometry.base import BaseGeometry

from rillwright.model.findings import Finding
from rillwright.model.plan import Lawn
from rillwright.model.site import Rules
from rillwright.physics.units import System, show
from rillwright.solvers.coverage.depth import Floats
from rillwright.solvers.coverage.grid import Grid, cells_of

__all__ = ["notes_on"]

_BUILDING_LIMIT = 0.001  # share of the water: none on purpose, this much is the model's own blur
_DRY = 0.25  # of the mean rate: grass below it dies while the rest drowns
_ELSEWHERE = 0.08  # share of the water on beds and other lawns that a reader should know of
_DRY_SHARE = 0.01  # of the lawn


def notes_on(
    lawn: Lawn, *, rate: Floats, grid: Grid, shape: BaseGeometry, rules: Rules, system: System
) -> tuple[Finding, ...]:
    """Hold the water on one lawn against the rules; rate [m/s] on the grid."""
    dry = _dry(lawn, rate, grid, shape, system)
    checks = (_building(lawn), _paving(lawn, rules), _elsewhere(lawn), _uneven(lawn, rules), dry)
    return tuple(note for note in checks if note is not None)


def _building(lawn: Lawn) -> Finding | None:
    share = lawn.on_building / lawn.water
    if share <= _BUILDING_LIMIT:
        return None
    return Finding(
        rule="water-on-building",
        severity="must",
        where=lawn.id,
        what=f"{100 * share:.1f} % of the water lands on a building.",
        do="Turn the arcs of the heads next to the wall, or use a shorter throw there.",
    )


def _paving(lawn: Lawn, rules: Rules) -> Finding | None:
    share = lawn.on_paving / lawn.water
    if share <= rules.overspray_paving:
        return None
    return Finding(
        rule="overspray-paving",
        severity="should",
        where=lawn.id,
        what=f"{100 * share:.1f} % of the water lands on paving; the limit is {100 * rules.overspray_paving:.1f} %.",
        do="Use a class with a shorter throw here, or turn down the heads that face the paving.",
    )


def _elsewhere(lawn: Lawn) -> Finding | None:
    share = lawn.elsewhere / lawn.water
    if share <= _ELSEWHERE:
        return None
    return Finding(
        rule="overspray-elsewhere",
        severity="know",
        where=lawn.id,
        what=f"{100 * share:.0f} % of the water lands on beds or other lawns.",
        do="Look at what lies there; where it may not be wet, draw it as paving or a building.",
    )


def _uneven(lawn: Lawn, rules: Rules) -> Finding | None:
    if lawn.evenness.du >= rules.lowest_du:
        return None
    return Finding(
        rule="evenness",
        severity="should",
        where=lawn.id,
        what=f"Low-quarter evenness is {lawn.evenness.du:.2f}, under the limit of {rules.lowest_du:.2f}.",
        do="Try another head class, or split the lawn's narrow parts off as a lawn of their own.",
    )


def _dry(lawn: Lawn, rate: Floats, grid: Grid, shape: BaseGeometry, system: System) -> Finding | None:
    cells = cells_of(shape, grid)
    dry = float((rate[cells] < _DRY * lawn.evenness.mean_rate).mean())
    if dry <= _DRY_SHARE:
        return None
    x, y = lawn.evenness.driest
    place = f"({show(x, 'length', system)}, {show(y, 'length', system)})"
    return Finding(
        rule="dry-ground",
        severity="should" if dry > 0.03 else "know",
        where=lawn.id,
        what=f"{show(dry * lawn.area, 'area', system)} gets under a quarter of the mean water, worst round {place}.",
        do="Water that corner by hand, plant it as a bed, or add a head there.",
    )
