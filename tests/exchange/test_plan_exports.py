"""A plan written for other programs, read back by them."""

import io
import json
import re
import zipfile

import openpyxl
import pytest
from pyproj import Geod
from typer.testing import CliRunner

from drawn_plans import CATALOGUE, plan_named
from rillwright.cli.main import app
from rillwright.errors import InputError
from rillwright.exchange.geojson import Plane
from rillwright.exchange.plan_geojson import plan_geojson
from rillwright.jobs.export import plan_workbook
from rillwright.jobs.money import make_ledger
from rillwright.model.site import Origin

RUN = CliRunner()


def plan_at(origin=None, north=90.0):
    plan = plan_named("small")
    return plan.model_copy(update={"yard": plan.yard.model_copy(update={"origin": origin, "north": north})})


def reckoned(book, sheet, cell):
    """Value of a cell, its sums and products worked out by a reader of our own."""
    value = book[sheet][cell].value
    if not (isinstance(value, str) and value.startswith("=")):
        return float(value or 0)
    text = value[1:]
    total = re.fullmatch(r"SUM\(([A-Z])(\d+):\1(\d+)\)", text)
    if total:
        column, first, last = total.groups()
        return sum(reckoned(book, sheet, f"{column}{n}") for n in range(int(first), int(last) + 1))
    named = re.sub(r"(?:(\w+)!)?\b([A-Z]\d+)\b", lambda found: repr(reckoned(book, found[1] or sheet, found[2])), text)
    assert re.fullmatch(r"[-+*().\d e]+", named), value
    return float(eval(named))


def test_the_workbook_s_formulas_give_the_ledger():
    plan = plan_named("small")
    money = plan.yard.money.model_copy(update={"tax": 0.07, "delivery": 40.0})
    plan = plan.model_copy(update={"yard": plan.yard.model_copy(update={"money": money, "budget": 1800.0})})
    ledger = make_ledger(plan)
    book = openpyxl.load_workbook(io.BytesIO(plan_workbook(plan, CATALOGUE)))
    assert book.sheetnames == ["Parts", "Money", "By step", "By place", "Cutting"]
    rows = {book["Parts"].cell(n, 1).value: n for n in range(2, book["Parts"].max_row + 1)}
    for part in ledger.parts:
        assert reckoned(book, "Parts", f"J{rows[part.part]}") == pytest.approx(part.due, abs=1e-3)
    sums = {book["Money"].cell(n, 1).value: n for n in range(2, book["Money"].max_row + 1)}
    assert reckoned(book, "Money", f"D{sums['the whole']}") == pytest.approx(ledger.total, abs=0.02)
    assert reckoned(book, "Money", f"C{sums['tax']}") == pytest.approx(ledger.charge("tax").due, abs=0.01)
    assert reckoned(book, "Money", f"D{sums['left']}") == pytest.approx(ledger.left, abs=0.02)
    first = book["Parts"]["I2"].value
    book["Parts"]["I2"] = first + 10  # a price typed in
    more = 10 * reckoned(book, "Parts", "G2") * 1.07
    assert reckoned(book, "Money", f"D{sums['the whole']}") == pytest.approx(ledger.total + more, abs=0.02)


def test_parts_by_step_by_place_and_cut_are_those_of_the_list():
    plan = plan_named("small")
    book = openpyxl.load_workbook(io.BytesIO(plan_workbook(plan, CATALOGUE)))
    for sheet in ("By step", "By place"):
        placed = {}
        for _, part, amount, _ in book[sheet].iter_rows(min_row=2, values_only=True):
            placed[part] = placed.get(part, 0) + amount
        wanted = ("head", "nozzle", "valve box", "swing joint") + (("pipe",) if sheet == "By step" else ())
        for line in (line for line in plan.parts if line.part.startswith(wanted)):
            assert placed[line.part] == pytest.approx(line.quantity - line.spare, abs=0.01), line.part
    rows = list(book["Cutting"].iter_rows(min_row=2, values_only=True))
    for cutting in plan.cutting:
        own = [row for row in rows if row[0] == cutting.part]
        assert sum(row[3] for row in own) == pytest.approx(cutting.laid, abs=0.01)
        assert sum(row[2] for row in own if row[5] is not None) == pytest.approx(cutting.bought, abs=0.01)


