import math
import re
from pathlib import Path
from typing import get_args

import fluids
import numpy as np
import pytest

from rillwright.data.tables import read_table
from rillwright.errors import TableError
from rillwright.model.catalogue import SLOPE_CLASSES, flow_at, load_catalogue, outlet_of, radius_at, slope_class
from rillwright.model.site import AREA_KINDS, BACKFLOW_KINDS, HEAD_CLASSES, PIPE_MATERIALS, Meter, Soil
from rillwright.physics.evenness import christiansen_uniformity
from rillwright.physics.nozzles import rectangular_rate
from rillwright.physics.units import FOOT, GPM, INCH, PSI

CATALOGUE = load_catalogue()
NOZZLES = list(CATALOGUE.nozzles.values())
SECTORS = [n for n in NOZZLES if n.pattern == "sector"]
by_id = pytest.mark.parametrize("nozzle", NOZZLES, ids=lambda n: n.id)

HEADER = (
    "id,head_class,pattern,reference_arc_deg,flow_follows_arc,flow_follows_radius,fixed_arcs_deg,arc_low_deg,arc_high_deg,"
    "pressure_psi,flow_gpm,radius_ft,width_ft,design_pressure_psi,shorten_percent,profile,source"
)
CHART = [
    "own 20,spray,sector,180,yes,yes,90 180,90,180,20,1.00,12,,30,25,spray,measured",
    "own 20,,,,,,,,,30,1.22,15,,,,,",
    "own 20,,,,,,,,,40,1.41,16,,,,,",
]


def pipe(material, size):
    (found,) = [p for p in CATALOGUE.pipes if (p.material, p.trade_size) == (material, size)]
    return found


def charts(tmp_path, lines, header=HEADER):
    path = tmp_path / "own.csv"
    path.write_text("\n".join([header, *lines]) + "\n", encoding="utf-8")
    return load_catalogue(charts=path)


def prices(tmp_path, *lines, header="part,price,source"):
    path = tmp_path / "shop.csv"
    path.write_text("\n".join([header, *lines]) + "\n", encoding="utf-8")
    return load_catalogue(prices=path)


# Pipes


@pytest.mark.parametrize("nps", [0.5, 0.75, 1, 1.25, 1.5, 2])
def test_schedule_40_agrees_with_the_library_fluids(nps):
    """fluids holds the sizes of ASME B36.10M, whose outside and wall ASTM D1785 shares; it rounds to 0.01 mm."""
    _, inside, outside, _ = fluids.nearest_pipe(NPS=nps, schedule="40")
    size = {0.5: "1/2 in", 0.75: "3/4 in", 1: "1 in", 1.25: "1-1/4 in", 1.5: "1-1/2 in", 2: "2 in"}[nps]
    ours = pipe("PVC schedule 40", size)
    assert ours.inside_diameter == pytest.approx(inside, abs=5e-5)
    assert ours.outside_diameter == pytest.approx(outside, abs=1e-4)


@pytest.mark.parametrize(
    ("material", "size", "inches"),
    [
        ("PVC schedule 40", "1 in", 1.049),  # ASTM D1785, read in a reprint
        ("PVC SDR-21", "1 in", 1.189),  # ASTM D2241, walls from memory
        ("PE", "1 in", 1.049),  # ASTM D2239, from memory
        ("PEX", "1 in", 0.875),  # ASTM F876, from memory
        ("copper L", "1 in", 1.025),  # ASTM B88, from memory
        ("copper M", "3/4 in", 0.811),  # ASTM B88, from memory
    ],
)
def test_true_bores(material, size, inches):
    assert pipe(material, size).inside_diameter / INCH == pytest.approx(inches, abs=5e-4)


def test_bore_is_outside_less_two_walls():
    """The convention of the friction tables, held by every row to the last digit printed."""
    for row in read_table("pipes"):
        bore = row.number("outside_diameter_in") - 2 * row.number("wall_in")
        assert row.number("inside_diameter_in") == pytest.approx(bore, abs=1.01e-3), row


