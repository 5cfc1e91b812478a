"""The plan as DXF: opened again by its library it is sound, true to size, and still a yard. Yards are invented."""

import json
import math

import ezdxf
import pytest
from ezdxf.enums import InsertUnits
from shapely.geometry import LineString, Polygon

from drawn_plans import plan_named
from rillwright.exchange import load_yard
from rillwright.exchange.yard_file import yard_text
from rillwright.model.ground import resolve_ground
from rillwright.physics.units import FOOT, show
from rillwright.report.plan_dxf import HEAD_FACTS, plan_dxf

NAMES = ("small", "crowded", "crowded US")


@pytest.fixture(scope="module", params=NAMES)
def opened(request, tmp_path_factory):
    """A plan, its drawing as read again, and the metres in the drawing's unit."""
    plan = plan_named(request.param)
    path = tmp_path_factory.mktemp("dxf") / "plan.dxf"
    path.write_bytes(plan_dxf(plan, resolve_ground(plan.yard)))
    unit = FOOT if plan.yard.units == "US" else 1.0
    return plan, ezdxf.readfile(path), unit, path


def on_layer(drawing, kind, layer):
    return [e for e in drawing.modelspace().query(kind) if e.dxf.layer == layer]


def same_line(drawn, path, unit):
    points = [(x * unit, y * unit) for x, y in drawn.get_points("xy")]
    return LineString(points).hausdorff_distance(LineString(path)) < 1e-9


def test_the_audit_finds_nothing_and_the_units_are_the_yard_s(opened):
    plan, drawing, _, _ = opened
    audit = drawing.audit()
    assert [entry.message for entry in (*audit.errors, *audit.fixes)] == []
    us = plan.yard.units == "US"
    assert drawing.units == (InsertUnits.Feet if us else InsertUnits.Meters)
    assert drawing.header["$MEASUREMENT"] == (0 if us else 1)


def test_every_head_is_a_block_with_its_facts_where_it_stands(opened):
    plan, drawing, unit, _ = opened
    inserts = {e.get_attrib_text("ID"): e for e in on_layer(drawing, "INSERT", "HEAD")}
    assert set(inserts) == {head.id for head in plan.heads}
    zones = {head: zone.id for zone in plan.zones for head in zone.heads}
    for head in plan.heads:
        drawn = inserts[head.id]
        assert (drawn.dxf.insert.x * unit, drawn.dxf.insert.y * unit) == pytest.approx(head.at)
        assert drawn.dxf.name == f"HEAD {head.head_class.upper()}"
        facts = {fact: drawn.get_attrib_text(fact) for fact in HEAD_FACTS}
        assert facts["ZONE"] == zones[head.id]
        assert facts["NOZZLE"] == head.nozzle
        assert facts["THROW"] == show(head.radius, "length", plan.yard.units)
        assert facts["ARC"] == show(head.arc, "angle", plan.yard.units)
    definitions = [e for block in drawing.blocks for e in block.query("ATTDEF")]
    assert {e.dxf.tag for e in definitions if not e.is_invisible} == {"ID"}


def test_pipes_lie_on_the_layer_of_their_kind_with_size_and_name(opened):
    plan, drawing, unit, _ = opened
    words = {text.dxf.text for text in on_layer(drawing, "TEXT", "PIPE SIZE")}
    for pipe in plan.pipes:
        layer = f"LATERAL {pipe.zone}" if pipe.zone else "MAIN"
        assert any(same_line(drawn, pipe.path, unit) for drawn in on_layer(drawing, "LWPOLYLINE", layer))
        assert f"{pipe.id}: {pipe.size} {pipe.material}" in words
    assert len(on_layer(drawing, "LWPOLYLINE", "TRENCH")) == len(plan.trenches)
    assert len(on_layer(drawing, "LWPOLYLINE", "SLEEVE")) == sum(trench.sleeve for trench in plan.trenches)


def test_throws_have_their_area(opened):
    """A sector of radius r and angle a covers a r²/2; ezdxf turns the bulge into points by itself."""
    plan, drawing, unit, _ = opened
    drawn = sorted(
        Polygon([(v.x * unit, v.y * unit) for v in ezdxf.path.make_path(e).flattening(0.001)]).area
        for e in drawing.modelspace()
        if e.dxf.layer == "THROW"
    )
    reckoned = sorted(math.radians(head.arc) * head.radius**2 / 2 for head in plan.heads)
    assert drawn == pytest.approx(reckoned, rel=2e-3)


def test_the_drawing_is_a_yard_again(opened, tmp_path):
    """Its ground's layers are those that yards are read from; everything else in it is passed over."""
    plan, _, _, path = opened
    facts = json.loads(yard_text(plan.yard))
    for key in ("areas", "trees", "spot_heights"):
        facts.pop(key, None)
    facts["water_entry"].pop("at")
    facts["controller"].pop("at", None)
    (tmp_path / "facts.json").write_text(json.dumps(facts))
    again = load_yard(path, facts=tmp_path / "facts.json")
    key = [(area.kind, round(Polygon(area.outline).area, 6)) for area in plan.yard.areas]
    assert sorted((area.kind, round(Polygon(area.outline).area, 6)) for area in again.areas) == sorted(key)
    assert again.water_entry.at == pytest.approx(plan.yard.water_entry.at)
    assert again.controller.at == (None if plan.yard.controller.at is None else pytest.approx(plan.yard.controller.at))
    heights = sorted((*spot.at, spot.height) for spot in plan.yard.spot_heights)
    for drawn, known in zip(sorted((*s.at, s.height) for s in again.spot_heights), heights, strict=True):
        assert drawn == pytest.approx(known, abs=1e-9)


def test_the_same_plan_gives_the_same_bytes(opened):
    plan, _, _, path = opened
    assert plan_dxf(plan, resolve_ground(plan.yard)) == path.read_bytes()
    assert b"2026" not in path.read_bytes()[:4000]
