"""Compiled loops over faces, parcels and cells; `shadow` and `depth` say what they do."""

import math
from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

__all__ = [
    "CROSSINGS",
    "DIRECTIONS",
    "PAST_THE_FACE",
    "Flight",
    "cell_span",
    "cells_at",
    "cross_outline",
    "fill",
    "first_hits",
    "lay",
    "spread",
    "throw",
]

Floats = NDArray[np.float64]
Codes = NDArray[np.int8]

DIRECTIONS = 720
CROSSINGS = 6  # of one outline along one direction, that are kept
PAST_THE_FACE = 0.01  # [m] a stopped parcel lands this deep in what stopped it
_PER_RADIAN = DIRECTIONS / math.tau


@njit(cache=True)
def _span(ax: float, ay: float, bx: float, by: float) -> tuple[int, int]:
    """First direction and number of directions in which a face may be met."""
    first, last = math.atan2(ay, ax), math.atan2(by, bx)
    turn = last - first
    if turn > math.pi:
        turn -= math.tau
    elif turn < -math.pi:
        turn += math.tau
    low = first if turn >= 0 else first + turn
    return math.floor(low * _PER_RADIAN) - 1, int(abs(turn) * _PER_RADIAN) + 4


@njit(cache=True)
def _gap(ax: float, ay: float, sx: float, sy: float) -> float:
    """Distance from the origin to a face that begins at a and runs along s."""
    share = -(ax * sx + ay * sy) / max(sx * sx + sy * sy, 1e-18)
    share = min(max(share, 0.0), 1.0)
    return math.hypot(ax + share * sx, ay + share * sy)


@njit(cache=True)
def first_hits(x: float, y: float, faces: Floats, reach: float, distance: Floats, kind: Codes, own: int) -> None:
    """Shorten `distance` (720,) to the first face in each direction and write `own` in its `kind` there, in place."""
    for f in range(len(faces)):
        ax, ay = faces[f, 0] - x, faces[f, 1] - y
        sx, sy = faces[f, 2] - faces[f, 0], faces[f, 3] - faces[f, 1]
        if _gap(ax, ay, sx, sy) > reach:
            continue
        first, count = _span(ax, ay, ax + sx, ay + sy)
        for k in range(first, first + count):
            angle = k / _PER_RADIAN
            rx, ry = math.cos(angle), math.sin(angle)
            cross = rx * sy - ry * sx
            if cross == 0.0:
                continue
            along, far = (ax * ry - ay * rx) / cross, (ax * sy - ay * sx) / cross
            if far > 0.0 and 0.0 <= along <= 1.0 and far < distance[k % DIRECTIONS]:
                distance[k % DIRECTIONS], kind[k % DIRECTIONS] = far, own


@njit(cache=True)
def cross_outline(x: float, y: float, faces: Floats, reach: float, crossed: Floats) -> None:
    """Fill `crossed` (720, CROSSINGS) with the distances at which each direction crosses an outline, least first."""
    for f in range(len(faces)):
        ax, ay = faces[f, 0] - x, faces[f, 1] - y
        sx, sy = faces[f, 2] - faces[f, 0], faces[f, 3] - faces[f, 1]
        if _gap(ax, ay, sx, sy) > reach:
            continue
        first, count = _span(ax, ay, ax + sx, ay + sy)
        for k in range(first, first + count):
            angle = k / _PER_RADIAN
            rx, ry = math.cos(angle), math.sin(angle)
            cross = rx * sy - ry * sx
            if cross == 0.0:
                continue
            along, far = (ax * ry - ay * rx) / cross, (ax * sy - ay * sx) / cross
            row = crossed[k % DIRECTIONS]
            if far <= 0.0 or along < 0.0 or along >= 1.0 or far >= row[-1]:
                continue
            place = CROSSINGS - 1
            while place > 0 and row[place - 1] > far:
                row[place] = row[place - 1]
                place -= 1
            row[place] = far


@njit(cache=True)
def _between(table: Floats, share: float, along: float) -> float:
    """Value between the nodes of a table over (0..1, 0..1)."""
    u, v = min(share, 1.0) * (table.shape[0] - 1), min(along, 1.0) * (table.shape[1] - 1)
    i, j = min(int(u), table.shape[0] - 2), min(int(v), table.shape[1] - 2)
    u -= i
    v -= j
    low = table[i, j] * (1 - v) + table[i, j + 1] * v
    high = table[i + 1, j] * (1 - v) + table[i + 1, j + 1] * v
    return float(low * (1 - u) + high * u)


class Flight(NamedTuple):
    """Parcels of water as they leave a head, (n,) each, and what they may meet on their way."""

    distance: Floats  # [m]
    direction: Floats  # [rad]
    cosine: Floats
    sine: Floats
    at: tuple[float, float]  # [m] of the head
    turn: float  # [rad] of the pattern
    reach: float  # [m] of the farthest
    hit: Floats  # (720,) [m] to the first wall or trunk in each direction
    kind: Codes  # (720,) of that
    low: Floats  # (p, 720, crossings) [m] to where the outline of each planting is crossed
    low_height: Floats  # (p,) [m]
    low_kind: int  # of plants
    path: Floats  # as path_table has it
    drift: Floats  # as drift_table has it


