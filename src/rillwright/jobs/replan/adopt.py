"""A change taken up: what the yard's document says after it, so that the changed plan is the plan of that yard."""

from collections.abc import Mapping, Sequence
from typing import Any

from pydantic import BaseModel

from rillwright.errors import StateError
from rillwright.jobs.refit import same_measurement
from rillwright.model.plan import Plan
from rillwright.model.site import Measurement, Yard

__all__ = ["yard_after"]


def yard_after(document: Mapping[str, Any], *, now: Yard, before: Plan, after: Plan) -> dict[str, Any]:
    """The yard's document after a change: its supply as fitted anew, a booster, stations; all else as it stands.

    Parameters: document and now, the yard as it is, written and read; before, the plan that was being built; after,
    what the change makes of it. Errors: StateError when the yard differs from the one that the change was found for.
    """
    apart = [
        name for name in Yard.model_fields if name != "supply" and getattr(now, name) != getattr(before.yard, name)
    ]
    if apart:
        what = ", ".join(name.replace("_", " ") for name in apart)
        raise StateError(f"The yard was changed since these changes were found ({what}): look for changes again first.")
    found = {**document, "supply": _supply(document.get("supply", []), now=now, after=after.yard.supply)}
    booster, entry = after.yard.water_entry.booster, document["water_entry"]
    if booster is not None and booster != now.water_entry.booster:
        found["water_entry"] = {**entry, "booster": _written(booster, now)}
    if len(after.zones) > now.controller.stations:
        found["controller"] = {**document.get("controller", {}), "stations": len(after.zones)}
    return found


def _supply(items: Sequence[Any], *, now: Yard, after: Sequence[Measurement]) -> list[Any]:
    """Measurements as they stand where they still count, and then those that are new."""
    left, found = list(after), []
    for item, own in zip(items, now.supply, strict=True):
        twin = next((one for one in left if same_measurement(one, own)), None)
        if twin is not None:
            left.remove(twin)
            found.append(item)
    return [*found, *(_written(one, now) for one in left)]


def _written(value: BaseModel, yard: Yard) -> dict[str, Any]:
    return value.model_dump(mode="json", exclude_defaults=True, context={"units": yard.units})
