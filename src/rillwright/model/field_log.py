"""The field log: what was seen, measured and done in the yard, entry by entry, never erased.

An entry's id is made where it is written, so that one that is sent twice is kept once. A correction is an entry that
names the first one; both stay. Bare numbers are SI; a text carries its own unit, such as '45 psi'.
"""

import uuid
from typing import Annotated, Literal

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field

from rillwright.model.quantities import XY, Depth, Duration, Pressure
from rillwright.model.site import Measurement

__all__ = ["CatchCup", "CatchCups", "Entry", "HeadPressure", "Note", "SupplyTest", "Written"]


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Note(_Frozen):
    """Words alone, perhaps with photos."""

    kind: Literal["note"]


class SupplyTest(_Frozen):
    """A measurement of the supply, as the yard document has them."""

    kind: Literal["supply test"]
    measurement: Measurement


class HeadPressure(_Frozen):
    """A gauge reading at a head while its zone runs."""

    kind: Literal["head pressure"]
    head: str = Field(min_length=1, max_length=60)
    pressure: Pressure  # [Pa]


class CatchCup(_Frozen):
    """Water in one straight-sided cup."""

    at: XY  # [m]
    depth: Annotated[Depth, Field()] | Literal[0]  # [m]


class CatchCups(_Frozen):
    """Depths in cups after a zone ran."""

    kind: Literal["catch cups"]
    zone: str = Field(min_length=1, max_length=60)
    ran: Duration  # [s]
    cups: Annotated[list[CatchCup], Field(min_length=1, max_length=500)]


Written = Annotated[Note | SupplyTest | HeadPressure | CatchCups, Field(discriminator="kind")]


class Entry(_Frozen):
    """One entry."""

    id: uuid.UUID
    made: AwareDatetime  # by the clock of who wrote it
    corrects: uuid.UUID | None = None  # the first entry of what this puts right
    withdraws: bool = False  # of a correction: the first entry no longer counts, and nothing takes its place
    what: Written
    words: str = Field(default="", max_length=4000)
    at: XY | None = None  # [m] where on the plan
    photos: Annotated[list[uuid.UUID], Field(max_length=20)] = []
