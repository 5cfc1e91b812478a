"""The field log: what was seen, measured and done in the yard, entry by entry, never erased.

An entry's id is made where it is written, so that one that is sent twice is kept once. A correction is an entry that
names the first one; both stay. Bare numbers are SI; a text carries its own unit, such as '45 psi'.
"""

import math
import uuid
from collections.abc import Iterable
from itertools import pairwise
from typing import Annotated, Literal

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, model_validator

from rillwright.model.ground_readings import NOTHING, OUTLET, MeterPair, SoilIntake, SpotLevel
from rillwright.model.quantities import (
    XY,
    Bore,
    Depth,
    Duration,
    Flow,
    Pressure,
    Share,
    Temperature,
    Volume,
    quantity,
)
from rillwright.model.site import Measurement, MeterReading
from rillwright.model.site_works import (
    BoughtPart,
    FittedKind,
    MoneyPaid,
    PartFitted,
    PartsBought,
    PartsReturned,
    PipeBuried,
    Repair,
    RepairKind,
    Ticked,
    TrenchWork,
    WaterUsed,
    WinterWork,
)

__all__ = [
    "BoughtPart",
    "CatchCup",
    "CatchCups",
    "Entry",
    "FittedKind",
    "GaugeAt",
    "HeadLook",
    "HeadPressure",
    "LeakReading",
    "LeakWatch",
    "MeterPair",
    "MoneyPaid",
    "Note",
    "PartFitted",
    "PartsBought",
    "PartsReturned",
    "PipeBuried",
    "Repair",
    "RepairKind",
    "Seen",
    "SeenWalking",
    "SoilIntake",
    "SpotLevel",
    "SupplyTest",
    "Ticked",
    "TrenchWork",
    "ValveSetting",
    "WaterUsed",
    "WinterWork",
    "Written",
    "ZoneFlow",
    "ZoneStart",
    "ZoneWalk",
    "standing",
    "supply_tests",
    "zone_flow",
]

Name = Annotated[str, Field(min_length=1, max_length=60)]
Seen = Literal["as planned", "clogged", "another nozzle", "broken or missing"]
SeenWalking = Literal["gushing", "short or odd throw", "wet ground", "nothing odd"]


METER_SHARE = 0.015  # standard error of a water meter as a share of what it counts, as the yard document takes it


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Note(_Frozen):
    """Words alone, perhaps with photos."""

    kind: Literal["note"]


class SupplyTest(_Frozen):
    """A measurement of the supply, as the yard document has them."""

    kind: Literal["supply test"]
    measurement: Measurement
    outlet: str = Field(default="", max_length=60)  # which tap or pipe end it was taken at
    valve_open: Share = 1.0  # how far the outlet's valve stood open; less than 1 tells the least that the supply gives

    @property
    def throttled(self) -> bool:
        """Whether water ran into the open through a valve partly open; a gauge before it reads true all the same."""
        free = self.measurement.kind == "bucket fill" or (
            isinstance(self.measurement, MeterReading) and self.measurement.pressure == 0
        )
        return free and self.valve_open < 1.0


class HeadPressure(_Frozen):
    """A gauge reading at a head while its zone runs."""

    kind: Literal["head pressure"]
    head: str = Field(min_length=1, max_length=60)
    pressure: Pressure  # [Pa]
    pressure_error: Pressure = 14e3  # [Pa] standard error, about 2 psi
    by: Literal["gauge", "pitot"] = "gauge"  # under the nozzle, or a pitot tube held into its jet


class CatchCup(_Frozen):
    """Water in one cup: its depth in a straight-sided one, or its volume."""

    at: XY  # [m]
    depth: Annotated[Depth, Field()] | Literal[0] | None = None  # [m]
    volume: Annotated[float, *quantity("volume", low=0, high=0.02)] | None = None  # [m³]

    @model_validator(mode="after")
    def _one_measure(self) -> "CatchCup":
        if (self.depth is None) == (self.volume is None):
            raise ValueError("write either 'depth' or 'volume'")
        return self


