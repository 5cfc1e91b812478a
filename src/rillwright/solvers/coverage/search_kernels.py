"""Compiled inner loops of the search: a head's view, its best sector, where its water falls, how even it all is."""

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

from rillwright.solvers.coverage.kernels import DIRECTIONS

__all__ = ["best_sector", "look", "mismatch", "settle", "stopped_by_walls", "too_uneven", "unevenness"]

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
Codes = NDArray[np.uint8]
Kinds = NDArray[np.int8]
Mask = NDArray[np.bool_]
Places = NDArray[np.int32]

_BINS = 512  # of depth up to twice the mean: the lowest quarter is read off their counts


@njit(cache=True)
def best_sector(worth: Floats, care: Floats, shared: Floats, unit: float) -> tuple[int, int, int, float]:
    """Choose throw, arc and start with the most worth for the least care; of equal ones the first.

    Parameters: worth (throws, rays) [m²] of each ray out to a throw's radius; care (throws, rays) [-] against each arc
    from one ray to the circle, infinite where the nozzle has it not; shared (throws,) [-], care against the throw;
    unit, by which worth counts. Care weighs by the arc as a share of the circle.
    Returns: throw, arc [rays], start [rays], value [-]; throw -1 when nothing is worth its care.
    """
    throws, rays = worth.shape
    running = np.empty(2 * rays + 1)
    best_throw, best_arc, best_start, best = -1, 0, 0, 0.0
    for throw in range(throws):
        running[0] = 0.0
        for ray in range(2 * rays):
            running[ray + 1] = running[ray] + worth[throw, ray % rays]
        richest, good = 0.0, 0.0
        for ray in range(rays):
            richest, good = max(richest, worth[throw, ray]), good + max(worth[throw, ray], 0.0)
        for arc in range(1, rays + 1):
            against = (care[throw, arc - 1] + shared[throw]) * arc / rays
            if min(richest * arc, good) * unit - against <= best:
                continue
            start, most = 0, running[arc]
            if arc < rays:
                for first in range(1, rays):
                    value = running[first + arc] - running[first]
                    if value > most:
                        start, most = first, value
            value = most * unit - against
            if value > best + 1e-12:
                best_throw, best_arc, best_start, best = throw, arc, start, value
    return best_throw, best_arc, best_start, best


@njit(cache=True)
def look(
    at: tuple[float, float],
    first: float,
    reach: float,
    codes: Codes,
    origin: tuple[float, float],
    per_metre: float,
    value: Floats,
    stoppers: tuple[int, int],
    worth: Floats,
    surface: Codes,
) -> None:
    """Fill `worth` (rays, samples) [m²/rad] and `surface` with what lies along even rays from a point.

    Parameters: first [rad] direction of the first ray's border; codes, surfaces on a grid with one cell all round, its
    origin [m] and cells per metre; value of each code; stoppers, codes that stay once met.
    """
    rays, samples = worth.shape
    step = reach / samples
    for ray in range(rays):
        angle = first + math.tau * (ray + 0.5) / rays
        cosine, sine = math.cos(angle), math.sin(angle)
        total, met = 0.0, -1
        for sample in range(samples):
            distance = step * (sample + 0.5)
            column = int((at[0] + cosine * distance - origin[0]) * per_metre + 1.0)
            row = int((at[1] + sine * distance - origin[1]) * per_metre + 1.0)
            column, row = min(max(column, 0), codes.shape[1] - 1), min(max(row, 0), codes.shape[0] - 1)
            code = int(codes[row, column])
            if met < 0 and (code == stoppers[0] or code == stoppers[1]):
                met = code
            code = met if met >= 0 else code
            total += value[code] * distance * step
            worth[ray, sample], surface[ray, sample] = total, code


@njit(cache=True)
def settle(
    x: Floats,
    y: Floats,
    share: Floats,
    stopped: Kinds,
    instead: Codes,
    codes: Codes,
    origin: tuple[float, float],
    per_metre: float,
    landed: Floats,
) -> tuple[float, float, float, float]:
    """Add up in `landed` (7,) the shares that fall on each surface; returns least x and y, greatest x and y [m].

    Parameters: instead, code by what stopped a parcel, 255 for what lies there; codes, origin, per_metre as for look.
    """
    low_x, low_y, high_x, high_y = x[0], y[0], x[0], y[0]
    for i in range(len(x)):
        low_x, high_x, low_y, high_y = min(low_x, x[i]), max(high_x, x[i]), min(low_y, y[i]), max(high_y, y[i])
        code = instead[stopped[i]]
        if code == 255:
            column, row = int((x[i] - origin[0]) * per_metre + 1.0), int((y[i] - origin[1]) * per_metre + 1.0)
            code = codes[min(max(row, 0), codes.shape[0] - 1), min(max(column, 0), codes.shape[1] - 1)]
        landed[code] += share[i]
    return low_x, low_y, high_x, high_y


