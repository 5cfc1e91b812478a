"""The watering programme of a plan: months, clock, water and cost over weather years. SI, immutable, readable again."""

from datetime import date
from typing import Literal

from pydantic import BaseModel, ConfigDict

from rillwright.model.findings import Finding

__all__ = [
    "Allowance",
    "CalmHours",
    "ClockChange",
    "ClockSheet",
    "DayByDay",
    "Method",
    "MonthWater",
    "ProgramSheet",
    "SoilUsed",
    "StationRun",
    "WaterPlan",
    "WeatherUsed",
    "YearWater",
    "ZoneWater",
]

MethodName = Literal["by the multiplier", "multiplier raised", "weather-led raised", "programme", "with foresight"]


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class WeatherUsed(_Frozen):
    """The weather that a programme is made for."""

    source: str
    years: tuple[int, ...]  # in which a season begins
    normals: bool
    latitude: float  # [°]
    altitude: float  # [m]
    method: Literal["Penman-Monteith", "Hargreaves-Samani"]
    estimated: dict[str, int]  # days on which a quantity was estimated
    assumed: tuple[str, ...] = ()


class SoilUsed(_Frozen):
    """What the rooted soil holds."""

    layers: tuple[str, ...]  # from the top
    root_depth: float  # [m]
    available: float  # [m] between field capacity and wilting point
    share: float  # of it that may be used, on the mean day of the peak month
    limit: float  # [m] that share of it
    crop_coefficient: float


class ZoneWater(_Frozen):
    """One zone as the programme sees it."""

    id: str
    station: int
    lawns: tuple[str, ...]
    flow: float  # [m³/s]
    precipitation: float  # [m/s] flow over its area, as in the plan
    lands: float  # [0..1] of the water that falls on its lawns
    net_rate: float  # [m/s] that reaches its ground on the mean: less what misses it and what the air takes
    air_loss: float  # [0..1]
    need: float  # share of the full need, by exposure
    du: float  # of the low quarter
    multiplier: float  # by DU
    exact_multiplier: float  # by the depth grid, so that the ground kept gets the mean
    kept: float  # share of the ground that it keeps
    peak_rate: float  # [m/s] where it falls thickest: nine tenths of its ground get less
    slope: float  # [m/m]
    intake: float  # [m/s]
    longest_run: float | None  # [s] without water standing; None: the soil takes all
    soak: float  # [s] of rest after the longest run


class MonthWater(_Frozen):
    """One month of the season, means over the years."""

    month: int
    reference: float  # [m] ET0
    need: float  # [m] of turf in full sun
    rain: float  # [m]
    effective: float  # [m] of rain that stays in the soil's reach
    nights: str  # which nights: 'every 3 days', 'Mon, Thu'
    planned: float  # nights a month
    run: float  # of them not skipped for rain
    seconds: dict[str, float]  # [s] by zone, of a night
    baseline: dict[str, float]  # [s] by zone, by the multiplier
    water: float  # [m³]
    percent: float  # of the peak month's minutes
    dates: tuple[str, ...]  # in the calendar's year, on which the planned nights end


class StationRun(_Frozen):
    """One station in a program."""

    station: int
    zone: str
    minutes: dict[int, int]  # by month, at each start


class ProgramSheet(_Frozen):
    """One program of the controller."""

    name: str
    starts: tuple[str, ...]  # as 04:10
    stations: tuple[StationRun, ...]
    night: int  # 0, or how many nights after the first group this one runs


class ClockSheet(_Frozen):
    """What is set on the controller."""

    programs: tuple[ProgramSheet, ...]
    status: Literal["optimal", "feasible", "infeasible", "effort used up"]
    surplus: float  # [s] a night of the peak month, from whole minutes
    opens: str  # the hours of a night
    closes: str
    busy: float  # [s] of running in a night of the peak month
    relief: tuple[str, ...] = ()


class CalmHours(_Frozen):
    """Wind at 2 m in the hours of a night, mean of the season's months."""

    time_zone: str | None  # whose clock the hours are of; None: standard time, the weather file's
    by_hour: tuple[float, ...]  # [m/s] of each hour from midnight
    mean: float  # [m/s] in the yard's hours
    calmest_opens: str | None  # the calmest as many hours of a night; None where no other would do
    calmest_ends: str | None
    calmest: float  # [m/s] in them


class ClockChange(_Frozen):
    """A day on which clocks are set anew."""

    day: date
    minutes: int  # forward; back below 0


class YearWater(_Frozen):
    """One season."""

    year: int
    need: float  # [m] of turf in full sun
    rain: float  # [m] effective
    water: dict[MethodName, float]  # [m³]


class Method(_Frozen):
    """One way to set the minutes, over all years."""

    name: MethodName
    water: float  # [m³] a season, mean
    low: float  # [m³] least season
    high: float  # [m³] greatest season
    cost: float | None  # [currency] a season of the mean water, by the yard's tariff; None without one
    over_days: float  # days a season on which the driest ground that is kept lacks water
    lack: float  # [0..1] of its need that the worst spot of all did not get
    proven: str  # how the figures came about


class Allowance(_Frozen):
    """A public landscape water allowance, for comparison."""

    month: int  # of the highest reference evapotranspiration
    reference: float  # [m] in it
    area: float  # [m²] of lawn
    baseline: float  # [m³] reference · area
    allowance: float  # [m³] 70 % of it
    programme: float  # [m³] that the programme uses in that month


class DayByDay(_Frozen):
    """One season day by day, for a chart."""

    year: int
    days: tuple[str, ...]
    need: tuple[float, ...]  # [m]
    rain: tuple[float, ...]  # [m]
    water: tuple[float, ...]  # [m] on the driest ground that is kept
    depletion: tuple[float, ...]  # [m] there
    middle: tuple[float, ...]  # [m] on ground that gets the mean
    limit: tuple[float, ...]  # [m]
    minutes: tuple[float, ...]  # of all stations together


class WaterPlan(_Frozen):
    """A plan's watering programme."""

    format: Literal["rillwright-water"] = "rillwright-water"
    version: Literal[1] = 1
    software: str
    yard: str
    units: Literal["US", "metric"]
    currency: str
    year: int  # that the calendar is for
    weather: WeatherUsed
    soil: SoilUsed
    zones: tuple[ZoneWater, ...]
    months: tuple[MonthWater, ...]  # of the season, in its order
    clock: ClockSheet
    years: tuple[YearWater, ...]
    methods: tuple[Method, ...]
    saved: float  # [m³] a season against the multiplier raised until it keeps the same ground
    hopeless: float  # [0..1] of the lawns that gets too little to be kept by any programme
    allowance: Allowance
    series: DayByDay
    status: str  # how the search for the least water ended
    calm: CalmHours | None = None  # where the weather tells hours
    clock_changes: tuple[ClockChange, ...] = ()  # within the season, where the time zone is known
    findings: tuple[Finding, ...] = ()

    def method(self, name: MethodName) -> Method:
        """One way by its name."""
        return next(method for method in self.methods if method.name == name)