@pytest.mark.parametrize(("material", "ratio", "least"), [("PVC SDR-21", 21, 0.060), ("PEX", 9, 0.070)])
def test_walls_by_dimension_ratio(material, ratio, least):
    """Outside over wall is the ratio, with a least wall: ASTM D2241 and F876, from memory."""
    for row in read_table("pipes"):
        if row.text("material") == material:
            wall = max(row.number("outside_diameter_in") / ratio, least)
            assert row.number("wall_in") == pytest.approx(wall, abs=1e-3), row


def test_pe_walls_by_inside_ratio():
    """SIDR 15: inside over wall, not under 0.060 in (ASTM D2239, from memory)."""
    for row in read_table("pipes"):
        if row.text("material") == "PE":
            assert row.number("wall_in") == pytest.approx(max(row.number("inside_diameter_in") / 15, 0.06), abs=1e-3)


def test_pressure_ratings():
    """2 S t / (OD - t), S = 2000 psi (D1785, rounded to 10 psi); 2 S / (SDR - 1) (D2241); 2 S / (SIDR + 1) (D2239)."""
    for row in read_table("pipes"):
        wall, outside, rating = (row.number(c) for c in ("wall_in", "outside_diameter_in", "pressure_rating_psi"))
        if row.text("material") == "PVC schedule 40":
            assert rating == pytest.approx(2 * 2000 * wall / (outside - wall), abs=8)
    assert {p.pressure_rating / PSI for p in CATALOGUE.pipes if p.material == "PVC SDR-21"} == {2 * 2000 / 20}
    assert {p.pressure_rating / PSI for p in CATALOGUE.pipes if p.material == "PE"} == {2 * 800 / 16}


def test_every_material_has_sizes_whose_bore_grows():
    for material in PIPE_MATERIALS:
        bores = [p.inside_diameter for p in CATALOGUE.pipes if p.material == material]
        assert len(bores) >= 5
        assert bores == sorted(set(bores))


# Meters, devices, soil


@pytest.mark.parametrize(
    ("size", "gpm", "psi"),
    [("5/8 in", 20, 15), ("3/4 in", 30, 15), ("1 in", 50, 15), ("1-1/2 in", 100, 20), ("2 in", 160, 20)],
)
def test_meters(size, gpm, psi):
    """AWWA C700 table 1, from memory: safe maximum flow of displacement meters and the largest loss there."""
    meter = CATALOGUE.meters[size]
    assert meter.safe_maximum / GPM == pytest.approx(gpm)
    assert meter.loss.at(gpm * GPM) / PSI == pytest.approx(psi)


def test_a_small_meter_at_half_its_flow_loses_a_quarter():
    """5/8 in at 10 gpm: 3.75 psi, arithmetic on AWWA C700."""
    assert CATALOGUE.meters["5/8 in"].loss.at(10 * GPM) / PSI == pytest.approx(3.75)


def test_every_meter_of_a_yard_is_there():
    assert set(get_args(Meter.model_fields["size"].annotation)) == set(CATALOGUE.meters)


def test_backflow_rules():
    """Heights: ASSE 1001 (6 in) and 1020 (12 in), read in a municipal code; 12 in over ground for the reduced
    pressure zone, read in the same code."""
    atmospheric, pressure, reduced, double = (CATALOGUE.backflow[kind] for kind in BACKFLOW_KINDS)
    assert (atmospheric.scope, atmospheric.above_outlets) == ("zone", pytest.approx(0.1524))
    assert (pressure.scope, pressure.above_outlets) == ("system", pytest.approx(0.3048))
    assert (reduced.above_outlets, reduced.above_ground) == (None, pytest.approx(0.3048))
    assert double.above_outlets is None
    assert double.above_ground < 0
    assert atmospheric.above_ground == pytest.approx(0.1524)


def test_device_losses_stand_in_the_order_of_their_checks():
    """Typical of the class, from memory: none < one < two < two checks with a zone between."""
    at_ten = [CATALOGUE.backflow[kind].loss.at(10 * GPM) / PSI for kind in BACKFLOW_KINDS]
    atmospheric, pressure, reduced, double = at_ten
    assert 1 <= atmospheric <= 2 < pressure <= 4 < double <= 5 < 12 <= reduced <= 14
    assert all(d.loss.at(0.0) == 0 for d in CATALOGUE.backflow.values())


