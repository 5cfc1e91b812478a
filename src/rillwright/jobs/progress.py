"""How a long job tells what it is doing."""

from typing import Protocol

__all__ = ["Progress", "silent"]


class Progress(Protocol):
    """Called as work goes on: the stage in words and the share of it that is done, 0 to 1."""

    def __call__(self, stage: str, share: float) -> None:
        """Report."""


def silent(stage: str, share: float) -> None:
    """Report nothing."""
