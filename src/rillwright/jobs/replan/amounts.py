"""Pieces, metres or hours by name: what is not named is none."""

from collections.abc import Mapping

__all__ = ["Amounts"]


class Amounts(dict[str, float]):
    """Amounts that add up.

    >>> found = Amounts({"elbow": 2.0})
    >>> found.add({"elbow": -1.0, "tee": 3.0})
    >>> found["elbow"], found["tee"], found["pipe"]
    (1.0, 3.0, 0.0)
    """

    def __missing__(self, key: str) -> float:
        """None of it."""
        return 0.0

    def add(self, other: Mapping[str, float], times: float = 1.0) -> None:
        """Add other amounts, each so many times."""
        for key, amount in other.items():
            self[key] += times * amount
