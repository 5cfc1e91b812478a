"""Compiled inner loops of the search: a head's view, its best sector, where its water falls."""

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

from rillwright.solvers.coverage.grid import SURFACES
from rillwright.solvers.coverage.kernels import DIRECTIONS, Flight, cell_span, lay, throw
from rillwright.solvers.coverage.tally import Patch

__all__ = ["best_sector", "fallen", "look", "nearest_heads", "nearest_piece", "stopped_by_walls"]

Floats = NDArray[np.float64]
Codes = NDArray[np.uint8]
Kinds = NDArray[np.int8]
Whole = NDArray[np.int64]


@njit(cache=True)
def nearest_piece(x: float, y: float, edges: Floats) -> int:
    """Which piece of edge is nearest to a point [m], of pieces equally near the longest; edges (n, 4) [m]."""
    away, long = np.empty(len(edges)), np.empty(len(edges))
    for k in range(len(edges)):
        ax, ay, sx, sy = edges[k, 0] - x, edges[k, 1] - y, edges[k, 2] - edges[k, 0], edges[k, 3] - edges[k, 1]
        long[k] = max(math.hypot(sx, sy), 1e-9)
        share = min(max(-(ax * sx + ay * sy) / long[k] ** 2, 0.0), 1.0)
        away[k] = math.hypot(ax + share * sx, ay + share * sy)
    near, best = away.min() + 0.01, -1
    for k in range(len(edges)):
        if away[k] < near and (best < 0 or long[k] > long[best]):
            best = k
    return best


@njit(cache=True)
def nearest_heads(cells: Floats, heads: Floats, owner: Whole) -> Whole:
    """Write in `owner` (n,) which of heads (m, 2) is nearest to each cell (n, 2) [m]; returns cells with several."""
    tied = np.empty(len(cells), dtype=np.int64)
    ties = 0
    for k in range(len(cells)):
        least, nearest, twice = np.inf, 0, False
        for m in range(len(heads)):
            dx, dy = cells[k, 0] - heads[m, 0], cells[k, 1] - heads[m, 1]
            away = dx * dx + dy * dy
            if away < least:
                least, nearest, twice = away, m, False
            elif away == least:
                twice = True
        owner[k] = nearest
        if twice:
            tied[ties] = k
            ties += 1
    return tied[:ties]


@njit(cache=True)
def best_sector(
    worth: Floats, reach: float, radii: Floats, wanted: float, care: Floats, radius_care: float, flow_care: float
) -> tuple[int, int, int]:
    """Choose throw, arc and start with the most worth for the least care; of equal ones the first.

    Parameters: worth (rays, samples) [m²/rad] of each ray from the point to even samples, the last at reach [m]; radii
    (throws,) and wanted [m]; care (throws, rays) [-] against each arc from one ray to the circle, infinite where the
    nozzle has it not; radius_care and flow_care [-] against a radius off the wanted one, by the square and by twice
    its logarithm. Care weighs by the arc as a share of the circle, worth by that of the wanted circle's area.
    Returns: throw, arc [rays], start [rays]; throw -1 when nothing is worth its care.
    """
    rays, samples = worth.shape
    unit, step = 1 / (math.pi * wanted**2), math.tau / rays
    each, running = np.empty(rays), np.empty(2 * rays + 1)
    best_throw, best_arc, best_start, best = -1, 0, 0, 0.0
    for number in range(len(radii)):
        place = min(radii[number] / reach, 1.0) * samples - 0.5
        low = min(max(int(place), 0), samples - 2)
        outer = min(max(place - low, 0.0), 1.0)
        richest, good = 0.0, 0.0
        for ray in range(rays):
            each[ray] = (worth[ray, low] * (1 - outer) + worth[ray, low + 1] * outer) * step
            richest, good = max(richest, each[ray]), good + max(each[ray], 0.0)
        running[0] = 0.0
        for ray in range(2 * rays):
            running[ray + 1] = running[ray] + each[ray % rays]
        off = abs(math.log(radii[number] / wanted))
        shared = radius_care * off**2 + 2 * flow_care * off
        for arc in range(1, rays + 1):
            against = (care[number, arc - 1] + shared) * arc / rays
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
                best_throw, best_arc, best_start, best = number, arc, start, value
    return best_throw, best_arc, best_start


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
    own: int,
    worth: Floats,
    clear: Floats,
) -> None:
    """Fill `worth` (rays, samples) [m²/rad] and `clear` (rays,) [m] with what lies along even rays from a point.

    Parameters: first [rad] direction of the first ray's border; codes, surfaces on a grid with one cell all round, its
    origin [m] and cells per metre; value of each code; stoppers, codes that stay once met; own, the code that a ray is
    clear over from its second sample on: the first may lie on the head's own edge.
    """
    rays, samples = worth.shape
    step = reach / samples
    for ray in range(rays):
        angle = first + math.tau * (ray + 0.5) / rays
        cosine, sine = math.cos(angle), math.sin(angle)
        total, met, off = 0.0, -1, samples
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
            worth[ray, sample] = total
            if code != own and sample > 0 and sample < off:
                off = sample
        clear[ray] = off * step


@njit(cache=True)
def _settle(
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
def fallen(
    flight: Flight,
    share: Floats,
    instead: Codes,
    codes: Codes,
    origin: tuple[float, float],
    per_metre: float,
    on_walls: tuple[int, float],
    grid: tuple[float, float, float, int, int],
    flow: float,
) -> Patch:
    """A head's water on a grid: its parcels thrown as `throw` says, put down on surfaces and shared among cells.

    Parameters: on_walls, code of a building and the least share of the water that counts there; grid, as x0, y0, cell
    [m], columns, rows; flow [m³/s]; share (n,) of it in each parcel; the others as for throw, _settle and look.
    """
    x, y, stopped = np.empty(len(share)), np.empty(len(share)), np.empty(len(share), dtype=np.int8)
    throw(flight, x, y, stopped)
    landed, total = np.zeros(SURFACES), 0.0
    low_x, low_y, high_x, high_y = _settle(x, y, share, stopped, instead, codes, origin, per_metre, landed)
    for k in range(SURFACES):
        total += landed[k]
    landed[on_walls[0]] = max(landed[on_walls[0]], on_walls[1] * total)
    x0, y0, cell, columns, rows = grid
    left, right = cell_span(low_x, high_x, x0, cell, columns)
    below, above = cell_span(low_y, high_y, y0, cell, rows)
    rate = np.zeros((above - below, right - left))
    lay(x, y, share * (flow / cell**2), x0 + left * cell, y0 + below * cell, cell, rate)
    return Patch(rate, below, left, landed * flow)


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
