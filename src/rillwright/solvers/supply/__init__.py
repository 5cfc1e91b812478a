"""The water supply: pressure against flow at the entry, fitted to any mix of measurements, with its band."""

from rillwright.solvers.supply.change import boosted, pump_curve, with_second_service, with_service
from rillwright.solvers.supply.fills import FillsFound, read_fills
from rillwright.solvers.supply.fit import Basis, Strain, SupplyFit, fit_supply
from rillwright.solvers.supply.limits import LOWEST_SUCTION, SafeFlow, cautious_curve, expected_curve, safe_flow
from rillwright.solvers.supply.outlook import next_measurements, supply_candidates
from rillwright.solvers.supply.prior import tank_line_loss, well_curve
from rillwright.solvers.supply.report import report_supply

__all__ = [
    "LOWEST_SUCTION",
    "Basis",
    "FillsFound",
    "SafeFlow",
    "Strain",
    "SupplyFit",
    "boosted",
    "cautious_curve",
    "expected_curve",
    "fit_supply",
    "next_measurements",
    "pump_curve",
    "read_fills",
    "report_supply",
    "safe_flow",
    "supply_candidates",
    "tank_line_loss",
    "well_curve",
    "with_second_service",
    "with_service",
]
