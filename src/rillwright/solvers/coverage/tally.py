"""How even the water of a layout lies, kept up to date as patches of water come and go.

Depths are counted in bins of equal width, so that a change of one head costs the cells it wets, not those of the lawn;
low quarter, CU and driest twentieth are read off the counts, to some 1e-5 of the mean. Sums over windows of about a
square metre are kept besides, for the driest spot.
"""

from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from rillwright.solvers.coverage.grid import BED, BUILDING, OFF_SITE, PAVING, SURFACES

__all__ = ["Patch", "Spots", "Tally", "begun", "put", "swap", "swap_and_weigh", "weigh", "weigh_without"]

Floats = NDArray[np.float64]
Places = NDArray[np.int32]
Whole = NDArray[np.int64]

_BINS = 256  # of depth up to the mean at the last count
_SLOTS = 601  # bins kept, the last for all that is deeper: under 4/3 of their mean lie a quarter of any depths
_STRAYED = (0.6, 1.6)  # of that mean: past it everything is counted anew
_FLOOR = 0.75  # DU of the low quarter under which a lawn, or a part of it, weighs three times more
_ROUNDING = 1e-9


class Spots(NamedTuple):
    """Cells by which evenness is judged, and windows in which a dry spot would show."""

    part: Places  # (ny, nx) number of the lawn, as drawn, that a cell lies in; -1 where it is not judged
    sizes: Whole  # (p,) judged cells of each such lawn
    windows: Places  # (m,) places of their middle cells in the flattened grid
    share: Floats  # (m,) one over the judged cells in each window
    half: int  # cells from the middle of a window to its edge


class Patch(NamedTuple):
    """The water of one head."""

    rate: Floats  # [m/s] on a window of the grid
    row: int  # of the window's first cell
    column: int
    landed: Floats  # (7,) [m³/s] by surface code


class Tally(NamedTuple):
    """Water on a grid [m/s], and what is counted of it, most on the judged cells."""

    rate: Floats  # (ny, nx)
    counts: Whole  # (p, bins) cells of each lawn, as drawn, by bin of depth
    sums: Floats  # (p, bins) and their depths together
    wet: Floats  # (p,) depths of all its cells together
    box: Floats  # (ny, nx) depths of the judged cells in the window round each cell
    scale: Floats  # (1,) bins to a depth of 1
    landed: Floats  # (7,) [m³/s] by surface code, wherever it falls
    spots: Spots


def begun(spots: Spots) -> Tally:
    """A tally of dry ground."""
    shape, parts = spots.part.shape, len(spots.sizes)
    counts = np.zeros((parts, _SLOTS), dtype=np.int64)
    counts[:, 0] = spots.sizes
    sums, wet, scale, landed = np.zeros(counts.shape), np.zeros(parts), np.zeros(1), np.zeros(SURFACES)
    return Tally(np.zeros(shape), counts, sums, wet, np.zeros(shape), scale, landed, spots)


@njit(cache=True)
def _count_anew(tally: Tally) -> None:
    """Count everything from the water as it lies, with bins that suit its mean."""
    rate, part = tally.rate.ravel(), tally.spots.part.ravel()
    tally.wet[:], tally.counts[:], tally.sums[:], tally.box[:] = 0.0, 0, 0.0, 0.0
    cells, total = 0, 0.0
    for k in range(len(part)):
        if part[k] >= 0:
            tally.wet[part[k]] += max(rate[k], 0.0)
    for p in range(len(tally.wet)):
        cells, total = cells + tally.spots.sizes[p], total + tally.wet[p]
    scale = _BINS * cells / total if total > 0.0 else 0.0
    tally.scale[0] = scale
    depth = np.zeros(tally.rate.shape)
    flat = depth.ravel()
    for k in range(len(part)):
        if part[k] >= 0:
            flat[k] = max(rate[k], 0.0)
            place = min(int(flat[k] * scale), _SLOTS - 1)
            tally.counts[part[k], place] += 1
            tally.sums[part[k], place] += flat[k]
    _add_to_windows(tally.box, depth, 0, 0, tally.spots.half)


