"""What the take-off reads of a zone."""

from collections.abc import Sequence
from typing import Protocol

from rillwright.model.fittings import nominal
from rillwright.model.plan import Pipe

__all__ = ["FedZone", "size_at"]


class FedZone(Protocol):
    """What the take-off reads of a zone: a plan's zone has it, and so has a draft's."""

    @property
    def id(self) -> str:
        """Its name."""

    @property
    def heads(self) -> tuple[str, ...]:
        """Ids of its heads."""

    @property
    def place(self) -> str:
        """Id of its valve place."""

    @property
    def flow(self) -> float:
        """What it draws [m³/s]."""


def size_at(pipes: Sequence[Pipe], node: str, zone: str | None) -> Pipe | None:
    """Find the largest pipe of the main (zone None) or of a zone at a node."""
    here = [pipe for pipe in pipes if pipe.zone == zone and node in (pipe.start, pipe.end)]
    return max(here, key=lambda pipe: nominal(pipe.size), default=None)
