"""How often a well pump starts while a zone runs. SI."""

from pydantic import BaseModel, ConfigDict

__all__ = ["LEAST_RUN", "MOST_STARTS", "Cycling"]

LEAST_RUN = 60.0  # [s] that a small well motor should run at each start, to cool (from memory)
MOST_STARTS = 300  # in a day, of a small well motor (from memory)


class Cycling(BaseModel):
    """The pump while one zone runs; a zone that takes what the pump gives at cut-out or more never lets it stop."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    zone: str
    flow: float  # [m³/s] that the zone draws
    at_cut_in: float  # [m³/s] that the pump gives at cut-in
    at_cut_out: float  # [m³/s] that it gives at cut-out
    drawdown: float  # [m³] of the tank between the two
    runs: float | None = None  # [s] of a cycle with the pump on; None when it never stops
    rests: float | None = None  # [s] with the pump off
    night: float  # [s] of watering in a night

    @property
    def pump_flow(self) -> float:
        """Flow [m³/s] that the pump gives while it fills the tank: the mean of both ends."""
        return (self.at_cut_in + self.at_cut_out) / 2

    @property
    def per_hour(self) -> float:
        """Starts in an hour."""
        return 0.0 if self.runs is None or self.rests is None else 3600.0 / (self.runs + self.rests)

    @property
    def per_night(self) -> float:
        """Starts in a night that is all this zone's."""
        return self.per_hour * self.night / 3600.0

    @property
    def drawdown_wanted(self) -> float:
        """Drawdown [m³] with which the pump runs LEAST_RUN at each start."""
        return LEAST_RUN * max(self.pump_flow - self.flow, 0.0)