def test_a_larger_valve_loses_less():
    losses = {(v.kind, v.trade_size): v.loss.at(10 * GPM) for v in CATALOGUE.valves}
    for kind in ("in-line valve", "valve with vacuum breaker"):
        assert losses[kind, "1 in"] < losses[kind, "3/4 in"]
    for size in ("3/4 in", "1 in"):
        assert losses["in-line valve", size] < losses["valve with vacuum breaker", size]


def test_every_device_curve_rises():
    for device in [*CATALOGUE.backflow.values(), *CATALOGUE.valves]:
        assert device.loss.factor > 0
        assert device.loss.threshold >= 0


@pytest.mark.parametrize(
    ("texture", "slope", "inches_per_hour"),
    [
        ("sand", 0.0, 2.0),
        ("sandy loam", 0.05, 1.75),
        ("silt loam", 0.06, 0.8),
        ("clay", 0.10, 0.12),
        ("clay loam", 0.02, 0.2),
        ("sand", 0.121, 1.0),  # last class from memory
    ],
)
def test_largest_precipitation_rate(texture, slope, inches_per_hour):
    """USDA rates with cover, read in a trade article that credits USDA."""
    assert CATALOGUE.intake[texture, slope_class(slope)] * 3600 / INCH == pytest.approx(inches_per_hour)


def test_soils_take_less_on_slopes_and_every_soil_is_there():
    classes = [name for _, name in SLOPE_CLASSES] + [slope_class(1.0)]
    for texture in get_args(Soil.model_fields["texture"].annotation):
        rates = [CATALOGUE.intake[texture, name] for name in classes]
        assert rates == sorted(rates, reverse=True)


def test_trenches_are_closed_where_no_trench_may_go():
    closed = {name for name, trench in CATALOGUE.trenches.items() if trench.per_metre is None}
    assert closed == {"building", "water", "keep-out"}
    assert set(CATALOGUE.trenches) == {"ground", *AREA_KINDS}
    cost = {name: trench.per_metre for name, trench in CATALOGUE.trenches.items() if trench.per_metre}
    assert cost["lawn"] < cost["roots"] < cost["paving"]
    assert CATALOGUE.trenches["paving"].per_crossing > 0


def test_everything_in_the_catalogue_has_a_price():
    wanted = {f"{what} {p.material} {p.trade_size}" for p in CATALOGUE.pipes for what in ("pipe", "tee", "elbow")}
    wanted |= {f"{what} {name}" for name in HEAD_CLASSES for what in ("head", "nozzle")}
    wanted |= {f"{v.kind} {v.trade_size}" for v in CATALOGUE.valves} | set(BACKFLOW_KINDS)
    assert wanted <= set(CATALOGUE.prices)
    assert {CATALOGUE.prices[f"pipe {p.material} {p.trade_size}"].each for p in CATALOGUE.pipes} == {"m"}


# Nozzles


@by_id
def test_charts_follow_the_orifice_law(nozzle):
    """Flow in proportion to the root of the pressure (NEH 623 chapter 11); rows are rounded to 0.01 gpm."""
    assert len(nozzle.pressure) >= 4
    assert outlet_of(nozzle, nozzle.reference_arc).exponent == pytest.approx(0.5, abs=0.015)
    for pressure, flow in zip(nozzle.pressure, nozzle.flow, strict=True):
        assert flow_at(nozzle, pressure, nozzle.reference_arc) == pytest.approx(flow, rel=0.02)
    assert list(nozzle.radius) == sorted(nozzle.radius)
    assert nozzle.lowest_pressure < nozzle.design_pressure < nozzle.highest_pressure


@pytest.mark.parametrize(
    ("head_class", "millimetres_per_hour"), [("spray", 40), ("rotary", 10.5)], ids=["spray", "rotary"]
)
def test_matched_classes_rain_alike_at_every_radius_and_arc(head_class, millimetres_per_hour):
    """Full circles head to head on a square; an arc waters its share of the circle at the same rate."""
    for nozzle in (n for n in NOZZLES if n.head_class == head_class):
        radius = radius_at(nozzle, nozzle.design_pressure)
        full = flow_at(nozzle, nozzle.design_pressure, 360)
        rate = rectangular_rate(full, spacing=radius, row_spacing=radius)
        assert rate * 3.6e6 == pytest.approx(millimetres_per_hour, rel=0.03)
        assert flow_at(nozzle, nozzle.design_pressure, 90) == pytest.approx(full / 4)


