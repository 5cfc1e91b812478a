"""Compiled inner loops of the search: a head's view, its best sector, where its water falls, how even it all is."""

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

from rillwright.solvers.coverage.grid import BED, BUILDING, OFF_SITE, PAVING
from rillwright.solvers.coverage.kernels import DIRECTIONS

__all__ = ["best_sector", "look", "put", "settle", "stopped_by_walls", "weigh"]

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
Codes = NDArray[np.uint8]
Kinds = NDArray[np.int8]
Mask = NDArray[np.bool_]
Places = NDArray[np.int32]

_BINS = 512  # of depth up to twice the mean: the lowest quarter is read off their counts
_FLOOR = 0.75  # DU of the low quarter under which a lawn, or a part of it, weighs three times more
_ROUNDING = 1e-9


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
    """Mean rate [m/s] of the driest window; arrays as for _ill_spread."""
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
def _ill_spread(
    rate: Floats, judged: Mask, cells: Places, part: Places, corners: Places, share: Floats, room: float
) -> float:
    """Weigh how unevenly water lies: low quarter, CU, driest twentieth and driest window, against the mean.

    Parameters: rate (ny, nx) [m/s]; judged (ny, nx), whether a cell counts; cells (n,), places of those that do in the
    flattened grid; part (n,), number of the lawn, as drawn, that each lies in; corners (m, 4), for each window the
    places of its lower right, upper right, lower left and upper left corner in a flattened table of running sums with
    one row and one column more; share (m,), one over the counting cells that a window holds; room, weight past which
    the answer is infinite: the dearer parts are not looked at then. The driest shares are read off 512 bins, to about
    1e-5 of the mean. Infinite where no water falls.
    """
    count, total, flat, parts = len(cells), 0.0, rate.ravel(), 1
    depth = np.empty(count)
    for k in range(count):
        depth[k], parts = max(flat[cells[k]], 0.0), max(parts, part[k] + 1)
        total += depth[k]
    mean = total / count
    if mean <= 0.0:
        return np.inf
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
    driest, cu = _driest(counts, sums, fewer) / fewer / mean, 1.0 - off / count / mean
    even = 1.0 - low + 0.7 * (1.0 - cu) + 1.5 * max(0.0, 0.85 - cu)
    dry, least = 0.25 * (1.0 - driest), 1.0 * max(0.0, 0.55 - driest)
    if even + dry + least > room + _ROUNDING:
        return np.inf
    spot = _driest_spot(rate, judged, corners, share) / mean
    dry = dry + 0.25 * (1.0 - min(spot, 1.0)) + 1.0 * max(0.0, 0.5 - spot)
    if even + dry + least > room + _ROUNDING:
        return np.inf
    short = max(0.0, _FLOOR - low) if parts == 1 else _too_uneven(depth, part, parts)
    return even + dry + 3.0 * short + least


@njit(cache=True)
def _too_uneven(depth: Floats, part: Places, parts: int) -> float:
    """How far the DU of the low quarter falls under a floor, part by part of a lawn, by their shares of its cells.

    Parameters: depth (n,) of each cell that counts, part (n,) as for _ill_spread. A part with no water has DU 0.
    """
    count = len(depth)
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
        short += size[p] * max(0.0, _FLOOR - low)
    return short / count


@njit(cache=True)
def put(rate: Floats, patch: Floats, row: int, column: int, sign: float, landed: Floats, share: Floats) -> None:
    """Add a patch of water to `rate` and what landed to `landed`, or take both away, in place."""
    rows, columns = min(patch.shape[0], rate.shape[0] - row), min(patch.shape[1], rate.shape[1] - column)
    for r in range(rows):
        for c in range(columns):
            rate[row + r, column + c] += sign * patch[r, c]
    for k in range(len(landed)):
        landed[k] += sign * share[k]


@njit(cache=True)
def _wasted(landed: Floats, total: float, paving_limit: float) -> float:
    """Weigh the water that misses the lawn; landed (7,) by surface code, of a total."""
    paving, off_site = float(landed[PAVING] / total), float(landed[OFF_SITE] / total)
    over = max(0.0, paving - 0.9 * paving_limit)
    waste = 1.0 * paving + 20.0 * over + 0.5 * float(landed[BED] / total) + 200.0 * float(landed[BUILDING] / total)
    return waste + 1.2 * off_site + 12.0 * max(0.0, off_site - 0.9 * paving_limit)


@njit(cache=True)
def _unmatched(rates: Floats, allowed: float) -> float:
    """Weigh unlike rates of the heads: past the tolerance from the quickest to the slowest, and from the mean each."""
    mean, far = rates.mean(), 0.0
    for rate in rates:
        far += max(abs(rate - mean) - 0.5 * allowed, 0.0)
    return 1.5 * max(0.0, float(rates.max() - rates.min()) - 0.9 * allowed) + 2.0 * float(far / len(rates))


@njit(cache=True)
def weigh(
    rate: Floats,
    judged: Mask,
    cells: Places,
    part: Places,
    corners: Places,
    share: Floats,
    landed: Floats,
    paving_limit: float,
    rates: Floats,
    allowed: float,
    room: float,
) -> float:
    """Weigh a layout: unevenness, water off the lawn, unlike rates. May be infinite where that is over `room`.

    Parameters: the first six as for _ill_spread; landed (7,) [m³/s] by surface code; paving_limit, share of the water;
    rates (n,), logarithms of the heads' rates, and how far they may lie apart.
    """
    total = 0.0
    for k in range(len(landed)):
        total += landed[k]
    if total <= 0.0:
        return np.inf
    wasted, unmatched = _wasted(landed, total, paving_limit), _unmatched(rates, allowed)
    uneven = _ill_spread(rate, judged, cells, part, corners, share, room - wasted - unmatched)
    return uneven + wasted + unmatched
