import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from rillwright.physics.evenness import (
    christiansen_uniformity,
    distribution_uniformity,
    run_time_multiplier,
    scheduling_coefficient,
)

# Sixteen cans made up for this test; the expected figures are arithmetic on the published definitions:
# CU, Christiansen 1942 (Univ. Calif. Bulletin 670); DU, USDA NRCS NEH 623 chapter 11.
CANS = np.array([8, 9, 10, 11, 12, 10, 9, 11, 10, 10, 7, 13, 10, 9, 11, 10], dtype=float)

depths = arrays(float, st.integers(1, 60), elements=st.floats(0.01, 50))


def lattice(profile, *, triangular, spacing, cells=80):
    """Depth over one cell of an endless lattice of full circles of radius 1; profile gives the rate by distance."""
    row = spacing * (np.sqrt(3) / 2 if triangular else 1.0)
    x, y = np.meshgrid((np.arange(cells) + 0.5) / cells * spacing, (np.arange(2 * cells) + 0.5) / cells * row)
    depth = np.zeros_like(x)
    for j in range(-4, 7):
        for i in range(-4, 6):
            shift = spacing / 2 if triangular and j % 2 else 0.0
            distance = np.hypot(x - i * spacing - shift, y - j * row)
            depth += np.where(distance < 1, profile(np.minimum(distance, 1)), 0.0)
    return depth


def wedge(distance):
    return 1 - distance


def half_ellipse(distance):
    return np.sqrt(1 - distance**2)


def test_sixteen_cans():
    assert christiansen_uniformity(CANS) == pytest.approx(0.900, abs=1e-12)
    assert distribution_uniformity(CANS) == pytest.approx(0.825, abs=1e-12)
    assert distribution_uniformity(CANS, share=0.5) == pytest.approx(0.900, abs=1e-12)


@pytest.mark.parametrize(
    ("profile", "triangular", "spacing", "cu", "du", "mean_over_least"),
    [
        (wedge, False, 1.0, 0.964, 0.950, 1.08),
        (wedge, False, 1.2, 0.905, 0.847, 1.29),
        (wedge, True, 1.0, 0.965, 0.936, 1.20),
        (half_ellipse, False, 1.0, 0.855, 0.798, 1.71),
        (half_ellipse, True, 1.0, 0.935, 0.884, 1.87),
    ],
)
def test_endless_lattice(profile, triangular, spacing, cu, du, mean_over_least):
    """Figures reckoned apart from this program, from geometry alone, on 80 by 160 cells; hence the tolerances.

    The least depth under half-ellipses depends on the cells: its edge is so steep that only a point at the head sees
    no neighbour. Mean over least goes to 2.09 and 2.42 with finer cells.
    """
    depth = lattice(profile, triangular=triangular, spacing=spacing)
    assert christiansen_uniformity(depth) == pytest.approx(cu, abs=0.003)
    assert distribution_uniformity(depth) == pytest.approx(du, abs=0.005)
    assert depth.mean() / depth.min() == pytest.approx(mean_over_least, abs=0.03)


@pytest.mark.parametrize(("profile", "volume"), [(wedge, np.pi / 3), (half_ellipse, 2 * np.pi / 3)])
@pytest.mark.parametrize(("triangular", "area"), [(False, 1.0), (True, np.sqrt(3) / 2)])
def test_endless_lattice_spreads_the_volume_of_one_pattern_over_its_cell(profile, volume, triangular, area):
    """Volumes of a cone and of half a ball: the check that the lattice above loses no head."""
    assert lattice(profile, triangular=triangular, spacing=1.0).mean() == pytest.approx(volume / area, rel=1e-3)


def test_cu_from_du_is_near_the_published_fit():
    """CU = 1 - 0.63 (1 - DU) for normally spread depths (NEH 623 chapter 11; Keller and Bliesner 1990)."""
    spread = np.random.default_rng(5).normal(10, 2, 200_000)
    fit = 1 - 0.63 * (1 - distribution_uniformity(spread))
    assert christiansen_uniformity(spread) == pytest.approx(fit, abs=0.002)


@pytest.mark.parametrize(
    ("du", "multiplier"),
    [(0.5, 1.429), (0.6, 1.316), (0.65, 1.266), (0.7, 1.220), (0.75, 1.176), (0.8, 1.136), (1.0, 1.0)],
)
def test_run_time_multiplier(du, multiplier):
    """Irrigation Association scheduling text, from memory; recomputed."""
    assert run_time_multiplier(du) == pytest.approx(multiplier, abs=0.0005)


@pytest.mark.parametrize("du", [-0.01, 1.01])
def test_run_time_multiplier_refuses_what_is_no_uniformity(du):
    with pytest.raises(ValueError, match="between 0 and 1"):
        run_time_multiplier(du)


@given(depths, st.floats(0.01, 100))
def test_measures_do_not_change_with_the_scale(depth, factor):
    assert christiansen_uniformity(depth * factor) == pytest.approx(christiansen_uniformity(depth), abs=1e-9)
    assert distribution_uniformity(depth * factor) == pytest.approx(distribution_uniformity(depth), abs=1e-9)


