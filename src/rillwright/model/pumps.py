"""Pumps as the yard document states them."""

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from rillwright.model.quantities import Flow, Height, Pressure, Volume

__all__ = ["BoosterPump", "PumpPoint", "Well"]


class _Document(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class PumpPoint(_Document):
    """One point of a pump's curve."""

    flow: Flow  # [m³/s]
    pressure: Pressure  # [Pa] that the pump adds at that flow


class BoosterPump(_Document):
    """A booster pump in line after the water entry, by points of its maker's curve."""

    curve: Annotated[list[PumpPoint], Field(min_length=2, max_length=20)]


class PressureTank(_Document):
    """A pressure tank by its size."""

    volume: Volume  # [m³] of the whole tank
    precharge: Pressure  # [Pa] of air in it while it holds no water


class Well(_Document):
    """A well pump with its pressure switch and tank, in place of a street."""

    curve: Annotated[list[PumpPoint], Field(min_length=2, max_length=20)]
    cut_in: Pressure  # [Pa] at the tank, where the switch starts the pump
    cut_out: Pressure  # [Pa] where it stops it
    drawdown: Volume | None = None  # [m³] that the tank gives from cut-out to cut-in, as stated on it
    tank: PressureTank | None = None  # when the drawdown is not known
    water_level: Height | None = None  # [m] of the water in the well while it is pumped, when the curve holds there
