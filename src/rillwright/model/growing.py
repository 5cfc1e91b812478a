"""Soil, turf, usual weather, and what local rules and the controller allow, as the yard document states them."""

from typing import Annotated, Literal, Self
from zoneinfo import ZoneInfo

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, StrictBool, model_validator

from rillwright.model.quantities import (
    XY,
    AirTemperature,
    Depth,
    Height,
    Hours,
    Length,
    Load,
    Minutes,
    Rain,
    Share,
    Speed,
)

__all__ = [
    "TEXTURES",
    "WEEKDAYS",
    "Climate",
    "ClimateMonth",
    "Controller",
    "Soil",
    "SoilLayer",
    "Span",
    "Texture",
    "Turf",
    "TurfGroup",
    "Watering",
    "Weekday",
]

Texture = Literal["sand", "sandy loam", "loam", "silt loam", "clay loam", "clay"]
TurfGroup = Literal["cool season", "warm season"]
Weekday = Literal["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]

TEXTURES: tuple[Texture, ...] = ("sand", "sandy loam", "loam", "silt loam", "clay loam", "clay")
WEEKDAYS: tuple[Weekday, ...] = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")

Clock = Annotated[str, Field(pattern=r"^([01]\d|2[0-3]):[0-5]\d$")]  # as 05:30


def _known_zone(name: str) -> str:
    try:
        ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        raise ValueError("no such time zone: write its name in the IANA database, such as America/Denver") from None
    return name


TimeZone = Annotated[str, Field(max_length=60), AfterValidator(_known_zone)]


class _Document(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class _Holding(_Document):
    """What a soil holds, by texture or by own values of a laboratory."""

    texture: Texture
    field_capacity: Share | None = None  # of the volume; both or neither, else those of the texture
    wilting_point: Share | None = None

    @model_validator(mode="after")
    def _both(self) -> Self:
        held, wilts = self.field_capacity, self.wilting_point
        if (held is None) != (wilts is None) or (held is not None and wilts is not None and held <= wilts):
            raise ValueError("give both field_capacity and wilting_point, the first above the second, or neither")
        return self


class SoilLayer(_Holding):
    """A layer of soil, by texture or by own values of a laboratory."""

    thickness: Length  # [m]


class Soil(_Holding):
    """Soil: for the rate at which water may be put on, and for what it holds."""

    texture: Texture = "loam"
    over_it: Annotated[list[SoilLayer], Field(max_length=6)] = []  # such as a sand cap, from the top down
    capillary_rise: Rain = 0.0  # [m] a day from ground water near below; usually none


class Turf(_Document):
    """The grass of all lawns."""

    group: TurfGroup = "cool season"
    root_depth: Length = 0.20  # [m] of most roots of mown turf: 0.10 to 0.30, common practice, no source
    mowing_height: Length = 0.075  # [m]


class Span(_Document):
    """A time of day, over midnight where it ends before it begins."""

    begins: Clock
    ends: Clock


class Watering(_Document):
    """When water may run, and how much turf uses up in a week of the peak of the season."""

    hours: Hours = 6.0 * 3600  # [s] of a night
    nights: Annotated[int, Field(ge=1, le=7, strict=True)] = 7  # of a week
    ends: Clock = "06:00"  # the hours of a night end then: before dawn, when wind and loss are least
    time_zone: TimeZone | None = None  # of the controller's clock; None: nobody has said, standard time is taken
    forbidden: Annotated[list[Span], Field(max_length=6)] = []  # within them: by rule, or because the house draws
    dates: Literal["any", "odd", "even"] = "any"  # on which the rule allows water; nights keep to them
    weekdays: Annotated[list[Weekday], Field(min_length=1, max_length=7)] = list(WEEKDAYS)  # likewise
    mown: Annotated[list[Weekday], Field(max_length=6)] = []  # days of mowing: no night ends then, the ground is dry
    share: Annotated[float, Field(gt=0, le=1, strict=True)] = 1.0  # of the need that a rule in drought allows
    kept: Annotated[float, Field(ge=0.5, le=1, strict=True)] = 0.95  # of the ground that is never to lack water
    rain_skip: Rain = 0.006  # [m] of rain on the day before that makes the rain switch skip a night; 0: no switch
    peak_need: Depth = 0.033  # [m] a week: cool-season turf in a dry summer 25 to 38 mm, from memory
    peak_need_error: Share = 0.15  # standard error as a share

    @model_validator(mode="after")
    def _one_date(self) -> Self:
        if self.ends == "00:00" and (self.dates != "any" or len(self.weekdays) < 7):
            raise ValueError("a night that ends at 00:00 lies on the date before: with dates or weekdays write 23:59")
        if not self.wet_days:
            raise ValueError("every day on which water may run is one of mowing: mow on another, or allow another")
        return self

    @property
    def wet_days(self) -> tuple[Weekday, ...]:
        """Weekdays on which a night may end: those that the rule allows, less those of mowing."""
        return tuple(name for name in WEEKDAYS if name in self.weekdays and name not in self.mown)


class Controller(_Document):
    """The controller: how many valves it can run, the current it has for them, and what its clock can hold."""

    stations: Annotated[int, Field(ge=1, le=5000, strict=True)]
    at: XY | None = None
    transformer: Load | None = None  # [VA] that its transformer may give, as stated on it
    valves_at_once: Annotated[int, Field(ge=1, le=4, strict=True)] = 1  # that may be open together
    surge_ground: StrictBool = False  # a ground rod and arrester there, where local code asks for them
    programs: Annotated[int, Field(ge=1, le=12, strict=True)] = 3  # common practice, no source
    starts: Annotated[int, Field(ge=1, le=24, strict=True)] = 4  # of each program
    longest_run: Minutes = 240.0 * 60  # [s] of a station at a start


class ClimateMonth(_Document):
    """Usual weather of one month."""

    tmax: AirTemperature  # [K] mean of the days' warmest
    tmin: AirTemperature  # [K] mean of their coldest
    rain: Rain  # [m] in the month
    rain_days: Annotated[float, Field(ge=0, le=31)] | None = None
    humidity: Share | None = None  # mean
    wind: Speed | None = None  # [m/s] at 2 m
    sunshine: Hours | None = None  # [s] a day


class Climate(_Document):
    """Usual weather, from the tables of a station near by."""

    months: Annotated[list[ClimateMonth], Field(min_length=12, max_length=12)]  # January first
    altitude: Height = 100.0  # [m] over the sea
    source: str = Field(default="", max_length=200)
