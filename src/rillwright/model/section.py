"""A long section along pipes that carry water together. SI."""

from dataclasses import dataclass
from typing import Literal

__all__ = ["Section", "SectionMark", "SectionPoint"]


@dataclass(frozen=True, slots=True)
class SectionPoint:
    """One point along the way; a device takes its pressure between two points at one distance."""

    distance: float  # [m] along the pipe from the entry
    at: tuple[float, float]  # [m]
    ground: float  # [m] height
    pipe: float  # [m] height of the pipe, or of the nozzle at the end
    static: float  # [Pa] gauge in the pipe with nothing running: the supply's median static pressure, less height
    working: float  # [Pa] gauge in the pipe with the zone running on the expected supply


@dataclass(frozen=True, slots=True)
class SectionMark:
    """What stands at one place along the way."""

    distance: float  # [m]
    label: str  # a pipe, device, valve place or head
    kind: Literal["pipe", "device", "riser", "place", "head"]
    loss: float  # [Pa] that it takes, height aside; less than 0 where the way runs against the water


@dataclass(frozen=True, slots=True)
class Section:
    """The section along a way while one zone runs."""

    start: str  # the entry, or a node
    end: str  # head, valve place or junction
    zone: str
    weight: float  # [Pa/m] of the water, to turn pressure into head
    points: tuple[SectionPoint, ...]
    marks: tuple[SectionMark, ...]
