"""The user's own charts and prices: read, merged, or refused where they are wrong."""

import re
from pathlib import Path

import pytest

from rillwright.data.tables import read_table
from rillwright.errors import TableError
from rillwright.model.catalogue import flow_at, load_catalogue
from rillwright.model.placed import BOX
from rillwright.model.site import BACKFLOW_KINDS, HEAD_CLASSES, PIPE_MATERIALS
from rillwright.physics.units import FOOT, GPM, PSI

CATALOGUE = load_catalogue()
HEADER = (
    "id,head_class,pattern,reference_arc_deg,flow_follows_arc,flow_follows_radius,fixed_arcs_deg,arc_low_deg,arc_high_deg,"
    "pressure_psi,flow_gpm,radius_ft,width_ft,design_pressure_psi,shorten_percent,profile,source"
)
CHART = [
    "own 20,spray,sector,180,yes,yes,90 180,90,180,20,1.00,12,,30,25,spray,measured",
    "own 20,,,,,,,,,30,1.22,15,,,,,",
    "own 20,,,,,,,,,40,1.41,16,,,,,",
]


def charts(tmp_path, lines, header=HEADER):
    path = tmp_path / "own.csv"
    path.write_text("\n".join([header, *lines]) + "\n", encoding="utf-8")
    return load_catalogue(charts=path)


def prices(tmp_path, *lines, header="part,price,source"):
    path = tmp_path / "shop.csv"
    path.write_text("\n".join([header, *lines]) + "\n", encoding="utf-8")
    return load_catalogue(prices=path)


def test_own_nozzles_add_to_the_catalogue(tmp_path):
    catalogue = charts(tmp_path, CHART)
    own = catalogue.nozzles["own 20"]
    assert len(catalogue.nozzles) == len(CATALOGUE.nozzles) + 1
    assert own.pressure == pytest.approx([20 * PSI, 30 * PSI, 40 * PSI])
    assert own.flow[1] == pytest.approx(1.22 * GPM)
    assert own.fixed_arcs == (90, 180)
    assert own.shorten == 0.25
    assert flow_at(own, 30 * PSI, 90) == pytest.approx(0.61 * GPM, rel=0.01)


def test_own_nozzles_replace_those_of_the_same_id(tmp_path):
    catalogue = charts(tmp_path, [line.replace("own 20", "spray 12 ft") for line in CHART])
    assert len(catalogue.nozzles) == len(CATALOGUE.nozzles)
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
    assert catalogue.prices["valve box small"] == CATALOGUE.prices["valve box small"]


def test_a_fitting_that_is_not_sold_is_taken_off_the_shelf(tmp_path):
    catalogue = prices(tmp_path, "tee PE 1 x 1/2 in thread,none,the shop in town", "tee PE 1 in,2.5,the shop in town")
    parts = {fitting.part: fitting.price for fitting in catalogue.fittings.fittings}
    assert "tee PE 1 x 1/2 in thread" not in parts
    assert parts["tee PE 1 in"] == 2.5
    assert catalogue.fittings != CATALOGUE.fittings


@pytest.mark.parametrize(
    ("line", "hint"),
    [
        ("pipe PE 1 in,none,shop", "only a fitting"),
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
    assert catalogue.prices["valve box small"].price == 19


def test_the_manual_names_every_column():
    manual = (Path(__file__).parents[2] / "docs/reference/charts.md").read_text(encoding="utf-8")
    for name in read_table("nozzles")[0].cells:
        assert f"`{name}`" in manual


def test_the_manual_says_how_every_part_is_spelt():
    manual = (Path(__file__).parents[2] / "docs/reference/charts.md").read_text(encoding="utf-8")
    kinds = sorted((*HEAD_CLASSES, *PIPE_MATERIALS), key=len, reverse=True)
    bodies = {fitting.part: fitting.body for fitting in CATALOGUE.fittings.fittings}
    for part in CATALOGUE.prices:
        if part in BACKFLOW_KINDS:
            continue
        if part in bodies and bodies[part] != "valve":
            assert f"`{bodies[part]}`" in manual, part
            continue
        if part.startswith(BOX):
            assert part.removeprefix(BOX) in manual, part
            continue
        word = re.sub(r" [\d/-]+ in$", "", part)
        word = next((word.removesuffix(f" {kind}") for kind in kinds if word.endswith(f" {kind}")), word)
        assert re.search(rf"`{word}( [A-Z ]+)?[`,]", manual), part