def test_rotors_pass_the_same_flow_at_every_arc():
    for nozzle in (n for n in NOZZLES if n.head_class.endswith("rotor")):
        flows = {flow_at(nozzle, nozzle.design_pressure, arc) for arc in (40, 90, 180, 360)}
        assert len(flows) == 1


def test_strips_rain_alike():
    rates = [
        flow_at(n, n.design_pressure, 0) / (radius_at(n, n.design_pressure) * n.width)
        for n in NOZZLES
        if n.head_class == "strip"
    ]
    assert max(rates) / min(rates) < 1.1


def test_the_largest_spray_passes_what_the_class_passes():
    """About 3.7 gpm for a full circle of 15 ft at 30 psi: typical of the class, from memory."""
    spray = CATALOGUE.nozzles["spray 15 ft"]
    assert flow_at(spray, 30 * PSI, 360) / GPM == pytest.approx(3.7, abs=0.05)
    assert radius_at(spray, 30 * PSI) / FOOT == pytest.approx(15)


@by_id
def test_outlet_and_flow_are_one_law(nozzle):
    arc = 180.0 if nozzle.pattern == "sector" else 0.0
    outlet = outlet_of(nozzle, arc)
    for pressure in (1e4, 2e5, 6e5):
        expected = outlet.coefficient * pressure**outlet.exponent
        assert flow_at(nozzle, pressure, arc) == pytest.approx(expected)
    assert flow_at(nozzle, -1e3, arc) == 0


@by_id
def test_radius_runs_along_the_chart_and_stays_inside_it(nozzle):
    middle = (nozzle.pressure[1] + nozzle.pressure[2]) / 2
    assert radius_at(nozzle, middle) == pytest.approx((nozzle.radius[1] + nozzle.radius[2]) / 2)
    assert radius_at(nozzle, 0.0) == nozzle.radius[0]
    assert radius_at(nozzle, 5e6) == nozzle.radius[-1]


def test_every_class_has_nozzles_and_every_nozzle_a_profile():
    assert {n.head_class for n in NOZZLES} == set(HEAD_CLASSES)
    assert {n.profile for n in NOZZLES} == set(CATALOGUE.profiles)


@pytest.mark.parametrize("name", ["spray", "rotary", "rotor"])
def test_profiles_water_evenly_head_to_head(name):
    """Heads a radius apart, on triangles, in still air: CU above 84 %, the usual bar for turf (common practice)."""
    profile = CATALOGUE.profiles[name]
    x, y = np.meshgrid(np.linspace(0, 1, 60, endpoint=False), np.linspace(0, math.sqrt(3), 104, endpoint=False))
    depth = np.zeros_like(x)
    for row in range(-2, 5):
        for column in range(-2, 4):
            distance = np.hypot(x - column - 0.5 * (row % 2), y - row * math.sqrt(3) / 2)
            depth += np.interp(distance, profile.distance, profile.rate, right=0.0)
    assert christiansen_uniformity(depth) > 0.84


def test_profiles_run_from_the_head_to_the_edge():
    for profile in CATALOGUE.profiles.values():
        assert profile.distance[0] == 0
        assert profile.distance[-1] == 1
        assert list(profile.distance) == sorted(set(profile.distance))
        assert min(profile.rate) >= 0


# The user's own charts and prices


def test_own_nozzles_add_to_the_catalogue(tmp_path):
    catalogue = charts(tmp_path, CHART)
    own = catalogue.nozzles["own 20"]
    assert len(catalogue.nozzles) == len(NOZZLES) + 1
    assert own.pressure == pytest.approx([20 * PSI, 30 * PSI, 40 * PSI])
    assert own.flow[1] == pytest.approx(1.22 * GPM)
    assert own.fixed_arcs == (90, 180)
    assert own.shorten == 0.25
    assert flow_at(own, 30 * PSI, 90) == pytest.approx(0.61 * GPM, rel=0.01)


