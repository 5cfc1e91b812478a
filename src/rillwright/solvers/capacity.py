"""How much a zone may draw, from the pressure its heads need and the way the water takes to them."""

from dataclasses import dataclass

from scipy.optimize import brentq

from rillwright.model.parts import DeviceLoss
from rillwright.model.plan import SupplyCurve

__all__ = ["PressureNeed", "curve_capacity"]


@dataclass(frozen=True, slots=True)
class PressureNeed:
    """What must stand at the water entry for a head to work, as a function of the zone's flow."""

    head_pressure: float  # [Pa] at the nozzle
    lift: float  # [Pa] of standing water from the entry up to the nozzle; negative downhill
    devices: tuple[tuple[float, tuple[DeviceLoss, ...]], ...]  # up to each flow [m³/s], rising: those in series
    pipes: float  # [Pa] allowed for main and laterals
    far: float = 0.0  # [Pa/(m³/s)²] that the pipes to the head take in their widest sizes, where that is known

    def at(self, flow: float) -> float:
        """Entry pressure needed [Pa] when the zone draws a flow [m³/s]."""
        fitted = next((own for most, own in self.devices if flow <= most), ())
        lost = sum(device.at(flow) for device in fitted)
        return self.head_pressure + self.lift + lost + max(self.pipes, self.far * flow**2)


def curve_capacity(need: PressureNeed, *, supply: SupplyCurve, house: float = 0.0) -> float:
    """Largest zone flow [m³/s] up to which the supply gives what the head needs.

    Solves supply.pressure(Q + house) = need.at(Q): both sides are monotone between the flows at which another size of
    device is fitted, so that there the root is single.
    Parameters: need; supply, the curve to trust; house [m³/s], drawn meanwhile.
    Returns: 0 when even a trickle has too little pressure.
    """
    low, top = 1e-9, supply.flow(0.0) - house

    def surplus(flow: float) -> float:
        return supply.pressure(flow + house) - need.at(flow)

    if top <= low or surplus(low) <= 0:
        return 0.0
    for most in (*(flow for flow, _ in need.devices if low < flow < top), top):
        if surplus(most) < 0:
            return float(brentq(surplus, low, most, xtol=1e-10))
        low = most
    return top
