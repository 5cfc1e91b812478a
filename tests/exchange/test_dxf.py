import json
import math
import runpy
from pathlib import Path

import ezdxf
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon

from rillwright.errors import InputError, RillwrightError, YardError
from rillwright.exchange import load_yard
from rillwright.exchange.dxf import read_dxf
from rillwright.model.site import Yard
from rillwright.physics.units import FOOT

EXAMPLES = Path(__file__).parents[2] / "examples"
SHED, FACTS = EXAMPLES / "shed.dxf", EXAMPLES / "shed.facts.json"


@pytest.fixture
def drawing():
    """A sound drawing in metres."""
    document = ezdxf.new("R2000", units=ezdxf.units.M)
    space = document.modelspace()
    space.add_lwpolyline([(0, 0), (20, 0), (20, 10), (0, 10)], close=True, dxfattribs={"layer": "Lawn"})
    space.add_point((1, 1), dxfattribs={"layer": "ENTRY"})
    return document


def read(tmp_path, document, *, facts=FACTS, layers=None) -> Yard:
    path = tmp_path / "a.dxf"
    document.saveas(path)
    return read_dxf(path, facts=facts, layers=layers)


def the_problem(tmp_path, document, **options):
    with pytest.raises(YardError) as caught:
        read(tmp_path, document, **options)
    assert len(caught.value.problems) == 1, str(caught.value)
    return caught.value.problems[0]


def size(yard, number):
    return Polygon(yard.areas[number].outline).area


def test_the_example_drawing_reads_in_feet_with_its_arcs():
    yard = load_yard(SHED, facts=FACTS)
    assert "Invented" in yard.note
    assert yard.areas[0].kind == "lawn"
    assert max(x for x, _ in yard.areas[0].outline) == pytest.approx(66 * FOOT)
    assert yard.water_entry.at == pytest.approx((20 * FOOT, 0))
    assert yard.trees[0].root_radius == pytest.approx(7 * FOOT)
    assert [s.height for s in yard.spot_heights][:2] == pytest.approx([10 * FOOT, 10.2 * FOOT])
    island = yard.areas[-1]
    assert (island.kind, Polygon(island.outline).area) == ("bed", pytest.approx(math.pi * (5 * FOOT) ** 2, rel=0.01))


def test_the_example_drawing_is_what_its_script_draws(tmp_path):
    made = runpy.run_path(str(EXAMPLES / "make_dxf.py"))["draw"]()
    assert read(tmp_path, made) == load_yard(SHED, facts=FACTS)


def test_a_bulge_is_an_arc(tmp_path, drawing):
    """Bulge is the tangent of a quarter of the arc's angle (DXF reference, LWPOLYLINE group 42): 1 is a half circle."""
    pond = [(5, 5, 1), (9, 5, 1)]
    drawing.modelspace().add_lwpolyline(pond, format="xyb", close=True, dxfattribs={"layer": "WATER"})
    yard = read(tmp_path, drawing)
    assert yard.areas[1].kind == "water"
    assert size(yard, 1) == pytest.approx(math.pi * 4, rel=0.01)
    assert all(math.dist((7, 5), point) == pytest.approx(2, abs=0.006) for point in yard.areas[1].outline)


@pytest.mark.parametrize(("unit", "metres"), [(1, 0.0254), (2, 0.3048), (4, 0.001), (5, 0.01), (6, 1.0), (10, 0.9144)])
def test_insunits_are_honoured(tmp_path, unit, metres):
    """Codes of $INSUNITS: DXF reference, header variables; inch, foot and yard by NIST SP 811."""
    document = ezdxf.new("R2000", units=unit)
    side = 12 / metres
    outline = [(0, 0), (side, 0), (side, side), (0, side)]
    document.modelspace().add_lwpolyline(outline, close=True, dxfattribs={"layer": "LAWN"})
    document.modelspace().add_point((0, 0), dxfattribs={"layer": "ENTRY"})
    assert size(read(tmp_path, document), 0) == pytest.approx(144)


def test_a_drawing_without_unit_says_what_to_do(tmp_path, drawing):
    drawing.units = 0
    problem = the_problem(tmp_path, drawing)
    assert problem.path == "header $INSUNITS"
    assert "2 is feet" in problem.allowed


def test_an_open_outline_is_named_by_its_handle(tmp_path, drawing):
    line = drawing.modelspace().add_lwpolyline([(2, 2), (4, 2), (4, 4)], dxfattribs={"layer": "BED"})
    problem = the_problem(tmp_path, drawing)
    assert problem.path == f"LWPOLYLINE {line.dxf.handle} on layer BED"
    assert "not closed" in problem.value


def test_an_outline_that_ends_where_it_began_is_closed(tmp_path, drawing):
    space = drawing.modelspace()
    space.add_lwpolyline([(2, 2), (4, 2), (4, 4), (2, 2)], dxfattribs={"layer": "BED"})
    space.add_polyline2d([(6, 6), (8, 6), (8, 8)], close=True, dxfattribs={"layer": "PAVING"})
    yard = read(tmp_path, drawing)
    assert [(a.kind, len(a.outline)) for a in yard.areas] == [("lawn", 4), ("bed", 3), ("paving", 3)]


