"""What lies in the ground as it was built: every buried part with two taped offsets, every pipe with its depth. SI."""

from datetime import date
from uuid import UUID

from pydantic import BaseModel, ConfigDict

__all__ = ["AsBuilt", "BuiltMark", "BuiltPhoto", "BuiltPipe", "Corner", "Offset", "WallOffset"]


Point = tuple[float, float]  # [m]


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Corner(_Frozen):
    """A point that a tape is held to."""

    letter: str
    what: str  # 'house, corner 2'
    at: Point  # [m]


class Offset(_Frozen):
    """A taped distance."""

    corner: str  # its letter
    distance: float  # [m], level


class WallOffset(_Frozen):
    """A place by the wall beside it: along the wall from one corner towards the next, then square off it."""

    start: str  # letters of the corners
    towards: str
    along: float  # [m]
    off: float  # [m]
    error: float  # [m] standard error of the place


class BuiltMark(_Frozen):
    """A part in the ground, with the way to find it again."""

    number: int
    what: str  # 'valve of Z1'
    at: Point  # [m]
    depth: float | None  # [m]; None when it stands on or over the ground, or nobody measured it
    logged: bool  # False: at the plan's place, and nobody has measured it
    offsets: tuple[Offset, ...]  # two; none where no two corners can be taped from
    side: str = ""  # which of the two places where the distances meet: 'outside the building', 'north-east of A'
    error: float | None  # [m] standard error of the place found by the two tapes, with that of what was written down
    depth_error: float | None = None  # [m] standard error; None where nobody measured
    by_wall: WallOffset | None = None  # where that finds it better than the two tapes
    made: date | None
    photos: tuple[int, ...] = ()
    words: str = ""


class BuiltPipe(_Frozen):
    """A run of pipe as it lies."""

    id: str
    line: tuple[Point, ...]  # [m]
    depth: float | None  # [m] to its top; None when nobody measured it
    depth_error: float | None = None  # [m] standard error
    line_error: float | None = None  # [m] standard error of the line; None where it is the plan's
    logged: bool
    made: date | None
    photos: tuple[int, ...] = ()


class BuiltPhoto(_Frozen):
    """A photo in the log, by reference."""

    number: int
    id: UUID
    made: date
    of: str


class AsBuilt(_Frozen):
    """The record of one yard."""

    corners: tuple[Corner, ...]  # that offsets are taped from
    marks: tuple[BuiltMark, ...]
    pipes: tuple[BuiltPipe, ...]
    photos: tuple[BuiltPhoto, ...]
    missing: tuple[str, ...]  # what the log does not hold yet
