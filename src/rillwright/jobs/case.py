"""What every stage of one planning run works from: the yard, its ground, the catalogue and the fitted supply."""

from dataclasses import dataclass, replace

import numpy as np

from rillwright.jobs.workers import SentOnce
from rillwright.model.ground import Ground, resolve_ground
from rillwright.model.parts import Catalogue, Nozzle
from rillwright.model.plan import Head, SupplyCurve, SupplyLimit
from rillwright.model.pumps import Well
from rillwright.model.regulation import FALL_OFF, HIGHEST_SETTING, HIGHEST_STATIC
from rillwright.model.site import BackflowKind, Yard
from rillwright.solvers.capacity import PressureNeed, curve_capacity
from rillwright.solvers.certainty import DRAWS
from rillwright.solvers.devices import losses_by_flow
from rillwright.solvers.places import outlet_level
from rillwright.solvers.supply import (
    SupplyFit,
    boosted,
    cautious_curve,
    expected_curve,
    safe_flow,
    tank_line_loss,
    well_curve,
)

__all__ = ["FULL_EFFORT", "KEPT_SHARE", "QUICK_EFFORT", "Case", "Limits", "make_case"]

FULL_EFFORT = 1.5  # of the coverage search, see lay_out_lawn
QUICK_EFFORT = 0.3  # for comparing: head classes with each other, ways out with each other
KEPT_SHARE = 0.9  # of its layout pressure that a head must keep when the supply is at its cautious curve
_TOP_CHANCE = 0.05  # that the supply does better than the top of its band


@dataclass(frozen=True, slots=True)
class Limits:
    """Supply curves and the flow limits that do not depend on pressure."""

    cautious: SupplyCurve
    expected: SupplyCurve
    top: SupplyCurve  # top of the band
    others: tuple[SupplyLimit, ...]  # velocity, meter
    reserve: float  # [m³/s] held back for the house

    def capped(self, pressure: float) -> "Limits":
        """The same behind a pressure reducing valve that lets a pressure [Pa] through while water runs."""
        cautious, expected, top = (
            curve.model_copy(update={"cap": pressure}) for curve in (self.cautious, self.expected, self.top)
        )
        return replace(self, cautious=cautious, expected=expected, top=top)

    def switched(self, *, cut_in: float, cut_out: float) -> "Limits":
        """The same behind a pressure switch: counted on for cut_in [Pa] at the most, and cut_out at its best."""
        low = self.capped(cut_in)
        return replace(low, top=self.top.model_copy(update={"cap": cut_out}))

    def capacity(self, need: PressureNeed) -> tuple[float, str]:
        """Largest zone flow [m³/s] for a need, and the name of the limit that sets it."""
        curve = curve_capacity(need, supply=self.cautious, house=self.reserve)
        named = [("curve", curve), *((limit.name, limit.flow - self.reserve) for limit in self.others)]
        name, flow = min(named, key=lambda pair: pair[1])
        return max(0.0, flow), name


@dataclass(frozen=True)
class Case(SentOnce):
    """One yard with one supply, to be planned with one seed and one effort."""

    yard: Yard
    ground: Ground
    catalogue: Catalogue
    fit: SupplyFit
    limits: Limits
    seed: int = 0
    effort: float = FULL_EFFORT
    draws: int = DRAWS  # of the whole yard, to say how sure the plan is; 0 leaves that out
    looped: bool = False  # whether the main is closed to a ring

    @property
    def highest_static(self) -> float:
        """Pressure [Pa] that may stand in the main at the entry's level with nothing running."""
        if self.yard.water_entry.well is not None:
            return self.yard.water_entry.well.cut_out
        street, cap = float(np.quantile(self.fit.static, 1 - _TOP_CHANCE)), self.limits.expected.cap
        return street if cap is None else min(street, cap + FALL_OFF)

    def least_pressure(self, nozzle: Nozzle, pressure: float) -> float:
        """Pressure [Pa] that a head laid out at `pressure` must keep when the supply is poor.

        Zones and pipes are both judged by it.
        """
        return max(nozzle.lowest_pressure, KEPT_SHARE * pressure)

    def need(
        self, head: Head, kind: BackflowKind, *, pipes: float, far: float = 0.0, size: str | None = None
    ) -> PressureNeed:
        """Entry pressure that a head needs under a backflow kind.

        Parameters: pipes [Pa], allowed for main and laterals; far [Pa/(m³/s)²], what they take at least; size as for
        zone_devices.
        """
        least = self.least_pressure(self.catalogue.nozzles[head.nozzle], head.pressure)
        return self.need_at(least, outlet_level(head, self.yard), kind, pipes=pipes, far=far, size=size)

    def need_at(
        self, least: float, level: float, kind: BackflowKind, *, pipes: float, far: float = 0.0, size: str | None = None
    ) -> PressureNeed:
        """The same for a nozzle at a level [m] that needs at least a pressure [Pa]."""
        devices = losses_by_flow(kind, yard=self.yard, catalogue=self.catalogue, size=size)
        entry = self.yard.water_entry
        return PressureNeed(least, entry.weight * (level - entry.height), devices, pipes, far)


def lowest_at_entry(yard: Yard, well: Well, catalogue: Catalogue) -> float:
    """Pressure [Pa] at the entry when a well's pump starts: cut-in less the way from the tank at the pump's flow."""
    shutoff, factor, exponent = well_curve(yard, well)
    flow = (max(shutoff - well.cut_in, 0.0) / factor) ** (1 / exponent)
    return well.cut_in - tank_line_loss(flow, yard=yard, catalogue=catalogue)


def make_case(
    yard: Yard, catalogue: Catalogue, *, fit: SupplyFit, seed: int, effort: float = FULL_EFFORT, draws: int = DRAWS
) -> Case:
    """Resolve the ground and read the limits off the supply, behind the yard's booster pump if it has one."""
    pump = yard.water_entry.booster
    fit = fit if pump is None else boosted(fit, pump=pump)
    found = safe_flow(fit, pressure=0.0, yard=yard, catalogue=catalogue)
    expected = expected_curve(fit)
    well = yard.water_entry.well
    limits = Limits(
        cautious=cautious_curve(fit, yard.rules.supply_certainty),
        expected=expected,
        top=cautious_curve(fit, _TOP_CHANCE),
        others=tuple(limit for limit in found.limits if limit.name != "curve"),
        reserve=yard.rules.reserve,
    )
    if well is not None:
        limits = limits.switched(cut_in=lowest_at_entry(yard, well, catalogue), cut_out=well.cut_out)
    elif pump is None and expected.static > HIGHEST_STATIC and "source" in yard.regulation.allowed:
        limits = limits.capped(HIGHEST_SETTING - FALL_OFF)
    return Case(yard, resolve_ground(yard), catalogue, fit, limits, seed, effort, draws)
