"""The catalogue, read from the packaged tables and the user's own charts and prices.

Columns and their units: docs/reference/charts.md.
"""

import math
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Literal, get_args

import numpy as np

from rillwright.data.tables import Row, read_table, read_user_table
from rillwright.model.fittings import load_fittings, load_stock
from rillwright.model.kinds import DeviceSize, ValveKind
from rillwright.model.network import Outlet
from rillwright.model.parts import (
    BackflowDevice,
    BackflowSize,
    Catalogue,
    DeviceLoss,
    MeterSize,
    Nozzle,
    PipeSize,
    Profile,
    TrenchCost,
    Valve,
    WallMaterial,
)
from rillwright.model.plan import Head
from rillwright.model.price_list import load_prices
from rillwright.model.site import (
    AREA_KINDS,
    BACKFLOW_KINDS,
    HEAD_CLASSES,
    PIPE_MATERIALS,
    AreaKind,
    BackflowKind,
    HeadClass,
)
from rillwright.physics.nozzles import fit_flow_law, outlet_flow
from rillwright.physics.units import FOOT, GPM, INCH, LPM, PSI, from_system

__all__ = [
    "MATCHED",
    "SLOPE_CLASSES",
    "flow_at",
    "load_catalogue",
    "outlet_of",
    "precipitation_of",
    "radius_at",
    "setting_of",
    "slope_class",
]

SLOPE_CLASSES: tuple[tuple[float, str], ...] = ((0.05, "0-5 %"), (0.08, "5-8 %"), (0.12, "8-12 %"))
MATCHED: dict[HeadClass, float] = {  # quickest over slowest precipitation in a zone that still counts as matched
    "spray": 1.25,  # 11 % about the mean; trade teaching says 10 to 25 %: common practice, no source
    "rotary": 1.25,
    "strip": 1.25,
    "small rotor": 1.5,  # 20 %: their nozzles come in steps; judgement
    "mid rotor": 1.5,
}
_STEEPEST_CLASS = "over 12 %"
_EXPONENTS = (0.1, 1.0)  # of the flow law, that the hydraulics can carry

_UNITS: dict[str, float] = {
    "psi": PSI,
    "kpa": 1e3,
    "gpm": GPM,
    "lpm": LPM,
    "ft": FOOT,
    "in": INCH,
    "m": 1.0,
    "um": 1e-6,
    "in_per_h": INCH / 3600,
}
_Pattern = Literal["sector", "centre strip", "end strip", "side strip"]
_PATTERNS: tuple[_Pattern, ...] = ("sector", "centre strip", "end strip", "side strip")
_SURFACES: tuple[AreaKind | Literal["ground"], ...] = ("ground", *AREA_KINDS)
_VALVES: tuple[ValveKind, ...] = ("in-line valve", "valve with vacuum breaker")
_SCOPES: tuple[Literal["zone", "system"], ...] = ("zone", "system")
_CHART_COLUMNS: tuple[tuple[str, ...], ...] = (
    ("id",),
    ("head_class",),
    ("pattern",),
    ("reference_arc_deg",),
    ("flow_follows_arc",),
    ("flow_follows_radius",),
    ("fixed_arcs_deg",),
    ("arc_low_deg",),
    ("arc_high_deg",),
    ("pressure_psi", "pressure_kpa"),
    ("flow_gpm", "flow_lpm"),
    ("radius_ft", "radius_m"),
    ("width_ft", "width_m"),
    ("design_pressure_psi", "design_pressure_kpa"),
    ("shorten_percent",),
    ("profile",),
    ("source",),
)
_MEASURED = ("pressure_psi", "pressure_kpa", "flow_gpm", "flow_lpm", "radius_ft", "radius_m")