@njit(cache=True)
def _add_to_windows(box: Floats, change: Floats, row: int, column: int, half: int) -> None:
    """Add a patch of change at a row and column to the sums of all windows that hold some of it."""
    rows, columns = change.shape
    across = np.zeros((rows, columns + 2 * half))
    for r in range(rows):
        running = 0.0
        for c in range(columns + 2 * half):
            running += change[r, c] if c < columns else 0.0
            running -= change[r, c - 2 * half - 1] if c > 2 * half else 0.0
            across[r, c] = running
    first, last = max(0, half - column), min(columns + 2 * half, box.shape[1] - column + half)
    running_down = np.zeros(columns + 2 * half)
    for r in range(rows + 2 * half):
        target = row - half + r
        for c in range(first, last):
            running_down[c] += across[r, c] if r < rows else 0.0
            running_down[c] -= across[r - 2 * half - 1, c] if r > 2 * half else 0.0
            if 0 <= target < box.shape[0]:
                box[target, column - half + c] += running_down[c]


@njit(cache=True)
def put(tally: Tally, patch: Patch, sign: float) -> None:
    """Add a head's water to a tally, or take it away, in place."""
    rate, row, column = tally.rate, patch.row, patch.column
    rows, columns = min(patch.rate.shape[0], rate.shape[0] - row), min(patch.rate.shape[1], rate.shape[1] - column)
    tally.landed[:] += sign * patch.landed
    _change(tally, sign * patch.rate[:rows, :columns], row, column)


@njit(cache=True)
def swap(tally: Tally, old: Patch, new: Patch) -> None:
    """Take a head's water out of a tally and put another's in, in place."""
    rate = tally.rate
    low_row, low_column = min(old.row, new.row), min(old.column, new.column)
    high_row = min(max(old.row + old.rate.shape[0], new.row + new.rate.shape[0]), rate.shape[0])
    high_column = min(max(old.column + old.rate.shape[1], new.column + new.rate.shape[1]), rate.shape[1])
    change = np.zeros((high_row - low_row, high_column - low_column))
    for patch, sign in ((old, -1.0), (new, 1.0)):
        row, column = patch.row, patch.column
        tally.landed[:] += sign * patch.landed
        for r in range(min(patch.rate.shape[0], rate.shape[0] - row)):
            for c in range(min(patch.rate.shape[1], rate.shape[1] - column)):
                change[row - low_row + r, column - low_column + c] += sign * patch.rate[r, c]
    _change(tally, change, low_row, low_column)


@njit(cache=True)
def _change(tally: Tally, change: Floats, row: int, column: int) -> None:
    """Add a patch [m/s] to the water; overwrites the patch by what that adds to the depths of judged cells."""
    rate, part, scale = tally.rate, tally.spots.part, tally.scale[0]
    for r in range(change.shape[0]):
        for c in range(change.shape[1]):
            if change[r, c] == 0.0:
                continue
            before = rate[row + r, column + c]
            after = before + change[r, c]
            rate[row + r, column + c] = after
            p = part[row + r, column + c]
            if p < 0:
                change[r, c] = 0.0
                continue
            old, new = max(before, 0.0), max(after, 0.0)
            place = min(int(old * scale), _SLOTS - 1)
            tally.counts[p, place] -= 1
            tally.sums[p, place] -= old
            place = min(int(new * scale), _SLOTS - 1)
            tally.counts[p, place] += 1
            tally.sums[p, place] += new
            tally.wet[p] += new - old
            change[r, c] = new - old
    _add_to_windows(tally.box, change, row, column, tally.spots.half)


@njit(cache=True)
def _driest(counts: Whole, sums: Floats, wanted: int, width: float) -> float:
    """Sum of the least `wanted` values, from counts and sums by bins of a width.

    Those of a bin of which only some are wanted are taken to lie evenly about their mean, as far as the bin allows.
    """
    total, missing = 0.0, wanted
    for k in range(len(counts)):
        if counts[k] >= missing:
            if missing == 0:
                return total
            mean = sums[k] / counts[k]
            spread = max(0.0, min(mean - k * width, (k + 1) * width - mean))  # to either side
            return float(total + missing * (mean - spread * (counts[k] - missing) / counts[k]))
        total, missing = total + sums[k], missing - counts[k]
    return total


@njit(cache=True)
def _under(counts: Whole, sums: Floats, mean: float, scale: float) -> float:
    """By how much all values under the mean fall short of it together; those in its own bin lie evenly spread."""
    last = min(int(mean * scale), len(counts) - 1)
    short = 0.0
    for k in range(last):
        short += counts[k] * mean - sums[k]
    inside = mean * scale - last
    return float(short + counts[last] * 0.5 * inside * inside / scale)


