"""What a long search looks at between its counted steps: whether to stop, and whom to tell how far it is."""

import math
import time
from collections.abc import Callable
from dataclasses import dataclass

__all__ = ["Watch", "nobody"]


def _never() -> bool:
    return False


def nobody(*_told: object) -> None:
    """Tell nobody how far it is."""


@dataclass(frozen=True, slots=True)
class Watch:
    """A search that is asked to stop ends at its next step with the best it has.

    With the defaults only the counted budgets end a search, so that the same input gives the same answer anywhere.
    """

    stopped: Callable[[], bool] = _never
    tell: Callable[[str, float], None] = nobody  # the stage in words and the share of it that is done, 0 to 1
    deadline: float = math.inf  # [s] by time.monotonic; a guard that should not bind

    def over(self) -> bool:
        """Say whether the search should end now."""
        return self.stopped() or time.monotonic() > self.deadline

    def seconds_left(self) -> float:
        """Time [s] until the guard; none once asked to stop."""
        return 0.0 if self.stopped() else max(0.0, self.deadline - time.monotonic())