def load_catalogue(*, charts: Path | None = None, prices: Path | None = None) -> Catalogue:
    """Read the catalogue.

    Parameters: charts, a CSV file of the user's nozzles, which replace packaged ones of the same id and add to the
    others; prices, a CSV file of the user's prices, which replace packaged ones, and which may say what
    fittings cannot be had. Errors: TableError.
    """
    profiles = _profiles()
    nozzles = _nozzles(read_table("nozzles"), profiles)
    if charts is not None:
        nozzles |= _nozzles(read_user_table(charts, _CHART_COLUMNS), profiles)
    priced, shelf = load_prices(load_fittings(), prices)
    pipes = tuple(_pipe(row) for row in read_table("pipes"))
    return Catalogue(
        pipes=pipes,
        materials={row.choice("material", PIPE_MATERIALS): _material(row) for row in read_table("materials")},
        nozzles=nozzles,
        profiles=profiles,
        backflow=_backflow(read_table("backflow")),
        valves=tuple(_valve(row) for row in read_table("valves")),
        meters={meter.trade_size: meter for meter in map(_meter, read_table("meters"))},
        trenches={trench.surface: trench for trench in map(_trench, read_table("trenches"))},
        prices=priced,
        intake={
            (row.text("texture"), row.text("slope_class")): _si(row, "largest_rate", low=0.0)
            for row in read_table("intake")
        },
        fittings=shelf.priced(
            {part: price.price for part, price in priced.items()}, [(p.material, p.trade_size) for p in pipes]
        ),
        stock=load_stock(),
    )


def flow_at(nozzle: Nozzle, pressure: float, arc: float, *, radius_share: float = 1.0) -> float:
    """Flow [m³/s] of a nozzle at a pressure [Pa], an arc [°] and a share of its radius, by the law of its chart."""
    outlet = outlet_of(nozzle, arc, radius_share=radius_share)
    return outlet_flow(pressure, coefficient=outlet.coefficient, exponent=outlet.exponent)


def outlet_of(nozzle: Nozzle, arc: float, *, radius_share: float = 1.0) -> Outlet:
    """Make the outlet of a nozzle set to an arc [°], its radius turned down to a share; a strip has no arc, give 0.

    Where the flow follows the radius it falls with the wetted area, by the square of the share: the precipitation
    rate stays. That is typical of the class, from memory.
    """
    coefficient, exponent = _flow_law(nozzle.pressure, nozzle.flow)
    share = arc / nozzle.reference_arc if nozzle.flow_follows_arc else 1.0
    share *= radius_share**2 if nozzle.flow_follows_radius else 1.0
    return Outlet(coefficient * share, exponent)


def setting_of(head: Head) -> str:
    """Name nozzle, arc and turned-down radius of a head: heads of one setting should pass the same flow."""
    return f"{head.nozzle}, {head.arc:.0f}°, {100 * head.radius_share:.0f} %"


def radius_at(nozzle: Nozzle, pressure: float) -> float:
    """Radius [m] (of a strip its length) at a pressure [Pa]: along the chart, held at its ends outside of it."""
    return float(np.interp(pressure, nozzle.pressure, nozzle.radius))


def precipitation_of(nozzle: Nozzle, head: Head) -> float:
    """Mean rate [m/s] of a head over the ground that it wets by itself: its sector, or its strip.

    About a third of what head-to-head spacing makes of it: it serves to compare heads. Source: flow over area.
    """
    sector = math.radians(head.arc) / 2 * head.radius**2
    return head.flow / (sector if nozzle.pattern == "sector" else head.radius * nozzle.width)


def slope_class(slope: float) -> str:
    """Name the class of a slope [m/m], as the intake table is keyed.

    >>> slope_class(0.06)
    '5-8 %'
    """
    return next((name for limit, name in SLOPE_CLASSES if slope <= limit), _STEEPEST_CLASS)


@cache
def _flow_law(pressure: tuple[float, ...], flow: tuple[float, ...]) -> tuple[float, float]:
    return fit_flow_law(pressure, flow)


def _column(row: Row, name: str) -> tuple[str, float]:
    """Find the column that carries a quantity, and the factor of the unit in its name."""
    return next((f"{name}_{unit}", factor) for unit, factor in _UNITS.items() if f"{name}_{unit}" in row.cells)


def _si(row: Row, name: str, *, low: float, high: float = float("inf")) -> float:
    """Read a quantity into SI; low and high [SI] hold but for the rounding of the conversion."""
    column, factor = _column(row, name)
    low, high = low - 1e-9 * abs(low), high * (1 + 1e-9)
    return row.number(column, low=low / factor, high=high / factor) * factor


def _optional_si(row: Row, name: str) -> float | None:
    column, factor = _column(row, name)
    value = row.optional(column)
    return None if value is None else value * factor


def _loss(row: Row) -> DeviceLoss:
    """Draw loss = threshold + factor · flow² through the threshold and one row of the chart."""
    threshold, loss = _si(row, "threshold", low=0.0), _si(row, "loss", low=0.0)
    return DeviceLoss(factor=(loss - threshold) / _si(row, "loss_flow", low=1e-6) ** 2, threshold=threshold)


