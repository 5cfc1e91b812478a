"""Water in the soil under turf: layers, daily balance, and how fast water is taken in."""

from rillwright.solvers.soil_water.balance import Balance, water_balance
from rillwright.solvers.soil_water.intake import Intake, intake_of
from rillwright.solvers.soil_water.profile import Profile, profile_of

__all__ = ["Balance", "Intake", "Profile", "intake_of", "profile_of", "water_balance"]
