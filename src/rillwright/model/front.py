"""The choice between few heads and even water, as the plan keeps it."""

from pydantic import BaseModel, ConfigDict

from rillwright.model.site import Aim, HeadClass

__all__ = ["FAULT_MONEY", "HEAD_MONEY", "WATER_MONEY", "ZONE_MONEY", "FrontPoint"]

FAULT_MONEY = 500.0  # [currency] of heads and zones that being rid of one fault is worth; judgement, no source
HEAD_MONEY = 35.0  # [currency] one head with nozzle, swing joint and its share of lateral trench; judgement, no source
WATER_MONEY = 10 * 0.4 * 2.5  # [currency/m²] ten seasons of 0.4 m at 2.5 for a cubic metre; judgement, no source
ZONE_MONEY = 180.0  # [currency] one more valve, box share, wire and lateral run; judgement, no source


class FrontPoint(BaseModel):
    """One layout of the whole yard that no other beats in heads, cost and evenness together."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    aim: Aim | None  # that picks it; None for one between
    chosen: bool  # the one this plan builds
    heads: int
    zones: int  # estimated from flows alone
    cost: float  # [currency] estimated: HEAD_MONEY for each head, ZONE_MONEY for each zone
    du_worst: float  # [0..1] low quarter, of the worst lawn
    du_mean: float  # [0..1] low quarter, by area
    scheduling: float  # [-] of the worst lawn
    extra_water: float  # [-] more than perfectly even water that all falls on the lawns
    classes: tuple[tuple[str, HeadClass], ...]  # lawn and head class
