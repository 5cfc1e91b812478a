"""The yard's facts that a programme takes besides the plan: those of a later yard file, and its usual weather."""

from rillwright.errors import InputError
from rillwright.jobs.watering.seasons import usual_weather
from rillwright.model.plan import Plan
from rillwright.model.site import Yard
from rillwright.model.weather import DailyWeather

__all__ = ["weather_of_yard", "with_growing_of"]

GROWING = ("soil", "turf", "watering", "climate", "origin", "money", "currency")


def with_growing_of(plan: Plan, yard: Yard | None) -> Plan:
    """The plan with soil, turf, watering rules, climate and what the controller holds of another yard document."""
    if yard is None:
        return plan
    clock = {name: getattr(yard.controller, name) for name in ("programs", "starts", "longest_run")}
    update = {name: getattr(yard, name) for name in GROWING}
    update["controller"] = plan.yard.controller.model_copy(update=clock)
    return plan.model_copy(update={"yard": plan.yard.model_copy(update=update)})


def weather_of_yard(yard: Yard) -> DailyWeather:
    """The yard's monthly normals as a usual year. Errors: InputError when it has none."""
    if yard.climate is None:
        raise InputError(
            "No weather is known: give a weather file, or the twelve months of a station near by as the climate in the "
            "yard's facts."
        )
    return usual_weather(yard.climate, source=f"normals typed for {yard.name}")
