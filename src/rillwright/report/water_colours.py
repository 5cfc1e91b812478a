"""Colours of a depth of water, from straw over grass to pond; the page reads the same table."""

from functools import cache

import numpy as np
from numpy.typing import NDArray

from rillwright.data.tables import read_table

__all__ = ["DRIEST", "WETTEST", "water_colours"]

Floats = NDArray[np.float64]


@cache
def _table() -> tuple[Floats, Floats]:
    """Depths of the table's rows, and their colours for white paper, (rows, 3), each 0 to 1."""
    rows = read_table("water_colours")
    depths = np.array([row.number("depth_of_mean", low=0) for row in rows])
    colours = [[int(row.text("light")[i : i + 2], 16) / 255 for i in (1, 3, 5)] for row in rows]
    return depths, np.array(colours)


DRIEST, WETTEST = (float(depth) for depth in _table()[0][[0, -1]])  # ends of the scale, of the mean


def water_colours(depth: Floats) -> Floats:
    """Colours of depths relative to a lawn's mean: an array with a last axis of red, green, blue and opacity, 0 to 1.

    What lies beyond an end of the scale has the colour of that end.
    """
    depths, colours = _table()
    channels = [np.interp(depth, depths, colours[:, i]) for i in range(3)]
    return np.stack([*channels, np.ones_like(depth)], axis=-1)
