"""The choice between few heads and even water, as the plan keeps it."""

from pydantic import BaseModel, ConfigDict
from shapely.geometry import LineString, Point

from rillwright.model.site import Aim, ExistingHead, HeadClass, Watering, Yard

__all__ = [
    "BESIDE",
    "FAULT_MONEY",
    "HEAD_MONEY",
    "KEPT_MONEY",
    "PEAK_WEEKS",
    "POOR_DU",
    "POOR_MONEY",
    "WATER_MONEY",
    "ZONE_MONEY",
    "FrontPoint",
    "kept_money",
    "season_depth",
]

BESIDE = 0.5  # [m] a head this near to a lateral in the ground is likely fed by it

FAULT_MONEY = 500.0  # [currency] of heads and zones that being rid of one fault is worth; judgement, no source
HEAD_MONEY = 35.0  # [currency] one head with nozzle, swing joint and its share of lateral trench; judgement, no source
KEPT_MONEY = 15.0  # [currency] a lateral to a head in the ground that has none; judgement, no source
ZONE_MONEY = 180.0  # [currency] one more valve, box share, wire and lateral run; judgement, no source

PEAK_WEEKS = 12.0  # a season's watering, in weeks of the peak's need: 0.4 m at 33 mm a week; judgement, no source
SEASONS = (1 - 1.03**-20) / 0.03  # 14.9: twenty years, the life of a system, at 3 % a year over inflation; judgement
WATER_MONEY = SEASONS * 2.5  # [currency/m³] of water a season, at 2.5 for a cubic metre; judgement, no source

POOR_DU = 0.70  # a lawn under this is poor: common practice calls 0.65 poor for sprays and 0.70 for rotors, no source
POOR_MONEY = 200.0  # [currency] that lifting a lawn over it is worth besides water: seed, hose, looks; judgement


def season_depth(yard: Yard) -> float:
    """Depth of water that the turf takes in a season [m]."""
    return PEAK_WEEKS * (yard.watering or Watering()).peak_need


def kept_money(head: ExistingHead, yard: Yard) -> float:
    """What keeping a head in the ground costs [currency]: nothing where a lateral in the ground feeds it."""
    laterals = [LineString(pipe.path) for pipe in yard.existing.pipes if pipe.role == "lateral"]
    return 0.0 if any(line.distance(Point(head.at)) <= BESIDE for line in laterals) else KEPT_MONEY


class FrontPoint(BaseModel):
    """One layout of the whole yard that no other beats in heads, cost and evenness together."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    aim: Aim | None  # that picks it; None for one between
    chosen: bool  # the one this plan builds
    heads: int
    kept: int = 0  # of the heads those in the ground already
    standing: float = 0.0  # [currency] of heads in the ground: laterals to those kept, moving those given up
    zones: int  # estimated from flows alone
    cost: float  # [currency] estimated: HEAD_MONEY for each new head, ZONE_MONEY for each zone, and `standing`
    du_worst: float  # [0..1] low quarter, of the worst lawn
    du_mean: float  # [0..1] low quarter, by area
    scheduling: float  # [-] of the worst lawn
    extra_water: float  # [-] more than perfectly even water that all falls on the lawns
    season_water: float  # [m³] that all lawns take in a season, so much more included
    classes: tuple[tuple[str, HeadClass], ...]  # lawn and head class
