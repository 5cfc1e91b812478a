"""The flight of drops against measured fall speeds, closed forms, and a general solver of differential equations."""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from rillwright.physics.drops import (
    DIAMETERS,
    drop_paths,
    drop_sizes,
    fall_speed,
    landing_places,
    launch_speed,
    reaches,
)

G = 9.80665


@pytest.mark.parametrize(("millimetres", "published", "off"), [(1, 4.03, 0.05), (2, 6.49, 0.07), (3, 8.06, 0.07)])
def test_drops_fall_as_gunn_and_kinzer_measured(millimetres, published, off):
    """Gunn and Kinzer 1949, Journal of Meteorology 6, from memory. The law is of hard spheres; real drops flatten.

    At 4 mm (8.83 m/s) it is 13 % fast; the drops of lawn sprinklers are smaller.
    """
    assert fall_speed(1e-3 * millimetres) == pytest.approx(published, rel=off)


def test_nozzle_speed_is_bernoullis():
    """V = sqrt(2 P / density): 100 m of water head gives sqrt(2 · 9.80665 · 100) = 44.29 m/s (Torricelli)."""
    assert launch_speed(998.2 * G * 100) == pytest.approx(math.sqrt(2 * G * 100), rel=1e-9)


@pytest.mark.parametrize("rise", [-0.3, -0.1, 0.0, 0.15, 0.3])
def test_without_drag_a_throw_on_an_incline_has_its_closed_form(rise):
    """Range along an incline b of a launch at a: 2 v² cos a sin(a - b) / (g cos² b); any text on mechanics."""
    speed, angle, incline = 20.0, math.radians(25), math.atan(rise)
    along = 2 * speed**2 * math.cos(angle) * math.sin(angle - incline) / (G * math.cos(incline) ** 2)
    launch = np.array([[speed * math.cos(angle), 0.0, speed * math.sin(angle)]])
    heavy = np.array([1e4])  # [m], so large that drag does nothing
    x, y = landing_places(heavy, launch, height=1e-9, slope=np.array((rise, 0.0)))[0, 0]
    assert (x, y) == (pytest.approx(along * math.cos(incline), rel=1e-3), 0.0)


@pytest.mark.parametrize("diameter", [3e-4, 1e-3, 3e-3])
def test_landing_agrees_with_a_general_solver(diameter):
    """The same statement, written anew for scipy's eighth-order rule; wind across and ahead over a slope."""
    wind, slope, height = np.array((1.5, 2.5)), np.array((0.1, -0.05)), 0.1
    launch = 22.0 * np.array((math.cos(0.4), 0.0, math.sin(0.4)))

    def above(_t, state):
        return state[2] - slope @ state[:2]

    def motion(_t, state):
        over = max(above(_t, state), 5.5 / 67.8)
        air = wind * max(math.log(max(67.8 * over - 5.42, 1.0)), 0.0) / 4.87
        past = state[3:] - (*air, 0.0)
        speed = np.linalg.norm(past)
        reynolds = speed * diameter / 1.516e-5
        factor = 0.44 if reynolds > 1000 else 24 / reynolds * (1 + 0.15 * reynolds**0.687)
        pull = 0.75 * 1.204 / 998.2 * factor * speed / diameter
        return np.concatenate((state[3:], -pull * past - (0.0, 0.0, G)))

    above.terminal = True
    above.direction = -1
    exact = solve_ivp(motion, (0, 20), (0, 0, height, *launch), method="DOP853", events=above, rtol=1e-9, atol=1e-9)
    ours = landing_places(np.array([diameter]), launch[None, :], height=height, wind=wind, slope=slope)[0, 0]
    assert ours == pytest.approx(exact.y_events[0][0][:2], abs=0.01)


def test_larger_drops_fly_farther_and_sizes_are_found_back_from_where_they_land():
    reach = reaches(speed=22.0, launch=25.0, height=0.1)
    assert (np.diff(reach) > 0).all()
    sizes = drop_sizes(np.array((2.0, 5.0, 9.0)), speed=22.0, launch=25.0, height=0.1)
    angle = math.radians(25)
    launch = 22.0 * np.array([[math.cos(angle), 0.0, math.sin(angle)]])
    assert landing_places(sizes, launch, height=0.1)[:, 0, 0] == pytest.approx((2.0, 5.0, 9.0), rel=0.01)
    assert sizes[0] > DIAMETERS[0]


def test_a_path_begins_at_the_nozzle_tops_out_under_the_vacuum_parabola_and_ends_where_it_lands():
    speed, angle = 22.0, math.radians(25)
    distances = np.linspace(0, 9.0, 91)
    sizes = drop_sizes(np.array([8.0]), speed=speed, launch=25.0, height=0.1)
    path = drop_paths(sizes, distances, speed=speed, launch=25.0, height=0.1)[0]
    assert path[0] == pytest.approx(0.1)
    assert 0.5 < path.max() < 0.1 + (speed * math.sin(angle)) ** 2 / (2 * G)
    assert path[distances < 7.9].min() > 0
    assert path[distances > 8.1].max() < 0
