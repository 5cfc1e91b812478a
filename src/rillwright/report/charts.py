"""Charts drawn by matplotlib: the supply curve with its working points, and few heads against even water."""

import io
import re
from collections.abc import Sequence
from typing import Any, Literal

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure

from rillwright.model.plan import Plan, SupplyReport
from rillwright.physics.units import System, to_system, unit_name
from rillwright.report.palette import INK, SOFT, zone_colour
from rillwright.report.text import FONT

__all__ = ["STYLE", "canvas", "draw_front", "draw_supply", "spread_out", "written"]

_WIDE, _HIGH = 175.0, 105.0  # [mm]
_NAME_ROOM = 0.042  # share of the chart's width that a zone's name takes
STYLE: Any = {
    "font.family": FONT,
    "font.size": 8.5,
    "svg.fonttype": "none",
    "svg.hashsalt": "rillwright",
    "axes.edgecolor": SOFT,
    "axes.labelcolor": INK,
    "text.color": INK,
}


def draw_supply(plan: Plan) -> str:
    """Draw pressure against flow: the band, the measured points, the safe flow and each zone's working point."""
    system, report = plan.yard.units, plan.supply
    with mpl.rc_context(STYLE):
        figure, axes = canvas()
        axes.set_xlabel(f"flow [{unit_name('flow', system)}]")
        axes.set_ylabel(f"pressure at the water entry [{unit_name('pressure', system)}]")
        axes.set_xlim(0, to_system(max(point.flow for point in report.curve), "flow", system))
        axes.grid(color="#dfe3e6", linewidth=0.5)
        _plot_curve(axes, report, system)
        _plot_limits(axes, report, system)
        axes.set_ylim(0, None)
        _plot_zones(axes, plan, system)
        figure.legend(loc="outside lower center", ncols=3, frameon=False, fontsize=7.5)
        return written(figure, "supply")


def draw_front(plan: Plan) -> str:
    """Draw extra water against estimated money for the layouts of the front; a ring for this plan's."""
    with mpl.rc_context(STYLE):
        figure, axes = canvas()
        axes.set_xlabel(f"about so much more than this plan [{plan.yard.currency}]")
        axes.set_ylabel("extra water [%]")
        axes.grid(color="#dfe3e6", linewidth=0.5)
        here = next((p.cost for p in plan.front if p.chosen), 0.0)
        money, water = [p.cost - here for p in plan.front], [100 * p.extra_water for p in plan.front]
        axes.plot(money, water, "o", color="#0072B2", markersize=5)
        for point, x, y in zip(plan.front, money, water, strict=True):
            if point.chosen:
                axes.plot(x, y, "o", color="#D55E00", markersize=10, fillstyle="none")
            words = f"{point.heads} heads" + (f", {point.aim}" if point.aim else "")
            side: Literal["left", "right"] = "right" if x > (min(money) + max(money)) / 2 else "left"
            off = -5 if side == "right" else 5
            axes.annotate(words, (x, y), xytext=(off, 6), textcoords="offset points", fontsize=7, ha=side)
        axes.margins(x=0.05, y=0.15)
        axes.set_ylim(0, None)
        return written(figure, "front")


def canvas() -> tuple[Figure, Axes]:
    """An empty chart of the usual size."""
    figure = Figure(figsize=(_WIDE / 25.4, _HIGH / 25.4), layout="constrained")
    FigureCanvasSVG(figure)
    return figure, figure.add_subplot()


def written(figure: Figure, name: str) -> str:
    """Write a chart as SVG; its ids begin with its name, for they must differ from those of other charts on a page."""
    out = io.StringIO()
    figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None})
    text = out.getvalue()
    return re.sub(r'(\bid="|href="#|url\(#)', rf"\1{name}-", text[text.index("<svg") :])


def _plot_curve(axes: Axes, report: SupplyReport, system: System) -> None:
    x = [to_system(p.flow, "flow", system) for p in report.curve]
    low, median, high = (
        [to_system(value, "pressure", system) for value in column]
        for column in zip(*((p.low, p.median, p.high) for p in report.curve), strict=True)
    )
    axes.fill_between(x, low, high, color="#56B4E9", alpha=0.3, linewidth=0, label="90 % band")
    axes.plot(x, median, color="#0072B2", label="supply, median")
    if report.measured:
        axes.errorbar(
            [to_system(m.flow, "flow", system) for m in report.measured],
            [to_system(m.pressure, "pressure", system) for m in report.measured],
            xerr=[1.645 * to_system(m.flow_error, "flow", system) for m in report.measured],
            yerr=[1.645 * to_system(m.pressure_error, "pressure", system) for m in report.measured],
            fmt="s",
            color=INK,
            markersize=4,
            capsize=2,
            linewidth=0.9,
            label="measured, with 90 % error",
        )


def _plot_limits(axes: Axes, report: SupplyReport, system: System) -> None:
    safe, needed = to_system(report.safe_flow, "flow", system), to_system(report.reference_pressure, "pressure", system)
    axes.axvline(safe, color="#D55E00", linestyle="--", linewidth=1.2, label="safe flow")
    axes.axhline(needed, color=SOFT, linestyle=":", linewidth=1.1, label="pressure needed at the entry")


def _plot_zones(axes: Axes, plan: Plan, system: System) -> None:
    """Mark where each zone works; names stand in a row under the points, so that none covers another."""
    order = sorted(range(len(plan.zones)), key=lambda i: plan.zones[i].flow)
    flows = [to_system(plan.zones[i].flow, "flow", system) for i in order]
    width = axes.get_xlim()[1]
    names = spread_out(flows, gap=_NAME_ROOM * width, low=0.03 * width, high=0.97 * width)
    bottom = 0.06 * axes.get_ylim()[1]
    for index, flow, name in zip(order, flows, names, strict=True):
        zone, colour = plan.zones[index], zone_colour(index)
        pressure = to_system(zone.entry_pressure, "pressure", system)
        axes.plot([flow, name], [pressure, bottom + 0.035 * axes.get_ylim()[1]], color=colour, linewidth=0.5)
        axes.plot(flow, pressure, "o", color=colour, markersize=5)
        axes.text(name, bottom, zone.id, ha="center", va="center", fontsize=7, color=colour)
    if plan.zones:
        axes.plot([], [], "o", color=SOFT, markersize=5, label="zones at work")


def spread_out(places: Sequence[float], *, gap: float, low: float, high: float) -> list[float]:
    """Move rising places as little as it takes to keep a gap between neighbours, within low to high.

    Where there is no room for the gap, the places share what there is.

    >>> spread_out([1.0, 1.0, 5.0], gap=1.0, low=0.0, high=10.0)
    [1.0, 2.0, 5.0]
    """
    if len(places) > 1:
        gap = min(gap, (high - low) / (len(places) - 1))
    out: list[float] = []
    for place in places:
        out.append(max(place, out[-1] + gap if out else low))
    ceiling = high
    for index in range(len(out) - 1, -1, -1):
        out[index] = min(out[index], ceiling)
        ceiling = out[index] - gap
    return out
