"""What is known of a lawn's water beyond its evenness in still air."""

from pydantic import BaseModel, ConfigDict

__all__ = ["Spill", "WindyWater"]


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class WindyWater(_Frozen):
    """A lawn's water in the wind it is designed for; where the direction is not known, in the worst of eight."""

    speed: float  # [m/s] at 2 m over the ground
    blows_from: float  # [°] clockwise from north
    cu: float  # [0..1] Christiansen
    du: float  # [0..1] low quarter
    on_lawn: float  # [m³/s]


class Spill(_Frozen):
    """Water of one head that misses its lawn, in still air [m³/s]."""

    head: str
    on_paving: float
    off_site: float
    keep_dry: float  # of on_paving, on paving that is to stay dry
    share_off_site: float  # [0..1] of the head's water