def _pipe(row: Row) -> PipeSize:
    return PipeSize(
        material=row.choice("material", PIPE_MATERIALS),
        trade_size=row.text("trade_size"),
        inside_diameter=_si(row, "inside_diameter", low=0.001),
        outside_diameter=_si(row, "outside_diameter", low=0.001),
        pressure_rating=_si(row, "pressure_rating", low=0.0),
        roughness=_si(row, "roughness", low=0.0),
        source=row.text("source"),
    )


def _material(row: Row) -> WallMaterial:
    shares = [1.0, *(row.number(f"share_at_{warm}f", low=0.0, high=1.0) for warm in (80, 90, 100))]
    return WallMaterial(
        elastic_modulus=_si(row, "elastic_modulus", low=1e6),
        surge_share=row.number("surge_share", low=1.0),
        expansion=1e-6 * row.number("expansion_um_per_m_k", low=0.0),
        poisson=row.number("poisson", low=0.0, high=0.5),
        creep=0.01 * row.number("creep_percent_per_decade", low=0.0),
        warm=tuple(zip((from_system(f, "temperature", "US") for f in (73, 80, 90, 100)), shares, strict=True)),
        source=row.text("source"),
        closed_source=row.text("closed_source"),
    )


def _backflow(rows: tuple[Row, ...]) -> dict[BackflowKind, BackflowDevice]:
    """Gather the sizes of each kind; its rule is that of its first row."""
    found: dict[BackflowKind, BackflowDevice] = {}
    for row in rows:
        kind = row.choice("kind", BACKFLOW_KINDS)
        size = BackflowSize(kind, row.choice("trade_size", get_args(DeviceSize)), _loss(row), row.text("source"))
        device = found.get(kind) or BackflowDevice(
            kind=kind,
            scope=row.choice("scope", _SCOPES),
            above_outlets=_optional_si(row, "above_outlets"),
            above_ground=_si(row, "above_ground", low=-5.0),
            sizes=(),
            source=size.source,
        )
        found[kind] = replace(device, sizes=(*device.sizes, size))
    return found


def _valve(row: Row) -> Valve:
    return Valve(
        kind=row.choice("kind", _VALVES),
        trade_size=row.text("trade_size"),
        loss=_loss(row),
        closing_time=row.number("closing_s", low=0.01),
        source=row.text("source"),
    )


def _meter(row: Row) -> MeterSize:
    maximum, loss = _si(row, "safe_maximum", low=1e-6), _si(row, "loss_at_maximum", low=0.0)
    return MeterSize(row.text("trade_size"), maximum, loss, row.text("source"))


def _trench(row: Row) -> TrenchCost:
    return TrenchCost(
        surface=row.choice("surface", _SURFACES),
        per_metre=row.optional("per_metre", low=0.0),
        per_crossing=row.optional("per_crossing", low=0.0) or 0.0,
        source=row.text("source"),
    )


def _grouped(rows: tuple[Row, ...]) -> dict[str, list[Row]]:
    groups: dict[str, list[Row]] = {}
    for row in rows:
        groups.setdefault(row.name("id"), []).append(row)
    return groups


def _profiles() -> dict[str, Profile]:
    return {name: _profile(name, rows) for name, rows in _grouped(read_table("profiles")).items()}


def _profile(name: str, rows: list[Row]) -> Profile:
    """Gather one class's profiles; each pressure's has the same distances as the first."""
    rates: dict[float, list[float]] = {}
    for row in rows:
        rates.setdefault(row.number("pressure_share", low=0.1), []).append(row.number("relative_rate", low=0.0))
    distances = [row.number("distance_share", low=0.0, high=1.0) for row in rows]
    count = len(rates[1.0])
    if distances != distances[:count] * len(rates):
        raise rows[0].error("distance_share", "each pressure share of a profile needs the same distances")
    return Profile(
        id=name,
        distance=tuple(distances[:count]),
        rate=tuple(rates[1.0]),
        source=rows[0].text("source"),
        launch=rows[0].number("launch_deg", low=1.0, high=60.0),
        others=tuple((share, tuple(rate)) for share, rate in rates.items() if share != 1.0),
    )


def _nozzles(rows: tuple[Row, ...], profiles: dict[str, Profile]) -> dict[str, Nozzle]:
    return {name: _nozzle(group, tuple(profiles)) for name, group in _grouped(rows).items()}


