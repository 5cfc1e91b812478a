"""What a plan says of harm from water that stops, stands or drains. SI."""

from typing import Literal

from pydantic import BaseModel, ConfigDict

__all__ = ["Surge"]


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Surge(_Frozen):
    """The highest pressure in the pipe of a zone that has the least room for it."""

    zone: str
    role: Literal["main", "lateral"]
    pipe: str  # the one with the least room
    standing: float  # [Pa] at its lowest point: with nothing running in the main, while running in a lateral
    velocity: float  # [m/s] of the steepest wave
    wave_speed: float  # [m/s] of the steepest wave
    column: float  # [m²/s] velocity times length, summed back to the street
    wave_time: float  # [s] in which a wave runs to the street and back
    closing_time: float  # [s] of the zone valve; 0 where the stop is sudden
    sharp: float  # [Pa] rise of a sudden stop
    slow: float | None  # [Pa] rise of a stop over the closing time; None where the stop is sudden
    rating: float  # [Pa] of the pipe with water this warm
    allowed: float  # [Pa] that pressure and surge together may reach
    source: str  # of what the material bears

    @property
    def rise(self) -> float:
        """Pressure rise [Pa]: the lesser of the two."""
        return self.sharp if self.slow is None else min(self.sharp, self.slow)

    @property
    def peak(self) -> float:
        """Highest pressure [Pa]."""
        return self.standing + self.rise
