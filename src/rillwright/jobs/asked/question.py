"""A question on an entry, and what is known of the yard when it is asked."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property

from rillwright.model.field_log import Entry, supply_tests
from rillwright.model.ground import Ground, resolve_ground
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Plan
from rillwright.model.site import BucketFill, Measurement, MeterReading, StaticGauge, Yard
from rillwright.physics.units import PSI, System, show

__all__ = ["HIGHEST_MAIN", "Known", "Question"]

HIGHEST_MAIN = 150 * PSI  # [Pa] that a street main hardly ever has; common practice, no source
GAUGES = 3.0  # standard errors that a reading may lie over what is known


@dataclass(frozen=True, slots=True)
class Question:
    """One thing in an entry that can hardly be."""

    rule: str  # name by which it is confirmed
    figure: str  # what was written, or what follows from it
    why: str  # why it is asked
    do: str  # what to look at


@dataclass(frozen=True)
class Known:
    """What an entry is held against; what is None is not known, and then nothing is asked of it."""

    catalogue: Catalogue
    yard: Yard | None = None
    plan: Plan | None = None
    now: datetime | None = None
    typed: bool = True  # whether a person wrote the time at which an entry was made, not a device
    log: Sequence[Entry] = ()  # what counts of it so far

    @property
    def system(self) -> System:
        """Units to ask in."""
        return self.yard.units if self.yard else "metric"

    def show(self, value: float, dimension: str) -> str:
        """A value in the yard's units."""
        return show(value, dimension, self.system)

    @cached_property
    def ground(self) -> Ground | None:
        """The yard's ground."""
        return None if self.yard is None else resolve_ground(self.yard)

    @property
    def readings(self) -> tuple[Measurement, ...]:
        """All readings of the supply, of yard and log."""
        return (*(self.yard.supply if self.yard else ()), *(test for _, test in supply_tests(self.log)))

    @cached_property
    def static(self) -> float | None:
        """Most pressure [Pa] at the water entry that the yard's facts allow; None when they say nothing of it."""
        if self.yard is None:
            return None
        entry = self.yard.water_entry
        gauges = [
            gauge.pressure
            + GAUGES * gauge.pressure_error
            + entry.weight * ((entry.height if gauge.height is None else gauge.height) - entry.height)
            for gauge in self.readings
            if not isinstance(gauge, BucketFill | MeterReading)
        ]
        if entry.well is not None:
            gauges.append(entry.well.cut_out)
        if not any(isinstance(gauge, StaticGauge) for gauge in self.readings) and entry.street_pressure is not None:
            gauges.append(entry.street_pressure)
        return max(gauges) if gauges else None

    @property
    def boost(self) -> float:
        """Most pressure [Pa] that a booster pump adds behind the entry."""
        pump = None if self.yard is None else self.yard.water_entry.booster
        return 0.0 if pump is None else max(point.pressure for point in pump.curve)