def test_the_same_plan_gives_the_same_workbook():
    book = plan_workbook(plan_named("small"), CATALOGUE)
    assert book == plan_workbook(plan_named("small"), CATALOGUE)
    with zipfile.ZipFile(io.BytesIO(book)) as parts:
        assert {part.date_time for part in parts.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        days = re.findall(rb"20\d\d-\d\d-\d\dT", b"".join(parts.read(name) for name in parts.namelist()))
    assert not days


def test_a_text_that_looks_like_a_formula_stays_a_text():
    plan = plan_named("small")
    sly = plan.parts[0].model_copy(update={"part": "=1+1", "price_source": "=HYPERLINK(1)"})
    plan = plan.model_copy(update={"parts": (sly, *plan.parts[1:])})
    sheet = openpyxl.load_workbook(io.BytesIO(plan_workbook(plan, CATALOGUE)))["Parts"]
    assert (sheet["A2"].value, sheet["A2"].data_type) == ("=1+1", "s")
    assert sheet["K2"].data_type == "s"
    assert sheet["J2"].data_type == "f"


def test_a_map_in_local_metres_has_every_thing_where_it_is():
    plan = plan_at()
    read = json.loads(plan_geojson(plan))
    assert read["rillwright"]["coordinates"] == "local metres"
    by = {(f["properties"]["kind"], f["id"]): f for f in read["features"]}
    assert len(by) == len(read["features"])
    for head in plan.heads:
        found = by["head", head.id]
        assert found["geometry"]["coordinates"] == pytest.approx(head.at, abs=1e-4)
        assert found["properties"]["nozzle"] == head.nozzle
        assert found["properties"]["flow_l_min"] == pytest.approx(head.flow * 60_000, abs=1e-3)
    for pipe in plan.pipes:
        assert by["pipe", pipe.id]["geometry"]["coordinates"][-1] == pytest.approx(pipe.path[-1], abs=1e-4)
    assert len([k for k in by if k[0] == "trench"]) == len(plan.trenches)
    zones = {f["properties"]["zone"] for f in read["features"] if f["properties"]["kind"] == "head"}
    assert zones == {zone.id for zone in plan.zones}


@pytest.mark.parametrize("north", [90.0, 35.0])
def test_a_map_on_the_earth_keeps_lengths_and_bearings(north):
    """Against geodesics on the WGS84 ellipsoid (Karney's method, as pyproj has it)."""
    plan = plan_at(Origin(lon=-93.1, lat=44.9), north)
    read = json.loads(plan_geojson(plan))
    geod = Geod(ellps="WGS84")
    for feature in (f for f in read["features"] if f["properties"]["kind"] == "pipe"):
        lons, lats = zip(*feature["geometry"]["coordinates"], strict=True)
        assert geod.line_length(lons, lats) == pytest.approx(feature["properties"]["length_m"], abs=2e-3)
    plane = Plane(plan.yard.origin, north=north)
    lon, lat = plane.degrees(0.0, 0.0)
    ahead = plane.degrees(1.0, 0.0)
    bearing = geod.inv(lon, lat, *ahead)[0] % 360  # of the x axis
    assert bearing == pytest.approx((north - 0.0) % 360, abs=1e-3)
    head = next(f for f in read["features"] if f["properties"]["kind"] == "head")
    planned = next(h for h in plan.heads if h.id == head["id"])
    ends = head["properties"]["arc_from_deg"] + head["properties"]["arc_deg"]
    assert (ends - (north - planned.arc_start)) % 360 == pytest.approx(0, abs=0.11) or planned.arc == 360


def test_export_writes_what_the_name_asks_for_and_keeps_what_is_there(tmp_path):
    plan = tmp_path / "plan.json"
    plan.write_text(plan_named("small").model_dump_json())
    for name in ("parts.xlsx", "plan.geojson"):
        done = RUN.invoke(app, ["export", str(plan), str(tmp_path / "out" / name)])
        assert done.exit_code == 0, done.output
    assert json.loads((tmp_path / "out" / "plan.geojson").read_text())["type"] == "FeatureCollection"
    again = RUN.invoke(app, ["export", str(plan), str(tmp_path / "out" / "parts.xlsx")])
    assert isinstance(again.exception, InputError)
    other = RUN.invoke(app, ["export", str(plan), str(tmp_path / "parts.doc")])
    assert "ends in .xlsx, .geojson, .dxf, .svg" in str(other.exception)