@given(depths)
def test_drier_shares_are_drier(depth):
    quarter, half = distribution_uniformity(depth), distribution_uniformity(depth, share=0.5)
    assert 0 <= quarter <= half + 1e-9 <= 1 + 2e-9
    assert distribution_uniformity(depth, share=1.0) == pytest.approx(1)


@given(arrays(float, st.integers(1, 40), elements=st.floats(0.01, 50)), st.integers(2, 5), st.floats(0.05, 1))
def test_finer_cells_change_nothing(depth, times, share):
    """Cutting each cell in equal parts leaves the ground, and so every measure, as it was."""
    finer = np.repeat(depth, times)
    assert distribution_uniformity(finer, share=share) == pytest.approx(distribution_uniformity(depth, share=share))
    assert christiansen_uniformity(finer) == pytest.approx(christiansen_uniformity(depth), abs=1e-9)


def test_no_water_is_not_even():
    dry = np.zeros((3, 3))
    assert christiansen_uniformity(dry) == 0
    assert distribution_uniformity(dry) == 0
    assert scheduling_coefficient(dry, mask=np.ones((3, 3), bool))[0] == float("inf")


@pytest.mark.parametrize("depth", [np.array([]), np.array([1.0, -0.1])])
def test_no_depth_and_negative_depth_are_refused(depth):
    for measure in (christiansen_uniformity, distribution_uniformity):
        with pytest.raises(ValueError, match="at least one depth"):
            measure(depth)
    with pytest.raises(ValueError, match="at least one depth"):
        scheduling_coefficient(depth[None, :], mask=np.ones((1, depth.size), bool))


@pytest.mark.parametrize("share", [0.0, -0.1, 1.1])
def test_a_share_outside_its_range_is_refused(share):
    with pytest.raises(ValueError, match="share"):
        distribution_uniformity(CANS, share=share)
    with pytest.raises(ValueError, match="share"):
        scheduling_coefficient(CANS.reshape(4, 4), mask=np.ones((4, 4), bool), share=share)


def test_scheduling_coefficient_of_even_water_is_one():
    mask = np.random.default_rng(0).random((30, 40)) < 0.7
    assert scheduling_coefficient(np.full(mask.shape, 0.4), mask=mask)[0] == pytest.approx(1.0)


def test_scheduling_coefficient_of_a_dry_square():
    """A 5 by 5 square at 0.40 in ground whose mean is 0.50: 1.25 (Irrigation Association definition, from memory)."""
    depth = np.full((20, 25), (0.50 * 500 - 0.40 * 25) / 475)
    depth[9:14, 3:8] = 0.40
    coefficient, centre = scheduling_coefficient(depth, mask=np.ones_like(depth, dtype=bool), share=0.05)
    assert coefficient == pytest.approx(1.25)
    assert centre == (11, 5)


def brute_scheduling(depth, mask, share):
    """The same definition cell by cell, by growing each window one step at a time."""
    lowest, where = np.inf, None
    for row, column in np.argwhere(mask):
        half = 0
        while True:
            window = np.s_[max(row - half, 0) : row + half + 1, max(column - half, 0) : column + half + 1]
            if mask[window].sum() >= share * mask.sum() - 1e-9:
                break
            half += 1
        mean = depth[window][mask[window]].mean()
        if mean < lowest - 1e-12:
            lowest, where = mean, (row, column)
    return depth[mask].mean() / lowest, where


@pytest.mark.parametrize("shape", ["L", "strip", "ring", "speckled"])
@pytest.mark.parametrize("share", [0.01, 0.05, 0.3, 1.0])
def test_scheduling_coefficient_agrees_with_growing_every_window(shape, share):
    random = np.random.default_rng(3)
    mask = np.ones((18, 24), bool)
    if shape == "L":
        mask[7:, 9:] = False
    elif shape == "strip":
        mask[2:] = False
    elif shape == "ring":
        mask[5:13, 6:18] = False
    else:
        mask &= random.random(mask.shape) < 0.4
    depth = random.random(mask.shape) + 0.1
    coefficient, centre = scheduling_coefficient(np.where(mask, depth, 99.0), mask=mask, share=share)
    expected, where = brute_scheduling(depth, mask, share)
    assert coefficient == pytest.approx(expected)
    if share < 1:
        assert centre == tuple(where)


@given(arrays(float, (6, 7), elements=st.floats(0.1, 9)), st.floats(0.02, 0.5))
def test_scheduling_coefficient_is_at_least_that_of_a_larger_share_of_one(depth, share):
    mask = np.ones(depth.shape, bool)
    whole, _ = scheduling_coefficient(depth, mask=mask, share=1.0)
    assert whole == pytest.approx(1.0)
    assert scheduling_coefficient(depth, mask=mask, share=share)[0] <= depth.mean() / depth.min() + 1e-9


def test_the_driest_window_with_no_water_is_infinite():
    depth = np.ones((10, 10))
    depth[:4, :4] = 0
    coefficient, centre = scheduling_coefficient(depth, mask=np.ones_like(depth, dtype=bool), share=0.05)
    assert coefficient == float("inf")
    assert centre[0] < 4
    assert centre[1] < 4