def test_own_nozzles_replace_those_of_the_same_id(tmp_path):
    catalogue = charts(tmp_path, [line.replace("own 20", "spray 12 ft") for line in CHART])
    assert len(catalogue.nozzles) == len(NOZZLES)
    assert catalogue.nozzles["spray 12 ft"].source == "measured"


def test_the_same_chart_in_metric_units(tmp_path):
    header = HEADER.replace("psi", "kpa").replace("gpm", "lpm").replace("_ft", "_m")
    lines = [
        "own 20,spray,sector,180,yes,yes,90 180,90,180,137.895,3.785412,3.6576,,206.843,25,spray,measured",
        "own 20,,,,,,,,,206.843,4.618203,4.572,,,,,",
        "own 20,,,,,,,,,275.790,5.337431,4.8768,,,,,",
    ]
    ours, theirs = (charts(tmp_path, *given).nozzles["own 20"] for given in ((CHART,), (lines, header)))
    for field in ("pressure", "flow", "radius"):
        assert getattr(ours, field) == pytest.approx(getattr(theirs, field), rel=1e-5)


def test_a_strip_of_the_user(tmp_path):
    lines = [
        "lane,strip,end strip,0,no,no,,0,0,20,0.5,13,6,30,0,strip,measured",
        "lane,,,,,,,,,30,0.6,15,,,,,",
    ]
    own = charts(tmp_path, lines).nozzles["lane"]
    assert own.width == pytest.approx(6 * FOOT)


def test_rows_of_two_nozzles_may_be_mixed(tmp_path):
    other = [line.replace("own 20", "own 21") for line in CHART]
    mixed = [line for pair in zip(CHART, other, strict=True) for line in pair]
    assert {"own 20", "own 21"} <= set(charts(tmp_path, mixed).nozzles)


def changed(line, column, value):
    cells = CHART[line].split(",")
    cells[HEADER.split(",").index(column)] = value
    return [*CHART[:line], ",".join(cells), *CHART[line + 1 :]]


@pytest.mark.parametrize(
    ("line", "column", "value", "hint"),
    [
        (0, "id", "", "1 to 60 letters"),
        (0, "id", "own #20", "1 to 60 letters"),
        (0, "head_class", "sprinkler", "write one of: spray, rotary, small rotor, mid rotor, strip"),
        (0, "head_class", "strip", "centre strip"),
        (0, "pattern", "end strip", "class 'strip'"),
        (0, "pattern", "round", "write one of: sector"),
        (0, "reference_arc_deg", "400", "at most 360"),
        (0, "reference_arc_deg", "0", "flow follows the arc"),
        (0, "flow_follows_arc", "true", "write one of: yes, no"),
        (0, "fixed_arcs_deg", "90 wide", "write a number"),
        (0, "fixed_arcs_deg", "90 270", "from 90 to 180"),
        (0, "arc_low_deg", "200", "at most arc_high_deg, 180"),
        (1, "pressure_psi", "thirty", "write a number"),
        (1, "pressure_psi", "20", "rise from row to row"),
        (2, "pressure_psi", "25", "rise from row to row of one nozzle; 30 stands before"),
        (0, "pressure_psi", "0", "at least"),
        (2, "flow_gpm", "1.1", "not fall from row to row"),
        (0, "flow_gpm", "0", "at least"),
        (1, "radius_ft", "", "write a number"),
        (1, "radius_ft", "-3", "at least"),
        (0, "width_ft", "4", "leave it empty"),
        (0, "design_pressure_psi", "60", "at most 40"),
        (0, "shorten_percent", "95", "at most 90"),
        (0, "profile", "flat", "write one of: spray, rotary, rotor, strip"),
        (0, "source", "", "must not be empty"),
        (1, "source", "guessed", "repeat 'measured' of line 2"),
        (2, "arc_high_deg", "270", "repeat '180' of line 2"),
    ],
)
def test_a_bad_chart_is_refused_where_it_is_wrong(tmp_path, line, column, value, hint):
    with pytest.raises(TableError) as caught:
        charts(tmp_path, changed(line, column, value))
    message = str(caught.value)
    assert "own.csv" in message
    assert hint in message
    if not (column == "head_class" and value == "strip") and not (column == "pattern" and value == "end strip"):
        assert f"line {line + 2}, column '{column}'" in message


