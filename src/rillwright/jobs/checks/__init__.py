"""Independent checks of a finished plan: one function for each rule, each returns findings and mends nothing.

The checks look at the plan as a builder's inspector would: they use its numbers and geometry, not the solvers that
made them.
"""

from rillwright.jobs.checks.budget import money
from rillwright.jobs.checks.certainty import supply_basis, water_window, zones_sure
from rillwright.jobs.checks.drains import check_valves_hold, low_heads_drain
from rillwright.jobs.checks.even_water import evenness, intake
from rillwright.jobs.checks.existing import existing_kept
from rillwright.jobs.checks.flushing import air_gets_out, flush_water_kept, meter_spared, runs_washed
from rillwright.jobs.checks.heads import head_pressures, heads_fed_once, heads_on_lawn
from rillwright.jobs.checks.inspection import Check, Inspection
from rillwright.jobs.checks.parts import can_be_assembled, manifolds_sound
from rillwright.jobs.checks.pins import pins_kept
from rillwright.jobs.checks.pipes import (
    laterals_below_devices,
    main_as_asked,
    pipe_ratings,
    pipes_clear,
    pipes_continuous,
    ring_closed,
    surges,
    velocities,
)
from rillwright.jobs.checks.pressures import house_use, misting, static_pressure, suction
from rillwright.jobs.checks.spills import heads_keep_home, paving_kept_dry, wind_is_bearable
from rillwright.jobs.checks.well import well_rests
from rillwright.jobs.checks.wire import WIRE_CHECKS
from rillwright.jobs.checks.zones import (
    device_sizes,
    first_idea,
    stations_enough,
    valve_heights,
    valve_kinds,
    works_as_laid_out,
    zones_alike,
    zones_within_supply,
)
from rillwright.model.findings import Finding
from rillwright.model.ground import Ground
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Plan

__all__ = ["CHECKS", "Inspection", "inspect"]


def inspect(plan: Plan, ground: Ground, catalogue: Catalogue) -> tuple[Finding, ...]:
    """Run every check."""
    case = Inspection(plan, ground, catalogue)
    return tuple(finding for check in CHECKS for finding in check(case))


CHECKS: tuple[Check, ...] = (
    heads_fed_once,
    pipes_continuous,
    ring_closed,
    main_as_asked,
    heads_on_lawn,
    pipes_clear,
    zones_within_supply,
    stations_enough,
    zones_alike,
    works_as_laid_out,
    valve_kinds,
    head_pressures,
    velocities,
    pipe_ratings,
    surges,
    evenness,
    paving_kept_dry,
    heads_keep_home,
    wind_is_bearable,
    valve_heights,
    device_sizes,
    laterals_below_devices,
    supply_basis,
    zones_sure,
    water_window,
    first_idea,
    house_use,
    static_pressure,
    misting,
    suction,
    well_rests,
    low_heads_drain,
    check_valves_hold,
    air_gets_out,
    runs_washed,
    meter_spared,
    flush_water_kept,
    *WIRE_CHECKS,
    can_be_assembled,
    manifolds_sound,
    money,
    existing_kept,
    pins_kept,
    intake,
)
