"""Work in the field log: what was buried, fitted, bought, paid, dug, mended and ticked off. Bare numbers are SI."""

from datetime import date
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, StrictBool, model_validator

from rillwright.model.money import ChargeKind
from rillwright.model.quantities import XY, Length, Money, Share, quantity

__all__ = [
    "BoughtPart",
    "FittedKind",
    "MoneyPaid",
    "PartFitted",
    "PartsBought",
    "PartsReturned",
    "PipeBuried",
    "Repair",
    "RepairKind",
    "Ticked",
    "TrenchWork",
    "WaterUsed",
    "WinterWork",
]

Name = Annotated[str, Field(min_length=1, max_length=60)]
FittedKind = Literal[
    "valve", "splice", "valve box", "tee", "cap", "drain", "shut-off", "backflow device", "sleeve end", "other"
]
RepairKind = Literal[
    "nozzle replaced",
    "head replaced",
    "screen cleaned",
    "valve mended",
    "pipe mended",
    "backflow device mended",
    "wiring mended",
    "other",
]
SeasonVolume = Annotated[float, *quantity("season volume", low=0, high=1e6, above=True)]
BuriedDepth = Annotated[float, *quantity("depth", low=0, high=5.0)]
DEPTH_ERROR = 0.02  # [m] standard error of a rule held from a straight edge on the turf; judgement
PLACE_ERROR = 0.03  # [m] of a place by two tapes, as of a spot height; judgement


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class PipeBuried(_Frozen):
    """A run of pipe as it lies, written down before it is covered."""

    kind: Literal["pipe buried"]
    pipe: Name  # in the plan
    line: Annotated[list[XY], Field(min_length=2, max_length=500)] | None = None  # [m] as built; None: as planned
    depth: BuriedDepth  # [m] from the ground to the top of the pipe
    depth_error: BuriedDepth = DEPTH_ERROR  # [m] standard error
    line_error: Length = PLACE_ERROR  # [m] standard error of the line's points; counts where there is a line


class PartFitted(_Frozen):
    """A part where it really is."""

    kind: Literal["part fitted"]
    part: FittedKind
    name: Name  # of the zone, valve place, pipe or head that it belongs to
    place: XY  # [m]
    depth: BuriedDepth | None = None  # [m] under the ground; None when it stands on or over it
    place_error: Length = PLACE_ERROR  # [m] standard error
    depth_error: BuriedDepth = DEPTH_ERROR  # [m] standard error


class BoughtPart(_Frozen):
    """One line of a receipt: a part as the plan's parts list calls it, in pieces or by length."""

    part: str = Field(min_length=1, max_length=120)
    pieces: Annotated[int, Field(ge=1, le=100_000, strict=True)] | None = None
    length: Annotated[Length, Field(gt=0)] | None = None  # [m]
    price: Money  # [currency] of one piece or of one metre

    @model_validator(mode="after")
    def _one_measure(self) -> "BoughtPart":
        if (self.pieces is None) == (self.length is None):
            raise ValueError("write either 'pieces' or 'length'")
        return self

    @property
    def amount(self) -> float:
        """Pieces, or metres."""
        return self.length if self.length is not None else float(self.pieces or 0)


class PartsBought(_Frozen):
    """Parts that were paid for."""

    kind: Literal["parts bought"]
    parts: Annotated[list[BoughtPart], Field(max_length=500)] = []
    whole_list: StrictBool = False  # all that the plan's parts list asks for, at its prices
    given_back: Share = 0.0  # of the price, for what is taken back unused
    receipt: str = Field(default="", max_length=200)

    @model_validator(mode="after")
    def _something(self) -> "PartsBought":
        if not self.parts and not self.whole_list:
            raise ValueError("write the 'parts', or 'whole_list': true for all of the plan's list")
        return self


class PartsReturned(_Frozen):
    """Parts taken back to the shop, and what came back for one of each."""

    kind: Literal["parts returned"]
    parts: Annotated[list[BoughtPart], Field(min_length=1, max_length=500)]
    receipt: str = Field(default="", max_length=200)


class MoneyPaid(_Frozen):
    """Money paid for what is no part: a permit, a rent, a delivery."""

    kind: Literal["money paid"]
    of: ChargeKind
    amount: Money  # [currency]
    back: StrictBool = False  # it came back instead
    settled: StrictBool = True  # nothing more is to be paid of it
    receipt: str = Field(default="", max_length=200)


class TrenchWork(_Frozen):
    """Trenches of the plan dug open, or closed again over the pipes that the plan lays in them."""

    kind: Literal["trench"]
    trenches: Annotated[list[Name], Field(min_length=1, max_length=2000)]  # in the plan
    state: Literal["open", "closed"]


class Repair(_Frozen):
    """Something mended, cleaned or replaced in the years after the build."""

    kind: Literal["repair"]
    done: RepairKind
    of: Name  # head, zone, pipe or valve place
    cost: Money = 0.0  # [currency]


class WaterUsed(_Frozen):
    """Water that the sprinklers used between two readings of a meter."""

    kind: Literal["water used"]
    volume: SeasonVolume  # [m³]
    since: date
    until: date
    volume_error: Share = 0.02  # standard error of the volume, as a share: two looks at a meter

    @model_validator(mode="after")
    def _forwards(self) -> "WaterUsed":
        if self.since >= self.until:
            raise ValueError("'until' must be a later day than 'since'")
        return self


class WinterWork(_Frozen):
    """The system emptied for the winter, or filled in spring."""

    kind: Literal["winter work"]
    done: Literal["drained", "blown out", "started up"]
    zone: Name | None = None  # None: all of it


class Ticked(_Frozen):
    """A word on whether an item of the build is done."""

    kind: Literal["tick"]
    item: Annotated[str, Field(min_length=1, max_length=120)]  # its key in the steps
    done: StrictBool = True
