"""A plan's watering: programme, clock, calendar, what it uses and costs over weather years."""

from rillwright.jobs.watering.facts import weather_of_yard, with_growing_of
from rillwright.jobs.watering.plan import WaterTerms, make_water_plan

__all__ = ["WaterTerms", "make_water_plan", "weather_of_yard", "with_growing_of"]