def test_loose_lines_are_problems_and_texts_are_not(tmp_path, drawing):
    space = drawing.modelspace()
    space.add_text("front", dxfattribs={"layer": "LAWN"})
    space.add_line((0, 0), (5, 5), dxfattribs={"layer": "0"})
    assert read(tmp_path, drawing).areas[0].id == "lawn 1"
    space.add_line((0, 0), (5, 5), dxfattribs={"layer": "LAWN"})
    assert "Join the pieces" in the_problem(tmp_path, drawing).allowed


def test_a_smaller_outline_lies_over_a_larger_one(tmp_path):
    document = ezdxf.new("R2000", units=6)
    for layer, side in (("BED", 3), ("BUILDING", 30), ("LAWN", 12)):
        outline = [(0, 0), (side, 0), (side, side), (0, side)]
        document.modelspace().add_lwpolyline(outline, close=True, dxfattribs={"layer": layer})
    document.modelspace().add_point((0, 0), dxfattribs={"layer": "ENTRY"})
    assert [a.kind for a in read(tmp_path, document).areas] == ["building", "lawn", "bed"]


def test_outlines_on_other_layers_must_be_named_or_ignored(tmp_path, drawing):
    triangle = [(2, 2), (4, 2), (4, 4)]
    drawing.modelspace().add_lwpolyline(triangle, close=True, dxfattribs={"layer": "A-WALL"})
    problem = the_problem(tmp_path, drawing)
    assert "LWPOLYLINE" in problem.path
    assert [a.kind for a in read(tmp_path, drawing, layers={"a-wall": "building"}).areas] == ["lawn", "building"]
    assert len(read(tmp_path, drawing, layers={"A-WALL": "ignore"}).areas) == 1
    assert "Did you mean 'building'?" in the_problem(tmp_path, drawing, layers={"A-WALL": "bilding"}).allowed


def test_heights_come_from_points_and_texts(tmp_path, drawing):
    space = drawing.modelspace()
    space.add_point((2, 2, 1.5), dxfattribs={"layer": "SPOT"})
    space.add_text("1.25", dxfattribs={"layer": "SPOT", "insert": (4, 2)})
    space.add_mtext("6 ft", dxfattribs={"layer": "spot", "insert": (6, 2)})
    heights = [spot.height for spot in read(tmp_path, drawing).spot_heights]
    assert heights == pytest.approx([1.5, 1.25, 6 * FOOT])
    text = space.add_text("top", dxfattribs={"layer": "SPOT", "insert": (8, 2)})
    assert the_problem(tmp_path, drawing).path == f"TEXT {text.dxf.handle} on layer SPOT.height"


def test_a_drawing_without_lawn_or_entry_says_so(tmp_path, drawing):
    drawing.modelspace().query("POINT")[0].destroy()
    assert the_problem(tmp_path, drawing).path == "water_entry.at"
    empty = ezdxf.new("R2000", units=6)
    assert "LAWN" in the_problem(tmp_path, empty).allowed


def test_what_breaks_a_rule_is_named_by_its_entity(tmp_path, drawing):
    bow = [(2, 2), (6, 6), (6, 2), (2, 6.5)]
    line = drawing.modelspace().add_lwpolyline(bow, close=True, dxfattribs={"layer": "BED"})
    assert the_problem(tmp_path, drawing).path == f"LWPOLYLINE {line.dxf.handle} on layer BED.outline"


def test_facts_must_not_hold_areas(tmp_path, drawing):
    facts = tmp_path / "facts.json"
    facts.write_text(json.dumps(json.loads(FACTS.read_text()) | {"areas": []}))
    assert the_problem(tmp_path, drawing, facts=facts).path == "areas"


def test_no_drawing_is_said_so(tmp_path):
    for name, content in (("a.dxf", b"not a drawing"), ("b.dxf", b""), ("c.dxf", bytes(range(256)) * 9)):
        (tmp_path / name).write_bytes(content)
        with pytest.raises(InputError, match=r"is not a DXF drawing|cannot be read"):
            read_dxf(tmp_path / name, facts=FACTS)
    with pytest.raises(InputError, match="cannot be read"):
        read_dxf(tmp_path / "none.dxf", facts=FACTS)


@settings(
    max_examples=60,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
)
@given(st.data())
def test_any_damage_to_a_drawing_is_a_yard_or_a_clear_error(tmp_path, data):
    lines = SHED.read_text(encoding="utf-8").split("\n")
    for _ in range(data.draw(st.integers(1, 3))):
        at = data.draw(st.integers(0, len(lines) - 1))
        act = data.draw(st.sampled_from(["put", "drop", "cut"]))
        if act == "put":
            lines[at] = data.draw(st.sampled_from(["x", "-1", "1e999", "nan", "LAWN", "0", "ENDSEC", "330", ""]))
        else:
            del lines[at : at + 1 if act == "drop" else at + 40]
        if not lines:
            return
    path = tmp_path / "damaged.dxf"
    path.write_text("\n".join(lines), encoding="utf-8")
    try:
        assert isinstance(read_dxf(path, facts=FACTS), Yard)
    except RillwrightError as error:
        str(error).encode("utf-8")
