"""What a reader should know about the water on a lawn."""

from rillwright.model.findings import Finding
from rillwright.model.plan import Lawn
from rillwright.physics.units import System, show
from rillwright.solvers.coverage.depth import Floats

__all__ = ["notes_on"]

_DRY = 0.25  # of the mean rate: grass below it dies while the rest drowns
_ELSEWHERE = 0.08  # share of the water on beds and other lawns that a reader should know of
_DRY_SHARE = 0.01  # of the lawn


def notes_on(lawn: Lawn, *, depth: Floats, system: System) -> tuple[Finding, ...]:
    """What only the grid shows of one lawn's water; depth [m/s] of its cells. Limits are held by the plan's checks."""
    notes = (_elsewhere(lawn), _dry(lawn, depth, system))
    return tuple(note for note in notes if note is not None)


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


def _dry(lawn: Lawn, depth: Floats, system: System) -> Finding | None:
    dry = float((depth < _DRY * lawn.evenness.mean_rate).mean())
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