class CatchCups(_Frozen):
    """Water in cups after a zone ran."""

    kind: Literal["catch cups"]
    zone: str = Field(min_length=1, max_length=60)
    ran: Duration  # [s]
    mouth: Bore | None = None  # [m] inside diameter of the cups' mouths; needed for volumes
    cups: Annotated[list[CatchCup], Field(min_length=1, max_length=500)]
    depth_error: Annotated[float, *quantity("depth", low=0, high=0.05, above=True)] | None = None  # [m] standard error
    # of a cup read by its depth, if known
    read_error: Annotated[float, *quantity("volume", low=0, high=0.005, above=True)] | None = None  # [m³] the same of a
    # cup read by its volume

    @model_validator(mode="after")
    def _mouths(self) -> "CatchCups":
        poured = [cup.volume is not None for cup in self.cups]
        if self.mouth is None and any(poured):
            raise ValueError("cups read by volume need the 'mouth' of the cups")
        if self.depth_error is not None and all(poured):
            raise ValueError("'depth_error' is of cups read by depth: write 'read_error', a volume, for these")
        if self.read_error is not None and not any(poured):
            raise ValueError("'read_error' is of cups read by volume: write 'depth_error', a depth, for these")
        return self

    @property
    def depths(self) -> tuple[float, ...]:
        """Depth of water [m] that fell into each cup: its volume over its mouth."""
        return tuple((cup.volume or 0.0) / self._area if cup.depth is None else float(cup.depth) for cup in self.cups)

    @property
    def errors(self) -> tuple[float | None, ...]:
        """Standard error of each of these depths [m], None where it is not said."""
        poured = None if self.read_error is None else self.read_error / self._area
        return tuple(poured if cup.depth is None else self.depth_error for cup in self.cups)

    @property
    def _area(self) -> float:
        return math.pi / 4 * (self.mouth or 1.0) ** 2


class LeakReading(_Frozen):
    """One look at the gauge during a leak watch."""

    after: Duration  # [s] since the watch began
    pressure: Pressure  # [Pa]
    water: Temperature | None = None  # [K] of the water in the pipe, or of its wall


class LeakWatch(_Frozen):
    """Pipes filled, closed and left alone under a gauge."""

    kind: Literal["leak watch"]
    closed_in: Annotated[list[Name], Field(min_length=1, max_length=200)]  # 'main', zones, pipes: all that is open to
    # the gauge and shut off from everything else
    readings: Annotated[list[LeakReading], Field(min_length=2, max_length=200)]
    pressure_error: Pressure = 3.5e3  # [Pa] standard error of a change that the gauge shows, about half a psi
    # [K] standard error of a change of temperature
    water_error: Annotated[float, *quantity("warming", low=0, high=10, above=True)] = 0.3
    held: Duration = 0.0  # [s] under pressure before the watch began

    @model_validator(mode="after")
    def _in_order(self) -> "LeakWatch":
        if any(a.after >= b.after for a, b in pairwise(self.readings)):
            raise ValueError("readings must follow one another: each 'after' later than the one before")
        return self


class GaugeAt(_Frozen):
    """A gauge reading at one place while a zone runs."""

    at: Name  # a head, 'valve' (behind the zone's valve) or 'entry'
    pressure: Pressure  # [Pa]
    pressure_error: Pressure = 14e3  # [Pa] standard error, about 2 psi


class ZoneFlow(_Frozen):
    """Water through the meter while one zone runs and nothing else."""

    kind: Literal["zone flow"]
    zone: Name
    volume: Volume  # [m³]
    seconds: Annotated[Duration, Field(gt=0)]  # [s]
    volume_error: Share = 0.02  # standard error of the volume, as a share


class ZoneStart(_Frozen):
    """A zone started up with its flow control wide open and nothing else running: flow and pressures."""

    kind: Literal["zone start"]
    zone: Name
    flow: Annotated[Flow, Field(gt=0)] | None = None  # [m³/s]
    flow_error: Share = 0.03  # standard error as a share of the flow
    pressures: Annotated[list[GaugeAt], Field(max_length=60)] = []

    @model_validator(mode="after")
    def _something(self) -> "ZoneStart":
        if self.flow is None and not self.pressures:
            raise ValueError("a zone start needs a flow or a pressure: write at least one of them")
        return self


