"""Zones, valve places, routes and sizes chosen together, by what the whole system costs."""

from rillwright.jobs.search.descent import cheapest_routes, improve_system
from rillwright.jobs.search.device_sizes import fit_devices
from rillwright.jobs.search.told import zones_proven

__all__ = ["cheapest_routes", "fit_devices", "improve_system", "zones_proven"]