def test_a_strip_without_width_is_refused(tmp_path):
    lines = ["lane,strip,end strip,0,no,no,,0,0,20,0.5,13,,30,0,strip,measured", "lane,,,,,,,,,30,0.6,15,,,,,"]
    with pytest.raises(TableError, match="a strip needs its width"):
        charts(tmp_path, lines)


def test_one_row_is_no_chart(tmp_path):
    with pytest.raises(TableError, match="at least two rows"):
        charts(tmp_path, CHART[:1])


@pytest.mark.parametrize(("flows", "exponent"), [("1.20 1.20 1.20", "0.00"), ("1.00 1.22 14.1", "3.")])
def test_a_flow_that_no_plain_nozzle_has_is_refused(tmp_path, flows, exponent):
    """A head with its own regulator passes the same at all pressures; 14.1 for 1.41 is a slip of the point."""
    lines = [
        line.replace(was, flow) for line, was, flow in zip(CHART, ("1.00", "1.22", "1.41"), flows.split(), strict=True)
    ]
    with pytest.raises(TableError, match=f"line 4, column 'flow_gpm'.*pressure.{exponent}"):
        charts(tmp_path, lines)


def test_a_chart_without_flow_is_refused(tmp_path):
    with pytest.raises(TableError, match="column 'flow_gpm' or 'flow_lpm' is missing"):
        charts(tmp_path, CHART, HEADER.replace("flow_gpm", "flow"))


def test_own_prices_replace_and_keep_the_rest(tmp_path):
    catalogue = prices(tmp_path, "pipe PE 1 in,1.85,the shop in town", "wire,0.5,the shop in town")
    assert catalogue.prices["pipe PE 1 in"].price == 1.85
    assert catalogue.prices["pipe PE 1 in"].each == "m"
    assert catalogue.prices["pipe PE 1 in"].source == "the shop in town"
    assert len(catalogue.prices) == len(CATALOGUE.prices)
    assert catalogue.prices["valve box"] == CATALOGUE.prices["valve box"]


@pytest.mark.parametrize(
    ("line", "hint"),
    [
        ("pipe PE 1in,1.85,shop", "pipe PE 1 in"),
        ("gnome,1.85,shop", "write one of"),
        ("wire,cheap,shop", "write a number"),
        ("wire,-1,shop", "at least 0"),
        ("wire,1,", "must not be empty"),
        ("wire,1,shop\nwire,2,shop", "line 3"),
    ],
)
def test_a_bad_price_is_refused(tmp_path, line, hint):
    with pytest.raises(TableError) as caught:
        prices(tmp_path, line)
    assert "shop.csv" in str(caught.value)
    assert hint in str(caught.value)


def test_the_examples_of_the_manual_can_be_read(tmp_path):
    manual = (Path(__file__).parents[2] / "docs/reference/charts.md").read_text(encoding="utf-8")
    chart, price = re.findall(r"```csv\n(.*?)```", manual, flags=re.DOTALL)
    (tmp_path / "chart.csv").write_text(chart, encoding="utf-8")
    (tmp_path / "price.csv").write_text(price, encoding="utf-8")
    catalogue = load_catalogue(charts=tmp_path / "chart.csv", prices=tmp_path / "price.csv")
    assert "shed half" in catalogue.nozzles
    assert catalogue.prices["valve box"].price == 19


def test_the_manual_names_every_column():
    manual = (Path(__file__).parents[2] / "docs/reference/charts.md").read_text(encoding="utf-8")
    for name in read_table("nozzles")[0].cells:
        assert f"`{name}`" in manual


def test_the_manual_says_how_every_part_is_spelt():
    manual = (Path(__file__).parents[2] / "docs/reference/charts.md").read_text(encoding="utf-8")
    kinds = sorted((*HEAD_CLASSES, *PIPE_MATERIALS), key=len, reverse=True)
    for part in CATALOGUE.prices:
        if part in BACKFLOW_KINDS:
            continue
        word = re.sub(r" [\d/-]+ in$", "", part)
        word = next((word.removesuffix(f" {kind}") for kind in kinds if word.endswith(f" {kind}")), word)
        assert re.search(rf"`{word}( [A-Z ]+)?[`,]", manual), part