class ValveSetting(_Frozen):
    """A zone valve's flow control at so many turns in from wide open, and what the zone then does."""

    kind: Literal["valve setting"]
    zone: Name
    turns: Annotated[float, *quantity("number", low=0, high=60)]  # turned in from wide open
    turns_error: Annotated[float, *quantity("number", low=0, high=5)] = 0.1  # [turns] standard error; judgement
    flow: Annotated[Flow, Field(gt=0)] | None = None  # [m³/s]
    flow_error: Share = 0.03  # standard error as a share of the flow
    pressures: Annotated[list[GaugeAt], Field(max_length=60)] = []

    @model_validator(mode="after")
    def _something(self) -> "ValveSetting":
        if self.flow is None and not self.pressures:
            raise ValueError("a valve setting needs a flow or a pressure: write at least one of them")
        return self


class HeadLook(_Frozen):
    """What a head was seen to be when somebody looked at it."""

    kind: Literal["head look"]
    head: Name
    seen: Seen


class ZoneWalk(_Frozen):
    """What was seen on a walk along a zone while it runs."""

    kind: Literal["zone walk"]
    zone: Name
    seen: SeenWalking
    head: Name | None = None  # where it gushes or throws short

    @model_validator(mode="after")
    def _somewhere(self) -> "ZoneWalk":
        if self.seen in ("gushing", "short or odd throw") and self.head is None:
            raise ValueError("say at which head: write its name in 'head'")
        return self


Written = Annotated[
    Note
    | SupplyTest
    | HeadPressure
    | CatchCups
    | LeakWatch
    | ZoneFlow
    | ZoneStart
    | ValveSetting
    | HeadLook
    | ZoneWalk
    | PipeBuried
    | PartFitted
    | PartsBought
    | PartsReturned
    | MoneyPaid
    | TrenchWork
    | Repair
    | WaterUsed
    | WinterWork
    | SoilIntake
    | SpotLevel
    | MeterPair
    | Ticked,
    Field(discriminator="kind"),
]


class Entry(_Frozen):
    """One entry."""

    id: uuid.UUID
    made: AwareDatetime  # by the clock of who wrote it
    when: AwareDatetime | None = None  # it was so, if not when it was written; of a correction, None: as before
    corrects: uuid.UUID | None = None  # the first entry of what this puts right
    withdraws: bool = False  # of a correction: the first entry no longer counts, and nothing takes its place
    what: Written
    words: str = Field(default="", max_length=4000)
    at: XY | None = None  # [m] where on the plan
    photos: Annotated[list[uuid.UUID], Field(max_length=20)] = []
    confirmed: Annotated[list[Name], Field(max_length=20)] = []  # what was asked of it, and said to be so


def standing(entries: Iterable[Entry]) -> list[Entry]:
    """What counts of a log: each first entry, or the last of its corrections; none where that withdraws it.

    Of each, `made` is the time at which it was so: that of the first entry until one says `when`.
    """
    last: dict[uuid.UUID, Entry] = {}
    for entry in entries:
        first = entry.corrects or entry.id
        if entry.corrects is not None or first not in last:
            made = entry.when or (last[first].made if first in last else entry.made)
            last[first] = entry if made == entry.made else entry.model_copy(update={"made": made})
    return [entry for entry in last.values() if not entry.withdraws]


def supply_tests(entries: Iterable[Entry]) -> list[tuple[Entry, Measurement]]:
    """What entries measure of the supply, and the meter read round an open outlet.

    Less what ran out of an outlet whose valve stood partly open: nobody knows what that held back.
    """
    found: list[tuple[Entry, Measurement]] = []
    for entry in entries:
        what = entry.what
        if isinstance(what, SupplyTest) and not what.throttled:
            found.append((entry, what.measurement))
        elif isinstance(what, MeterPair) and what.running == OUTLET:
            error = _meter_error(what)
            reading = MeterReading(kind="meter reading", volume=what.volume, seconds=what.seconds, volume_error=error)
            found.append((entry, reading))
    return found


def zone_flow(what: Written) -> ZoneFlow | None:
    """What an entry says of the water that a zone took, by the meter alone; None of any other entry."""
    if isinstance(what, MeterPair) and what.running not in (NOTHING, OUTLET):
        error = _meter_error(what)
        return ZoneFlow(
            kind="zone flow", zone=what.running, volume=what.volume, seconds=what.seconds, volume_error=error
        )
    return what if isinstance(what, ZoneFlow) else None


def _meter_error(pair: MeterPair) -> float:
    """Standard error of what a meter counted between two looks, as a share."""
    return min(math.hypot(math.sqrt(2) * pair.read_error / pair.volume, METER_SHARE), 1.0)
