"""The running counts of a layout's water against sums made anew, by other means."""

import numpy as np
import pytest

from rillwright.solvers.coverage.grid import LAWN, SURFACES
from rillwright.solvers.coverage.tally import Patch, Spots, begun, put, swap, swap_and_weigh, weigh, weigh_without

SHAPE = (30, 44)
NOTHING = np.zeros(1)  # one head, alike with itself


def spots_on(parts, half=1):
    """Judged ground with a border and a hole, in parts side by side; windows that are full enough."""
    judged = np.zeros(SHAPE, dtype=bool)
    judged[2:-2, 3:-3] = True
    judged[10:14, 12:18] = False
    number = np.full(SHAPE, -1, dtype=np.int32)
    number[judged] = (np.nonzero(judged)[1] * parts // SHAPE[1]).astype(np.int32)
    held = window_sums(judged.astype(float), half)
    middles = np.flatnonzero(judged & (held >= 0.4 * held.max()))
    share = 1 / held.ravel()[middles]
    return Spots(number, np.bincount(number[judged]), middles.astype(np.int32), share, half)


def window_sums(values, half):
    padded = np.pad(values, half)
    windows = np.lib.stride_tricks.sliding_window_view(padded, (2 * half + 1, 2 * half + 1))
    return windows.sum(axis=(2, 3))


def weight_by_sorting(rate, spots):
    """The same weight from sorted depths; formulas of docs/theory/coverage.md."""
    judged = spots.part >= 0
    depth = np.sort(np.maximum(rate[judged], 0))
    mean, few = depth.mean(), len(depth) // 4
    low, driest = depth[:few].mean() / mean, depth[: few // 5].mean() / mean
    cu = 1 - np.abs(depth - mean).mean() / mean
    spot = (window_sums(np.where(judged, rate, 0), spots.half).ravel()[spots.windows] * spots.share).min() / mean
    total = 1 - low + 0.7 * (1 - cu) + 1.5 * max(0, 0.85 - cu) + max(0, 0.55 - driest)
    total += 0.25 * (1 - driest) + 0.25 * (1 - min(spot, 1)) + max(0, 0.5 - spot)
    short = 0.0
    for number, size in enumerate(spots.sizes):
        own = np.sort(rate[spots.part == number])
        short += size * max(0, 0.75 - own[: size // 4].mean() / own.mean())
    return total + 3 * short / len(depth)


def weight(tally, most=np.inf):
    return weigh(tally, 0.05, NOTHING, 1.0, 0.0, np.inf, most)


def water(rate, at):
    return Patch(rate, *at, np.eye(SURFACES)[LAWN])


def patches(rng, number):
    for _ in range(number):
        rows, columns = rng.integers(4, 16, 2)
        row, column = rng.integers(0, SHAPE[0] - rows), rng.integers(0, SHAPE[1] - columns)
        yield rng.random((rows, columns)) * (rng.random((rows, columns)) > 0.2), (int(row), int(column))


@pytest.mark.parametrize(("parts", "half"), [(1, 1), (3, 1), (2, 3)])
def test_counts_kept_up_weigh_as_sorting_does(parts, half):
    """Water comes, goes and moves; the mean triples on the way, so that the bins are set anew."""
    rng, spots = np.random.default_rng(parts + half), spots_on(parts, half)
    tally, rate = begun(spots), np.zeros(SHAPE)
    kept = []
    for turn, (patch, at) in enumerate(patches(rng, 300)):
        window = tuple(slice(a, a + n) for a, n in zip(at, patch.shape, strict=True))
        if turn % 3 == 2:
            old, old_at = kept.pop(int(rng.integers(len(kept))))
            swap(tally, water(old, old_at), water(patch, at))
            rate[tuple(slice(a, a + n) for a, n in zip(old_at, old.shape, strict=True))] -= old
        else:
            put(tally, water(patch, at), 1.0)
        rate[window] += patch
        kept.append((patch, at))
        if turn > 60 and turn % 20 == 0:
            assert weight(tally) == pytest.approx(weight_by_sorting(rate, spots), abs=2e-4)
    for patch, at in kept[:-40]:
        put(tally, water(patch, at), -1.0)
        rate[tuple(slice(a, a + n) for a, n in zip(at, patch.shape, strict=True))] -= patch
    assert tally.rate == pytest.approx(rate, abs=1e-12)
    assert weight(tally) == pytest.approx(weight_by_sorting(rate, spots), abs=2e-4)
    assert tally.counts.sum() == spots.sizes.sum()


def test_dry_ground_and_ground_past_the_room_weigh_without_end():
    tally = begun(spots_on(1))
    assert weight(tally) == np.inf
    put(tally, water(np.ones((10, 10)), (5, 20)), 1.0)
    full = weight(tally)
    assert np.isfinite(full)
    assert weight(tally, most=full / 2) == np.inf


def test_a_patch_over_the_far_edge_of_the_grid_is_cut_off():
    spots = spots_on(1)
    tally = begun(spots)
    corner = water(np.ones((6, 6)), (SHAPE[0] - 3, SHAPE[1] - 4))
    put(tally, corner, 1.0)
    assert tally.rate.sum() == 12
    swap(tally, corner, water(np.ones((2, 2)), (0, 0)))
    assert tally.rate.sum() == 4
    assert (tally.rate[:2, :2] == 1).all()


def test_a_trial_weighs_as_the_swapped_layout_does_with_what_it_spends():
    spots = spots_on(2)
    tried, plain = begun(spots), begun(spots)
    first, second = (water(patch, at) for patch, at in patches(np.random.default_rng(0), 2))
    for tally in (tried, plain):
        put(tally, first, 1.0)
        put(tally, second, 1.0)
    moved = water(first.rate, (4, 5))
    found = swap_and_weigh(tried, first, moved, 0.05, NOTHING, 1.0, 0.2, 4.0, np.inf)
    swap(plain, first, moved)
    assert found == pytest.approx(weight(plain) + 0.2 + 0.12 * 2 / 4)
    assert tried.landed == pytest.approx(2 * np.eye(SURFACES)[LAWN])


def test_a_layout_weighs_without_a_head_as_one_that_never_had_it():
    spots = spots_on(2)
    both, alone = begun(spots), begun(spots)
    first, second = (water(patch, at) for patch, at in patches(np.random.default_rng(1), 2))
    put(alone, first, 1.0)
    put(both, first, 1.0)
    put(both, second, 1.0)
    full = weight(both)
    assert weigh_without(both, second, 0.05, NOTHING, 1.0, 0.0, np.inf) == pytest.approx(weight(alone), abs=2e-4)
    assert weight(both) == pytest.approx(full, abs=1e-9)
