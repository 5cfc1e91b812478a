"""Charts drawn by matplotlib: the supply curve with its measurements, and the depth of water on the ground."""

import base64
import io
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import matplotlib as mpl
import numpy as np
import shapely
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.cm import ScalarMappable
from matplotlib.colors import Normalize
from matplotlib.figure import Figure
from matplotlib.image import imsave
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from rillwright.model.plan import Plan
from rillwright.physics.units import to_system, unit_name
from rillwright.report.palette import INK, zone_colour
from rillwright.report.text import FONT

__all__ = ["depth_image", "depth_scale", "draw_supply"]

Floats = NDArray[np.float64]
Bounds = tuple[float, float, float, float]
DEEPEST = 2.0  # relative depth that has the last colour
_STYLE: Any = {
    "font.family": FONT,
    "font.size": 8.5,
    "svg.fonttype": "none",
    "svg.hashsalt": "rillwright",
    "axes.edgecolor": "#6c757d",
    "axes.labelcolor": INK,
    "text.color": INK,
}


@contextmanager
def _figure(width: float, height: float) -> Iterator[Figure]:
    with mpl.rc_context(_STYLE):
        figure = Figure(figsize=(width / 25.4, height / 25.4), layout="constrained")
        FigureCanvasSVG(figure)
        yield figure


def _svg(figure: Figure) -> str:
    out = io.StringIO()
    figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None})
    text = out.getvalue()
    return text[text.index("<svg") :]


def draw_supply(plan: Plan) -> str:
    """Draw pressure against flow: the band, the measured points, the safe flow and each zone's working point."""
    system = plan.yard.units
    report = plan.supply

    def flow(value: float) -> float:
        return to_system(value, "flow", system)

    def pressure(value: float) -> float:
        return to_system(value, "pressure", system)

    with _figure(175, 92) as figure:
        axes = figure.add_subplot()
        x = [flow(p.flow) for p in report.curve]
        axes.fill_between(
            x,
            [pressure(p.low) for p in report.curve],
            [pressure(p.high) for p in report.curve],
            color="#56B4E9",
            alpha=0.3,
            linewidth=0,
            label="90 % band",
        )
        axes.plot(x, [pressure(p.median) for p in report.curve], color="#0072B2", label="supply, median")
        if report.measured:
            axes.errorbar(
                [flow(m.flow) for m in report.measured],
                [pressure(m.pressure) for m in report.measured],
                xerr=[1.645 * flow(m.flow_error) for m in report.measured],
                yerr=[1.645 * pressure(m.pressure_error) for m in report.measured],
                fmt="s",
                color=INK,
                markersize=4,
                capsize=2,
                linewidth=0.9,
                label="measured, with 90 % error",
            )
        for index, zone in enumerate(plan.zones):
            axes.plot(flow(zone.flow), pressure(zone.entry_pressure), "o", color=zone_colour(index), markersize=5)
            axes.annotate(
                zone.id,
                (flow(zone.flow), pressure(zone.entry_pressure)),
                textcoords="offset points",
                xytext=(4, 4 + 8 * (index % 3)),
                fontsize=7,
                color=zone_colour(index),
            )
        axes.axvline(flow(report.safe_flow), color="#D55E00", linestyle="--", linewidth=1.2, label="safe flow")
        axes.axhline(
            pressure(report.reference_pressure),
            color="#6c757d",
            linestyle=":",
            linewidth=1.1,
            label="pressure needed at the entry",
        )
        axes.set_xlabel(f"flow [{unit_name('flow', system)}]")
        axes.set_ylabel(f"pressure at the water entry [{unit_name('pressure', system)}]")
        axes.set_xlim(0, max(x))
        axes.set_ylim(0, None)
        axes.grid(color="#dfe3e6", linewidth=0.5)
        axes.legend(loc="upper right", frameon=False, fontsize=7.5)
        return _svg(figure)


def depth_image(depth: Floats, bounds: tuple[float, float, float, float], lawn: BaseGeometry) -> tuple[str, Bounds]:
    """Colour relative depth (ny, nx; first row lowest y; 1 is the lawn's mean) as a picture over its site bounds [m].

    Water off the lawn is drawn pale. Returns the data address of a PNG, and the bounds.
    """
    ny, nx = depth.shape
    low_x, low_y, high_x, high_y = bounds
    xs = low_x + (np.arange(nx) + 0.5) * (high_x - low_x) / nx
    ys = low_y + (np.arange(ny) + 0.5) * (high_y - low_y) / ny
    grid_x, grid_y = np.meshgrid(xs, ys)
    shapely.prepare(lawn)
    inside = shapely.contains_xy(lawn, grid_x, grid_y)
    colours = mpl.colormaps["cividis_r"](np.clip(depth / DEEPEST, 0, 1))
    colours[..., 3] = np.where(inside, 0.92, np.where(depth > 0.02, 0.3, 0.0))
    out = io.BytesIO()
    imsave(out, colours[::-1], format="png")
    return "data:image/png;base64," + base64.b64encode(out.getvalue()).decode(), bounds


def depth_scale() -> str:
    """Draw the colour scale of the depth picture."""
    with _figure(120, 17) as figure:
        axes = figure.add_subplot()
        mapping = ScalarMappable(norm=Normalize(0, 100 * DEEPEST), cmap="cividis_r")
        bar = figure.colorbar(mapping, cax=axes, orientation="horizontal")
        bar.set_label("depth of water as a share of the lawn's mean [%]")
        return _svg(figure)
