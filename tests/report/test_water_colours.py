"""The scale of water, for any eye and for grey print.

Lightness: CIELAB by CIE 15:2004 for sRGB (IEC 61966-2-1). Two-coloured sight: the projections of Vienot, Brettel and
Mollon 1999, Color Research and Application 24(4), 243-252, for sRGB; coefficients from memory.
"""

import csv
from importlib import resources

import numpy as np
import pytest

from rillwright.report.water_colours import DRIEST, WETTEST, water_colours

TO_XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
WHITE = TO_XYZ.sum(axis=1)
SIGHT = {
    "all colours": np.eye(3),
    "no red": np.array([[0.11238, 0.88762, 0], [0.11238, 0.88762, 0], [0.00401, -0.00401, 1]]),
    "no green": np.array([[0.29275, 0.70725, 0], [0.29275, 0.70725, 0], [-0.02234, 0.02234, 1]]),
}


def linear(rgb):
    return np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)


def lab(light):
    """CIELAB of linear sRGB, (n, 3)."""
    share = light @ TO_XYZ.T / WHITE
    f = np.where(share > (6 / 29) ** 3, np.cbrt(share), share / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.stack([116 * f[:, 1] - 16, 500 * (f[:, 0] - f[:, 1]), 200 * (f[:, 1] - f[:, 2])], axis=1)


def column(theme):
    with resources.files("rillwright.data").joinpath("water_colours.csv").open(encoding="utf-8", newline="") as file:
        texts = [row[theme] for row in csv.DictReader(file)]
    return np.array([[int(text[i : i + 2], 16) / 255 for i in (1, 3, 5)] for text in texts])


def test_white_is_white():
    assert lab(np.ones((1, 3)))[0] == pytest.approx([100, 0, 0], abs=0.01)


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_lightness_falls_in_even_steps_so_that_grey_print_tells_as_much(theme):
    steps = -np.diff(lab(linear(column(theme)))[:, 0])
    assert steps == pytest.approx(np.full(len(steps), steps.mean()), abs=0.6)  # colours are whole numbers of 255
    assert steps.sum() > 55


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("sight", SIGHT)
def test_every_tenth_of_the_mean_is_seen_by_every_eye(theme, sight):
    """Steps of 9 % of the mean differ by 2.3, a just noticeable difference (Mahy and others 1994, from memory)."""
    seen = lab(np.clip(linear(column(theme)) @ SIGHT[sight].T, 0, 1))
    assert np.linalg.norm(np.diff(seen, axis=0), axis=1).min() > 2.3


def test_beyond_its_ends_the_scale_holds_their_colours():
    ends = water_colours(np.array([0.0, DRIEST, WETTEST, 9.0]))
    assert (ends[0] == ends[1]).all()
    assert (ends[2] == ends[3]).all()
    assert (ends[:, 3] == 1).all()