@njit(cache=True)
def _ill_spread(tally: Tally, room: float) -> float:
    """Weigh how unevenly water lies: low quarter, CU, driest twentieth and driest window, against the mean.

    Parameters: room, weight past which the answer is infinite: the dearer parts are not looked at then. Infinite where
    no water falls.
    """
    spots, parts = tally.spots, len(tally.wet)
    count, total = spots.sizes.sum(), tally.wet.sum()
    mean = total / count
    if mean <= 0.0:
        return np.inf
    if not _STRAYED[0] * _BINS <= mean * tally.scale[0] <= _STRAYED[1] * _BINS:
        _count_anew(tally)
    counts, sums = tally.counts[0], tally.sums[0]
    if parts > 1:
        counts, sums = counts.copy(), sums.copy()
        for p in range(1, parts):
            for k in range(_SLOTS):
                counts[k] += tally.counts[p, k]
                sums[k] += tally.sums[p, k]
    few, width = max(1, count // 4), 1.0 / tally.scale[0]
    fewer = max(1, few // 5)
    low = _driest(counts, sums, few, width) / few / mean
    driest, cu = (
        _driest(counts, sums, fewer, width) / fewer / mean,
        1.0 - 2.0 * _under(counts, sums, mean, tally.scale[0]) / total,
    )
    uneven = 1.0 - low + 0.7 * (1.0 - cu) + 1.5 * max(0.0, 0.85 - cu)
    uneven += 0.25 * (1.0 - driest) + 1.0 * max(0.0, 0.55 - driest)
    uneven += 3.0 * (max(0.0, _FLOOR - low) if parts == 1 else _too_uneven(tally, count))
    if uneven > room + _ROUNDING:
        return np.inf
    box, least = tally.box.ravel(), np.inf
    for k in range(len(spots.windows)):
        least = min(least, box[spots.windows[k]] * spots.share[k])
    spot = max(least, 0.0) / mean
    return float(uneven + 0.25 * (1.0 - min(spot, 1.0)) + 1.0 * max(0.0, 0.5 - spot))


@njit(cache=True)
def _too_uneven(tally: Tally, count: int) -> float:
    """How far the DU of the low quarter falls under a floor, part by part of a lawn, by their shares of its cells.

    A part with no water has DU 0.
    """
    short = 0.0
    for p in range(len(tally.wet)):
        size, wet = tally.spots.sizes[p], tally.wet[p]
        few = max(1, size // 4)
        low = (
            _driest(tally.counts[p], tally.sums[p], few, 1.0 / tally.scale[0]) / few * size / wet if wet > 0.0 else 0.0
        )
        short += size * max(0.0, _FLOOR - low)
    return short / count


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
    tally: Tally, paving_limit: float, rates: Floats, allowed: float, heads: float, unit_flow: float, most: float
) -> float:
    """Weigh a layout: unevenness, water off the lawn, unlike rates, and what is spent on heads and water.

    Parameters: paving_limit, share of the water; rates (n,), logarithms of the heads' rates, and how far they may lie
    apart; heads, their weight; unit_flow [m³/s] by which water counts; most, weight past which the answer may be
    infinite.
    """
    total = 0.0
    for k in range(len(tally.landed)):
        total += tally.landed[k]
    if total <= 0.0:
        return np.inf
    spent = heads + 0.12 * total / unit_flow
    aside = _wasted(tally.landed, total, paving_limit) + _unmatched(rates, allowed)
    return _ill_spread(tally, most - spent - aside) + aside + spent


@njit(cache=True)
def swap_and_weigh(
    tally: Tally,
    old: Patch,
    new: Patch,
    paving_limit: float,
    rates: Floats,
    allowed: float,
    heads: float,
    unit_flow: float,
    most: float,
) -> float:
    """Put a head's water in the place of another's and weigh the layout so, in one call: most trials are this."""
    swap(tally, old, new)
    return weigh(tally, paving_limit, rates, allowed, heads, unit_flow, most)


@njit(cache=True)
def weigh_without(
    tally: Tally, patch: Patch, paving_limit: float, rates: Floats, allowed: float, heads: float, unit_flow: float
) -> float:
    """Weigh a layout without a head's water, which is put back; rates and heads are those of the others."""
    put(tally, patch, -1.0)
    weight = weigh(tally, paving_limit, rates, allowed, heads, unit_flow, np.inf)
    put(tally, patch, 1.0)
    return weight
