"""Pictures, maps, drawings and yard files that are brought into the page."""

import json
import re
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import expect

from web_drawing import begin, document_of, drop, square

EXAMPLES = [
    path
    for path in sorted((Path(__file__).parents[2] / "examples").iterdir())
    if path.name.endswith((".yard.json", ".dxf")) and path.name != "bad-supply.yard.json"
]


def test_a_picture_gets_its_scale_by_two_points(desk, ask, tmp_path, keep_picture):
    from PIL import Image

    Image.new("RGB", (400, 300), "white").save(tmp_path / "survey.png")
    board = begin(desk, "Survey", "metric")
    image, late = desk.locator("svg image"), []
    desk.route("**/placement", lambda one: late.append(one))
    with desk.expect_request("**/placement"):
        desk.get_by_label("Lay a picture under it").set_input_files(tmp_path / "survey.png")
    expect(image).to_have_count(0)  # it is shown where it will lie, and jumps nowhere
    late[0].continue_()
    desk.unroute("**/placement")
    image.wait_for()
    box, whole = image.bounding_box(), board.bounding_box()
    desk.get_by_role("button", name="Set its scale by two points").click()
    low = box["y"] + box["height"] - whole["y"]
    for x in (box["x"], box["x"] + box["width"]):
        board.click(position={"x": x - whole["x"], "y": low}, modifiers=["Alt"])
    dialog = desk.get_by_role("dialog", name="Scale of the picture")
    dialog.get_by_label("True length between them").fill("20")
    dialog.get_by_label("Direction").fill("90")
    dialog.get_by_label("x of the first point").fill("3")
    dialog.get_by_label("y of the first point").fill("4")
    keep_picture(desk)
    dialog.get_by_role("button", name="Lay it so").click()
    yard = re.search(r"#/([^/]+)/", desk.url).group(1)
    desk.wait_for_function("() => !document.querySelector('dialog')")
    with polled() as tries:
        for placement in tries(lambda: ask("GET", f"/api/yards/{yard}/images")[0]["placement"]):
            if placement["turn"]:
                break
    # The picture's lower edge is 400 pixels long; the taps hit its ends to about half a pixel of the screen.
    assert placement["metres_per_pixel"] == pytest.approx(20 / 400, rel=0.004)
    assert placement["turn"] == pytest.approx(90, abs=0.2)
    assert placement["at"] == pytest.approx([3, 4], abs=0.05)


@contextmanager
def polled():
    def tries(ask):
        for _ in range(50):
            yield ask()

    yield tries


def test_a_map_is_read_into_the_draft(desk, ask, tmp_path):
    ring = [[0, 0], [9, 0], [9, 7], [0, 7], [0, 0]]
    pond = [[1, 1], [2, 1], [2, 2], [1, 1]]
    features = [
        {
            "type": "Feature",
            "properties": {"kind": kind, "id": name},
            "geometry": {"type": "Polygon", "coordinates": [outline]},
        }
        for kind, name, outline in (("lawn", "lawn", ring), ("water", "pond", pond))
    ]
    head = {"coordinates": "local metres", "format": "rillwright-yard", "version": 1}
    path = tmp_path / "plot.geojson"
    path.write_text(json.dumps({"type": "FeatureCollection", "rillwright": head, "features": features}))
    begin(desk, "From a map", "metric")
    square(desk, 5)
    desk.get_by_role("button", name="All things").click()
    desk.get_by_label("Read a map or drawing").set_input_files(path)
    desk.locator("path.water").wait_for(state="attached")
    assert [area["id"] for area in document_of(desk, ask)["areas"]] == ["lawn", "lawn 2", "pond"]


def test_a_drawing_is_dropped_on_the_board_and_its_unknown_layers_are_asked_about(desk, ask, tmp_path):
    import ezdxf

    drawing = ezdxf.new(units=ezdxf.units.M)
    for layer, side in (("GRASS", 12), ("NOTES", 3)):
        ring = [(0, 0), (side, 0), (side, side), (0, side)]
        drawing.modelspace().add_lwpolyline(ring, close=True, dxfattribs={"layer": layer})
    drawing.saveas(tmp_path / "plot.dxf")
    board = begin(desk, "From a drawing", "metric")
    drop(desk, board, tmp_path / "plot.dxf")
    question = desk.get_by_role("dialog", name="plot.dxf cannot be read yet")
    question.wait_for()
    assert "GRASS" in question.inner_text()
    desk.faults.clear()  # the browser tells of the 422
    question.get_by_label("What other layers hold").fill("GRASS=lawn\nNOTES=ignore")
    question.get_by_role("button", name="Read again").click()
    desk.locator("path.lawn").wait_for(state="attached")
    (area,) = document_of(desk, ask)["areas"]
    assert (area["kind"], sorted(area["outline"])) == ("lawn", [[0, 0], [0, 12], [12, 0], [12, 12]])


def test_files_dropped_on_the_list_become_yards(desk, ask):
    names = [path.name for path in EXAMPLES]
    assert len(names) > 5
    for path in EXAMPLES:
        desk.goto("/")
        heading = desk.get_by_role("heading", name="Yards")
        heading.wait_for()
        files = [path, path.with_name("shed.facts.json")] if path.suffix == ".dxf" else [path]
        drop(desk, heading, *files)
        desk.get_by_role("application").wait_for()
        document = document_of(desk, ask)
        desk.wait_for_function(
            "many => document.querySelectorAll('.ground > path').length >= many", arg=len(document["areas"])
        )
        desk.goto("about:blank")  # the next yard begins on a fresh page
