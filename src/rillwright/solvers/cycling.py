"""How often a well's pump starts while each zone runs: the balance of its tank, in closed form. No search, no seed."""

from collections.abc import Sequence

from rillwright.model.cycling import Cycling
from rillwright.model.plan import SupplyCurve, Zone
from rillwright.model.pumps import Well
from rillwright.model.site import Watering, Yard
from rillwright.physics.pumps import cycle_times, tank_drawdown

__all__ = ["well_drawdown", "zone_cycles"]


def zone_cycles(zones: Sequence[Zone], *, supply: SupplyCurve, yard: Yard) -> tuple[Cycling, ...]:
    """One answer for each zone of a yard with a well; none without.

    Parameters: zones, with their solved flows; supply, the pump as fitted, at the entry; yard.
    Returns: the pump's running and resting times.
    """
    well = yard.water_entry.well
    if well is None:
        return ()
    pump = supply.model_copy(update={"cap": None})
    ends = [pump.flow(pressure) for pressure in (well.cut_in, well.cut_out)]
    night = (yard.watering or Watering()).hours
    found: list[Cycling] = []
    for zone in zones:
        drawn = zone.flow + yard.rules.reserve
        steady = Cycling(
            zone=zone.id, flow=drawn, at_cut_in=ends[0], at_cut_out=ends[1], drawdown=well_drawdown(well), night=night
        )
        if 0 < drawn < ends[1]:
            runs, rests = cycle_times(drawn, pump_flow=steady.pump_flow, drawdown=steady.drawdown)
            steady = steady.model_copy(update={"runs": runs, "rests": rests})
        found.append(steady)
    return tuple(found)


def well_drawdown(well: Well) -> float:
    """Water [m³] that the tank gives from cut-out to cut-in: as stated, else from its size."""
    if well.drawdown is not None:
        return well.drawdown
    assert well.tank is not None
    return tank_drawdown(well.tank.volume, precharge=well.tank.precharge, cut_in=well.cut_in, cut_out=well.cut_out)
