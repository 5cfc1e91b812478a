"""Parts by the place where they are used, and how pipe is cut. SI."""

from typing import Literal

from pydantic import BaseModel, ConfigDict

__all__ = [
    "AFTER_VALVES",
    "AT_DEVICES",
    "BOX",
    "IN_MANIFOLD",
    "MAIN_IN",
    "MAIN_ON",
    "OVER_VALVES",
    "CutPiece",
    "PipeCutting",
    "PlacedPart",
    "StockCut",
]

MAIN_IN = "where the main comes in at the manifold"
MAIN_ON = "where the main goes on from the manifold"
AFTER_VALVES = "after valves"
IN_MANIFOLD = "in the manifold of the valve place"
AT_DEVICES = "at risers and backflow devices"
OVER_VALVES = "at valve places, the smallest that holds what lies there"
BOX = "valve box "  # before the name of a cover


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class PlacedPart(_Frozen):
    """Pieces of one part at one place."""

    part: str
    where: str  # node, head, zone, run or valve place of the plan, or 'water entry'
    why: str
    number: int


class CutPiece(_Frozen):
    """One piece of pipe."""

    length: float  # [m] with what is hidden in its fittings
    where: str  # runs of the plan that it is, or the place that it is for


class StockCut(_Frozen):
    """One stick or coil, cut from one end in this order."""

    form: Literal["stick", "coil"]
    length: float  # [m]
    pieces: tuple[CutPiece, ...]
    left: float  # [m] over


class PipeCutting(_Frozen):
    """How pipe of one kind is cut."""

    part: str
    cuts: tuple[StockCut, ...]
    kerf: float  # [m] lost at each cut
    bound: float  # [m] that no cutting plan buys less than
    status: Literal["optimal", "feasible"]

    @property
    def bought(self) -> float:
        """Length bought [m]."""
        return sum(cut.length for cut in self.cuts)

    @property
    def laid(self) -> float:
        """Length of all pieces [m]."""
        return sum(piece.length for cut in self.cuts for piece in cut.pieces)
