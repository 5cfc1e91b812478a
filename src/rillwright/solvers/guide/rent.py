"""The least rent for a run of days."""

import math

from rillwright.model.labour import Rent

__all__ = ["WEEK", "least_rent"]

WEEK = 7  # days


def least_rent(days: int, rent: Rent) -> float:
    """Cheapest mix of day and week rents that covers so many days in a row [currency].

    >>> least_rent(3, Rent(day=200, week=650, source="invented")), least_rent(4, Rent(200, 650, "invented"))
    (600.0, 650.0)
    """
    weeks = range(math.ceil(days / WEEK) + 1)
    return float(min(n * rent.week + max(days - n * WEEK, 0) * rent.day for n in weeks))