@njit(cache=True)
def throw(flight: Flight, x: Floats, y: Floats, stopped: Codes) -> None:
    """Say where each parcel lands [m] and what stopped it, in place."""
    distance, direction, cosine, sine, at, turn, reach, hit, kind, low, low_height, low_kind, path, drift = flight
    turn_cosine, turn_sine = math.cos(turn), math.sin(turn)
    shares, ways = drift.shape[0] - 1, drift.shape[1]
    for i in range(len(distance)):
        far, angle, stop = distance[i], direction[i] + turn, 0
        k = math.floor(angle * _PER_RADIAN + 0.5) % DIRECTIONS
        share = far / reach
        if hit[k] + PAST_THE_FACE < far:
            far, stop = hit[k] + PAST_THE_FACE, kind[k]
        for b in range(len(low_height)):
            for c in range(0, CROSSINGS, 2):
                enter, leave = low[b, k, c], low[b, k, c + 1]
                if enter >= far:
                    break
                if _between(path, share, enter / reach) < low_height[b]:
                    far, stop = enter + PAST_THE_FACE, low_kind
                elif leave < far and _between(path, share, leave / reach) < low_height[b]:
                    far, stop = leave - PAST_THE_FACE, low_kind
        along_x = cosine[i] * turn_cosine - sine[i] * turn_sine
        along_y = sine[i] * turn_cosine + cosine[i] * turn_sine
        x[i], y[i], stopped[i] = at[0] + far * along_x, at[1] + far * along_y, stop
        if stop == 0 and shares > 0:
            turns = angle / math.tau
            u, v = min(share, 1.0) * shares, (turns - math.floor(turns)) * ways
            r, w = min(int(u), shares - 1), int(v)
            u -= r
            v -= w
            w = w if w < ways else 0
            after = w + 1 if w + 1 < ways else 0
            for axis in range(2):
                near = drift[r, w, axis] * (1 - v) + drift[r, after, axis] * v
                outer = drift[r + 1, w, axis] * (1 - v) + drift[r + 1, after, axis] * v
                moved = near * (1 - u) + outer * u
                if axis == 0:
                    x[i] += moved
                else:
                    y[i] += moved


@njit(cache=True)
def cell_span(least: float, most: float, start: float, cell: float, count: int) -> tuple[int, int]:
    """First cell and the one after the last that water from `least` to `most` [m] may wet, of `count` in a row."""
    first, after = math.floor((least - start) / cell) - 1, math.ceil((most - start) / cell) + 1
    return min(max(first, 0), count), max(min(after, count), 0)


@njit(cache=True)
def cells_at(
    x: Floats, y: Floats, x0: float, y0: float, cell: float, near: NDArray[np.bool_], place: NDArray[np.int64]
) -> NDArray[np.int64]:
    """Write in `place` (n,) the cells that points lie in, by rows; returns which of them are doubtful.

    Parameters: x, y (n,) [m]; x0, y0 [m], lower left corner; near (ny, nx), cells whose points are doubtful, as are
    those off the grid, which get cell 0.
    """
    rows, columns = near.shape
    doubtful = np.empty(len(x), dtype=np.int64)
    count = 0
    for i in range(len(x)):
        column, row = math.floor((x[i] - x0) / cell), math.floor((y[i] - y0) / cell)
        off = column < 0 or column >= columns or row < 0 or row >= rows
        place[i] = 0 if off else row * columns + column
        if off or near[row, column]:
            doubtful[count] = i
            count += 1
    return doubtful[:count]


@njit(cache=True)
def lay(x: Floats, y: Floats, amount: Floats, x0: float, y0: float, cell: float, out: Floats) -> None:
    """Share each amount among the four nearest cell centres of `out` (ny, nx), adding in place."""
    rows, columns = out.shape
    for i in range(len(x)):
        across, up = (x[i] - x0) / cell - 0.5, (y[i] - y0) / cell - 0.5
        column, row = math.floor(across), math.floor(up)
        if column < -1 or column >= columns or row < -1 or row >= rows:
            continue
        right, high = across - column, up - row
        upper, lower = amount[i] * high, amount[i] * (1 - high)
        if row >= 0:
            if column >= 0:
                out[row, column] += lower * (1 - right)
            if column + 1 < columns:
                out[row, column + 1] += lower * right
        if row + 1 < rows:
            if column >= 0:
                out[row + 1, column] += upper * (1 - right)
            if column + 1 < columns:
                out[row + 1, column + 1] += upper * right


@njit(cache=True)
def spread(
    radius: Floats,
    count: NDArray[np.int64],
    part: Floats,
    arc: float,
    distance: Floats,
    direction: Floats,
    cosine: Floats,
    sine: Floats,
    share: Floats,
) -> None:
    """Spread parcels evenly over an arc [rad], a count on each ring of a radius, each with a part, in place."""
    i = 0
    for ring in range(len(radius)):
        step = arc / count[ring]
        for place in range(count[ring]):
            angle = step * (place + 0.5)
            distance[i], direction[i], share[i] = radius[ring], angle, part[ring]
            cosine[i], sine[i] = math.cos(angle), math.sin(angle)
            i += 1


@njit(cache=True)
def fill(faces: Floats, x0: float, y0: float, cell: float, value: int, out: NDArray[np.uint8]) -> None:
    """Write a value on the cells of `out` (ny, nx) whose centre lies inside outlines, by the faces left of it.

    Parameters: faces (n, 4) [m] of closed outlines that do not overlap; x0, y0 [m], lower left corner of `out`.
    """
    rows, columns = out.shape
    crossings = np.zeros((rows, columns + 1), dtype=np.int32)
    for f in range(len(faces)):
        ax, ay, bx, by = faces[f]
        low, high = min(ay, by), max(ay, by)
        first = max(0, math.ceil((low - y0) / cell - 0.5))
        for row in range(first, rows):
            y = y0 + (row + 0.5) * cell
            if y >= high:
                break
            if y < low:
                continue
            x = ax + (y - ay) / (by - ay) * (bx - ax)
            column = math.ceil((x - x0) / cell - 0.5)
            if column <= columns:
                crossings[row, max(column, 0)] += 1
    for row in range(rows):
        inside = 0
        for column in range(columns):
            inside += crossings[row, column]
            if inside % 2 == 1:
                out[row, column] = value
