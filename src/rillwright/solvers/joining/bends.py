"""Which elbows turn a pipe by an angle.

Pipe from a coil sweeps round, but for sharp turns. Rigid pipe springs a little; one elbow turns by its own angle, and
two of angles a and b, rolled about the way between them, by anything from |a - b| to a + b.
"""

from rillwright.model.fittings import Body
from rillwright.model.site import PipeMaterial

__all__ = ["FLEXIBLE", "bends_for"]

FLEXIBLE: tuple[PipeMaterial, ...] = ("PE", "PEX")
SPRING = 15.0  # [°] that rigid pipe makes up for by springing; judgement, no source
SWEEP = 75.0  # [°] under which pipe from a coil sweeps round; judgement, no source
_RIGID: tuple[tuple[float, float, tuple[Body, ...]], ...] = (  # turns from..to [°] and the elbows, fewest first
    (0.0, 0.0, ()),
    (45.0, 45.0, ("elbow 45",)),
    (90.0, 90.0, ("elbow",)),
    (0.0, 90.0, ("elbow 45", "elbow 45")),
    (45.0, 135.0, ("elbow", "elbow 45")),
    (0.0, 180.0, ("elbow", "elbow")),
)


def bends_for(angle: float, *, flexible: bool) -> tuple[Body, ...]:
    """Elbows that turn a way by an angle [°], 0 straight on to 180 back; none where the pipe makes the turn itself.

    >>> bends_for(50.0, flexible=False), bends_for(50.0, flexible=True)
    (('elbow 45',), ())
    """
    if flexible:
        return ("elbow",) if angle >= SWEEP else ()
    return next(elbows for low, high, elbows in _RIGID if low - SPRING < angle < high + SPRING)