def _nozzle(rows: list[Row], profiles: tuple[str, ...]) -> Nozzle:
    _check_chart(rows)
    first = rows[0]
    pressure = tuple(_si(row, "pressure", low=1e3, high=2e6) for row in rows)
    nozzle = Nozzle(
        id=first.name("id"),
        head_class=first.choice("head_class", HEAD_CLASSES),
        pattern=first.choice("pattern", _PATTERNS),
        reference_arc=first.number("reference_arc_deg", low=0.0, high=360.0),
        flow_follows_arc=first.yes("flow_follows_arc"),
        flow_follows_radius=first.yes("flow_follows_radius"),
        fixed_arcs=first.numbers("fixed_arcs_deg", low=1.0, high=360.0),
        arc_low=first.number("arc_low_deg", low=0.0, high=360.0),
        arc_high=first.number("arc_high_deg", low=0.0, high=360.0),
        pressure=pressure,
        flow=tuple(_si(row, "flow", low=1e-7, high=0.05) for row in rows),
        radius=tuple(_si(row, "radius", low=0.1, high=100.0) for row in rows),
        width=_optional_si(first, "width") or 0.0,
        design_pressure=_si(first, "design_pressure", low=pressure[0], high=pressure[-1]),
        shorten=first.number("shorten_percent", low=0.0, high=90.0) / 100,
        profile=first.choice("profile", profiles),
        source=first.text("source"),
    )
    _check_pattern(nozzle, first)
    _check_law(nozzle, rows[-1])
    return nozzle


def _check_chart(rows: list[Row]) -> None:
    """Refuse a chart with one row, rows whose pressure does not rise or flow falls, or that contradict the first."""
    first = rows[0]
    if len(rows) < 2:
        raise first.error("id", "this nozzle has one row; give at least two rows at different pressures")
    for lower, upper in pairwise(rows):
        for name, low_word in (("pressure", "rise"), ("flow", "not fall")):
            column, _ = _column(upper, name)
            before, here = lower.number(column), upper.number(column)
            if here < before or (here == before and name == "pressure"):
                raise upper.error(column, f"it must {low_word} from row to row of one nozzle; {before:g} stands before")
    for row in rows[1:]:
        for column, value in row.cells.items():
            if column not in _MEASURED and value not in ("", first.cells[column]):
                raise row.error(column, f"leave it empty or repeat '{first.cells[column]}' of line {first.line}")


def _check_law(nozzle: Nozzle, row: Row) -> None:
    """Refuse a chart whose flow hardly answers to pressure, or answers as no nozzle does."""
    low, high = _EXPONENTS
    _, exponent = _flow_law(nozzle.pressure, nozzle.flow)
    if not low <= exponent <= high:
        column, _ = _column(row, "flow")
        law = f"the rows up to here follow flow = K · pressure^{exponent:.2f}"
        raise row.error(column, f"{law}, where {low:g} to {high:g} can be planned and a plain nozzle has 0.5")


def _check_pattern(nozzle: Nozzle, row: Row) -> None:
    """Refuse a strip without width, a sector with one, and arcs that contradict each other."""
    width, _ = _column(row, "width")
    if nozzle.pattern != "sector":
        if nozzle.head_class != "strip":
            raise row.error("head_class", f"a {nozzle.pattern} is of the class 'strip'")
        if nozzle.width <= 0:
            raise row.error(width, "a strip needs its width")
        return
    if nozzle.head_class == "strip":
        raise row.error("pattern", "the class 'strip' throws a centre strip, an end strip or a side strip")
    if nozzle.width:
        raise row.error(width, "leave it empty: a sector has no width")
    if not 0 < nozzle.arc_low <= nozzle.arc_high:
        raise row.error("arc_low_deg", f"write more than 0 and at most arc_high_deg, {nozzle.arc_high:g}")
    if nozzle.flow_follows_arc and nozzle.reference_arc <= 0:
        raise row.error(
            "reference_arc_deg", "the flow follows the arc, so write the arc that the chart's flow holds at"
        )
    if any(not nozzle.arc_low <= arc <= nozzle.arc_high for arc in nozzle.fixed_arcs):
        raise row.error("fixed_arcs_deg", f"write arcs from {nozzle.arc_low:g} to {nozzle.arc_high:g}")
