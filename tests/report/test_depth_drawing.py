import base64
import io
import re
from functools import cache

import matplotlib.image
import numpy as np
import pytest
import shapely

from drawn_plans import plan_named
from rillwright.model.ground import resolve_ground
from rillwright.report.depth_drawing import _window, draw_depth

BOUNDS = (-2.0, -6.0, 11.0, 9.0)


@cache
def small():
    plan = plan_named("small")
    return plan, resolve_ground(plan.yard)


def pictures(depth):
    plan, ground = small()
    svg = draw_depth(plan, ground, depth=depth, bounds=BOUNDS)
    found = re.findall(r"data:image/png;base64,([^\"]+)", svg)
    return svg, [matplotlib.image.imread(io.BytesIO(base64.b64decode(data)), format="png") for data in found]


def test_dry_is_straw_the_mean_grass_and_wet_pond():
    depth = np.ones((60, 52))
    depth[:20], depth[40:] = 0.4, 1.7
    _, (_, lawn) = pictures(depth)
    high = lawn.shape[0]
    wet, mean, dry = lawn[high // 8, 5], lawn[high // 2, 5], lawn[-high // 8, 5]  # the first row is the top
    assert dry[0] > dry[1] > dry[2] + 0.2
    assert mean[1] > max(mean[0], mean[2])
    assert wet[2] > wet[1] > wet[0]


def test_water_beside_the_lawn_is_pale_and_grows_with_depth():
    depth = np.zeros((60, 52))
    depth[:, 26:] = 1.0
    _, (beside, _) = pictures(depth)
    middle = beside.shape[0] // 2
    assert beside[middle, 2, 3] == 0.0
    assert 0.5 < beside[middle, -3, 3] < 0.9


def test_dry_and_wet_have_lines_that_grey_print_keeps_apart():
    plan, _ = small()
    depth = np.ones((60, 52))
    even, _ = pictures(depth)
    depth[30:40, 15:22], depth[30:40, 35:42] = 0.2, 1.9
    spotted, _ = pictures(depth)

    def lines(svg):
        group = svg.split('id="depth-lines"', 1)[1].split("id=", 1)[0]
        return re.findall(r"<polyline[^>]*stroke-dasharray=\"([^\"]+)\"", group)

    assert lines(even) == []
    assert set(lines(spotted)) == {"1.2 0.7", "none"}
    assert f"{100 / plan.lawns[0].evenness.scheduling:.0f} %" in spotted


@pytest.mark.parametrize("at", [(4.5, 3.5), (0.2, 0.2), (8.9, 3.0)])
def test_the_driest_window_holds_a_twentieth_of_the_lawn(at):
    lawn = shapely.box(0, 0, 9, 7)
    window = _window(lawn, at)
    assert window.area == pytest.approx(0.05 * lawn.area, rel=0.02)
    assert lawn.covers(window)
