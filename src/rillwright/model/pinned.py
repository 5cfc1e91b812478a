"""Which head of a plan a pin of the yard holds."""

import math
from collections.abc import Sequence

from rillwright.model.pin_rules import SAME_PLACE
from rillwright.model.plan import Head
from rillwright.model.site import PinnedHead

__all__ = ["held_head"]


def held_head(pin: PinnedHead, heads: Sequence[Head]) -> int | None:
    """Index of the head that a pin holds: the nearest, of the pin's class; None when none stands there.

    It counts within half of the least distance of two pins, so that two of them never hold one head.
    """
    near = min(range(len(heads)), key=lambda k: math.dist(heads[k].at, pin.at), default=None)
    if near is None or math.dist(heads[near].at, pin.at) >= SAME_PLACE / 2 or heads[near].head_class != pin.head_class:
        return None
    return near
