"""How far a zone valve's flow control is turned down, so that its heads get the pressure they were laid out for."""

from collections.abc import Callable, Sequence

from scipy.optimize import brentq

from rillwright.model.parts import DeviceLoss
from rillwright.solvers.devices import ZoneDevice
from rillwright.solvers.hydraulics import ZoneHydraulics

__all__ = ["controlled", "hold_flow"]

_LABEL = "flow control, turned down"
Solve = Callable[[Sequence[ZoneDevice]], ZoneHydraulics]


def hold_flow(solve: Solve, *, target: float, most: float) -> ZoneHydraulics:
    """Turn the flow control down until the zone draws its design flow; leave it open when it draws less anyway.

    Solves flow(loss) = target, where loss [Pa] is what the control takes at the target flow; the flow falls as the
    loss grows, so the root is single. Parameters: solve, the zone with further devices after its valve; target
    [m³/s]; most [Pa], a loss that is surely enough, such as the static pressure.
    """
    open_state = solve(())
    if open_state.flow <= target * (1 + 1e-6):
        return open_state

    def control(loss: float) -> tuple[ZoneDevice, ...]:
        factor = loss / target**2
        source = "flow control of the zone valve, set in the field; common practice, no source"
        return (ZoneDevice(_LABEL, "place", DeviceLoss(factor=factor), source),)

    loss = brentq(lambda p: solve(control(p)).flow - target, 0.0, most, xtol=10.0, rtol=1e-9)
    return solve(control(float(loss)))


def controlled(state: ZoneHydraulics) -> float:
    """Pressure [Pa] that the flow control takes on the way to the worst head; 0 when it stands open."""
    return sum(step.pressure for step in state.steps if step.label == _LABEL)
