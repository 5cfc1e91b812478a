"""How a built system is filled without trapping air, and flushed of what fell in while it was built. SI."""

from typing import Literal

from pydantic import BaseModel, ConfigDict

from rillwright.model.site import AreaKind

__all__ = [
    "FILL_VELOCITY",
    "FLUSH_VELOCITY",
    "FLUSH_VOLUMES",
    "LEAST_FLUSH_TIME",
    "LEAST_FLUSH_VELOCITY",
    "AirPocket",
    "Filling",
    "FlushStep",
    "Flushing",
    "Runoff",
    "Suction",
    "WashedRun",
]

FILL_VELOCITY = 0.3  # [m/s] 1 ft/s while a line fills: advice for plastic pipe, from memory
FLUSH_VELOCITY = 0.6  # [m/s] 2 ft/s that carries grit along: common practice, no source
LEAST_FLUSH_VELOCITY = 0.3  # [m/s] 1 ft/s asked of micro-irrigation laterals: ASAE EP405, from memory
FLUSH_VOLUMES = 2.0  # line volumes to let through; common practice, no source
LEAST_FLUSH_TIME = 30.0  # [s] of a step however short the line; judgement, no source

Point = tuple[float, float]


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class AirPocket(_Frozen):
    """Air under a crest of a line from which no way that never falls leads to an opening."""

    line: str  # 'main' or a zone
    pipe: str  # where the crest is
    at: Point  # [m]
    rise: float  # [m] of the crest over the level at which air would get out
    volume: float  # [m³] of pipe over that level: the most that can stay
    falls_in: str  # pipe beyond the crest in which the water must carry the air down
    bore: float  # [m] of it
    slope: float  # [m/m] steepest there
    velocity: float  # [m/s] there while the line runs
    clears: float  # [m/s] that carries an air pocket down that slope

    @property
    def stays(self) -> bool:
        """Whether the water is too slow to carry the air on to a head."""
        return self.velocity < self.clears


class Filling(_Frozen):
    """One line filled for the first time."""

    line: str
    volume: float  # [m³] of all its pipe
    narrowest: str  # pipe of the least bore
    bore: float  # [m] there
    flow: float  # [m³/s] at which no run is faster than FILL_VELOCITY

    @property
    def seconds(self) -> float:
        """Time it takes [s]."""
        return self.volume / self.flow


class Suction(_Frozen):
    """The main when its water is let out at its lowest point with everything over it shut."""

    highest: str  # pipe that holds the highest point
    lowest: str
    fall: float  # [m] between the two
    pressure: float  # [Pa] under the air's, at the highest point


class Runoff(_Frozen):
    """Where water goes from an open end."""

    end: str  # head or valve place
    surface: (
        AreaKind | Literal["off site"] | None
    )  # first met downhill that should stay dry; None: it stays on the lawn
    distance: float  # [m] on the way there, or to where the ground stops falling


class FlushStep(_Frozen):
    """One step of flushing: these ends stand open, all else is shut."""

    line: str  # 'service', 'main' or a zone
    ends: tuple[str, ...]  # heads or the valve place
    flow: float  # [m³/s] out of all of them, cautious supply
    line_volume: float  # [m³] of the pipe on the ways to them
    slowest: str  # pipe on the ways to them
    velocity: float  # [m/s] there

    @property
    def seconds(self) -> float:
        """Time it takes [s]."""
        return max(FLUSH_VOLUMES * self.line_volume / self.flow, LEAST_FLUSH_TIME) if self.flow > 0 else 0.0

    @property
    def volume(self) -> float:
        """Water that runs out of the ends [m³]."""
        return self.flow * self.seconds


class WashedRun(_Frozen):
    """A run of pipe in the step that washes it best."""

    pipe: str
    line: str
    step: int  # counted from 1
    velocity: float  # [m/s]


class Flushing(_Frozen):
    """Filling and flushing of one plan."""

    pockets: tuple[AirPocket, ...]
    fillings: tuple[Filling, ...]  # in order
    suction: Suction | None  # None for a level main
    steps: tuple[FlushStep, ...]  # in order
    runs: tuple[WashedRun, ...]
    fewest: int  # steps that no choice of ends can beat
    runoff: tuple[Runoff, ...]  # of every end that is opened