@njit(cache=True)
def stopped_by_walls(
    hit: Floats, kind: Kinds, wall: int, start: float, arc: float, radius: float, run: Floats
) -> float:
    """Share of a sector's water that walls stop, direction by direction.

    Parameters: hit [m] and kind by direction; start, arc [°]; run (n,) share of the flow within even radii up to 1.
    """
    per_degree = DIRECTIONS / 360
    first, last = math.floor(start * per_degree), math.ceil((start + arc) * per_degree)
    total, nodes = 0.0, len(run) - 1
    for way in range(first, last + 1):
        k = way % DIRECTIONS
        if kind[k] == wall and hit[k] < radius:
            place = hit[k] / radius * nodes
            low = min(int(place), nodes - 1)
            total += 1.0 - (run[low] + (place - low) * (run[low + 1] - run[low]))
    return total / (last + 1 - first)


@njit(cache=True)
def _driest(counts: Whole, sums: Floats, wanted: int) -> float:
    """Sum of the least `wanted` values, from counts and sums by bins of rising value."""
    total, missing = 0.0, wanted
    for k in range(len(counts)):
        if counts[k] >= missing:
            return total + sums[k] * missing / counts[k] if missing > 0 else total
        total, missing = total + sums[k], missing - counts[k]
    return total


@njit(cache=True)
def _driest_spot(rate: Floats, judged: Mask, corners: Places, share: Floats) -> float:
    """Mean rate [m/s] of the driest window; arrays as for unevenness."""
    wet = np.zeros((rate.shape[0] + 1, rate.shape[1] + 1))
    for row in range(rate.shape[0]):
        running = 0.0
        for column in range(rate.shape[1]):
            if judged[row, column]:
                running += max(rate[row, column], 0.0)
            wet[row + 1, column + 1] = wet[row, column + 1] + running
    sums, least = wet.ravel(), np.inf
    for window in range(corners.shape[0]):
        a, b, c, d = corners[window]
        least = min(least, (sums[a] - sums[b] - sums[c] + sums[d]) * share[window])
    return max(least, 0.0)


@njit(cache=True)
def unevenness(
    rate: Floats, judged: Mask, cells: Places, corners: Places, share: Floats
) -> tuple[float, float, float, float]:
    """How even water is: DU of the low quarter, CU, the driest twentieth and the driest window over the mean.

    Parameters: rate (ny, nx) [m/s]; judged (ny, nx), whether a cell counts; cells (n,), places of those that do in the
    flattened grid; corners (m, 4), for each window the places of its lower right, upper right, lower left and upper
    left corner in a flattened table of running sums with one row and one column more; share (m,), one over the counting
    cells that a window holds. The driest shares are read off 512 bins, to about 1e-5 of the mean. All are -1 where no
    water falls.
    """
    count, total, flat = len(cells), 0.0, rate.ravel()
    depth = np.empty(count)
    for k in range(count):
        depth[k] = max(flat[cells[k]], 0.0)
        total += depth[k]
    mean = total / count
    if mean <= 0.0:
        return -1.0, -1.0, -1.0, -1.0
    counts, sums, off = np.zeros(_BINS, dtype=np.int64), np.zeros(_BINS), 0.0
    scale = 0.5 * _BINS / mean
    for k in range(count):
        off += abs(depth[k] - mean)
        place = min(int(depth[k] * scale), _BINS - 1)
        counts[place] += 1
        sums[place] += depth[k]
    few = max(1, count // 4)
    fewer = max(1, few // 5)
    low = _driest(counts, sums, few) / few / mean
    driest = _driest(counts, sums, fewer) / fewer / mean
    return low, 1.0 - off / count / mean, driest, _driest_spot(rate, judged, corners, share) / mean


@njit(cache=True)
def too_uneven(rate: Floats, cells: Places, part: Places, floor: float) -> float:
    """How far the DU of the low quarter falls under a floor, part by part of a lawn, by their shares of its cells.

    Parameters: rate and cells as for unevenness; part (n,) number of each cell's part. A part with no water has DU 0.
    """
    count, flat, parts = len(cells), rate.ravel(), 1
    depth = np.empty(count)
    for k in range(count):
        depth[k], parts = max(flat[cells[k]], 0.0), max(parts, part[k] + 1)
    size, wet, scale = np.zeros(parts, dtype=np.int64), np.zeros(parts), np.zeros(parts)
    for k in range(count):
        size[part[k]] += 1
        wet[part[k]] += depth[k]
    for p in range(parts):
        scale[p] = 0.5 * _BINS * size[p] / wet[p] if wet[p] > 0 else 0.0
    counts, sums = np.zeros((parts, _BINS), dtype=np.int64), np.zeros((parts, _BINS))
    for k in range(count):
        p = part[k]
        place = min(int(depth[k] * scale[p]), _BINS - 1)
        counts[p, place] += 1
        sums[p, place] += depth[k]
    short = 0.0
    for p in range(parts):
        few = max(1, size[p] // 4)
        low = _driest(counts[p], sums[p], few) / few * size[p] / wet[p] if wet[p] > 0 else 0.0
        short += size[p] * max(0.0, floor - low)
    return short / len(cells)


@njit(cache=True)
def mismatch(values: Floats, allowed: float) -> tuple[float, float]:
    """Distance from the least to the greatest value, and the mean distance past `allowed` from their mean."""
    mean, far = values.mean(), 0.0
    for value in values:
        far += max(abs(value - mean) - allowed, 0.0)
    return values.max() - values.min(), far / len(values)
