"""How far a zone valve's flow control is turned down, so that its heads get the pressure they were laid out for."""

from collections.abc import Callable, Sequence

from scipy.optimize import brentq

from rillwright.model.network import Network
from rillwright.model.parts import DeviceLoss
from rillwright.model.plan import Zone
from rillwright.solvers.devices import ZoneDevice
from rillwright.solvers.hydraulics import ZoneHydraulics
from rillwright.solvers.network import Draws, prepare, solve_batch

__all__ = ["controlled", "flow_control", "hold_flow", "valve_regulator"]

_LABEL = "flow control, turned down"
_REGULATOR = "flow control by a regulator on the valve"
Solve = Callable[[Sequence[ZoneDevice]], ZoneHydraulics]


def hold_flow(solve: Solve, network: Callable[[Sequence[ZoneDevice]], Network], *, target: float) -> ZoneHydraulics:
    """Turn the flow control down until the zone draws its design flow; leave it open when it draws less anyway.

    Solves flow(loss) = target, where loss [Pa] is what the control takes at the target flow; the flow falls as the
    loss grows, so the root is single, and the supply's static pressure is surely enough. Parameters: solve, the zone
    with further devices after its valve; network, the same to be solved; target [m³/s].
    """
    open_state = solve(())
    if open_state.flow <= target * (1 + 1e-6):
        return open_state
    shut = network(flow_control(1.0, flow=target))
    prepared = prepare(shut)
    column = prepared.links.index(f"device {_LABEL}")
    factor = prepared.device_factor[None].copy()

    def over(loss: float) -> float:
        factor[0, column] = loss / target**2
        return float(solve_batch(prepared, Draws(count=1, device_factor=factor)).outlet_flow.sum()) - target

    loss = brentq(over, 0.0, shut.supply.static, xtol=10.0, rtol=1e-9)
    return solve(flow_control(float(loss), flow=target))


def flow_control(loss: float, *, flow: float) -> tuple[ZoneDevice, ...]:
    """The flow control, turned down to take a loss [Pa] at a flow [m³/s]; nothing when it stands open."""
    source = "flow control of the zone valve, set in the field; common practice, no source"
    return (ZoneDevice(_LABEL, "place", DeviceLoss(factor=loss / flow**2), source),) if loss > 0 else ()


def valve_regulator(pressure: float) -> tuple[ZoneDevice, ...]:
    """A regulator on the zone valve that lets a pressure [Pa] through, in place of the flow control."""
    source = "regulator module of the zone valve, set in the field; common practice, no source"
    return (ZoneDevice(_REGULATOR, "place", DeviceLoss(0.0), source, regulated_to=pressure),)


def controlled(state: ZoneHydraulics | Zone) -> float:
    """Pressure [Pa] that flow control or regulator take on the way to the worst head; 0 when they stand open."""
    return sum(step.pressure for step in state.steps if step.label in (_LABEL, _REGULATOR))
